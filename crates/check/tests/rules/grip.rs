//! `poor-grip`.

use crate::common::{assert_near, one, silent};
use dryturn_check::Severity;

const PROGRAM: &[&str] = &["G0 Z80\n"];
const TAILSTOCK: &str = "tailstock = { center = { diameter = 12, quill = 16, extension = 3 } }";

fn scene(blank: &str, holding: &str) -> String {
    format!(
        "blank = {{ {blank}, length = 60 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6 }}]
        {holding}"
    )
}

fn jaws(hold: f64, jaws: &str) -> String {
    format!("chuck = {{ hold = {hold}, jaws = {{ width = 10, length = 20, height = 15, {jaws} }} }}")
}

const SQUARE: &str = "shape = \"square\", across_flats = 30";
const HEXAGON: &str = "shape = \"polygon\", sides = 6, across_flats = 30";

#[test]
fn jaws_on_the_corners_of_a_square() {
    let finding = one("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 4, turned = 45")), PROGRAM);
    assert_eq!((finding.severity, finding.unit, finding.lines), (Severity::Warning, Some("°"), None));
    assert_near(finding.value.unwrap(), 45.0, 1e-9);
    assert!(finding.text.starts_with("4 of 4 jaws") && finding.cure.contains("45°"), "{finding:#?}");
    silent("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 4")), PROGRAM);
    silent("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 2, turned = 90")), PROGRAM);
    // It is the blank beside the jaws that counts.
    let turned = format!("{SQUARE}, turned = 45");
    one("poor-grip", &scene(&turned, &jaws(15.0, "count = 4")), PROGRAM);
    silent("poor-grip", &scene(&turned, &jaws(15.0, "count = 4, turned = 45")), PROGRAM);
}

#[test]
fn a_little_off_the_middle_of_a_flat_is_no_corner() {
    silent("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 4, turned = 22.4")), PROGRAM);
    let finding = one("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 4, turned = 67.4")), PROGRAM);
    assert!(finding.cure.contains("by -22.6°"), "{}", finding.cure);
}

#[test]
fn three_jaws_never_find_the_flats_of_a_square() {
    let finding = one("poor-grip", &scene(SQUARE, &jaws(15.0, "count = 3")), PROGRAM);
    assert_near(finding.value.unwrap(), 30.0, 1e-9);
    assert!(finding.text.starts_with("2 of 3 jaws") && finding.cure.starts_with("3 jaws never"), "{finding:#?}");
    silent("poor-grip", &scene(HEXAGON, &jaws(15.0, "count = 3")), PROGRAM);
    one("poor-grip", &scene(HEXAGON, &jaws(15.0, "count = 3, turned = 30")), PROGRAM);
    silent("poor-grip", &scene("diameter = 30", &jaws(15.0, "count = 3, turned = 30")), PROGRAM);
    let many = "shape = \"polygon\", sides = 20, across_flats = 30";
    silent("poor-grip", &scene(many, &jaws(15.0, "count = 3, turned = 9")), PROGRAM);
}

#[test]
fn a_short_grip_without_a_tailstock() {
    let finding = one("poor-grip", &scene("diameter = 30", &jaws(9.9, "count = 3")), PROGRAM);
    assert_eq!((finding.severity, finding.unit), (Severity::Warning, Some("diameters")));
    assert_near(finding.value.unwrap(), 0.33, 1e-12);
    assert!(finding.cure.contains("Hold 10 mm"), "{}", finding.cure);
    silent("poor-grip", &scene("diameter = 30", &jaws(10.1, "count = 3")), PROGRAM);
    silent("poor-grip", &scene("diameter = 30", &format!("{}\n{TAILSTOCK}", jaws(9.9, "count = 3"))), PROGRAM);
    let allowed = format!("{}\nchecks = {{ poor_grip = 0.3 }}", jaws(9.9, "count = 3"));
    silent("poor-grip", &scene("diameter = 30", &allowed), PROGRAM);
}

#[test]
fn what_is_gripped_is_what_counts() {
    // The bore, not the outside; and no more than the jaws are long.
    let tube = "shape = \"tube\", diameter = 50, bore = 30";
    silent("poor-grip", &scene(tube, &jaws(10.1, "count = 3, grip = \"inside\"")), PROGRAM);
    one("poor-grip", &scene(tube, &jaws(10.1, "count = 3")), PROGRAM);
    one("poor-grip", &scene("diameter = 66", &jaws(30.0, "count = 3")), PROGRAM);
    // Without jaws the hold alone is known; a hold of nothing is one that is not told.
    one("poor-grip", &scene("diameter = 30", "chuck = { hold = 9 }"), PROGRAM);
    silent("poor-grip", &scene("diameter = 30", "chuck = {}"), PROGRAM);
    let finding = one("poor-grip", &scene("diameter = 30", "chuck = { hold = 0 }"), PROGRAM);
    assert_eq!(finding.text, "The blank begins at the front of the jaws: the chuck holds nothing of it.");
    assert_eq!(finding.value, Some(0.0));
}

#[test]
fn a_faceplate_and_a_drive_are_no_grip() {
    let behind = jaws(0.0, "count = 4, turned = 45");
    silent("poor-grip", &scene(SQUARE, &format!("{behind}\nfaceplate = {{ diameter = 50, thickness = 6 }}")), PROGRAM);
    let drive = "drive = { center = { diameter = 20, length = 15, bite = 3 } }";
    silent("poor-grip", &scene(SQUARE, &format!("{behind}\n{drive}")), PROGRAM);
}
