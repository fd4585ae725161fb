//! `cutter-hits` against every kind of body that stands, with its lift in closed form, and `near-miss`.
//!
//! A flat cutter of radius 3 meets a body whose highest point under it is at the height h over the axis: it would have
//! to rise by h less the height of its tip.

use crate::common::{assert_finding, assert_near, assert_place, found, one, place, silent};
use dryturn_check::Severity;

/// A bar of ⌀40 × 120, a flat cutter of ⌀6, and the holding.
fn scene(holding: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 2 }}
        checks = {{ near = 0.5 }}
        cutter = [{{ diameter = 6, flute = 60, stickout = 90 }}]
        machine = {{ bed = 75, start = {{ x = 50, y = 0, z = 100, a = 0 }} }}
        {holding}"
    )
}

const JAWS: &str = "chuck = { hold = 20, body = { diameter = 80, length = 45 }, \
                    jaws = { count = 4, width = 14, length = 22, height = 18 } }";
const TAILSTOCK: &str = "chuck = { hold = 20 }
    [tailstock]
    center = { angle = 60, diameter = 12, quill = 16, extension = 4 }
    dimple = 2
    body = { width = 40, above = 40, length = 70 }";

/// The only thing the cutter hits; the program's third line goes down to it and the fourth up.
#[track_caller]
fn hit(holding: &str, program: &str, name: &str, lift: f64) -> dryturn_check::Finding {
    let finding = one("cutter-hits", &scene(holding), &[program]);
    assert_finding(&finding, Severity::Error, (3, 4), -lift, 0.02);
    assert!(finding.text.contains(&format!("hits {name}")), "{}", finding.text);
    assert_eq!((finding.unit, finding.cutter, finding.program, finding.blocks), (Some("mm"), Some(1), Some(0), 2));
    finding
}

#[track_caller]
fn free(holding: &str, program: &str) {
    silent("cutter-hits", &scene(holding), &[program]);
}

#[test]
fn a_chuck_without_jaws_begins_at_the_jaw_face() {
    let chuck = "chuck = { hold = 20, body = { diameter = 80, length = 45 } }";
    let finding = hit(chuck, "G0 Z50\nX2\nG1 Z39 F300\nG0 Z50\n", "the chuck", 1.0);
    assert_place(&finding, 0.0, 0.0, 40.0, 2.3);
    assert!(place(&finding).0 <= 0.0);
    free(chuck, "G0 Z50\nX3\nG1 Z39 F300\nG0 Z50\n");
}

#[test]
fn jaws_stand_before_the_chuck() {
    let finding = hit(JAWS, "G0 Z50\nX-20 A45\nG1 Z39 F300\nG0 Z50\n", "the chuck", 1.0);
    assert_near(place(&finding).0, -22.5, 0.6);
    free(JAWS, "G0 Z50\nX-19 A45\nG1 Z39 F300\nG0 Z50\n");
}

#[test]
fn a_jaw_is_met_where_it_stands() {
    let finding = hit(JAWS, "G0 Z50\nX-10\nG1 Z30 F300\nG0 Z50\n", "jaw 1", 8.0);
    let (station, angle, radius) = place(&finding);
    assert!((-13.0..=-7.0).contains(&station) && angle.abs() < 5.0 && (38.0..38.2).contains(&radius));
    free(JAWS, "G0 Z50\nX-10 A45\nG1 Z30 F300\nG0 Z50\n");
}

#[test]
fn a_jaw_that_comes_round_is_met_with_its_corner() {
    let corner = f64::hypot(38.0, 7.0);
    let finding = one("cutter-hits", &scene(JAWS), &["G0 Z50\nX-10 A45\nG1 Z30 F300\nA90\nG0 Z50\n"]);
    assert_finding(&finding, Severity::Error, (4, 5), 30.0 - corner, 0.02);
    assert!(finding.text.contains("jaw 2"), "{}", finding.text);
    let (station, angle, radius) = place(&finding);
    assert!((-13.0..=-7.0).contains(&station));
    assert_near(angle, 90.0 - f64::atan2(7.0, 38.0).to_degrees(), 2.0);
    assert_near(radius, corner, 0.02);
    // Over the corners it turns freely, and between two jaws it may rock.
    free(JAWS, "G0 Z50\nX-10 A45\nG1 Z38.7 F300\nA405\nG0 Z50\n");
    free(JAWS, "G0 Z50\nX-10 A45\nG1 Z30 F300\nA60\nA30\nG0 Z50\n");
}

#[test]
fn a_helix_that_meets_every_jaw_is_told_once() {
    let mut program = "M3 S9000\nG0 Z50\nX-4 A0\nG1 Z36 F300\n".to_owned();
    for step in 1..=360 {
        program.push_str(&format!("X{:.3} A{}\n", -4.0 - 0.01 * f64::from(step), step * 5));
    }
    let finding = one("cutter-hits", &scene(JAWS), &[&program]);
    assert_eq!(finding.lines, Some((4, 364)));
    assert!((60..300).contains(&finding.blocks), "{}", finding.blocks);
}

