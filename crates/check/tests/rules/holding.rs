//! `slender`, `center-overextended`.

use crate::common::{assert_near, one, silent};
use dryturn_check::Severity;

fn scene(length: f64, holding: &str) -> String {
    format!(
        "blank = {{ diameter = 20, length = {length} }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6 }}]
        {holding}"
    )
}

const PROGRAM: &[&str] = &["G0 Z40\n"];
const CHUCK: &str = "chuck = { hold = 15 }";

#[test]
fn a_long_blank_without_a_tailstock() {
    let finding = one("slender", &scene(80.0, CHUCK), PROGRAM);
    assert_eq!((finding.severity, finding.unit, finding.lines), (Severity::Warning, Some("diameters"), None));
    assert_near(finding.value.unwrap(), 3.25, 1e-12);
    silent("slender", &scene(75.0, CHUCK), PROGRAM);
    // The part in the jaws does not stand out; on a faceplate all of it does.
    one("slender", &scene(75.0, "faceplate = { diameter = 40, thickness = 5 }"), PROGRAM);
    // Where nothing is said of the holding nothing is known of the free length.
    silent("slender", &scene(300.0, ""), PROGRAM);
    let tailstock = "tailstock = { center = { diameter = 12, quill = 16, extension = 3 } }";
    silent("slender", &scene(300.0, &format!("{CHUCK}\n{tailstock}")), PROGRAM);
}

#[test]
fn a_square_blank_is_as_thick_as_its_corners() {
    let square = |length| scene(length, CHUCK).replace("diameter = 20,", "shape = \"square\", across_flats = 20,");
    let corner = 20.0 * 2f64.sqrt();
    silent("slender", &square(15.0 + 3.0 * corner - 0.01), PROGRAM);
    one("slender", &square(15.0 + 3.0 * corner + 0.01), PROGRAM);
}

#[test]
fn a_quill_far_out() {
    let quill = |extension: f64| {
        scene(
            80.0,
            &format!("{CHUCK}\ntailstock = {{ center = {{ diameter = 12, quill = 16, extension = {extension} }} }}"),
        )
    };
    silent("center-overextended", &quill(3.2), PROGRAM);
    let note = one("center-overextended", &quill(3.3), PROGRAM);
    assert_eq!((note.severity, note.value, note.unit), (Severity::Note, Some(3.3), Some("mm")));
    assert_eq!(one("center-overextended", &quill(16.0), PROGRAM).severity, Severity::Note);
    assert_eq!(one("center-overextended", &quill(16.1), PROGRAM).severity, Severity::Warning);
}
