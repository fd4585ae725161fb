//! The example jobs, as they lie in the repository.

use serde_json::Value;

use crate::setups::lines;
use crate::skin::Skin;
use crate::workshop::{Workshop, scene};

fn findings<'a>(report: &'a Value, severity: &str) -> Vec<&'a Value> {
    report["findings"].as_array().unwrap().iter().filter(|finding| finding["severity"] == severity).collect()
}

/// The closest approach of the two, mm.
fn closest(report: &Value, moving: &str, fixed: &str) -> f64 {
    let rows = report["clearances"].as_array().unwrap().iter();
    let pairs = rows.filter(|row| row["moving"] == moving && row["fixed"] == fixed);
    pairs.map(|row| row["least_mm"].as_f64().unwrap()).fold(f64::INFINITY, f64::min)
}

/// The report of a scene that must end with this code.
fn proved(name: &str, file: &str, code: i32) -> Value {
    let workshop = Workshop::new();
    workshop.expect(code, &format!("prove {} --out out", scene(name).join(file).display()));
    workshop.report("out")
}

/// Nothing is wrong with the job, and all that could be was looked at.
#[track_caller]
fn assert_clear(report: &Value) {
    assert_eq!((findings(report, "error"), findings(report, "warning")), (vec![], vec![]));
    assert_eq!(report["verdict"], "clear");
}

#[track_caller]
fn assert_near(value: &Value, expected: f64, within: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
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
    // The worst line of the program is quoted.
    assert!(run.stdout.contains("groove.nc:16 │ G1 Z20 F300"), "{}", run.stdout);
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
    assert_near(&hit["value"], -2.0, 0.02);
    assert!(hit["text"].as_str().unwrap().contains("chuck"), "{hit}");
    assert!((closest(&report, "holder", "chuck") + 2.0).abs() <= 0.02);
}

#[test]
fn the_kite_reel_with_a_longer_stickout_is_clear() {
    let report = proved("kite-reel", "scene-fixed.toml", 0);
    assert_clear(&report);
    // 24 in place of 18 lifts the nut from 2 under the top of the body to 4 over it.
    assert!((closest(&report, "holder", "chuck") - 4.0).abs() <= 0.02);
}

#[test]
fn the_vane_cap_has_its_screws_in_the_spigot() {
    let report = proved("vane-cap", "scene.toml", 1);
    assert_eq!(report["verdict"], "stop");
    let errors = findings(&report, "error");
    assert_eq!(findings(&report, "warning"), Vec::<&Value>::new());
    // Roughing goes down to a radius of 18, finishing to 16; the steel reaches 24. Both meet it wherever it comes round.
    let expected = [([35, 46], -6.0), ([117, 167], -8.0)];
    assert_eq!(errors.len(), expected.len(), "{errors:?}");
    for (hit, (lines, value)) in errors.into_iter().zip(expected) {
        assert_eq!(hit["rule"], "cutter-hits");
        assert_eq!((&hit["file"], &hit["lines"]), (&"profile.nc".into(), &serde_json::json!(lines)));
        assert_eq!((&hit["program"], &hit["cutter"], &hit["unit"]), (&2.into(), &2.into(), &"mm".into()));
        assert_near(&hit["value"], value, 0.02);
        let text = hit["text"].as_str().unwrap();
        let screw: f64 = text.split("screw ").nth(1).unwrap()[..1].parse().unwrap();
        // Screw 1 stands at 45°, and a quarter turn lies between each and the next.
        assert_near(&hit["where"]["angle_deg"], 90.0 * screw - 45.0, 0.1);
        // Screws 4 long, or on a circle of radius 12, leave the 2 mm of `near`.
        for (key, now, with_near) in [("faceplate.screws.length", 25.0, 4.0), ("faceplate.screws.radius", 22.0, 12.0)] {
            let cure = hit["cures"].as_array().unwrap().iter().find(|cure| cure["what"] == key).unwrap();
            assert_near(&cure["now"], now, 1e-9);
            assert_near(&(now + cure["with_near"].as_f64().unwrap()).into(), with_near, 0.02);
        }
    }
    // The programs are right; it is only the steel that is in the way.
    assert_near(&report["target"]["deepest_gouge_mm"], 0.0, 0.01);
}

