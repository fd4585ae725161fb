//! `overload`, `stall`, `too-deep`, `full-width`, `plunge`, `chip-load`.

use crate::common::{assert_finding, assert_near, found, job, one, place, run, silent};
use dryturn_check::Severity;

/// A bar of hard maple, ⌀50 × 100, and one flat cutter of ⌀6 with two teeth.
fn scene(cutter: &str, machine: &str) -> String {
    format!(
        "blank = {{ diameter = 50, length = 100, material = \"hard maple\" }}
        grid = {{ pitch = 0.25 }}
        cutter = [{{ diameter = 6, flute = 20, {cutter} }}]
        [machine]
        {machine}
        start = {{ x = 10, y = 0, z = 40, a = 0 }}"
    )
}

/// A groove along the axis to this height at this F, from station 10 to 60; 9000 turns a minute.
fn groove(z: f64, feed: f64) -> String {
    format!("M3 S9000\nG1 Z{z} F300\nX60 F{feed}\nG0 Z40\n")
}

/// A groove all the way around, 5 deep, with the spindle turning one way or the other.
fn ring(hand: &str) -> String {
    format!("{hand} S9000\nG1 Z20 F300\nA360 F3000\nG0 Z40\n")
}

/// A section of 5.9 × 5 mm at 20 mm/s, with chips of 0.042 mm on the mean: 25 N/mm² at the least, twice 40 at the most.
#[test]
fn a_groove_that_overloads_the_spindle() {
    let power = |watts: &str| scene("", &format!("spindle_power = {watts}"));
    let program = groove(20.0, 1200.0);
    let sure = one("overload", &power("12"), &[&program]);
    assert_finding(&sure, Severity::Error, (3, 3), 14.8, 0.5);
    assert_eq!((sure.unit, place(&sure).2), (Some("W"), 20.0));
    assert!(
        sure.text.contains("at the least") && sure.text.contains("planning default for hard maple"),
        "{}",
        sure.text
    );
    let may = one("overload", &power("30"), &[&program]);
    assert_finding(&may, Severity::Warning, (3, 3), 47.4, 1.5);
    assert!(may.cure.starts_with("Lower F or the depth of the cut there by 3"), "{}", may.cure);
    silent("overload", &power("50"), &[&program]);
    // Slower, it is within the power of the weak one.
    silent("overload", &power("30"), &[&groove(20.0, 600.0)]);
}

#[test]
fn own_wood_is_taken_as_it_is_given() {
    let own = "material = { density = 700, cutting = [5, 6] }";
    let power = |watts: &str| scene("", &format!("spindle_power = {watts}")).replace("material = \"hard maple\"", own);
    let finding = one("overload", &power("2.5"), &[&groove(20.0, 1200.0)]);
    assert_eq!(finding.severity, Severity::Error);
    assert!(finding.text.contains("5 to 6 N/mm² that the scene gives"), "{}", finding.text);
    // Nothing is known of the material.
    let unknown = scene("", "spindle_power = 1").replace(", material = \"hard maple\"", "");
    silent("overload", &unknown, &[&groove(20.0, 1200.0)]);
}

/// Of a spindle that the programs leave at nought it is not said that nobody named a speed.
#[test]
fn a_speed_of_nought_is_told_as_such() {
    let why = |program: &str| {
        let rows = run(&job(&scene("", ""), &[program])).not_checked;
        let row = rows.into_iter().find(|row| row.what == "forces, torque and spring");
        row.map(|row| (row.because, row.how_to_add))
    };
    let (because, how) = why("M3 S0\nG1 Z20 F300\nX60\nG0 Z40\n").unwrap();
    assert!(because.contains("no spindle speed over 0 is in force") && how.is_empty(), "{because}");
    let (because, how) = why("M3\nG1 Z20 F300\nX60\nG0 Z40\n").unwrap();
    assert!(because.contains("Neither the programs nor the scene name") && how.contains("spindle_speed"), "{because}");
    assert_eq!(why(&groove(20.0, 600.0)), None);
}

