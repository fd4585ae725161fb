//! `shank-in-blank`, `holder-in-blank`, `spindle-in-blank`, `rapid-in-blank`, `past-axis`, `spindle-still`,
//! `cuts-nothing`.

use crate::common::{assert_finding, assert_near, assert_place, found, job, job_of, one, place, run, silent};
use dryturn_check::Severity;

/// A bar of ⌀40 × 120 and one cutter of ⌀6.
fn scene(cutter: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 1 }}
        cutter = [{{ diameter = 6, {cutter} }}]
        [machine]
        spindle = [[60, 50]]
        start = {{ x = 50, y = 0, z = 100, a = 0 }}"
    )
}

/// Plunges at station 50 to a height.
fn plunge(z: f64) -> String {
    format!("M3 S9000\nG0 Z50\nG1 Z{z} F300\nG0 Z50\n")
}

#[test]
fn a_holder_that_dips_into_the_blank() {
    let holder = "flute = 20, stickout = 25, holder = [[30, 20]]";
    let finding = one("holder-in-blank", &scene(holder), &[&plunge(-6.0)]);
    assert_finding(&finding, Severity::Error, (3, 4), 1.0, 0.001);
    let (station, angle, radius) = place(&finding);
    assert!((35.0..=65.0).contains(&station));
    assert_eq!((angle, radius), (0.0, 20.0));
    let shown = finding.place.unwrap().shown.unwrap();
    assert_eq!((shown.x, shown.y, shown.z, shown.a), (50.0, 0.0, -6.0, Some(0.0)));
    silent("holder-in-blank", &scene(holder), &[&plunge(-4.99)]);
    one("holder-in-blank", &scene(holder), &[&plunge(-5.03)]);
    silent("holder-in-blank", &scene(holder), &[&plunge(-5.01)]);
    silent("holder-in-blank", &scene("flute = 20, stickout = 27, holder = [[30, 20]]"), &[&plunge(-6.0)]);
}

#[test]
fn a_spindle_that_dips_into_the_blank() {
    let spindle = "flute = 10, stickout = 10, holder = [[5, 5]]";
    let finding = one("spindle-in-blank", &scene(spindle), &[&plunge(4.0)]);
    assert_finding(&finding, Severity::Error, (3, 4), 1.0, 0.001);
    silent("spindle-in-blank", &scene(spindle), &[&plunge(5.0)]);
    // The holder is thinner than the cutter and stays in its hole.
    silent("holder-in-blank", &scene(spindle), &[&plunge(4.0)]);
}

#[test]
fn a_thick_shank_may_rub_but_not_press() {
    let shank = "flute = 5, shank = 8, stickout = 40";
    silent("shank-in-blank", &scene(shank), &[&plunge(14.97)]);
    let rubs = one("shank-in-blank", &scene(shank), &[&plunge(14.8)]);
    assert_finding(&rubs, Severity::Warning, (3, 4), 0.2, 0.001);
    let presses = one("shank-in-blank", &scene(shank), &[&plunge(14.6)]);
    assert_finding(&presses, Severity::Error, (3, 4), 0.4, 0.001);
    silent("shank-in-blank", &scene("flute = 5, shank = 6, stickout = 40"), &[&plunge(5.0)]);
    silent("shank-in-blank", &scene("flute = 6, shank = 8, stickout = 40"), &[&plunge(14.6)]);
}

/// A helix whose holder meets the corners of a square bar, in short blocks, and leaves its flats alone.
fn helix_over_corners() -> (String, String) {
    let scene = scene("flute = 20, stickout = 25, holder = [[30, 20]]")
        .replace("diameter = 40, length = 120", "shape = \"square\", across_flats = 30, length = 120")
        .replace("pitch = 1", "pitch = 2");
    let mut program = "M3 S9000\nG0 Z50\nX20 A0\nG1 Z-5 F300\n".to_owned();
    for step in 1..=480 {
        program.push_str(&format!("X{:.2} A{}\n", 20.0 + 0.05 * f64::from(step), step * 3));
    }
    (scene, program)
}