#[test]
fn the_vane_cap_with_its_screws_inside_the_cove_is_clear() {
    let report = proved("vane-cap", "scene-fixed.toml", 0);
    assert_clear(&report);
    // The cove's floor at 16, the steel out to 13.
    assert_near(&closest(&report, "cutter", "screw").into(), 3.0, 0.02);
    assert_near(&report["target"]["deepest_gouge_mm"], 0.0, 0.01);
    assert_near(&report["target"]["thickest_leftover_mm"], 0.0, 0.05);
}

#[test]
fn the_marble_lift_is_zeroed_off_a_whole_turn() {
    let report = proved("marble-lift", "scene.toml", 1);
    assert_eq!(report["verdict"], "stop");
    let all = report["findings"].as_array().unwrap();
    let of = |rule: &str| all.iter().filter(|finding| finding["rule"] == rule).collect::<Vec<_>>();
    // A quarter turn at the blank's radius of 30, and a quarter of the groove's 40 a turn.
    let zeroed = of("rezero-off-turn");
    assert_eq!(zeroed.len(), 1, "{zeroed:?}");
    assert_eq!((&zeroed[0]["severity"], &zeroed[0]["file"]), (&"error".into(), &"finish.nc".into()));
    assert_eq!(zeroed[0]["lines"][0], 7);
    assert_near(&zeroed[0]["value"], 90.0, 1e-6);
    let text = zeroed[0]["text"].as_str().unwrap();
    assert!(text.contains("47.12 mm") && text.contains("10.00 mm"), "{text}");
    // The pocket a quarter turn on, 7.5 deep in the crest, and the lip 2.5 deep between two turns of the groove.
    let expected = [([16, 75], 7.5, [8.0, 20.0]), ([81, 82], 2.5, [36.0, 47.0])];
    let gouges = of("gouge");
    assert_eq!(gouges.len(), expected.len(), "{gouges:?}");
    for (gouge, (lines, value, stations)) in gouges.into_iter().zip(expected) {
        assert_eq!((&gouge["severity"], &gouge["file"]), (&"error".into(), &"finish.nc".into()));
        assert_eq!((&gouge["program"], &gouge["cutter"]), (&3.into(), &3.into()));
        assert_eq!(gouge["lines"], serde_json::json!(lines));
        assert_near(&gouge["value"], value, 0.02);
        assert_near(&gouge["where"]["angle_deg"], 90.0, 1.0);
        let station = gouge["where"]["station_mm"].as_f64().unwrap();
        assert!(stations[0] < station && station < stations[1], "{station}");
    }
    // The true pocket and lip stay as cutter 1 has left them.
    let left = of("leftover");
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!((&left[0]["severity"], &left[0]["cutter"]), (&"warning".into(), &1.into()));
}

#[test]
fn the_marble_lift_zeroed_at_a_whole_turn_is_clear() {
    let report = proved("marble-lift", "scene-fixed.toml", 0);
    assert_clear(&report);
    assert_near(&report["target"]["deepest_gouge_mm"], 0.0, 0.05);
    assert_near(&report["target"]["thickest_leftover_mm"], 0.0, 0.05);
}

