//! `zero-height`.

use super::beside;
use crate::common::{assert_finding, assert_near, found, job_of, one, place, run, silent};
use dryturn_check::Severity;

/// A bar of ⌀40 × 120 with its Z zero somewhere.
fn bar(zero: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 1 }}
        zero = {{ z = {zero} }}
        cutter = [{{ diameter = 6, flute = 30 }}]
        machine = {{ start = {{ x = 20, y = 0, z = 80, a = 0 }} }}"
    )
}

const AXIS: &str = "\"axis\"";
const SURFACE: &str = "\"surface\"";

/// Turns two millimetres off stations 30 to 80, as depths under the surface.
const DEPTHS: &str = "M3 S9000\nG0 Z5\nX30\nG1 Z-2 F300\nA360\nX80 A7560 F600\nG0 Z5\n";
/// The same as radii.
const RADII: &str = "M3 S9000\nG0 Z25\nX30\nG1 Z18 F300\nA360\nX80 A7560 F600\nG0 Z25\n";

#[test]
fn depths_measured_from_the_axis() {
    let finding = one("zero-height", &bar(AXIS), &[DEPTHS]);
    assert_finding(&finding, Severity::Error, (5, 6), -2.0, 1e-9);
    assert_eq!((finding.unit, finding.program, finding.blocks), (Some("mm"), Some(0), 2));
    let at = place(&finding);
    assert_eq!((at.0, at.2), (30.0, 2.0));
    assert_eq!(finding.place.unwrap().shown.unwrap().z, -2.0);
    assert!(finding.text.contains("it would take 13.1 cm³ and stay above the axis"), "{}", finding.text);
    assert!(finding.cure.starts_with("Write z = \"surface\" under [zero]"), "{}", finding.cure);
    silent("zero-height", &bar(SURFACE), &[DEPTHS]);
}

#[test]
fn radii_measured_from_the_surface() {
    let finding = one("zero-height", &bar(SURFACE), &[RADII]);
    assert_finding(&finding, Severity::Error, (5, 6), 18.0, 1e-9);
    assert_eq!(place(&finding), (30.0, 0.0, 38.0));
    assert!(finding.text.contains("13.1 cm³ of wood instead of nothing"), "{}", finding.text);
    assert!(finding.cure.starts_with("Write z = \"axis\" under [zero]"), "{}", finding.cure);
    silent("zero-height", &bar(AXIS), &[RADII]);
    // A height that was measured is no better than the word for it.
    one("zero-height", &bar("20.0"), &[RADII]);
}

#[test]
fn only_the_program_that_differs_is_told() {
    let finding = one("zero-height", &bar(AXIS), &[RADII, &DEPTHS.replace("Z-2", "Z-3")]);
    assert_eq!((finding.program, finding.severity), (Some(1), Severity::Error));
    assert!(finding.cure.starts_with("Write zero = { z = \"surface\" } for this program"), "{}", finding.cure);
    let both = found("zero-height", &bar(AXIS), &[DEPTHS, &DEPTHS.replace("Z-2", "Z-3")]);
    assert_eq!(both.iter().map(|finding| finding.program).collect::<Vec<_>>(), [Some(0), Some(1)], "{both:#?}");
}

#[test]
fn a_flat_touched_off_on_a_square_bar() {
    let square = bar(AXIS).replace("diameter = 40, length", "shape = \"square\", across_flats = 40, length");
    let fluted = "M3 S9000\nG0 Z10\nX30\nG1 Z-2 F300\nX80\nG0 Z10\nA90\nX30\nG1 Z-2\nX80\nG0 Z10\n";
    let finding = one("zero-height", &square, &[fluted]);
    assert_finding(&finding, Severity::Error, (5, 10), -2.0, 1e-9);
    assert!(finding.cure.contains("z = { flat = true }"), "{}", finding.cure);
    silent("zero-height", &square.replace(AXIS, "{ flat = true }"), &[fluted]);
}

#[test]
fn flutes_cut_with_the_blank_still_and_high_retracts() {
    // No rapid touches the wood and nothing turns: the depths alone are a hint.
    let flutes = "M3 S9000\nG0 Z40\nX30\nG1 Z-3 F300\nX80\nG0 Z40\nA90\nX30\nG1 Z-3\nX80\nG0 Z40\n";
    let finding = one("zero-height", &bar(AXIS), &[flutes]);
    assert_finding(&finding, Severity::Warning, (5, 10), -3.0, 1e-9);
    silent("zero-height", &bar(SURFACE), &[flutes]);
}

