//! A scene for programs of which nobody has said anything yet.
//!
//! # Theory
//!
//! A program says where a cutter goes and hardly ever over what. But it gives much away: the word that turns, the heights
//! it comes down to before it feeds, how deep it cuts while the blank turns, how far it goes along the axis. Each of these
//! is evidence for a key of the scene, and each guess is written with its evidence beside it. What has no evidence but
//! must be there stands in and says so; what need not be there is left out, in a comment that says how to add it.
//!
//! Comments of the programs are copied as they are. Of their words only plain ones of the trade are understood (flat,
//! ball, vee, mm, inch …); how any program lays out its comments is not known here.
//!
//! # Practice
//!
//! [`draft`] takes the programs in the order they run and gives a [`Sketch`], whose [`Sketch::text`] is the scene.

mod axes;
mod controller;
mod cuts;
mod cutters;
mod entry;
mod error;
mod sizes;
mod sketch;
mod words;

use std::io::{Read, Seek};

use dryturn_program::{Description, Kind, Program, Severity};

pub use entry::{Entry, Part, Standing};
pub use error::NewError;
pub use sketch::Sketch;

/// A program as it is handed in.
pub struct Given<R> {
    /// Its path as the scene has to write it.
    pub file: String,
    /// Its bytes.
    pub input: R,
}

/// A program that has been read.
struct Reading {
    file: String,
    program: Program,
    told: Description,
}

/// Sketches a scene for programs in the order they run.
///
/// # Errors
/// [`NewError`] where a program cannot be read, is none, never moves at feed, or goes farther than any blank reaches.
pub fn draft<R: Read + Seek>(programs: Vec<Given<R>>) -> Result<Sketch, NewError> {
    if programs.is_empty() {
        return Err(NewError::None);
    }
    let readings = programs.into_iter().map(reading).collect::<Result<Vec<_>, _>>()?;
    Ok(sketch::of(&readings))
}

fn reading<R: Read + Seek>(given: Given<R>) -> Result<Reading, NewError> {
    let Given { file, mut input } = given;
    let (program, told) = match Description::of_file(&mut input) {
        Ok(read) => read,
        Err(source) => return Err(NewError::Read { file, source }),
    };
    if let Some(found) = program.diagnostics.iter().find(|one| one.kind == Kind::NotAProgram) {
        let first = program.diagnostics.iter().find(|one| one.severity == Severity::Error && one.kind != found.kind);
        let line = first.map_or(String::new(), |first| format!("; line {}: {}", first.line, first.message));
        return Err(NewError::NotAProgram { file, reason: format!("{}{line}", found.message) });
    }
    if told.blocks.fed == 0 {
        return Err(NewError::Still { file });
    }
    match too_far(&told) {
        Some((letter, mm)) => Err(NewError::Far { file, letter, mm }),
        None => Ok(Reading { file, program, told }),
    }
}

/// Farther than any blank reaches, mm.
const FAR: f64 = 10_000.0;

/// The place of a linear word at feed that no blank reaches.
fn too_far(told: &Description) -> Option<(char, f64)> {
    told.words[..3].iter().flatten().find_map(|used| {
        let fed = used.fed?;
        let farthest = if fed.greatest > -fed.least { fed.greatest } else { fed.least };
        (farthest.abs() > FAR).then_some((used.letter, farthest))
    })
}

#[cfg(test)]
mod tests;
