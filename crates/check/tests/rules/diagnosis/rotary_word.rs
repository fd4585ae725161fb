//! `wrong-rotary-word`.

use crate::common::{assert_finding, one, place, silent};
use dryturn_check::Severity;

fn bar(machine: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 120 }}
        grid = {{ pitch = 1 }}
        cutter = [{{ diameter = 6, flute = 30 }}]
        [machine]
        {machine}
        start = {{ x = 20, y = 0, z = 80, a = 0 }}"
    )
}

const TURNS_B: &str = "M3 S9000\nG0 Z30\nX40\nG1 Z18 F300\nB360\nX60 B3600\nG0 Z30\n";

#[test]
fn a_program_for_b_on_a_machine_with_a() {
    let finding = one("wrong-rotary-word", &bar(""), &[TURNS_B]);
    assert_finding(&finding, Severity::Error, (5, 7), 3600.0, 1e-9);
    assert_eq!((finding.unit, finding.program, finding.blocks), (Some("°"), Some(0), 3));
    assert!(finding.text.starts_with("The program moves B over 3600°, but in this scene A turns the blank"));
    assert!(finding.text.contains("if B turned it, it would take"), "{}", finding.text);
    assert!(finding.cure.contains("rotary = \"B\""));
    silent("wrong-rotary-word", &bar("rotary = \"B\""), &[TURNS_B]);
    silent("wrong-rotary-word", &bar(""), &[&TURNS_B.replace('B', "A")]);
    // A word that stands where it stood moves nothing.
    silent("wrong-rotary-word", &bar(""), &[&TURNS_B.replace('B', "A").replace("X40", "X40 B0 C0")]);
}

#[test]
fn the_place_is_that_of_the_first_such_move() {
    let early = "M3 S9000\nG0 Z30\nX40\nG1 Z18 F300\nX50 C90\nG0 Z30\n";
    let finding = one("wrong-rotary-word", &bar(""), &[early]);
    assert_finding(&finding, Severity::Error, (5, 6), 90.0, 1e-9);
    assert_eq!(place(&finding), (50.0, 0.0, 18.0));
}

#[test]
fn a_rotary_word_where_a_linear_one_turns_the_blank() {
    let wrapped = bar("rotary = \"Y\"\nwrap_diameter = 40").replace(", a = 0", "");
    let finding = one("wrong-rotary-word", &wrapped, &[&TURNS_B.replace('B', "A")]);
    assert!(finding.text.contains("in this scene Y turns the blank"), "{}", finding.text);
    silent("wrong-rotary-word", &wrapped, &["M3 S9000\nG0 Z30\nX40\nG1 Z18 F300\nY60\nG0 Z30\n"]);
}