#[test]
fn the_harbor_light_is_lettered_backwards() {
    let proved = |file: &str, code: i32| {
        let workshop = Workshop::new();
        workshop.expect(code, &format!("prove {} --out out", scene("harbor-light").join(file).display()));
        (workshop.report("out"), Skin::read(&workshop, "out"))
    };
    let (report, mirrored) = proved("scene.toml", 1);
    assert_eq!(report["verdict"], "stop");
    let (gouges, others): (Vec<&Value>, Vec<&Value>) =
        findings(&report, "error").into_iter().partition(|finding| finding["rule"] == "gouge");
    assert_eq!(others.len(), 1, "{others:?}");
    assert_eq!((&others[0]["rule"], &others[0]["file"]), (&"mirrored".into(), &"letters.nc".into()));
    assert_eq!((&others[0]["program"], &others[0]["unit"]), (&1.into(), &"mm³".into()));
    // 29 mm³ are cut where wood should be and 32 left where none should; 4 of them would be off either way.
    assert_near(&others[0]["value"], 56.8, 3.0);
    assert!(gouges.iter().all(|gouge| gouge["file"] == "letters.nc" && gouge["program"] == 1), "{gouges:?}");
    // As deep as the letters where the band runs low: 0.8 less 0.2 · cos of what they are off its lowest place, 60° at the
    // most. What is left over in a groove is never further than half its width from its walls.
    assert_near(&report["target"]["deepest_gouge_mm"], 0.69, 0.01);
    assert_near(&report["target"]["thickest_leftover_mm"], 0.39, 0.02);

    let (report, right) = proved("scene-fixed.toml", 0);
    assert_clear(&report);
    assert_near(&report["target"]["deepest_gouge_mm"], 0.0, 0.02);
    assert_near(&report["target"]["thickest_leftover_mm"], 0.0, 0.02);

    // The left stem of the first letter, an H, where the last, an R, has no stroke.
    let stem = |skin: &Skin| skin.value(116.9, 241.85);
    assert!(stem(&right) < 23.3, "{}", stem(&right));
    assert!((stem(&mirrored) - band(241.85)).abs() < 1e-3, "{}", stem(&mirrored));
    let [right, mirrored] = [right, mirrored.turned_over()].map(|skin| skin.between(109.0, 132.0));
    assert!(mirrored.difference(&right) < 1e-3);
}

/// Radius of the band of the harbor light at an angle, degrees: a round of 24 whose middle lies 0.2 mm off, at θ = 0.
fn band(degrees: f64) -> f64 {
    let (sine, cosine) = degrees.to_radians().sin_cos();
    0.2 * cosine + (24.0f64.powi(2) - (0.2 * sine).powi(2)).sqrt()
}

#[test]
fn the_lines_of_the_harbor_light_are_wider_where_its_band_runs_high() {
    let workshop = Workshop::new();
    let run =
        workshop.expect(0, &format!("prove {} --out out", scene("harbor-light").join("scene-fixed.toml").display()));
    assert!(run.stdout.contains("CLEAR"), "{}", run.stdout);
    let report = workshop.report("out");
    let notes = findings(&report, "note");
    assert_eq!(notes.len(), 1, "{notes:?}");
    let text = "The jaws grip 30.00 mm across, on what lines 57 to 59 of turning.nc cut in the set-up \"Harbour light, first \
                set-up\".";
    assert_eq!((&notes[0]["rule"], &notes[0]["text"]), (&"set-up".into(), &text.into()));
    let (skin, lines) = (Skin::read(&workshop, "out"), lines(&workshop, "out/maps/cut-by.npy"));
    let (first, step) = (&report["grid"]["station_first"], report["grid"]["station_step"].as_f64().unwrap());
    let row = |station: f64| ((station - first.as_f64().unwrap()) / step).round() as usize;
    for (degrees, width) in [(0.0, 1.155), (90.0, 0.923), (180.0, 0.693), (270.0, 0.923)] {
        let column = (degrees / 360.0 * skin.columns() as f64) as usize;
        let cut = (row(111.0)..row(113.5)).filter(|row| lines[row * skin.columns() + column] > 0).count();
        assert!((cut as f64 * step - width).abs() <= step, "{degrees}: {cut} rows");
        assert!((skin.value(131.0, degrees) - band(degrees)).abs() < 1e-3, "{degrees}");
    }
}

/// The programs of one scene, in order.
fn files(report: &Value) -> Vec<&str> {
    report["programs"].as_array().unwrap().iter().map(|program| program["file"].as_str().unwrap()).collect()
}

