//! Lines into motions: the modes, units, offsets and planes of NISTIR 6556 sections 3.5 to 3.8 end here.

mod arc;
mod flow;
mod home;
mod modes;
mod offsets;
mod orders;
mod parameters;
mod reader;
mod travel;

use crate::program::{Program, Setup};

/// When the cutter that a T word selects comes into the spindle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum CutterComes {
    AtM6,
    AtT,
}

/// Reads a program. Never fails: what is wrong is in [`Program::diagnostics`], and
/// [`Program::stopped`] says whether it can be relied on.
///
/// Time is linear in the file; memory is the blocks and side tables.
pub fn read(source: &[u8], setup: &Setup) -> Program {
    let program = reader::Reader::new(source, setup, CutterComes::AtM6).run();
    if program.facts.m6 || program.facts.cutters.is_empty() {
        return program;
    }
    // No M6 anywhere: read again, the cutter changing at its T word.
    reader::Reader::new(source, setup, CutterComes::AtT).run()
}