#[test]
fn corners_met_once_a_quarter_turn_are_told_once() {
    let (scene, program) = helix_over_corners();
    let finding = one("holder-in-blank", &scene, &[&program]);
    assert_eq!(finding.severity, Severity::Error);
    // Sixteen corners in four turns, each over several blocks, and not the whole way.
    assert!((16..400).contains(&finding.blocks), "{}", finding.blocks);
}

#[test]
fn two_shoulders_met_in_turns_are_two_findings() {
    let holder = "flute = 20, stickout = 25, holder = [[30, 20]]";
    let mut program = "M3 S9000\n".to_owned();
    for _ in 0..5 {
        program.push_str("G0 Z50\nX30\nG1 Z-6 F300\nG0 Z50\nX90\nG1 Z-6.5\n");
    }
    let found = found("holder-in-blank", &scene(holder), &[&program]);
    let told: Vec<_> = found.iter().map(|finding| (finding.lines.unwrap(), finding.value.unwrap())).collect();
    assert_eq!(told.len(), 2, "{found:#?}");
    assert_eq!((told[0].0.0, told[1].0.0), (4, 7));
    assert_near(told[0].1, 1.0, 0.001);
    assert_near(told[1].1, 1.5, 0.001);
    assert_eq!((found[0].blocks, found[1].blocks), (10, 9));
}

#[test]
fn a_rapid_in_wood_is_an_error_and_a_graze_a_note() {
    let rapid = |z: f64| format!("M3 S9000\nG0 Z50\nZ{z}\nG0 Z50\n");
    let flat = scene("flute = 20");
    let deep = one("rapid-in-blank", &flat, &[&rapid(15.0)]);
    // Half a row from the axis the wood lies 2.5 mm inside the flutes.
    assert_finding(&deep, Severity::Error, (3, 3), 2.5, 0.001);
    let station = place(&deep).0;
    assert!((station - 50.0).abs() <= 0.5);
    assert_finding(&one("rapid-in-blank", &flat, &[&rapid(19.9)]), Severity::Error, (3, 3), 0.1, 1e-4);
    assert_finding(&one("rapid-in-blank", &flat, &[&rapid(19.97)]), Severity::Note, (3, 3), 0.03, 1e-4);
    silent("rapid-in-blank", &flat, &[&rapid(20.05)]);
    silent("rapid-in-blank", &flat, &[&plunge(15.0)]);
}

