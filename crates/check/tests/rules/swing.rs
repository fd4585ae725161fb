//! `swing`: what turns reaches what stands, or a rapid passes under the circle it sweeps.

use crate::common::{assert_finding, assert_near, assert_place, found, one, place, silent};
use dryturn_check::{Finding, Severity};

/// A square of 40 × 120, corners on a radius of 28.28, four jaws whose corners sweep 38.64.
fn scene(more: &str) -> String {
    format!(
        "blank = {{ shape = \"square\", across_flats = 40, length = 120 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6, flute = 40, stickout = 60 }}]
        machine = {{ bed = 60, start = {{ x = 150, y = 0, z = 100, a = 0 }} }}
        chuck = {{ hold = 20, jaws = {{ count = 4, width = 14, length = 22, height = 18 }} }}
        {more}"
    )
}

const TURNS: &[&str] = &["G0 A360\n"];
const CORNER: f64 = 28.284_271_247_461_9;

fn with_bed(bed: f64) -> String {
    scene("").replace("bed = 60", &format!("bed = {bed}"))
}

#[test]
fn corners_that_reach_the_bed() {
    let two = found("swing", &with_bed(28.0), TURNS);
    let values: Vec<f64> = two.iter().filter_map(|finding| finding.value).collect();
    assert_eq!((two.len(), two[0].severity, two[0].lines), (2, Severity::Error, None), "{two:#?}");
    assert_near(values[0], CORNER - 28.0, 1e-9);
    assert_near(values[1], f64::hypot(38.0, 7.0) - 28.0, 1e-9);
    assert!(two[0].text.contains("The bed lies 0.28 mm inside") && two[1].text.contains("of the jaws"), "{two:#?}");
    // The jaws alone, then nothing; and a blank that never turns sweeps nothing.
    assert!(one("swing", &with_bed(38.6), TURNS).text.contains("of the jaws"));
    silent("swing", &with_bed(38.7), TURNS);
    silent("swing", &with_bed(28.0), &["G0 X160\n"]);
}

fn clamp(x: [f64; 2], y: f64) -> String {
    scene(&format!("fixed = [{{ name = \"clamp\", box = [{}, {}, {y}, 90, -60, 10] }}]", x[0], x[1]))
}

#[test]
fn corners_that_reach_a_fixed_body() {
    let finding = one("swing", &clamp([50.0, 70.0], 27.0), TURNS);
    assert_near(finding.value.unwrap(), CORNER - 27.0, 1e-9);
    assert_eq!((finding.severity, finding.unit), (Severity::Error, Some("mm")));
    assert!(finding.text.starts_with("The clamp lies 1.28 mm inside"), "{}", finding.text);
    silent("swing", &clamp([50.0, 70.0], 28.3), TURNS);
    // Beside the end of the blank there is room; behind the jaw face the jaws reach further.
    silent("swing", &clamp([101.0, 110.0], 27.0), TURNS);
    assert!(one("swing", &clamp([-15.0, -5.0], 38.0), TURNS).text.contains("of the jaws"));
}

#[test]
fn a_round_blank_reaches_as_far_as_it_runs_out() {
    let round = |runout: f64| {
        clamp([50.0, 70.0], 20.2).replace(
            "shape = \"square\", across_flats = 40,",
            &format!("diameter = 40, runout = {{ y = {runout}, z = 0 }},"),
        )
    };
    silent("swing", &round(0.1), TURNS);
    let finding = one("swing", &round(0.5), TURNS);
    assert_near(finding.value.unwrap(), 0.3, 1e-9);
    assert!(finding.text.contains("the circle that the blank sweeps"), "{}", finding.text);
}

/// Bent by 1 mm halfway, the blank reaches a clamp there and not one at its end.
#[test]
fn a_bowed_blank_reaches_further_in_its_middle() {
    let bowed = |x: [f64; 2]| {
        clamp(x, 20.5)
            .replace("shape = \"square\", across_flats = 40,", "diameter = 40, bow = { amount = 1, angle = 90 },")
    };
    assert_near(one("swing", &bowed([30.0, 50.0]), TURNS).value.unwrap(), 0.5, 1e-3);
    silent("swing", &bowed([90.0, 100.0]), TURNS);
}

/// The rapid on line 2 passes along the whole blank.
#[track_caller]
fn passes(z: f64) -> Finding {
    one("swing", &scene(""), &[&format!("G0 Z{z}\nX50\nG0 Z60\n")])
}

#[test]
fn a_rapid_under_the_corners_before_anything_is_cut() {
    let finding = passes(26.0);
    assert_finding(&finding, Severity::Error, (2, 2), CORNER - 26.0, 0.001);
    assert_eq!((finding.unit, finding.cutter, finding.blocks), (Some("mm"), Some(1), 1));
    let (station, angle, radius) = place(&finding);
    assert!((47.0..=100.0).contains(&station) && angle.abs() < 1e-6, "{finding:#?}");
    assert_near(radius, CORNER, 1e-6);
    silent("swing", &scene(""), &["G0 Z28.28\nX50\nG0 Z60\n"]);
}

#[test]
fn what_is_no_passing() {
    // Straight down over a flat; at feed; after something has been cut; beside the corners.
    silent("swing", &scene(""), &["G0 X50\nG0 Z22\nG0 Z60\n"]);
    silent("swing", &scene(""), &["G1 Z22 F900\nX50\nG0 Z60\n"]);
    silent("swing", &scene(""), &["M3 S9000\nG0 X50\nG1 Z19 F300\nG0 Z22\nX60\nG0 Z60\n"]);
    silent("swing", &scene(""), &["G0 Y31.3\nZ22\nX50\nG0 Z60\n"]);
    silent("swing", &scene(""), &["G0 Z22\nX104\nG0 Z60\n"]);
}

#[test]
fn a_rapid_that_turns_the_blank_passes_too() {
    let finding = one("swing", &scene(""), &["G0 X50\nZ22\nA10\nA0\nZ60\n"]);
    assert_finding(&finding, Severity::Error, (3, 4), CORNER - 22.0, 0.001);
}

#[test]
fn a_rapid_under_the_corners_of_the_jaws() {
    // Over the flat of the blank and between two jaws: nothing is met as the jaws stand.
    let finding = one("swing", &scene(""), &["G0 X50\nA45\nX-5 Z36\nX50 Z60\n"]);
    let corner = f64::hypot(38.0, 7.0);
    assert_eq!(finding.lines, Some((3, 4)));
    assert_near(finding.value.unwrap(), corner - 36.0, 0.001);
    assert_place(&finding, -5.0, 45.0, corner, 3.001);
    assert!(finding.text.contains("of the jaws") && finding.cure.contains("out from the jaws"), "{finding:#?}");
    silent("swing", &scene(""), &["G0 X50\nA45\nX-5 Z38.7\nX50 Z60\n"]);
}
