//! `flat-program`.

use super::beside;
use crate::common::{assert_finding, found, job_of, one, place, run, silent};
use dryturn_check::Severity;

/// A bar of ⌀40 × 120.
fn bar(zero: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 1 }}
        zero = {{ z = \"{zero}\" }}
        cutter = [{{ diameter = 6, flute = 30 }}]
        machine = {{ start = {{ x = 20, y = 0, z = 80, a = 0 }} }}"
    )
}

/// Lines across a drawing of some width, a millimetre deep.
fn drawing(width: f64) -> String {
    let lines: String = (0..5).map(|k| format!("X{} Y0\nG1 Z-1 F300\nY{width}\nG0 Z5\n", 30 + 10 * k)).collect();
    format!("M3 S9000\nG0 Z5\n{lines}")
}

#[test]
fn a_drawing_that_is_not_wound_on() {
    let finding = one("flat-program", &bar("surface"), &[&drawing(125.0)]);
    assert_finding(&finding, Severity::Error, (5, 21), 125.0, 1e-9);
    assert_eq!((finding.unit, finding.program, finding.blocks), (Some("mm"), Some(0), 5));
    assert_eq!(place(&finding).0, 30.0);
    assert!(finding.text.contains("wound on it would take"), "{}", finding.text);
    assert!(finding.cure.contains("rotary = \"Y\" and wrap_diameter = 40 under"), "{}", finding.cure);
    // Wider than the blank is enough where most of it lies beside.
    assert_eq!(one("flat-program", &bar("surface"), &[&drawing(60.0)]).severity, Severity::Error);
    // Wound on, it is what it was meant to be.
    let wrapped =
        bar("surface").replace("start = {", "rotary = \"Y\", wrap_diameter = 40, start = {").replace(", a = 0", "");
    silent("flat-program", &wrapped, &[&drawing(125.0)]);
}

#[test]
fn an_axis_along_y_winds_its_drawings_on_by_x() {
    let along_y = bar("surface").replace("start = {", "along = \"y\", start = {");
    let swapped = drawing(125.0).replace('X', "Q").replace('Y', "X").replace('Q', "Y");
    let finding = one("flat-program", &along_y, &[&swapped]);
    assert!(finding.cure.contains("rotary = \"X\""), "{}", finding.cure);
}

#[test]
fn the_target_says_how_much_better_it_fits_wound_on() {
    // Rings right round, of one depth: wound on, the drawing turns them.
    let scene = format!(
        "format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]\ntarget = {{ file = \"p.csv\" }}\n{}",
        bar("surface")
    );
    let ring = "M3 S9000\nG0 Z5\nX50 Y0\nG1 Z-2 F300\nY125.67\nG0 Z5\n";
    let told = beside("flat-program", &scene, &[ring], "0,20\n47,20\n47,18\n53,18\n53,20\n120,20\n");
    assert_eq!(told.len(), 1);
    assert!(told[0].text.contains("would leave nothing off the target instead of"), "{}", told[0].text);
}

#[test]
fn work_on_a_blank_that_stands_still() {
    let indexed = |program: &str| {
        let scene =
            format!("format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1, indexed = true }}]\n{}", bar("axis"));
        let findings = run(&job_of(&scene, &[program])).findings;
        assert!(findings.iter().all(|finding| finding.rule != "flat-program"), "{findings:#?}");
    };
    // A flat over the whole width with its overrun, a slot, a hole.
    let flat = "M3 S9000\nG0 Z30\nX40 Y-24\nZ15\nG1 Y24 F600\nX45\nY-24\nX50\nY24\nG0 Z30\n";
    let slot = "M3 S9000\nG0 Z30\nX40\nG1 Z15 F300\nX80\nG0 Z30\n";
    indexed(flat);
    indexed(slot);
    // Said or not, it is no more than a note.
    for program in [flat, slot] {
        assert_eq!(one("flat-program", &bar("axis"), &[program]).severity, Severity::Note);
    }
    silent("flat-program", &bar("axis"), &["M3 S9000\nG0 Z30\nX40\nG1 Z-22 F300\nG0 Z30\n"]);
    // Beside a program that turns the blank it is a step like any other.
    let turning = "M3 S9000\nG0 Z30\nX40\nG1 Z18 F300\nA360\nG0 Z30\n";
    assert!(found("flat-program", &bar("axis"), &[turning, slot]).is_empty());
    // Faces between which A turns.
    let faces = flat.replace("M3 S9000\n", "M3 S9000\nG0 Z30 A0\n") + "A180\n" + &flat["M3 S9000\n".len()..];
    silent("flat-program", &bar("axis"), &[&faces]);
}
