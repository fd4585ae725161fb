//! `grid-too-coarse`.

use crate::common::{assert_near, found, job_with, one, run, silent};
use dryturn_check::Severity;

fn scene(pitch: f64, cutter: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 60 }}
        grid = {{ pitch = {pitch} }}
        cutter = [{{ {cutter} }}]
        machine = {{ start = {{ x = 10, y = 0, z = 50, a = 0 }} }}"
    )
}

const SLOT: &[&str] = &["M3 S9000\nG1 Z19.5 F300\nX50\nG0 Z50\n"];

#[test]
fn a_cutter_under_three_pitches() {
    let note = one("grid-too-coarse", &scene(1.0, "diameter = 2.9"), SLOT);
    assert_eq!((note.severity, note.cutter, note.unit), (Severity::Note, Some(1), Some("mm")));
    assert_near(note.value.unwrap(), 2.9, 1e-12);
    assert!(note.cure.contains("pitch = 0.96"), "{}", note.cure);
    silent("grid-too-coarse", &scene(1.0, "diameter = 3.1"), SLOT);
    silent("grid-too-coarse", &format!("{}\nchecks = {{ grid_too_coarse = 2.5 }}", scene(1.0, "diameter = 2.9")), SLOT);
    // It cuts nothing, so nothing of it is to be seen.
    silent("grid-too-coarse", &scene(1.0, "diameter = 2.9"), &["M3 S9000\nG1 Z45 F300\nX50\n"]);
}

#[test]
fn a_line_is_as_wide_as_a_pointed_cutter_goes_deep() {
    // 0.5 deep with 60° between the sides: 2 · 0.5 · tan 30° = 0.577 wide, a little less into the round.
    let vee = "shape = \"vee\", angle = 60, diameter = 6";
    let note = one("grid-too-coarse", &scene(0.25, vee), SLOT);
    assert_near(note.value.unwrap(), 0.577, 0.06);
    silent("grid-too-coarse", &scene(0.15, vee), SLOT);
    let taper = "shape = \"taper\", tip = 0.5, angle = 5, diameter = 6";
    assert_near(one("grid-too-coarse", &scene(0.2, taper), SLOT).value.unwrap(), 0.5, 1e-12);
}

#[test]
fn a_bead_under_three_pitches() {
    let told = |width: f64| {
        let profile = format!("station,radius\n5,18\n20,18\n{},20\n{},18\n55,18\n", 20.0 + width / 2.0, 20.0 + width);
        let scene = format!(
            "format = 1\n{}\ntarget = {{ file = \"bead.csv\" }}\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]",
            scene(1.0, "diameter = 6")
        );
        let job = job_with(&scene, SLOT, &[("bead.csv", &profile)]);
        run(&job).findings.into_iter().filter(|finding| finding.rule == "grid-too-coarse").count()
    };
    // One bead alone turns once; a groove beside it turns the radius back.
    assert_eq!(told(2.0), 0);
    let grooves = "station,radius\n5,18\n20,20\n21,18\n22,20\n55,18\n";
    let scene = format!(
        "format = 1\n{}\ntarget = {{ file = \"t.csv\" }}\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]",
        scene(1.0, "diameter = 6")
    );
    let job = job_with(&scene, SLOT, &[("t.csv", grooves)]);
    let notes: Vec<_> = run(&job).findings.into_iter().filter(|finding| finding.rule == "grid-too-coarse").collect();
    assert_eq!(notes.len(), 1, "{notes:#?}");
    assert_eq!((notes[0].value, notes[0].severity), (Some(2.0), Severity::Note));
    assert!(found("grid-too-coarse", &self::scene(1.0, "diameter = 6"), SLOT).is_empty());
}
