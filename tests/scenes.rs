//! The example jobs, as they lie in the repository.

use serde_json::Value;

use crate::workshop::{Workshop, scene};

fn findings<'a>(report: &'a Value, severity: &str) -> Vec<&'a Value> {
    report["findings"].as_array().unwrap().iter().filter(|finding| finding["severity"] == severity).collect()
}

/// The closest approach of the two, mm.
fn holder_over_chuck(report: &Value) -> f64 {
    let rows = report["clearances"].as_array().unwrap();
    let row = rows.iter().find(|row| row["moving"] == "holder" && row["fixed"] == "chuck").unwrap();
    row["least_mm"].as_f64().unwrap()
}

#[test]
fn the_winch_handle_is_clear() {
    let workshop = Workshop::new();
    let run = workshop.expect(0, &format!("prove {} --out out", scene("winch-handle").display()));
    assert!(run.stdout.contains("CLEAR"), "{}", run.stdout);
    assert!(run.stdout.contains("0 errors, 0 warnings"), "{}", run.stdout);
    assert_eq!(run.stderr, "");
    let report = workshop.report("out");
    assert_eq!(report["verdict"], "clear");
    assert_eq!((findings(&report, "error"), findings(&report, "warning")), (vec![], vec![]));
    // The tip goes below the axis on purpose; that is told and no more.
    assert!(findings(&report, "note").iter().any(|finding| finding["rule"] == "past-axis"));
    let removed = report["removed_mm3"].as_f64().unwrap();
    assert!((23_000.0..25_000.0).contains(&removed), "{removed}");
    assert_eq!(report["programs"].as_array().unwrap().len(), 4);
}

#[test]
fn the_kite_reel_meets_its_chuck() {
    let workshop = Workshop::new();
    let run = workshop.expect(1, &format!("prove {} --out out", scene("kite-reel").display()));
    assert!(run.stdout.contains("STOP") && run.stdout.contains("holder-hits"), "{}", run.stdout);
    // The line of the program is quoted.
    assert!(run.stdout.contains("G1 X3 A0 F0.4"), "{}", run.stdout);
    let report = workshop.report("out");
    assert_eq!(report["verdict"], "stop");
    let errors = findings(&report, "error");
    assert_eq!(errors.len(), 1);
    assert_eq!(findings(&report, "warning"), Vec::<&Value>::new());
    let hit = errors[0];
    assert_eq!(hit["rule"], "holder-hits");
    // One stretch: in along line 14, down at its end, out along line 18.
    assert_eq!((&hit["file"], &hit["lines"]), (&"groove.nc".into(), &serde_json::json!([14, 18])));
    assert_eq!((&hit["program"], &hit["cutter"], &hit["unit"]), (&1.into(), &1.into(), &"mm".into()));
    // The nut's lower face stands at 20 + 18 = 38 over the axis, the body reaches 40.
    let value = hit["value"].as_f64().unwrap();
    assert!((value + 2.0).abs() <= 0.02, "{value}");
    assert!(hit["text"].as_str().unwrap().contains("chuck"), "{hit}");
    assert!((holder_over_chuck(&report) + 2.0).abs() <= 0.02);
}

#[test]
fn the_kite_reel_with_a_longer_stickout_is_clear() {
    let workshop = Workshop::new();
    let scene = scene("kite-reel").join("scene-fixed.toml");
    workshop.expect(0, &format!("prove {} --out out", scene.display()));
    let report = workshop.report("out");
    assert_eq!(report["verdict"], "clear");
    assert_eq!((findings(&report, "error"), findings(&report, "warning")), (vec![], vec![]));
    // 24 in place of 18 lifts the nut from 2 under the top of the body to 4 over it.
    assert!((holder_over_chuck(&report) - 4.0).abs() <= 0.02);
}

/// The resolved scene says all that was assumed, so nothing else of the report may change.
#[test]
fn a_resolved_scene_proves_to_the_same_report() {
    for name in ["winch-handle", "kite-reel"] {
        let workshop = Workshop::copy_of(&scene(name));
        workshop.run("prove . --out first");
        workshop.write("again.toml", workshop.read("first/scene.resolved.toml"));
        workshop.run("prove again.toml --out second");
        let (mut first, mut second) = (workshop.report("first"), workshop.report("second"));
        assert_ne!(first["assumed"], Value::Array(vec![]), "{name}");
        assert_eq!(second["assumed"], Value::Array(vec![]), "{name}");
        for report in [&mut first, &mut second] {
            report["assumed"] = Value::Null;
        }
        assert_eq!(first, second, "{name}");
    }
}
