//! Every rule with a number speaks earlier or later when its key says so.

use crate::common::{found, one, silent};
use dryturn_check::Severity;

const BLANK: &str = "blank = { diameter = 40, length = 60 }\ngrid = { pitch = 0.5 }\n";
const START: &str = "machine = { start = { x = 30, y = 0, z = 50, a = 0 } }\n";

fn scene(cutter: &str, checks: &str) -> String {
    format!("{BLANK}{START}cutter = [{{ {cutter} }}]\nchecks = {{ {checks} }}\n")
}

fn severities(rule: &str, scene: &str, program: &str) -> Vec<Severity> {
    found(rule, scene, &[program]).iter().map(|finding| finding.severity).collect()
}

#[test]
fn a_rapid_may_take_what_is_allowed() {
    let plunge = "M3 S9000\nG0 Z19.9\nZ50\n";
    let with = |checks: &str| severities("rapid-in-blank", &scene("diameter = 6", checks), plunge);
    assert_eq!(with(""), [Severity::Error]);
    assert_eq!(with("rapid_in_blank = { depth = 0.2 }"), [Severity::Note]);
    assert_eq!(with("rapid_in_blank = { volume = 50 }"), [Severity::Note]);
}

#[test]
fn a_shank_may_rub_as_deep_as_is_allowed() {
    let plunge = "M3 S9000\nG1 Z14.8 F300\nG0 Z50\n";
    let cutter = "diameter = 6, flute = 5, shank = 8, stickout = 40";
    let with = |checks: &str| severities("shank-in-blank", &scene(cutter, checks), plunge);
    assert_eq!(with(""), [Severity::Warning]);
    assert_eq!(with("shank_in_blank = { error = 0.1 }"), [Severity::Error]);
    assert_eq!(with("shank_in_blank = { warning = 0.25 }"), []);
}

#[test]
fn the_tip_may_go_past_the_axis_as_far_as_is_allowed() {
    let turn = "M3 S9000\nG1 Z-0.5 F300\nA360\nG0 Z50\n";
    let with = |checks: &str| severities("past-axis", &scene("diameter = 6, flute = 30", checks), turn);
    assert_eq!(with(""), [Severity::Warning]);
    assert_eq!(with("past_axis = 0.6"), [Severity::Note]);
}

#[test]
fn turning_back_may_last_as_long_as_is_allowed() {
    let slow = "M3 S9000\nG1 Z19 F300\nA7200 F4000\nG0 Z50\nG1 A0 F1000\n";
    one("wound-up", &scene("diameter = 6", ""), &[slow]);
    silent("wound-up", &scene("diameter = 6", "wound_up = { minutes = 8 }"), &[slow]);
    let far = "M3 S9000\nG1 Z19 F300\nA500000 F40000\nG92 A0\nG0 Z50\n";
    one("wound-up", &scene("diameter = 6", "wound_up = { step = 0.005 }"), &[far]);
    silent("wound-up", &scene("diameter = 6", ""), &[far]);
}

#[test]
fn a_blank_may_be_as_slender_and_a_quill_as_far_out_as_is_allowed() {
    let held = |checks: &str| format!("{}chuck = {{ hold = 5 }}\n", scene("diameter = 6", checks));
    silent("slender", &held(""), &["G0 Z40\n"]);
    one("slender", &held("slender = 1.3"), &["G0 Z40\n"]);
    let tailstock = "tailstock = { center = { diameter = 12, quill = 16, extension = 5 } }";
    let out = |checks: &str| format!("{}{tailstock}\n", held(checks));
    one("center-overextended", &out(""), &["G0 Z40\n"]);
    silent("center-overextended", &out("center_overextended = \"1/4 in\""), &["G0 Z40\n"]);
}