#[test]
fn a_rapid_asks_the_spindle_for_nothing() {
    silent("overload", &scene("", "spindle_power = 1"), &["M3 S9000\nG0 Z22\nX60\nZ40\n"]);
}

/// The feed of a tooth is 0.065 mm: over a turn the thrust alone turns the blank, 0.3·25·2·5·0.065/4 N at 22.5 mm; a tooth
/// may do a multiple of it.
#[test]
fn a_groove_that_the_axis_cannot_hold() {
    let holds = |torque: &str| scene("", &format!("rotary_torque = {torque}"));
    let sure = one("stall", &holds("0.02"), &[&ring("M3")]);
    assert_finding(&sure, Severity::Error, (3, 3), 0.0276, 0.0006);
    assert_eq!(sure.unit, Some("N·m"));
    let may = one("stall", &holds("0.1"), &[&ring("M3")]);
    assert_eq!((may.severity, may.lines), (Severity::Warning, Some((3, 3))));
    assert!(may.text.contains("the rotary axis holds 0.1 N·m"), "{}", may.text);
    silent("stall", &holds("1"), &[&ring("M3")]);
}

#[test]
fn the_weakest_holding_counts() {
    let held = format!("{}\n[chuck]\nhold = 5\ntorque = 0.1\n", scene("", "rotary_torque = 4"));
    let finding = one("stall", &held, &[&ring("M3")]);
    assert!(finding.text.contains("the chuck holds 0.1 N·m"), "{}", finding.text);
    silent("stall", &held.replace("torque = 0.1", "torque = 3"), &[&ring("M3")]);
}

/// The teeth go toward the chuck as they cut ahead of a cutter that turns clockwise and goes toward −Y over the wood;
/// counter-clockwise they push the blank against the center, by 25·2·5·0.065/4 N over a turn.
#[test]
fn a_groove_that_pushes_the_center_back() {
    let center = format!(
        "{}\n[tailstock]\ncenter = {{ diameter = 12, quill = 16, extension = 3 }}\nforce = 3\n",
        scene("", "rotary_torque = 4")
    );
    let finding = one("stall", &center, &[&ring("M4")]);
    assert_finding(&finding, Severity::Error, (3, 3), 4.09, 0.1);
    assert_eq!(finding.unit, Some("N"));
    silent("stall", &center, &[&ring("M3")]);
    silent("stall", &center.replace("force = 3", "force = 60"), &[&ring("M4")]);
}

#[test]
fn a_cut_deeper_than_the_cutter_is_good_for() {
    let finding = one("too-deep", &scene("depth = 3", ""), &[&groove(20.0, 600.0)]);
    assert_finding(&finding, Severity::Warning, (3, 3), 5.0, 0.01);
    assert!(finding.cure.contains("2 passes"), "{}", finding.cure);
    silent("too-deep", &scene("depth = 5", ""), &[&groove(20.0, 600.0)]);
    // In two passes; the plunge is as deep as it likes.
    let passes = "M3 S9000\nG1 Z22.5 F300\nX60 F600\nZ20 F300\nX10 F600\nG0 Z40\n";
    silent("too-deep", &scene("depth = 3", ""), &[passes]);
}

/// A helix of 3 mm a turn that comes in over the free end takes a width of 3 mm, and a groove all of the cutter.
#[test]
fn a_cut_wider_than_the_cutter_is_good_for() {
    let facing = "M3 S9000\nG0 X103.1\nG1 Z23 F600\nX70.1 A3960 F60\nG0 Z40\n";
    let at = |width: &str| scene(&format!("width = {width}"), "");
    silent("full-width", &at("3"), &[facing]);
    let finding = one("full-width", &at("2"), &[facing]);
    assert_finding(&finding, Severity::Warning, (4, 4), 3.0, 0.15);
    let all = one("full-width", &at("3"), &[&groove(20.0, 600.0)]);
    assert_finding(&all, Severity::Warning, (3, 3), 6.0, 1e-9);
    silent("full-width", &at("6"), &[&groove(20.0, 600.0)]);
}

