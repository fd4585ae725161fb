//! T and M6.

use dryturn_program::{BlockFlags, EventKind, Kind, NO_CUTTER, Setup, Severity, read};

use super::{at_zero, fault, fault_with, quiet, quiet_with};

fn cutters(program: &dryturn_program::Program) -> Vec<u16> {
    program.blocks.iter().map(|block| block.cutter).collect()
}

#[test]
fn a_cutter_changes_at_m6() {
    // NISTIR 6556 section 3.6.3: T selects, M6 changes; on one line T acts first.
    let setup = Setup { cutter: Some(1), ..at_zero() };
    let program = quiet_with("G0 X1\nT2\nX2\nM6\nX3\nM6 T5\nX4\nT0 M6\nX5", &setup);
    assert_eq!(cutters(&program), [1, 1, 2, 5, NO_CUTTER]);
    assert_eq!(program.end_cutter, None);
    assert_eq!(program.facts.cutters.keys().copied().collect::<Vec<_>>(), [0, 2, 5]);
    assert_eq!(program.facts.cutters[&5].line, 6);
}

#[test]
fn m6_stops_the_spindle() {
    let program = quiet("M3\nG0 X1\nT1 M6\nX2\nM3\nX3");
    let on: Vec<bool> = program.blocks.iter().map(|block| block.flags.has(BlockFlags::SPINDLE_ON)).collect();
    assert_eq!(on, [true, false, true]);
    let kinds: Vec<EventKind> = program.events.iter().map(|event| event.kind).collect();
    assert_eq!(kinds[1..3], [EventKind::SpindleOff, EventKind::CutterChange(Some(1))]);
}

#[test]
fn without_any_m6_the_cutter_changes_at_t() {
    let program = quiet("M3\nT1\nG0 X1\nT2 X2");
    assert_eq!(cutters(&program), [1, 2]);
    assert_eq!(program.diagnostics.iter().filter(|one| one.kind == Kind::Cutter).count(), 1);
    assert!(program.blocks[1].flags.has(BlockFlags::SPINDLE_ON));
}

#[test]
fn a_controller_that_ignores_m6() {
    let setup = Setup { m6_ignored: true, cutter: Some(1), ..at_zero() };
    fault_with("T2 M6\nG0 X1\nM6", &setup, Kind::Cutter, Severity::Warning, "M6");
    assert_eq!(cutters(&read(b"T2 M6\nG0 X1\nM2", &setup)), [1]);
}

#[test]
fn numbers_of_cutters() {
    fault("T1.5", Kind::Cutter, Severity::Error, "T1.5");
    fault_with("T-1", &at_zero(), Kind::Cutter, Severity::Error, "T-1");
    fault_with("T65535", &at_zero(), Kind::Cutter, Severity::Error, "T65535");
    assert_eq!(cutters(&quiet("T1.00005 M6\nG0 X1")), [1], "within 0.0001 of a whole number");
    fault("M6", Kind::Cutter, Severity::Warning, "M6");
}