#[test]
fn a_target_decides() {
    let scene = |zero: &str| {
        format!(
            "format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]\ntarget = {{ file = \"p.csv\" }}\n{}",
            bar(zero)
        )
    };
    let profile = "0,20\n27,20\n27,17\n83,17\n83,20\n120,20\n";
    let flutes = "M3 S9000\nG0 Z40\nX30\nG1 Z-3 F300\nA360\nX80 A7560 F600\nA7920\nG0 Z40\n";
    let told = beside("zero-height", &scene(AXIS), &[flutes], profile);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Error), "{told:#?}");
    assert!(told[0].text.contains("would leave nothing off the target instead of"), "{}", told[0].text);
    assert!(beside("zero-height", &scene(SURFACE), &[flutes], profile).is_empty());
    // A neck cut right through is what this target wants.
    let parted = "0,20\n27,20\n27,0\n83,0\n83,20\n120,20\n";
    assert!(beside("zero-height", &scene(AXIS), &[flutes], parted).is_empty());
}

#[test]
fn work_through_the_axis_is_no_mistake() {
    let axis = bar(AXIS);
    // A hole right through, milled round, and a slot from side to side.
    silent("zero-height", &axis, &["M3 S9000\nG0 Z30\nX50\nG1 Z-22 F200\nG0 Z30\n"]);
    silent("zero-height", &axis, &["M3 S9000\nG0 Z30\nX40\nG1 Z-22 F200\nX60\nX40\nG0 Z30\n"]);
    // The end faced to the axis, and a pass along it there.
    silent("zero-height", &axis, &["M3 S9000\nG0 Z30\nX122.5\nG1 Z0 A7200 F100\nX122 A7560\nG0 Z30\n"]);
    // A thin spigot.
    silent("zero-height", &axis, &["M3 S9000\nG0 Z30\nX100\nG1 Z1 F100 A3600\nX117 A7200\nG0 Z30\n"]);
}

#[test]
fn parting_is_no_mistake() {
    let scene =
        format!("format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1, parts = {{ min_tab = 0 }} }}]\n{}", bar(AXIS));
    let parted = "M3 S9000\nG0 Z30\nX60\nG1 Z-0.5 F100\nA720 F900\nG0 Z30\n";
    let findings = run(&job_of(&scene, &[parted])).findings;
    assert!(findings.iter().all(|finding| finding.rule != "zero-height"), "{findings:#?}");
}

#[test]
fn a_cutter_beside_the_blank_may_hang_below_the_axis() {
    // Turned with the side of the flutes, the tip well under the axis.
    let beside = "M3 S9000\nG0 Z30\nY25\nX30\nG1 Z-5 F300\nY21\nA360\nX80 A7560 F600\nG0 Z30\n";
    silent("zero-height", &bar(AXIS), &[beside]);
    let found = found("cuts-nothing", &bar(AXIS), &[beside]);
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn engraving_a_little_under_the_surface() {
    let letters = "M3 S9000\nG0 Z2\nX30\nG1 Z-0.5 F300\nX35 A10\nX30 A20\nX35 A30\nG0 Z2\n";
    silent("zero-height", &bar(SURFACE), &[letters]);
    let finding = one("zero-height", &bar(AXIS), &[letters]);
    assert_eq!(finding.severity, Severity::Error);
    assert_near(finding.value.unwrap(), -0.5, 1e-9);
    // On a drum the linear word turns the blank.
    let wrapped = |zero: &str| {
        bar(zero)
            .replace("machine = { start", "machine = { rotary = \"Y\", wrap_diameter = 40, start")
            .replace("a = 0 }", "}")
    };
    let drawn = "M3 S9000\nG0 Z2\nX30 Y0\nG1 Z-0.5 F300\nX35 Y3\nX30 Y6\nX35 Y9\nG0 Z2\n";
    assert_eq!(one("zero-height", &wrapped(AXIS), &[drawn]).severity, Severity::Error);
    silent("zero-height", &wrapped(SURFACE), &[drawn]);
}