#[test]
fn two_visits_with_a_retreat_between_are_two_findings() {
    let program = "G0 Z50\nX-10\nG1 Z30 F300\nG0 Z90\nX60\nX-10\nG1 Z31\nG0 Z90\n";
    let found = found("cutter-hits", &scene(JAWS), &[program]);
    let told: Vec<_> = found.iter().map(|finding| (finding.lines.unwrap(), finding.value.unwrap())).collect();
    assert_eq!(told.len(), 2, "{found:#?}");
    assert_eq!((told[0].0, told[1].0), ((3, 4), (7, 8)));
    assert_near(told[0].1, -8.0, 0.02);
    assert_near(told[1].1, -7.0, 0.02);
}

#[test]
fn a_faceplate_lies_behind_station_nought() {
    let plate = "faceplate = { diameter = 60, thickness = 8 }";
    let finding = hit(plate, "G0 Z50\nX2\nG1 Z25 F300\nG0 Z50\n", "the faceplate", 5.0);
    assert!((-1.0..=0.0).contains(&place(&finding).0));
    free(plate, "G0 Z50\nX3\nG1 Z25 F300\nG0 Z50\n");
    free(plate, "G0 Z50\nX-11\nG1 Z25 F300\nG0 Z50\n");
}

#[test]
fn a_chuck_behind_a_faceplate_stands_back_by_its_thickness() {
    let both = "faceplate = { diameter = 60, thickness = 8 }
        chuck = { body = { diameter = 80, length = 45 } }";
    let finding = hit(both, "G0 Z50\nX-6\nG1 Z39 F300\nG0 Z50\n", "the chuck", 1.0);
    assert!((-9.0..=-8.0).contains(&place(&finding).0));
    free(both, "G0 Z50\nX-5\nG1 Z39 F300\nG0 Z50\n");
}

#[test]
fn a_screw_turns_with_the_wood() {
    let screw = "faceplate = { diameter = 60, thickness = 8, screws = [
        { radius = 0, diameter = 3, length = 5 }, { radius = 12, angle = 90, diameter = 4, length = 25 }] }";
    let finding = hit(screw, "G0 Z50\nX20 A90\nG1 Z13 F300\nG0 Z50\n", "screw 2", 1.0);
    let (station, angle, radius) = place(&finding);
    assert!((17.0..=23.0).contains(&station));
    assert!((angle - 90.0).abs() < 10.0 && (14.0..14.2).contains(&radius), "{angle} {radius}");
    free(screw, "G0 Z50\nX20 A0\nG1 Z13 F300\nG0 Z50\n");
    free(screw, "G0 Z50\nX28.1 A90\nG1 Z13 F300\nG0 Z50\n");
}

#[test]
fn a_drive_center_bites_into_the_wood_and_has_a_body_behind() {
    let drive = "drive = { center = { diameter = 20, length = 15, bite = 3 }, body = { diameter = 50, length = 60 } }";
    let finding = hit(drive, "G0 Z50\nX5\nG1 Z8 F300\nG0 Z50\n", "the drive", 2.0);
    assert!((2.0..=3.0).contains(&place(&finding).0));
    free(drive, "G0 Z50\nX6\nG1 Z8 F300\nG0 Z50\n");
    hit(drive, "G0 Z50\nX-13\nG1 Z20 F300\nG0 Z50\n", "the drive", 5.0);
    free(drive, "G0 Z50\nX-12\nG1 Z20 F300\nG0 Z50\n");
}

#[test]
fn the_live_center_begins_in_its_dimple() {
    // The apex lies at 98; the cone is 5.196 high at station 107, the outermost the cutter reaches.
    let height = 9.0 * 30f64.to_radians().tan();
    let finding = hit(TAILSTOCK, "G0 Z50\nX104\nG1 Z2 F300\nG0 Z50\n", "the center", height - 2.0);
    assert_place(&finding, 107.0, 0.0, height, 0.1);
    free(TAILSTOCK, &format!("G0 Z50\nX104\nG1 Z{:.3} F300\nG0 Z50\n", height + 0.01));
    free(TAILSTOCK, "G0 Z50\nX94.9\nG1 Z0.1 F300\nG0 Z50\n");
}

