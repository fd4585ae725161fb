//! Lines into motions: the modes, units, offsets and planes of NISTIR 6556 sections 3.5 to 3.8 end here.

mod arc;
mod compensation;
mod cycles;
mod flow;
mod home;
mod lengths;
mod modes;
mod offsets;
mod orders;
mod parameters;
mod reader;
mod travel;

use crate::program::{Program, Setup, ToolOffset};

/// What only the whole program tells, and holds from its first line on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Pass {
    /// No M6 anywhere: the cutter changes at its T word.
    cutter_at_t: bool,
    /// G43 stands in it: the lengths of cutters are in the controller's table.
    lengths: bool,
}

impl Pass {
    /// The tool length offset in force before the first line.
    fn length(self, setup: &Setup) -> ToolOffset {
        match setup.tool_offset {
            ToolOffset::ByHand if self.lengths => ToolOffset::None,
            given => given,
        }
    }
}

/// Reads a program. Never fails: what is wrong is in [`Program::diagnostics`], and
/// [`Program::stopped`] says whether it can be relied on.
///
/// Time is linear in the lines executed; memory is the blocks and side tables.
pub fn read(source: &[u8], setup: &Setup) -> Program {
    let mut pass = Pass::default();
    loop {
        let program = reader::Reader::new(source, setup, pass).run();
        let facts = &program.facts;
        let told = Pass {
            cutter_at_t: pass.cutter_at_t || !facts.m6 && !facts.cutters.is_empty(),
            lengths: pass.lengths || facts.tool_length,
        };
        if told == pass {
            return program;
        }
        pass = told;
    }
}
