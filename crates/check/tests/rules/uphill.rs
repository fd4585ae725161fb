//! `uphill`.

use crate::common::{assert_near, one, run, silent};
use dryturn_check::Severity;

/// A bar of 40 mm whose grain runs along the axis, at rest over station 10.
fn scene(blank: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 80 {blank} }}
        grid = {{ pitch = 0.5 }}
        cutter = [{{ number = 1, diameter = 6, teeth = 2 }}]
        [machine]
        start = {{ x = 10, y = 0, z = 50, a = 0 }}"
    )
}

/// Down, 30 mm along as deep as it is, and out: first the slope up, or first the slope down.
const UP: &str = "M3 S9000\nG1 Z15 F300\nX40 Z19\nG0 Z50\n";
const DOWN: &str = "M3 S9000\nG0 X40 Z21\nG1 Z19 F300\nX10 Z15\nG0 Z50\n";

#[test]
fn a_slope_that_is_cut_upward() {
    let finding = one("uphill", &scene(""), &[UP]);
    assert_eq!((finding.severity, finding.lines, finding.blocks), (Severity::Note, Some((3, 3)), 1));
    assert_eq!((finding.program, finding.worst_line, finding.cutter), (Some(0), Some(3), Some(1)));
    // Deepest where it begins, in the first stroke.
    assert_near(finding.value.expect("a depth"), 5.0, 0.5);
    // A groove is cut on both sides.
    assert!(finding.text.ends_with(", and none climbs."), "{}", finding.text);
}

#[test]
fn nothing_where_it_is_cut_downward_level_or_around() {
    silent("uphill", &scene(""), &[DOWN]);
    silent("uphill", &scene(""), &["M3 S9000\nG1 Z15 F300\nX40 Z15.2\n"]);
    silent("uphill", &scene(""), &["M3 S9000\nG1 Z15 F300\nX20 Z17 A3600\n"]);
}

#[test]
fn nothing_in_what_has_no_grain_and_for_a_little_of_much() {
    silent("uphill", &scene(", material = \"acetal\""), &[UP]);
    let long = "M3 S9000\nG1 Z17 F300\nX50 A3600\nZ15\nX52 Z15.2\n";
    silent("uphill", &scene(""), &[long]);
}

/// To and fro over half a groove's width beside the slope: half of it rises, and one way of the two climbs.
#[test]
fn to_and_fro() {
    let program = format!("{UP}G0 X10\nG0 Y-4\nG1 Z15 F300\nX40 Z19\nY-6\nX10 Z15\n");
    let findings = run(&crate::common::job(&scene(""), &[&program])).findings;
    let found: Vec<_> = findings.iter().filter(|finding| finding.rule == "uphill").collect();
    assert_eq!((found.len(), found[0].lines, found[0].blocks), (1, Some((3, 8)), 2), "{found:#?}");
    assert!(found[0].text.contains(" % climbs."), "{}", found[0].text);
}