#[test]
fn a_deep_rapid_that_takes_next_to_nothing_is_a_note() {
    let fine = "blank = { diameter = 20, length = 20 }
        grid = { pitch = 0.1 }
        cutter = [{ diameter = 6, shape = \"vee\", angle = 30, flute = 10 }]
        machine = { start = { x = 10, y = 0, z = 50, a = 0 } }";
    let rapid = |z: f64| format!("M3 S9000\nG0 Z20\nZ{z}\nG0 Z20\n");
    let cone = |depth: f64| std::f64::consts::PI * (depth * 15f64.to_radians().tan()).powi(2) * depth / 3.0;
    assert!(cone(1.5) < 0.5 && cone(3.0) > 0.5);
    assert_eq!(one("rapid-in-blank", fine, &[&rapid(8.5)]).severity, Severity::Note);
    assert_eq!(one("rapid-in-blank", fine, &[&rapid(7.0)]).severity, Severity::Error);
}

#[test]
fn rapids_one_after_another_count_together() {
    // Two dips that follow on from each other take more than 0.5 mm³ together, each less.
    let fine = "blank = { diameter = 20, length = 30 }
        grid = { pitch = 0.1 }
        cutter = [{ diameter = 6, shape = \"vee\", angle = 30, flute = 10 }]
        machine = { start = { x = 10, y = 0, z = 50, a = 0 } }";
    let linked = |link: &str| format!("M3 S9000\nG0 Z20\nZ8.2\nZ10.5\n{link}X25 F900\nG0 Z8.2\nZ20\n");
    let apart = found("rapid-in-blank", fine, &[&linked("G1 ")]);
    assert_eq!(apart.iter().map(|f| f.severity).collect::<Vec<_>>(), [Severity::Note; 2], "{apart:#?}");
    let together = one("rapid-in-blank", fine, &[&linked("")]);
    assert_finding(&together, Severity::Error, (3, 6), together.value.unwrap(), 0.0);
    assert_eq!(together.blocks, 2);
    assert!(together.text.starts_with("2 rapids go up to"), "{}", together.text);
}

#[test]
fn a_tip_below_the_axis_is_a_note_while_the_blank_stands() {
    let flat = scene("flute = 30");
    let through = one("past-axis", &flat, &[&plunge(-22.0)]);
    assert_finding(&through, Severity::Note, (3, 4), 22.0, 1e-9);
    assert_place(&through, 50.0, 180.0, 22.0, 1e-6);
    silent("past-axis", &flat, &[&plunge(0.0)]);
    // An arc may dip below while both its ends lie over the axis.
    let dips = "M3 S9000\nG0 Z50\nG1 Z1 F300\nG18 G2 X53 Z1 I1.5 K0\nG0 Z50\n";
    let deeper = one("past-axis", &flat, &[dips]);
    assert_finding(&deeper, Severity::Note, (4, 4), 0.5, 1e-6);
    assert_near(place(&deeper).0, 51.5, 1e-6);
}

#[test]
fn a_row_of_holes_right_through_is_one_note() {
    let mut program = "M3 S9000\nG0 Z50\n".to_owned();
    (1..=8).for_each(|hole| program.push_str(&format!("X{}\nG1 Z-{} F300\nG0 Z50\n", 12 * hole, 20 + hole)));
    let note = one("past-axis", &scene("flute = 30"), &[&program]);
    assert_finding(&note, Severity::Note, (4, 26), 28.0, 1e-9);
    assert_eq!((note.blocks, place(&note).0), (16, 96.0));
}

#[test]
fn wood_beyond_the_axis_while_the_blank_turns_is_a_warning() {
    let flat = scene("flute = 30");
    let faces_past = |z: f64| format!("M3 S9000\nG0 Z50\nX125\nG1 Z{z} F300\nX110 A3600\nG0 Z50\n");
    let finding = one("past-axis", &flat, &[&faces_past(-1.0)]);
    assert_finding(&finding, Severity::Warning, (5, 5), 1.0, 0.01);
    // The ray points down while it is met: the controller shows its angle and half a turn.
    let at = finding.place.unwrap();
    let turned = (at.shown.unwrap().a.unwrap() - at.angle_deg).rem_euclid(360.0);
    assert_near(turned, 180.0, 1e-6);
    assert_eq!(one("past-axis", &flat, &[&faces_past(-0.04)]).severity, Severity::Note);
    silent("past-axis", &flat, &[&faces_past(0.0)]);
    let parting = format!(
        "format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1, parts = {{ min_tab = 5 }} }}]\n{}",
        scene("flute = 30")
    );
    let findings = run(&job_of(&parting, &[&faces_past(-1.0)])).findings;
    let meant = findings.iter().find(|finding| finding.rule == "past-axis").unwrap();
    assert_eq!(meant.severity, Severity::Note);
}

#[test]
fn wood_cut_with_the_spindle_stopped() {
    let flat = scene("flute = 20");
    let late = "G0 Z50\nG1 Z15 F300\nG0 Z50\nX70\nG1 Z15\nM3 S9000\nG1 Z10\nG0 Z50\n";
    let finding = one("spindle-still", &flat, &[late]);
    assert_eq!((finding.severity, finding.lines, finding.blocks), (Severity::Error, Some((2, 5)), 2));
    let started_first = format!("M3 S9000\n{late}");
    silent("spindle-still", &flat, &[&started_first]);
    // As much as two plunges take by themselves.
    let by_itself = run(&job(&flat, &["M3 S9000\nG0 Z50\nG1 Z15 F300\nG0 Z50\nX70\nG1 Z15\n"]));
    assert_near(finding.value.unwrap(), by_itself.programs[0].removed_mm3, 1e-9);
    assert_eq!(finding.unit, Some("mm³"));
}

#[test]
fn each_standstill_of_the_spindle_is_a_finding() {
    let twice = "G0 Z50\nG1 Z15 F300\nM3 S9000\nZ14\nM5\nZ13\nM3\nG0 Z50\nM3 S0\nX70\nG1 Z15\n";
    let found = found("spindle-still", &scene("flute = 20"), &[twice]);
    let lines: Vec<_> = found.iter().map(|finding| finding.lines.unwrap()).collect();
    assert_eq!(lines, [(2, 2), (6, 6), (11, 11)]);
}

#[test]
fn a_spindle_switched_by_hand_is_one_note() {
    let flat = scene("flute = 20");
    let unnamed = one("spindle-still", &flat, &["G0 Z50\nG1 Z15 F300\nG0 Z50\n", "G0 X70\nG1 Z15 F300\nG0 Z50\n"]);
    assert_eq!((unnamed.severity, unnamed.program), (Severity::Note, None));
    assert!(unnamed.text.starts_with("No program switches"));
    silent("spindle-still", &flat, &["G0 Z50\nX70\n"]);
    let by_hand = flat.replace("[machine]", "[machine]\nspindle_switch = \"hand\"");
    let note = one("spindle-still", &by_hand, &["G0 Z50\nG1 Z15 F300\nM3 S9000\nG0 Z50\n"]);
    assert_eq!(note.severity, Severity::Note);
    assert!(note.text.starts_with("The spindle is switched by hand"));
}

#[test]
fn a_program_that_takes_nothing_off() {
    let flat = scene("flute = 20");
    let air = "M3 S9000\nG0 Z50\nX50 A0\nG1 Z20.1 F300\nA360\nG0 Z50\n";
    let finding = one("cuts-nothing", &flat, &[&plunge(15.0), air]);
    assert_eq!((finding.severity, finding.program, finding.lines), (Severity::Warning, Some(1), Some((4, 6))));
    assert!(finding.text.contains("2 feed moves"), "{}", finding.text);
    // Again where the program before has been.
    one("cuts-nothing", &flat, &[&plunge(15.0), &plunge(15.0)]);
    silent("cuts-nothing", &flat, &[&plunge(15.0), &plunge(14.0)]);
    one("cuts-nothing", &flat, &["G0 Z50\nX60\n"]);
    assert_eq!(one("cuts-nothing", &flat, &["M3 S9000\nM5\n"]).lines, None);
}

#[test]
fn a_cutter_that_is_called_and_takes_nothing_off() {
    let two = scene("flute = 20").replace("}]", "}, { diameter = 3 }]");
    let idle = "M3 S9000\nG0 Z50\nG1 Z15 F300\nG0 Z50\nT2 M6\nM3\nG1 Z40\nZ30\nG0 Z50\n";
    let finding = one("cuts-nothing", &two, &[idle]);
    assert_eq!((finding.severity, finding.cutter, finding.lines), (Severity::Warning, Some(2), Some((7, 9))));
    assert!(finding.text.starts_with("Cutter 2 makes 2 feed moves"), "{}", finding.text);
    silent("cuts-nothing", &two, &[&idle.replace("Z30", "Z10")]);
    // One that is only moved away with rapids was not meant to cut.
    silent("cuts-nothing", &two, &["M3 S9000\nG0 Z50\nG1 Z15 F300\nG0 Z50\nT2 M6\nG0 X90\n"]);
}
