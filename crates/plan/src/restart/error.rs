//! Why a job cannot be taken up.

use dryturn_check::CarveError;
use dryturn_scene::SceneError;

/// Why a job cannot be taken up.
#[derive(Debug, thiserror::Error)]
pub enum RestartError {
    /// The scene has fewer programs.
    #[error("there is no program {number}: the scene has {programs}")]
    NoProgram {
        /// What was asked for, from 1.
        number: usize,
        /// How many there are.
        programs: usize,
    },
    /// The line is not one that is executed.
    #[error("line {line} is never executed: the program has {lines} lines, and ends where it says so")]
    NoLine {
        /// What was asked for.
        line: u32,
        /// How many lines there are.
        lines: u32,
    },
    /// Lines do not come in their order.
    #[error("this program calls, repeats or passes over lines, so a line alone does not say where it is taken up")]
    Jumps,
    /// A parameter was set before.
    #[error("line {line} sets a parameter, which a program that begins later would not know: take up before it")]
    Parameter {
        /// The first that does.
        line: u32,
    },
    /// Cutter compensation is on.
    #[error("cutter compensation is on at line {line}: take up where it is off")]
    Compensation {
        /// What was asked for.
        line: u32,
    },
    /// Nobody knows where a word stands.
    #[error("nobody knows where {letter} stands before line {line}: say it in the scene, with [machine] start")]
    Unknown {
        /// The word.
        letter: char,
        /// What was asked for.
        line: u32,
    },
    /// A line goes on in a mode that cannot be put in force by itself.
    #[error("line {line} goes on with {mode} without naming it: take up at a line that does")]
    Mode {
        /// The line that does.
        line: u32,
        /// The mode.
        mode: String,
    },
    /// The way down is not free.
    #[error(
        "the way down to where the cutter stood is not free: it would cut {removed_mm3:.2} mm³; take up at an earlier line"
    )]
    Cuts {
        /// What the lead-in would remove, mm³.
        removed_mm3: f64,
    },
    /// The way there is not free.
    #[error("the way to where the cutter stood is not free ({rule}): {text} Take up at an earlier line.")]
    Hits {
        /// Rule of the finding.
        rule: &'static str,
        /// What it says.
        text: String,
    },
    /// The programs could not be read.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// The run was interrupted, or takes too much memory.
    #[error(transparent)]
    Carve(#[from] CarveError),
}
