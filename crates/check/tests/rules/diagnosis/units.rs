//! `wrong-units`.

use super::beside;
use crate::common::{assert_finding, one, place, silent};
use dryturn_check::Severity;

/// A bar of 2.25 by 6.75 inches.
fn bar(zero: &str) -> String {
    format!(
        "blank = {{ diameter = 57.15, length = 171.45 }}
        grid = {{ pitch = 1 }}
        zero = {{ z = \"{zero}\" }}
        cutter = [{{ diameter = 6.35, flute = 30 }}]
        machine = {{ start = {{ x = 20, y = 0, z = 80, a = 0 }} }}"
    )
}

/// Turns stations 1 to 5 inches down to a radius of an inch.
const INCHES: &str = "M3 S9000\nG0 Z1.5\nX1\nG1 Z1 F20\nA360\nX5 A7560 F30\nG0 Z1.5\n";
/// The same in millimetres.
const MILLIMETRES: &str = "M3 S9000\nG0 Z38\nX25\nG1 Z25 F500\nA360\nX127 A7560 F800\nG0 Z38\n";

#[test]
fn inches_read_as_millimetres() {
    let finding = one("wrong-units", &bar("axis"), &[INCHES]);
    assert_finding(&finding, Severity::Error, (5, 6), 4.0, 1e-9);
    assert_eq!((finding.unit, finding.program), (Some("mm"), Some(0)));
    assert_eq!(place(&finding), (1.0, 0.0, 1.0));
    assert!(finding.text.contains("over 4 mm along a blank of ⌀57.15 × 171.45 mm"), "{}", finding.text);
    assert!(finding.text.contains("with its numbers in inches it would take"), "{}", finding.text);
    assert!(finding.cure.starts_with("Put G20 at the head"), "{}", finding.cure);
    silent("wrong-units", &bar("axis"), &[&format!("G20\n{INCHES}")]);
    silent("wrong-units", &bar("axis"), &[MILLIMETRES]);
    // What it says of itself may be wrong, but small work is likelier.
    let said = one("wrong-units", &bar("axis"), &[&format!("G21\n{INCHES}")]);
    assert_eq!(said.severity, Severity::Warning);
}

#[test]
fn inches_from_the_surface_are_a_hint() {
    let shallow = "M3 S9000\nG0 Z0.2\nX1\nG1 Z-0.1 F20\nA360\nX5 A7560 F30\nG0 Z0.2\n";
    let finding = one("wrong-units", &bar("surface"), &[shallow]);
    assert_finding(&finding, Severity::Warning, (5, 6), 4.0, 1e-9);
    // Small work that says its unit, retracts as far as millimetres do, or goes at their feeds.
    silent("wrong-units", &bar("surface"), &[&format!("G21\n{shallow}")]);
    silent("wrong-units", &bar("surface"), &[&shallow.replace("Z0.2", "Z3")]);
    silent("wrong-units", &bar("surface"), &[&shallow.replace("F20", "F300")]);
}

#[test]
fn millimetres_read_as_inches() {
    let finding = one("wrong-units", &bar("axis"), &[&format!("G20\n{MILLIMETRES}")]);
    assert_finding(&finding, Severity::Error, (6, 7), 2590.8, 1e-6);
    assert!(finding.text.contains("with its numbers in millimetres it would take"), "{}", finding.text);
    assert!(finding.cure.starts_with("Put G21"), "{}", finding.cure);
}

/// As long as the blank and off it only to the sides: not wound on, whatever it would be in another unit.
#[test]
fn a_flat_drawing_in_inches_is_no_matter_of_units() {
    let drawing = "G20\nM3 S9000\nG0 Z0.2\nX0.5 Y0.5\nG1 Z-0.1 F20\nX4 F60\nY3\nX0.5\nY0.5\nG0 Z0.2\n";
    let thin = bar("surface").replace("diameter = 57.15", "diameter = 20");
    silent("wrong-units", &thin, &[drawing]);
    one("flat-program", &thin, &[drawing]);
}

/// Far off, and in millimetres as it says: whatever is wrong, it is not that.
#[test]
fn what_a_program_says_of_itself_is_believed() {
    let far = "M3 S9000\nG0 Z965.2\nX635\nG1 Z635 F12700\nA360\nX3225.8 A7560 F20320\nG0 Z965.2\n";
    assert_eq!(one("wrong-units", &bar("axis"), &[far]).severity, Severity::Error);
    silent("wrong-units", &bar("axis"), &[&format!("G21\n{far}")]);
}

#[test]
fn a_scene_in_the_wrong_unit() {
    let inches = "blank = { diameter = 2.25, length = 6.75 }
        grid = { pitch = 0.05 }
        cutter = [{ diameter = 0.25, flute = 1 }]
        machine = { start = { x = 1, y = 0, z = 3, a = 0 } }";
    let finding = one("wrong-units", inches, &[MILLIMETRES]);
    assert_eq!(finding.severity, Severity::Error);
    assert!(finding.cure.starts_with("Write units = \"inch\" in the scene"), "{}", finding.cure);
    silent("wrong-units", &format!("units = \"inch\"\n{inches}"), &[MILLIMETRES]);
    let grown = format!("units = \"inch\"\n{}", bar("axis")).replace("pitch = 1", "pitch = \"20 mm\"");
    let finding = one("wrong-units", &grown, &[&MILLIMETRES.replace("Z38", "Z60")]);
    assert!(finding.cure.starts_with("Write units = \"mm\" in the scene"), "{}", finding.cure);
}

#[test]
fn a_target_confirms_the_hint() {
    let scene = format!(
        "format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]\ntarget = {{ file = \"p.csv\" }}\n{}",
        bar("surface")
    );
    let shallow = "M3 S9000\nG0 Z0.2\nX1\nG1 Z-0.1 F20\nA360\nX5 A7560 F30\nA7920\nG0 Z0.2\n";
    let [from, to, radius] = [25.4 - 3.175, 127.0 + 3.175, 57.15 / 2.0 - 2.54];
    let profile = format!("0,28.575\n{from},28.575\n{from},{radius}\n{to},{radius}\n{to},28.575\n171.45,28.575\n");
    let told = beside("wrong-units", &scene, &[shallow], &profile);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Error), "{told:#?}");
    assert!(told[0].text.contains("off the target instead of"), "{}", told[0].text);
    assert!(beside("wrong-units", &scene, &[&format!("G20\n{shallow}")], &profile).is_empty());
}

#[test]
fn short_work_is_not_small_work() {
    // One ring, a parting cut at a slow feed, a row of holes, a short mark.
    silent("wrong-units", &bar("axis"), &["M3 S9000\nG0 Z40\nX50\nG1 Z20 F300\nA360\nG0 Z40\n"]);
    silent("wrong-units", &bar("axis"), &["M3 S9000\nG0 Z40\nX150\nG1 Z25 F50\nA360\nG1 Z0 A7200 F40\nG0 Z40\n"]);
    silent("wrong-units", &bar("surface"), &["M3 S9000\nG0 Z5\nX50\nG1 Z-0.3 F80\nX52 A4\nX50 A8\nG0 Z5\n"]);
    // In the air beside the blank, but no farther off than that.
    silent("wrong-units", &bar("axis"), &["M3 S9000\nG0 Z40\nX190\nG1 Z20 F300\nA360\nX200 A720\nG0 Z40\n"]);
}