#[test]
fn the_quill_follows_the_cone_and_the_body_the_quill() {
    let base = 98.0 + 6.0 / 30f64.to_radians().tan();
    // The quill's 4 mm are narrower than the cutter, so the body is met as well.
    let found = found("cutter-hits", &scene(TAILSTOCK), &[&format!("G0 Z50\nX{}\nG1 Z5 F300\nG0 Z50\n", base + 2.0)]);
    let quill = found.iter().find(|finding| finding.text.contains("the quill")).unwrap();
    assert_finding(quill, Severity::Error, (3, 4), -3.0, 0.02);
    let body = hit(TAILSTOCK, "G0 Z50\nX125\nG1 Z35 F300\nG0 Z50\n", "the tailstock", 5.0);
    assert!((122.0..=128.0).contains(&place(&body).0));
    free(TAILSTOCK, &format!("G0 Z50\nX{}\nG1 Z35 F300\nG0 Z50\n", base + 0.99));
    free(TAILSTOCK, "G0 Z50\nX125 Y23.1\nG1 Z35 F300\nG0 Z50\n");
    hit(TAILSTOCK, "G0 Z50\nX125 Y22\nG1 Z35 F300\nG0 Z50\n", "the tailstock", 5.0);
}

#[test]
fn a_head_stands_between_cone_and_quill() {
    let with_head = format!("{TAILSTOCK}\nhead = {{ diameter = 30, length = 20 }}");
    let base = 98.0 + 6.0 / 30f64.to_radians().tan();
    let finding = hit(&with_head, "G0 Z50\nX115\nG1 Z10 F300\nG0 Z50\n", "the head", 5.0);
    assert!((112.0..=118.0).contains(&place(&finding).0));
    free(&with_head, &format!("G0 Z50\nX{}\nG1 Z10 F300\nG0 Z50\n", base - 3.01));
    // The body has moved back by the head's length.
    free(&with_head, &format!("G0 Z50\nX{}\nG1 Z35 F300\nG0 Z50\n", base + 20.0 + 0.99));
}

#[test]
fn the_bed_is_all_below_its_depth() {
    let finding = hit("", "G0 Z50\nX120\nG1 Z-76 F300\nG0 Z50\n", "the bed", 1.0);
    assert_near(place(&finding).2, 75.0, 0.1);
    free("", "G0 Z50\nX120\nG1 Z-75 F300\nG0 Z50\n");
}

#[test]
fn whatever_is_named_stands_in_its_box() {
    let clamp = "fixed = [{ name = \"clamp\", box = [40, 60, 30, 50, 0, 20] }]";
    let finding = hit(clamp, "G0 Z50\nX50 Y28\nG1 Z15 F300\nG0 Z50\n", "the clamp", 5.0);
    let (station, angle, radius) = place(&finding);
    assert!((47.0..=53.0).contains(&station));
    // The highest point lies at z = 20 and y from 30 to 31, to the right of the axis seen from the free end: at −θ.
    assert_near(angle, -f64::atan2(30.5, 20.0).to_degrees(), 1.0);
    assert_near(radius, f64::hypot(30.5, 20.0), 0.6);
    free(clamp, "G0 Z50\nX50 Y27\nG1 Z15 F300\nG0 Z50\n");
}

#[test]
fn a_pass_that_is_too_near_is_told_once_a_pair() {
    let plate = "faceplate = { diameter = 60, thickness = 8 }";
    let program = "G0 Z50\nX3.3\nG1 Z25 F300\nA360\nG0 Z50\nX3.3\nG1 Z24\nG0 Z50\n";
    let finding = one("near-miss", &scene(plate), &[program]);
    assert_finding(&finding, Severity::Warning, (3, 3), 0.3, 0.001);
    assert_near(place(&finding).0, 0.0, 0.01);
    silent("near-miss", &scene(plate), &["G0 Z50\nX3.6\nG1 Z25 F300\nA360\nG0 Z50\n"]);
    // A hit is no near miss besides.
    silent("near-miss", &scene(plate), &["G0 Z50\nX2\nG1 Z25 F300\nA360\nG0 Z50\n"]);
}

#[test]
fn near_may_be_set_for_each_body_by_name() {
    let program = "G0 Z50\nX3.3\nG1 Z25 F300\nA360\nG0 Z50\n";
    let plate = |near: &str| scene("faceplate = { diameter = 60, thickness = 8 }").replace("near = 0.5", near);
    silent("near-miss", &plate("near = { faceplate = 0.2 }"), &[program]);
    one("near-miss", &plate("near = { faceplate = 0.4 }"), &[program]);
    one("near-miss", &plate("near = { chuck = 0.2 }"), &[program]);
    // A graze without depth is as near as can be, and no hit.
    let graze = ["G0 Z50\nX3\nG1 Z25 F300\nA360\nG0 Z50\n"];
    silent("cutter-hits", &plate("near = 0.5"), &graze);
    assert_near(one("near-miss", &plate("near = 0.5"), &graze).value.unwrap(), 0.0, 0.001);
}

#[test]
fn the_cure_for_a_body_with_a_name_is_good_toml() {
    let clamp = "fixed = [{ name = \"dust shoe\", box = [40, 60, 30, 50, 0, 20] }]";
    let finding = one("near-miss", &scene(clamp), &["G0 Z50\nX50 Y26.7\nG1 Z15 F300\nG0 Z50\n"]);
    assert!(finding.cure.contains("{ \"dust shoe\" = … }"), "{}", finding.cure);
}