#[test]
fn a_plunge_faster_than_the_cutter_is_good_for() {
    let finding = one("plunge", &scene("plunge = 200", ""), &[&groove(20.0, 600.0)]);
    assert_finding(&finding, Severity::Warning, (2, 2), 300.0, 0.01);
    // At the end of the way, which begins far over the wood.
    assert_eq!(place(&finding).2, 20.0);
    assert_eq!(finding.unit, Some("mm/min"));
    silent("plunge", &scene("plunge = 300", ""), &[&groove(20.0, 600.0)]);
    // A ramp goes down as well, but not mainly.
    silent("plunge", &scene("plunge = 100", ""), &["M3 S9000\nG1 Z25 F90\nX40 Z20 F600\nG0 Z40\n"]);
}

/// Feeds are as written: a hundredth is for rounding, and no more.
#[test]
fn feeds_may_pass_their_limits_by_a_hundredth() {
    let program = [groove(20.0, 1200.0)];
    let program: Vec<&str> = program.iter().map(String::as_str).collect();
    silent("plunge", &scene("plunge = 297.1", ""), &program);
    let plunge = one("plunge", &scene("plunge = 297", ""), &program);
    assert!(plunge.text.contains("at 300 mm/min, and is good for 297."), "{}", plunge.text);
    silent("chip-load", &scene("chip = [0.01, 0.0661]", ""), &program);
    let thick = one("chip-load", &scene("chip = [0.01, 0.0659]", ""), &program);
    assert!(thick.text.contains("takes 0.0667 mm") && thick.text.contains("good for 0.0659 mm"), "{}", thick.text);
    // 540 mm/min with two teeth at 9000: 0.03 mm.
    let slow = [groove(20.0, 540.0)];
    let slow: Vec<&str> = slow.iter().map(String::as_str).collect();
    silent("chip-load", &scene("chip = [0.0302, 0.1]", ""), &slow);
    let thin = one("chip-load", &scene("chip = [0.0304, 0.1]", ""), &slow);
    assert!(thin.text.contains("only 0.03 mm") && thin.text.contains("need 0.0304 mm"), "{}", thin.text);
}

/// A flat cutter of 12 over a round of a radius of 6 to 12: rays aside of the top stand aslant and are longer than the cut
/// is deep. The twentieth that is allowed for them is enough, and hides no more than itself.
#[test]
fn a_wide_flat_cutter_on_a_thin_round() {
    let wide = |radius: f64, depth: f64| {
        scene(&format!("depth = {depth}"), "")
            .replace("diameter = 50", &format!("diameter = {}", 2.0 * radius))
            .replace("diameter = 6", "diameter = 12")
    };
    for (radius, deep) in [(6.0, 1.0), (6.0, 2.0), (12.0, 4.0)] {
        let helix = format!("M3 S9000\nG1 Z{} F300\nX60 A2160 F100\nG0 Z40\n", radius - deep);
        // A flat in two passes of the same depth.
        let pass = |z: f64| format!("G0 X-10\nZ{z}\nG1 X60 F600\nG0 Z40\n");
        let flat = format!("M3 S9000\n{}{}", pass(radius - deep), pass(radius - 2.0 * deep));
        for program in [helix, flat] {
            silent("too-deep", &wide(radius, deep), &[&program]);
            let finding = one("too-deep", &wide(radius, deep / 1.06), &[&program]);
            assert_near(finding.value.unwrap() / deep, 1.0, 0.05);
        }
    }
}

/// However little a limit is passed by, its sentence shows that it is.
#[test]
fn value_and_limit_are_told_apart() {
    let program = groove(20.0, 1200.0);
    let power = |watts: f64| scene("", &format!("spindle_power = {watts}"));
    let asked = one("overload", &power(30.0), &[&program]).value.unwrap();
    let finding = one("overload", &power(asked * (1.0 - 1e-6)), &[&program]);
    let numbers: Vec<f64> = finding.text.split(' ').filter_map(|word| word.parse().ok()).collect();
    assert!(numbers[1] > numbers[2], "{}", finding.text);
}

