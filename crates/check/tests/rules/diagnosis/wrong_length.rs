//! `wrong-length`.

use crate::common::{one, silent};
use dryturn_check::Severity;

fn scene() -> String {
    "blank = { diameter = 40, length = 120 }
        grid = { pitch = 1 }
        controller = { tool_length = \"table\" }
        cutter = [{ number = 1, diameter = 6, stickout = 40 }, { number = 2, diameter = 4, stickout = 30 }]
        machine = { start = { x = 50, y = 0, z = 100, a = 0 } }"
        .to_owned()
}

const TWO: &str =
    "M3 S9000\nG43 H1\nG0 Z30\nG1 Z18 F300\nA360\nG0 Z30\nM5\nT2 M6\nM3\nG43 H2\nG0 Z30\nX70\nG1 Z18\nA720\nG0 Z30\n";

#[test]
fn the_length_of_another_cutter() {
    let finding = one("wrong-length", &scene(), &[&TWO.replace("H2", "H1")]);
    assert_eq!((finding.severity, finding.program, finding.lines), (Severity::Error, Some(0), Some((10, 10))));
    assert_eq!(finding.text, "The length of cutter 1 is used, but cutter 2 is in the spindle.");
    // The tip hangs ten millimetres higher than the word says.
    let at = finding.place.unwrap();
    assert_eq!((finding.cutter, at.station_mm, at.radius_mm, at.shown.unwrap().z), (Some(2), 70.0, 40.0, 30.0));
    silent("wrong-length", &scene(), &[TWO]);
    // The cutter in the spindle is meant where no number is given.
    silent("wrong-length", &scene(), &[&TWO.replace("G43 H2", "G43")]);
}

#[test]
fn a_cutter_changed_under_the_length_of_the_one_before() {
    let finding = one("wrong-length", &scene(), &[&TWO.replace("G43 H2\n", "")]);
    assert_eq!((finding.severity, finding.lines), (Severity::Error, Some((12, 12))));
    // Moves along and across until the new length is called do no harm.
    silent("wrong-length", &scene(), &[&TWO.replace("G43 H2\n", "G0 X60\nG43 H2\n")]);
}

#[test]
fn cutters_zeroed_by_hand_have_no_length() {
    let by_hand = TWO.replace("G43 H1\n", "").replace("G43 H2\n", "");
    silent("wrong-length", &scene(), &[&by_hand]);
}
