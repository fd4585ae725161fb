//! The crate as a whole: one short test a fact.

#![allow(clippy::unwrap_used)]

mod arcs;
mod book;
mod codes;
mod cutters;
mod files;
mod fuzz;
mod laws;
mod mutate;
mod offsets;
mod refused;
mod twins;
mod unknown;

use dryturn_program::{Block, Diagnostic, Kind, Program, Setup, Severity, line_text, read};

/// A set-up whose tip stands at zero.
fn at_zero() -> Setup {
    Setup { start: [Some(0.0); 6], ..Setup::default() }
}

/// Reads a program from zero, which must give no error and no warning.
fn quiet(text: &str) -> Program {
    quiet_with(text, &at_zero())
}

fn quiet_with(text: &str, setup: &Setup) -> Program {
    let program = read(format!("{text}\nM2\n").as_bytes(), setup);
    let loud: Vec<_> = program.diagnostics.iter().filter(|one| one.severity > Severity::Note).collect();
    assert!(loud.is_empty(), "{text}: {loud:?}");
    assert!(!program.stopped());
    program
}

/// The end of the last block of a quiet program.
fn end_of(text: &str) -> [f64; 6] {
    last(&quiet(text)).to
}

fn last(program: &Program) -> &Block {
    program.blocks.last().expect("the program moves")
}

/// Checks the only diagnostic above a note: kind, severity, line and the text under its caret.
#[track_caller]
fn fault(text: &str, kind: Kind, severity: Severity, caret: &str) -> Diagnostic {
    fault_with(text, &at_zero(), kind, severity, caret)
}

#[track_caller]
fn fault_with(text: &str, setup: &Setup, kind: Kind, severity: Severity, caret: &str) -> Diagnostic {
    let source = format!("{text}\nM2\n");
    let program = read(source.as_bytes(), setup);
    let found: Vec<_> = program.diagnostics.iter().filter(|one| one.severity > Severity::Note).collect();
    assert_eq!(found.len(), 1, "{text}: {found:?}");
    let found = found[0].clone();
    assert_eq!((found.kind, found.severity), (kind, severity), "{text}: {found:?}");
    let line = line_text(source.as_bytes(), found.line);
    assert_eq!(&line[found.span.clone()], caret, "{text}: {found:?}");
    assert_eq!(program.stopped(), severity == Severity::Error);
    found
}

#[track_caller]
fn near(one: f64, other: f64, within: f64) {
    assert!((one - other).abs() <= within, "{one} is not {other} within {within}");
}
