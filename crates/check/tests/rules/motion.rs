//! `no-feed`, `out-of-reach`, `unknown-place`.

use crate::common::{assert_finding, assert_near, found, one, place, silent};
use dryturn_check::Severity;

/// A short bar, a cutter that sticks out by 30, and what the machine has to say.
fn scene(machine: &str) -> String {
    format!(
        "blank = {{ diameter = 20, length = 40 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6, stickout = 30 }}, {{ diameter = 4, stickout = 20 }}]
        [machine]
        {machine}
        start = {{ x = 10, y = 0, z = 50, a = 0 }}"
    )
}

#[test]
fn a_cutting_move_without_a_feed() {
    let finding = one("no-feed", &scene(""), &["M3 S9000\nG1 Z9\nX20\nG0 Z50\nG1 Z9\n"]);
    assert_eq!((finding.severity, finding.lines, finding.blocks), (Severity::Error, Some((2, 5)), 3));
    assert_eq!(place(&finding), (10.0, 0.0, 9.0));
    silent("no-feed", &scene(""), &["M3 S9000\nF300\nG1 Z9\nX20\nG0 Z50\nG1 Z9\n"]);
    silent("no-feed", &scene(""), &["M3 S9000\nG0 Z9\nX20\n"]);
}

#[test]
fn a_lacking_feed_is_told_once_a_program_whatever_the_cutter() {
    let first = "M3 S9000\nG1 Z9\nG0 Z50\nT2 M6\nG1 Z8\nF300\nZ7\nG0 Z50\n";
    let found = found("no-feed", &scene(""), &[first, "F200\nG1 Z9\nG0 Z50\n", "G1 Z9\nG0 Z50\n"]);
    let told: Vec<_> = found.iter().map(|f| (f.program.unwrap(), f.lines.unwrap(), f.blocks)).collect();
    assert_eq!(told, [(0, (2, 5), 2), (2, (1, 1), 1)]);
}

#[test]
fn a_word_beyond_the_travel() {
    let reach = scene("reach = { x = [-20, 400], y = [-200, 200], z = [-5, 130], a = [-360, 720] }");
    let tell = |program: &str| one("out-of-reach", &reach, &[program]);
    let along = tell("G0 Z90\nX410\nX20\n");
    assert_finding(&along, Severity::Error, (2, 3), 10.0, 1e-9);
    assert!(along.text.contains("along the axis 10.00 mm beyond what the machine reaches, -20 to 400 mm"));
    assert_finding(&tell("G0 X-21\n"), Severity::Error, (1, 1), 1.0, 1e-9);
    assert_finding(&tell("G0 Y-200.5\n"), Severity::Error, (1, 1), 0.5, 1e-9);
    // The height that counts is that of the holder's lower face, 30 over the tip.
    assert_finding(&tell("G0 Z100.25\n"), Severity::Error, (1, 1), 0.25, 1e-9);
    assert_finding(&tell("G0 Z-36\n"), Severity::Error, (1, 1), 1.0, 1e-9);
    let turned = tell("G0 Z90\nA725\n");
    assert_finding(&turned, Severity::Error, (2, 2), 5.0, 1e-9);
    assert_eq!(turned.unit, Some("°"));
    silent("out-of-reach", &reach, &["G0 Z100\nX400 Y200 A720\nX-20 Y-200 A-360\nZ-35\n"]);
    silent("out-of-reach", &scene(""), &["G0 X9000\n"]);
}

#[test]
fn an_arc_may_swing_beyond_the_travel() {
    let reach = |y: f64| scene(&format!("reach = {{ y = [-10, {y}] }}"));
    let half_circle = ["G0 Z90\nX20\nG2 X40 Y0 I10 F300\n"];
    let beyond = one("out-of-reach", &reach(9.5), &half_circle);
    assert_finding(&beyond, Severity::Error, (3, 3), 0.5, 1e-9);
    assert_near(place(&beyond).0, 30.0, 1e-9);
    silent("out-of-reach", &reach(10.0), &half_circle);
}

#[test]
fn a_limit_met_once_a_row_is_told_once() {
    let reach = scene("reach = { x = [-20, 100] }");
    let mut program = "M3 S9000\nG0 Z50\nF900\n".to_owned();
    for row in 0..40 {
        program.push_str(&format!("G0 X0 A{row}\n"));
        (1..=50).for_each(|k| program.push_str(&format!("G1 X{}\n", 2.02 * f64::from(k))));
    }
    let finding = one("out-of-reach", &reach, &[&program]);
    assert_near(finding.value.unwrap(), 1.0, 1e-9);
    assert_eq!(finding.blocks, 79);
}

#[test]
fn both_ends_of_a_travel_are_two_findings() {
    let reach = scene("reach = { x = [0, 100] }");
    let found = found("out-of-reach", &reach, &["G0 Z50\nX101\nX-2\nX101\nX-2\nX50\n"]);
    let told: Vec<_> = found.iter().map(|f| (f.value.unwrap(), f.blocks)).collect();
    assert_eq!(told, [(2.0, 4), (1.0, 4)]);
}

#[test]
fn the_stations_of_a_chuck_on_the_far_side() {
    let reach = scene("chuck_on = \"+x\"\nreach = { x = [-20, 400] }").replace("x = 10,", "x = -10,");
    one("out-of-reach", &reach, &["G0 X-401\n"]);
    silent("out-of-reach", &reach, &["G0 X-400\nX20\n"]);
    one("out-of-reach", &reach, &["G0 X21\n"]);
}

#[test]
fn a_move_that_nobody_can_look_at() {
    let without_start = scene("").replace("start = { x = 10, y = 0, z = 50, a = 0 }", "");
    let blind = "M3 S9000\nG0 Z50\nX0 Y0\nG1 X-40 Z5 F300\nG0 Z50\nX20 A0\nG1 Z9\nG0 Z50\n";
    let finding = one("unknown-place", &without_start, &[blind]);
    assert_eq!((finding.severity, finding.lines, finding.blocks), (Severity::Warning, Some((4, 4)), 1));
    assert!(finding.text.contains("where A stands is not known"), "{}", finding.text);
    assert!(found("cuts-nothing", &without_start, &["G0 X0 Y0 Z50\nG1 Z9 F300\n"]).is_empty());
    silent("unknown-place", &without_start, &[&blind.replace("X0 Y0", "X0 Y0 A0")]);
    silent("unknown-place", &scene(""), &[blind]);
    // Lost between two cuts, and on the way home.
    let between = "M3 S9000\nG0 Z50\nX20 Y0 A0\nG1 Z9 F300\nG28 Z50\nG0 X30\nZ20\nG1 Z9\nG0 Z50\n";
    let finding = one("unknown-place", &without_start, &[between]);
    assert_eq!((finding.lines, finding.blocks), (Some((5, 7)), 3));
    let home = "M3 S9000\nG0 Z50\nX20 Y0 A0\nG1 Z9 F300\nG0 Z50\nG28 Z60\nG28 X0 Y0\n";
    silent("unknown-place", &without_start, &[home]);
}
