//! Words whose place nobody has said.

use dryturn_program::{BlockFlags, Kind, Setup, Severity, read};

use super::{fault_with, last, quiet_with};

#[test]
fn a_word_is_unknown_until_commanded() {
    let setup = Setup { start: [Some(0.0), Some(0.0), None, Some(0.0), Some(0.0), Some(0.0)], ..Setup::default() };
    let program = quiet_with("G0 X5\nZ5\nX6", &setup);
    let seen: Vec<(bool, bool)> = program
        .blocks
        .iter()
        .map(|block| (block.flags.has(BlockFlags::START_UNKNOWN), block.flags.has(BlockFlags::END_UNKNOWN)))
        .collect();
    assert_eq!(seen, [(true, true), (true, false), (false, false)]);
    assert_eq!(program.start_of(0), setup.start);
    assert_eq!(program.start_of(1)[2], None);
    assert_eq!(program.start_of(2), [Some(5.0), Some(0.0), Some(5.0), Some(0.0), Some(0.0), Some(0.0)]);
    assert_eq!(program.end, program.start_of(3));
}

#[test]
fn an_increment_from_nowhere_stays_unknown() {
    let text = "G91 G0 A90\nA90\nG90 A10";
    fault_with(text, &Setup::default(), Kind::Position, Severity::Warning, "A90");
    let program = read(format!("{text}\nM2").as_bytes(), &Setup::default());
    let known: Vec<bool> = program.blocks.iter().map(|block| block.unknown() & 0b1000 == 0).collect();
    assert_eq!(known, [false, false, true]);
}

#[test]
fn g92_settles_an_unknown_word_at_the_zero_of_the_set_up() {
    let program = quiet_with("G92 A0\nG0 A90", &Setup::default());
    assert_eq!(last(&program).to[3], 90.0);
    assert_eq!(last(&program).unknown() & 0b1000, 0);
    assert!(program.diagnostics.iter().any(|one| one.kind == Kind::Position && one.severity == Severity::Note));
    assert_eq!(program.shown[0].offset[3], 0.0);
}

#[test]
fn g92_after_a_bad_line_does_not_invent_a_move() {
    let lenient = Setup { lenient: true, ..super::at_zero() };
    let unknown_start = |text: &str| {
        let program = read(format!("{text}\nM2").as_bytes(), &lenient);
        program.blocks.iter().map(|block| block.flags.has(BlockFlags::START_UNKNOWN)).collect::<Vec<_>>()
    };
    // The bad line comes before the first block, and after a block that ended somewhere known.
    assert_eq!(unknown_start("Y0\nX0 G0\nG92 Y0\nX0\nX1"), [true, false, false]);
    assert_eq!(unknown_start("G0 Y1\nG1 Y2 Y3\nG92 Y0\nX1\nX2"), [false, true, false]);
}

#[test]
fn g92_says_where_the_start_is() {
    let program = quiet_with("G92 X0 Y0 Z5 A0 B0 C0\nG0 X1", &Setup::default());
    assert_eq!(program.start_of(0), [0.0, 0.0, 5.0, 0.0, 0.0, 0.0].map(Some));
    assert!(!last(&program).flags.has(BlockFlags::START_UNKNOWN));
}

#[test]
fn an_arc_from_nowhere_has_an_end() {
    let program = quiet_with("G2 X5 Y5 I5", &Setup::default());
    assert!(last(&program).flags.has(BlockFlags::START_UNKNOWN));
    assert_eq!(program.end[..3], [Some(5.0), Some(5.0), None]);
    assert!(program.arcs.is_empty());
}

#[test]
fn an_unknown_word_holds_a_finite_number() {
    let program = quiet_with("G0 X5", &Setup::default());
    assert_eq!(last(&program).to, [5.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
}