#[test]
fn the_choir_stand_is_pushed_off_beside_its_waist() {
    let proved = |file: &str| {
        let workshop = Workshop::new();
        workshop.expect(0, &format!("prove {} --out out", scene("choir-stand").join(file).display()));
        (workshop.report("out"), Skin::read(&workshop, "out"))
    };
    let (first, first_skin) = proved("scene.toml");
    assert_eq!(files(&first), ["round.nc", "waist-first.nc", "size.nc", "beads.nc"]);
    assert_eq!((&first["verdict"], findings(&first, "error")), (&"caution".into(), vec![]));
    let warnings = findings(&first, "warning");
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    let pushed = warnings[0];
    assert_eq!(
        (&pushed["rule"], &pushed["file"], &pushed["unit"]),
        (&"pushed-off".into(), &"size.nc".into(), &"mm".into())
    );
    assert_eq!((&pushed["program"], &pushed["cutter"]), (&3.into(), &1.into()));
    // Lines 10 to 40 bring the post from 11.8 to 9.3, 15 mm a line; the waist lies along lines 26 and 27.
    let lines = [0, 1].map(|end| pushed["lines"][end].as_u64().unwrap());
    assert!(10 <= lines[0] && lines[0] <= 26 && 27 <= lines[1] && lines[1] <= 40, "{lines:?}");
    // The worst of them is named, and it is where the post hangs on the waist.
    assert!((25..=28).contains(&pushed["worst_line"].as_u64().unwrap()), "{pushed}");
    // What a load is held against stands beside it.
    assert_near(&first["loads"]["spring_mm"]["limit"], 0.3, 1e-9);
    assert_eq!(first["loads"]["torque_nmm"]["limit"], 4000.0);
    // Beside the waist a newton bends the post by 0.0317 mm. A tooth takes a chip of 0.049 to 0.06 mm, as one counts the
    // speed at the floor or at the skin; 2.5 mm deep and at 80 N/mm² that is 9.7 to 12.1 N, and with a thrust of 0.3 to
    // 1 of it 10.2 to 17.1 N. Twist and the cutter's own bending come on top.
    assert_near(&pushed["value"], 0.43, 0.11);
    assert_near(&pushed["where"]["station_mm"], 275.0, 15.0);

    let (last, last_skin) = proved("scene-fixed.toml");
    assert_eq!(files(&last), ["round.nc", "size.nc", "beads.nc", "waist.nc"]);
    assert_clear(&last);
    // Whatever the order, the piece is the same, and as it was wanted.
    assert!(first_skin.difference(&last_skin) < 1e-6);
    assert_near(&last_skin.value(260.1, 77.0).into(), 4.5, 1e-4);
    let removed = |report: &Value| report["removed_mm3"].as_f64().unwrap();
    assert_near(&removed(&first).into(), removed(&last), 1e-3);
    for report in [&first, &last] {
        assert_near(&report["target"]["deepest_gouge_mm"], 0.0, 0.01);
        assert_near(&report["target"]["thickest_leftover_mm"], 0.0, 0.05);
    }
}

/// The resolved scene says all that was assumed, so nothing else of the report may change.
#[test]
fn a_resolved_scene_proves_to_the_same_report() {
    for name in ["winch-handle", "kite-reel", "harbor-light"] {
        let workshop = Workshop::copy_of(&scene(name));
        workshop.run("prove . --out first");
        workshop.write("again.toml", workshop.read("first/scene.resolved.toml"));
        workshop.run("prove again.toml --out second");
        let (mut first, mut second) = (workshop.report("first"), workshop.report("second"));
        assert_ne!(first["assumed"], Value::Array(vec![]), "{name}");
        // What loads and strength rest on is no key of the scene.
        let rows = |report: &Value| report["assumed"].as_array().unwrap().clone();
        let rests = |row: &Value| rows(&first).contains(row) && !row["because"].as_str().unwrap().is_empty();
        assert!(rows(&second).len() < rows(&first).len() && rows(&second).iter().all(rests), "{name}");
        for report in [&mut first, &mut second] {
            report["assumed"] = Value::Null;
        }
        assert_eq!(first, second, "{name}");
    }
}