#[test]
fn a_plunge_on_a_center_that_does_not_cut() {
    let without = scene("cuts_center = false", "");
    let finding = one("plunge", &without, &[&groove(20.0, 600.0)]);
    assert_finding(&finding, Severity::Warning, (2, 2), 5.0, 0.001);
    assert!(finding.text.contains("under its center"), "{}", finding.text);
    silent("plunge", &scene("", ""), &[&groove(20.0, 600.0)]);
    silent("plunge", &without, &[&groove(24.95, 600.0)]);
    silent("plunge", &without, &["M3 S9000\nG1 Z25 F300\nX40 Z20 F600\nG0 Z40\n"]);
    // In small steps it is as deep.
    let steps = "M3 S9000\nG1 Z25 F300\nZ24.95\nZ24.9\nZ24.85\nZ24.8\nG0 Z40\n";
    assert_near(one("plunge", &without, &[steps]).value.unwrap(), 0.2, 0.001);
}

#[test]
fn a_hole_drilled_first_lets_any_cutter_down() {
    let two = scene("cuts_center = false", "").replace("}]", "}, { number = 2, diameter = 3, flute = 20 }]");
    let drilled = "T2 M6\nM3 S9000\nG1 Z20 F300\nG0 Z40\nT1 M6\nM3\nG1 Z20 F300\nG0 Z40\n";
    silent("plunge", &two, &[drilled]);
    // Beside the hole.
    let beside = drilled.replace("M3\nG1 Z20", "M3\nG0 X13\nG1 Z20");
    assert_eq!(one("plunge", &two, &[&beside]).cutter, Some(1));
}

/// 1200 mm/min with two teeth at 9000: 0.0667 mm.
#[test]
fn teeth_that_take_too_much() {
    let chip = |chip: &str| scene(&format!("chip = {chip}"), "");
    let finding = one("chip-load", &chip("[0.01, 0.05]"), &[&groove(20.0, 1200.0)]);
    assert_finding(&finding, Severity::Warning, (3, 3), 0.0667, 0.0001);
    assert!(finding.cure.contains("by 25 %") || finding.cure.contains("by 26 %"), "{}", finding.cure);
    silent("chip-load", &chip("[0.01, 0.07]"), &[&groove(20.0, 1200.0)]);
    // The wood turns under the cutter: the same F, another radius.
    let around = one("chip-load", &chip("[0.01, 0.05]"), &[&ring("M3")]);
    assert_finding(&around, Severity::Warning, (3, 3), 0.0654, 0.0002);
}

#[test]
fn teeth_that_rub_for_long() {
    let chip = scene("chip = [0.05, 0.2]", "");
    // 50 mm at 10 mm/s take 5 s, at 9 mm/s more; the way down is slower still and does not count.
    let finding = one("chip-load", &chip, &[&groove(20.0, 540.0)]);
    assert_finding(&finding, Severity::Warning, (3, 3), 0.03, 1e-6);
    assert!(finding.text.contains("rub"), "{}", finding.text);
    silent("chip-load", &chip, &["M3 S9000\nG1 Z20 F300\nX50 F540\nG0 Z40\n"]);
    silent("chip-load", &chip, &[&groove(20.0, 900.0)]);
    // A narrow cut makes thin chips of a good feed.
    let narrow = "M3 S9000\nG1 Z20 F300\nX60 F1200\nG0 Z40\nA1.5\nX10\nG1 Z20 F300\nX60 F1200\nG0 Z40\n";
    silent("chip-load", &chip, &[narrow]);
}

#[test]
fn passes_over_the_same_place_are_one_finding() {
    let mut program = "M3 S9000\n".to_owned();
    (0..6).for_each(|k| program.push_str(&format!("G0 X10 A{}\nG1 Z20 F300\nX60 F600\nG0 Z40\n", 60 * k)));
    assert_eq!(one("too-deep", &scene("depth = 3", ""), &[&program]).blocks, 6);
    assert!(found("too-deep", &scene("", ""), &[&program]).is_empty());
}
