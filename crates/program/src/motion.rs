//! Lines into motions: the modes, units, offsets and planes of NISTIR 6556 sections 3.5 to 3.8 end here.

mod arc;
mod behind;
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

use std::convert::Infallible;
use std::io::{self, Read, Seek};

use crate::program::{Program, Setup, ToolOffset};
use crate::stream::Stream;
use crate::survey::{CodeName, Survey};

/// What only the whole program tells, and holds from its first line on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Pass {
    /// No M6 anywhere: the cutter changes at its T word.
    cutter_at_t: bool,
    /// G43 stands in it: the lengths of cutters are in the controller's table.
    lengths: bool,
}

impl Pass {
    /// What the text makes expect.
    fn guess(survey: &Survey) -> Self {
        Self { cutter_at_t: survey.cutters && !survey.holds(CodeName::M(6)), lengths: survey.holds(CodeName::G(430)) }
    }

    /// What a program has turned out to say.
    fn told_by(program: &Program) -> Self {
        let facts = &program.facts;
        Self { cutter_at_t: !facts.m6 && !facts.cutters.is_empty(), lengths: facts.tool_length }
    }

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
    let once = |pass| Ok(reader::Reader::new(source, setup, pass).run());
    let found: Result<Program, Infallible> = settled(Pass::guess(&Survey::of(source)), once);
    match found {
        Ok(program) => program,
        Err(never) => match never {},
    }
}

/// [`read`] of a file of which only a part is in memory at a time, if its lines are executed in their order. The text
/// of a program that calls or repeats is taken into memory for as long as it is read.
///
/// # Errors
///
/// What the reading of the file meets.
pub fn read_file(input: &mut (impl Read + Seek), setup: &Setup) -> io::Result<Program> {
    input.rewind()?;
    let survey = Survey::of_file(&mut *input)?;
    read_surveyed(input, setup, &survey)
}

/// [`read_file`] of one that has been looked through.
pub(crate) fn read_surveyed(input: &mut (impl Read + Seek), setup: &Setup, survey: &Survey) -> io::Result<Program> {
    settled(Pass::guess(survey), |pass| {
        input.rewind()?;
        let mut stream = Stream::new(&mut *input)?;
        if let Some(program) = reader::Reader::new(b"", setup, pass).run_through(&mut stream)? {
            return Ok(program);
        }
        input.rewind()?;
        let mut source = Vec::new();
        input.read_to_end(&mut source)?;
        Ok(reader::Reader::new(&source, setup, pass).run())
    })
}

/// Reads until what held from the first line on is what the whole program tells.
fn settled<E>(guess: Pass, mut once: impl FnMut(Pass) -> Result<Program, E>) -> Result<Program, E> {
    let program = once(guess)?;
    if Pass::told_by(&program) == guess {
        return Ok(program);
    }
    // What is executed is not what the text made expect. What has once been told stays, so this ends.
    let mut pass = Pass::default();
    loop {
        let program = once(pass)?;
        let told = Pass::told_by(&program);
        let told = Pass { cutter_at_t: pass.cutter_at_t || told.cutter_at_t, lengths: pass.lengths || told.lengths };
        if told == pass {
            return Ok(program);
        }
        pass = told;
    }
}
