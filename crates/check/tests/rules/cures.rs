//! The cures of contacts, each in closed form and put to the proof: what is told cures, and a little less does not.

use crate::common::{assert_near, found, one, silent};
use dryturn_check::{Cure, Finding, Remedy};

#[track_caller]
fn cure(finding: &Finding, what: Remedy) -> Cure {
    *finding.cures.iter().find(|cure| cure.what == what).unwrap_or_else(|| panic!("{what:?}: {finding:#?}"))
}

#[track_caller]
fn assert_cure(cure: Cure, now: Option<f64>, touching: f64, with_near: f64) {
    assert_eq!(cure.now, now);
    assert_near(cure.touching, touching, 1e-9);
    assert_near(cure.with_near.expect("a change for `near`"), with_near, 1e-9);
}

/// A holder of ⌀30 whose lower face comes to 37 beside the rim of a chuck of ⌀80 that ends at station 0.
fn holder(stickout: f64, zero: f64, more: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 2 }}
        checks = {{ near = 0.5 }}
        zero = {{ x = {zero} }}
        chuck = {{ hold = 20, body = {{ diameter = 80, length = 45 }} }}
        cutter = [{{ diameter = 6, flute = 20, stickout = {stickout}, holder = [[30, 20]] }}]
        machine = {{ start = {{ x = 50, y = 0, z = 100, a = 0 }} }}
        {more}"
    )
}

const DOWN: &[&str] = &["G0 Z60\nX10\nG1 Z12 F300\nG0 Z60\n"];

#[test]
fn a_holder_in_the_chuck() {
    let finding = one("holder-hits", &holder(25.0, 0.0, ""), DOWN);
    assert_cure(cure(&finding, Remedy::Stickout), Some(25.0), 3.0, 3.5);
    assert_cure(cure(&finding, Remedy::ZeroX), None, 5.0, 5.5);
    assert_eq!(finding.cures.len(), 2);
    let told = "Let cutter 1 stick out 28.00 mm (touches) or 28.50 mm for `near` 0.5, or set the X zero further from the \
                chuck by 5.00 mm (touches) or 5.50 mm for `near` 0.5;";
    assert!(finding.cure.starts_with(told), "{}", finding.cure);
    for (scene, warned) in [(holder(28.0, 0.0, ""), true), (holder(28.5, 0.0, ""), false)] {
        silent("holder-hits", &scene, DOWN);
        assert_eq!(found("near-miss", &scene, DOWN).len(), usize::from(warned));
    }
    for (scene, warned) in [(holder(25.0, 5.0, ""), true), (holder(25.0, 5.5, ""), false)] {
        silent("holder-hits", &scene, DOWN);
        assert_eq!(found("near-miss", &scene, DOWN).len(), usize::from(warned));
    }
    one("holder-hits", &holder(27.97, 0.0, ""), DOWN);
    one("holder-hits", &holder(25.0, 4.97, ""), DOWN);
}

#[test]
fn what_leads_into_something_else_is_no_cure() {
    // 4 mm further out the holder meets a long clamp, below it the clamp is free of it.
    let clamp = |z: f64| format!("fixed = [{{ name = \"clamp\", box = [29, 200, -40, 40, 30, {z}] }}]");
    let finding = one("holder-hits", &holder(25.0, 0.0, &clamp(38.0)), DOWN);
    let what: Vec<Remedy> = finding.cures.iter().map(|cure| cure.what).collect();
    assert_eq!(what, [Remedy::Stickout]);
    // Higher up the clamp is in the way of nothing but the longer cutter's neighbour: that is unchanged.
    assert_cure(cure(&finding, Remedy::Stickout), Some(25.0), 3.0, 3.5);
    // With room for `near` only between the two, the X zero may touch.
    let gap = "fixed = [{ name = \"clamp\", box = [30.2, 200, -40, 40, 30, 38] }]";
    let finding = one("holder-hits", &holder(25.0, 0.0, gap), DOWN);
    let shift = cure(&finding, Remedy::ZeroX);
    assert_eq!((shift.touching, shift.with_near), (5.0, None));
}

