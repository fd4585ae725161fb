//! `shank-hits`, `holder-hits`, `spindle-hits` against a chuck of ⌀80 that begins at station 0.

use crate::common::{assert_finding, assert_near, one, place, run, silent};
use dryturn_check::Severity;

fn scene(cutter: &str, more: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 2 }}
        checks = {{ near = 0.5 }}
        chuck = {{ hold = 20, body = {{ diameter = 80, length = 45 }} }}
        cutter = [{{ diameter = 6, {cutter} }}]
        {more}
        [machine]
        spindle = [[60, 50]]
        start = {{ x = 50, y = 0, z = 100, a = 0 }}"
    )
}

#[track_caller]
fn hit(rule: &str, cutter: &str, more: &str, program: &str, lift: f64) -> dryturn_check::Finding {
    let finding = one(rule, &scene(cutter, more), &[program]);
    assert_finding(&finding, Severity::Error, (3, 4), -lift, 0.02);
    assert!(place(&finding).0 <= 0.0);
    assert_near(place(&finding).2, 40.0, 0.01);
    finding
}

#[test]
fn a_shank_thicker_than_its_flutes() {
    let program = "G0 Z60\nX5\nG1 Z18 F300\nG0 Z60\n";
    hit("shank-hits", "flute = 20, shank = 12, stickout = 80", "", program, 2.0);
    silent("shank-hits", &scene("flute = 20, shank = 9.9, stickout = 80", ""), &[program]);
    silent("shank-hits", &scene("flute = 22, shank = 12, stickout = 80", ""), &[program]);
}

#[test]
fn a_holder_is_cured_by_its_lift() {
    let program = "G0 Z60\nX10\nG1 Z12 F300\nG0 Z60\n";
    let finding = hit("holder-hits", "flute = 20, stickout = 25, holder = [[30, 20]]", "", program, 3.0);
    assert!(finding.text.contains("3.00 mm higher") && finding.cure.contains("stick out 28.00 mm"), "{finding:?}");
    silent("holder-hits", &scene("flute = 20, stickout = 28, holder = [[30, 20]]", ""), &[program]);
    silent("holder-hits", &scene("flute = 20, stickout = 25, holder = [[20, 20]]", ""), &[program]);
}

#[test]
fn a_spindle_stands_on_its_holder() {
    let program = "G0 Z60\nX20\nG1 Z8 F300\nG0 Z60\n";
    hit("spindle-hits", "flute = 10, stickout = 10, holder = [[8, 20]]", "", program, 2.0);
    silent("spindle-hits", &scene("flute = 10, stickout = 10, holder = [[8, 22]]", ""), &[program]);
    // Without a holder nobody knows how high the spindle is.
    silent("spindle-hits", &scene("flute = 10, stickout = 10", ""), &[program]);
}

#[test]
fn a_boot_on_the_spindle_is_counted_from_the_holders_lower_face() {
    let boot = "moving = [{ name = \"boot\", diameter = 50, from = -5, to = 15 }]";
    let program = "G0 Z60\nX20\nG1 Z3 F300\nG0 Z60\n";
    let finding = hit("spindle-hits", "flute = 20, stickout = 40", boot, program, 2.0);
    assert!(finding.text.contains("The boot over cutter 1 hits the chuck"), "{}", finding.text);
    silent("spindle-hits", &scene("flute = 20, stickout = 42", boot), &[program]);
    silent("spindle-hits", &scene("flute = 20", boot), &[program]);
}

#[test]
fn every_pair_has_its_closest_approach() {
    let scene = scene("flute = 20, shank = 8, stickout = 40, holder = [[30, 20]]", "");
    let proof = run(&crate::common::job(&scene, &["G0 Z60\nX50\nG1 Z15 F300\nG0 Z60\n"]));
    let pairs: Vec<_> = proof.clearances.iter().map(|c| (c.moving.as_str(), c.fixed.as_str(), c.cutter)).collect();
    assert_eq!(pairs, ["cutter", "shank", "holder", "spindle"].map(|moving| (moving, "chuck", 1)));
    // Side by side the flutes are 47 off; the holder's rim is 15 over the chuck's top and 35 beside it.
    let least: Vec<f64> = proof.clearances.iter().map(|c| c.least_mm).collect();
    let expected = [47.0, 46.0, f64::hypot(35.0, 15.0), f64::hypot(20.0, 35.0)];
    least.iter().zip(expected).for_each(|(least, expected)| assert_near(*least, expected, 0.002));
    assert!(proof.clearances.iter().all(|c| (c.program, c.line) == (0, 3)));
}
