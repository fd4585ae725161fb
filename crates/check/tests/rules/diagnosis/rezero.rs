//! `rezero-off-turn`.

use crate::common::{assert_finding, job_of, one, place, run, silent};
use dryturn_check::{Finding, Severity};

fn bar() -> String {
    "blank = { diameter = 60, length = 200 }
        grid = { pitch = 2 }
        cutter = [{ diameter = 6, flute = 30 }]
        machine = { start = { x = 20, y = 0, z = 80, a = 0 } }"
        .to_owned()
}

/// A groove of lead 40 that ends at A 8730, and the same begun again at A0.
const GROOVE: &str = "M3 S9000\nG0 Z40\nX20\nG1 Z26 F300\nX180 A1440\nX20 A2880\nG0 Z40\nG0 A8730\n";
const SLOT: &str = "G0 X100 A0\nG1 Z24 F300\nX140 A360\nG0 Z40\n";

#[test]
fn zeroed_again_a_quarter_past_a_turn() {
    let finding = one("rezero-off-turn", &bar(), &[GROOVE, &format!("M3\nG92 A0\n{SLOT}")]);
    assert_finding(&finding, Severity::Error, (2, 5), 90.0, 1e-9);
    assert_eq!((finding.unit, finding.program, finding.cutter), (Some("°"), Some(1), Some(1)));
    assert_eq!(place(&finding).0, 100.0);
    assert!(finding.text.contains("A is zeroed again at 8730°, 90° off a whole turn"), "{}", finding.text);
    assert!(finding.text.contains("47.12 mm of arc at a radius of 30.00 mm"), "{}", finding.text);
    assert!(finding.text.contains("10.00 mm along a lead of 40.00 mm"), "{}", finding.text);
    assert!(finding.cure.contains("9000°"), "{}", finding.cure);
    // At a whole turn nothing is wrong.
    silent("rezero-off-turn", &bar(), &[&GROOVE.replace("8730", "8640"), &format!("M3\nG92 A0\n{SLOT}")]);
    // Nor where the word is only told where it stands.
    silent("rezero-off-turn", &bar(), &[GROOVE, &format!("M3\nG92 A90\n{SLOT}")]);
}

#[test]
fn zeroed_again_within_a_program() {
    let whole = format!("{GROOVE}G92 A0\n{SLOT}");
    let finding = one("rezero-off-turn", &bar(), &[&whole]);
    assert_finding(&finding, Severity::Error, (9, 12), 90.0, 1e-9);
    let reversed = bar().replace("{ start", "{ turns = \"reversed\", rotary = \"B\", start");
    let finding = one("rezero-off-turn", &reversed, &[&whole.replace('A', "B")]);
    assert!(finding.text.starts_with("B is zeroed again at 8730°"), "{}", finding.text);
    // What was zeroed before anything was cut is the zero.
    silent("rezero-off-turn", &bar(), &[&format!("G0 A90\nG92 A0\n{SLOT}")]);
    // The offset dropped again before the next cut.
    silent("rezero-off-turn", &bar(), &[&format!("{GROOVE}G92 A0\nG92.1\nG0 A8640\n{SLOT}")]);
}

fn with_zeros(zero: &str, programs: &[&str]) -> Vec<Finding> {
    let scene = format!(
        "format = 1\n{}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\n[[program]]\nfile = \"2.nc\"\n{zero}\n",
        bar()
    );
    run(&job_of(&scene, programs)).findings.into_iter().filter(|found| found.rule == "rezero-off-turn").collect()
}

#[test]
fn zeroed_where_it_stood_between_two_programs() {
    let next = format!("M3\n{SLOT}");
    for zero in ["zero = { a = 8730 }", "zero = { a = 90 }"] {
        let found = with_zeros(zero, &[GROOVE, &next]);
        assert_eq!(found.len(), 1, "{zero}: {found:#?}");
        assert_finding(&found[0], Severity::Error, (3, 4), 90.0, 1e-6);
        assert!(found[0].text.starts_with("A is zeroed again at 8730°"), "{}", found[0].text);
    }
    // A zero of its own that is not where the word stood is meant, and so is one for faces that were counted off.
    assert!(with_zeros("zero = { a = 45 }", &[GROOVE, &next]).is_empty());
    assert!(with_zeros("zero = { a = 8640 }", &[&GROOVE.replace("8730", "8640"), &next]).is_empty());
    assert!(with_zeros("zero = { a = 90 }\nindexed = true", &[GROOVE, &next]).is_empty());
    assert!(with_zeros("", &[GROOVE, &next]).is_empty());
}

#[test]
fn a_pattern_carried_round_by_zeroing_again() {
    let flute = "X40\nG1 Z26 F300\nX100\nG0 Z40\nA60\nG92 A0\n";
    let six = format!("M3 S9000\nG0 Z40\n{}", flute.repeat(6));
    silent("rezero-off-turn", &bar(), &[&six]);
}

#[test]
fn what_is_the_same_all_round_is_a_note() {
    let ring = "X60\nG1 Z26 F300\nA360\nG0 Z40\n";
    let rings = format!("M3 S9000\nG0 Z40\n{ring}A450\nG92 A0\n{}", ring.replace("X60", "X100"));
    let finding = one("rezero-off-turn", &bar(), &[&rings]);
    assert_eq!(finding.severity, Severity::Note);
    assert!(finding.text.ends_with("what is cut is the same all round."), "{}", finding.text);
}