#[test]
fn where_nothing_is_within_reach_the_sentence_says_what_can_be_done() {
    // A cutter in the bed: neither the X zero nor anything else of the set-up helps.
    let scene = holder(60.0, 0.0, "").replace("machine = {", "machine = { bed = 50,");
    let finding = one("cutter-hits", &scene, &["G0 Z60\nX130\nG1 Z-51 F300\nG0 Z60\n"]);
    assert!(finding.cures.is_empty() && finding.cure.starts_with("Check the Z zero"), "{finding:#?}");
}

#[test]
fn a_clamp_is_left_the_shorter_way() {
    let clamp = "fixed = [{ name = \"clamp\", box = [40, 60, -5, 5, 30, 50] }]";
    let program: &[&str] = &["G0 Z60\nX55\nG1 Z45 F300\nG0 Z60\n"];
    let finding = one("cutter-hits", &holder(90.0, 0.0, clamp), program);
    let shifts: Vec<f64> = finding.cures.iter().map(|cure| cure.touching).collect();
    assert_eq!(shifts.len(), 2);
    assert_near(shifts[0], 8.0, 1e-9);
    assert_near(shifts[1], -18.0, 1e-9);
    assert!(finding.cure.starts_with("Set the X zero further from the chuck by 8.00 mm"), "{}", finding.cure);
    // At the other end of the blank the way leads back.
    let tailstock = "tailstock = { center = { angle = 60, diameter = 12, quill = 16, extension = 0 }, \
                     body = { width = 40, above = 40, length = 70 } }";
    // The body begins where the cone of radius 6 ends.
    let body = 100.0 + 6.0 * 3f64.sqrt();
    let hits = found("cutter-hits", &holder(90.0, 0.0, tailstock), &["G0 Z60\nX110\nG1 Z30 F300\nG0 Z60\n"]);
    let back = hits.iter().find(|hit| hit.text.contains("the tailstock")).expect("it hits the tailstock");
    assert_near(cure(back, Remedy::ZeroX).touching, body - 113.0, 0.01);
    assert!(back.cure.contains("nearer to the chuck"), "{}", back.cure);
}

/// A plate with four screws on a circle of 22, and a flat cutter of ⌀6 that turns a spigot of radius 16 at stations 6 to
/// 12.
fn screwed(radius: f64, length: f64) -> String {
    let screws: Vec<String> = [45, 135, 225, 315]
        .iter()
        .map(|angle| format!("{{ radius = {radius}, angle = {angle}, diameter = 4, length = {length} }}"))
        .collect();
    format!(
        "blank = {{ shape = \"square\", across_flats = 76, length = 110 }}
        grid = {{ pitch = 2 }}
        faceplate = {{ diameter = 60, thickness = 6, screws = [{}] }}
        cutter = [{{ diameter = 6, flute = 60, stickout = 90 }}]
        machine = {{ start = {{ x = 50, y = 0, z = 100, a = 0 }} }}",
        screws.join(", ")
    )
}

const SPIGOT: &[&str] = &["G0 Z60\nX9\nG1 Z16 F300\nA360\nG0 Z60\n"];

#[test]
fn screws_in_the_spigot() {
    let finding = one("cutter-hits", &screwed(22.0, 25.0), SPIGOT);
    assert!(finding.text.contains("hits screw 1 at 45°:"), "{}", finding.text);
    assert_cure(cure(&finding, Remedy::ScrewRadius), Some(22.0), -8.0, -10.0);
    assert_cure(cure(&finding, Remedy::ScrewLength), Some(25.0), -19.0, -21.0);
    assert_cure(cure(&finding, Remedy::ZeroX), None, 19.0, 21.0);
    assert!(finding.cure.contains("go in 6.00 mm (touches) or 4.00 mm for `near` 2"), "{}", finding.cure);
    assert!(finding.cure.contains("a radius of 14.00 mm (touches) or 12.00 mm for `near` 2"), "{}", finding.cure);
    for (radius, length, warned) in [(14.0, 25.0, 1), (12.0, 25.0, 0), (22.0, 6.0, 1), (22.0, 4.0, 0)] {
        silent("cutter-hits", &screwed(radius, length), SPIGOT);
        let near = found("near-miss", &screwed(radius, length), SPIGOT);
        assert_eq!(near.iter().filter(|miss| miss.text.contains("screw")).count(), warned, "{near:#?}");
    }
    assert!(!found("cutter-hits", &screwed(14.03, 25.0), SPIGOT).is_empty());
    assert!(!found("cutter-hits", &screwed(22.0, 6.03), SPIGOT).is_empty());
}

/// Level rapids over the chuck; the first line that is told is the third.
fn rapids(z: f64, code: &str) -> String {
    format!("G0 Z60\nX60\nZ{z}\n{code} X-5\nX60\nG0 Z60\n")
}

#[test]
fn rapids_that_are_too_low() {
    let scene = holder(60.0, 0.0, "");
    let finding = one("cutter-hits", &scene, &[&rapids(38.0, "G0")]);
    assert_eq!(finding.lines, Some((4, 5)));
    assert_cure(cure(&finding, Remedy::Retract), None, 2.0, 2.5);
    assert!(finding.cure.starts_with("Raise these rapids by 2.00 mm (touches) or 2.50 mm"), "{}", finding.cure);
    silent("cutter-hits", &scene, &[&rapids(40.0, "G0")]);
    silent("near-miss", &scene, &[&rapids(40.5, "G0")]);
    one("cutter-hits", &scene, &[&rapids(39.97, "G0")]);
    // What is done at feed is not raised.
    let feed = one("cutter-hits", &scene, &[&rapids(38.0, "G1 F900")]);
    assert!(feed.cures.iter().all(|cure| cure.what != Remedy::Retract), "{feed:#?}");
}

fn jaws(turned: f64) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 2 }}
        checks = {{ near = 1 }}
        chuck = {{ hold = 20, jaws = {{ count = 4, width = 14, length = 22, height = 18, turned = {turned} }} }}
        cutter = [{{ diameter = 6, flute = 60, stickout = 90 }}]
        machine = {{ start = {{ x = 50, y = 0, z = 100, a = 0 }} }}"
    )
}

#[test]
fn jaws_in_the_way_of_a_slot() {
    let slot: &[&str] = &["G0 Z60\nX-10\nG1 Z30 F300\nG0 Z60\n"];
    let finding = one("cutter-hits", &jaws(3.0), slot);
    assert!(finding.text.contains("hits jaw 1 at 3°:"), "{}", finding.text);
    let turn = cure(&finding, Remedy::JawsTurned);
    // Further round is shorter than back: the jaw stands 3° round already.
    let (touching, with_near) = (3.0 + turn.touching, 3.0 + turn.with_near.unwrap());
    assert!(turn.touching > 0.0 && with_near > touching, "{turn:?}");
    silent("cutter-hits", &jaws(touching), slot);
    one("cutter-hits", &jaws(touching - 0.2), slot);
    silent("near-miss", &jaws(with_near), slot);
    one("near-miss", &jaws(with_near - 0.2), slot);
    assert_cure(cure(&finding, Remedy::ZeroX), None, 13.0, 14.0);
    // All the way round nothing helps, and on flats the jaws stay.
    let round: &[&str] = &["G0 Z60\nX-10\nG1 Z30 F300\nA360\nG0 Z60\n"];
    assert!(one("cutter-hits", &jaws(3.0), round).cures.iter().all(|cure| cure.what != Remedy::JawsTurned));
    let square = jaws(0.0).replace("diameter = 40,", "shape = \"square\", across_flats = 40,");
    assert!(one("cutter-hits", &square, slot).cures.iter().all(|cure| cure.what != Remedy::JawsTurned));
}
