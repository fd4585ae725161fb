//! What the reading of one scene gathers on its way.

use std::cell::{Cell, RefCell};
use std::ops::Range;

use dryturn_geom::units::LengthUnit;

use crate::error::{LineRemark, SceneError, Severity};
use crate::model::Assumed;

/// Something wrong at a place in the scene's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    pub(crate) span: Range<usize>,
    pub(crate) message: String,
    pub(crate) label: String,
    pub(crate) help: Option<String>,
}

/// The state of one reading.
pub(crate) struct Context {
    units: Cell<LengthUnit>,
    problems: RefCell<Vec<Problem>>,
    assumed: RefCell<Vec<Assumed>>,
}

impl Context {
    pub(crate) fn new() -> Context {
        Context { units: Cell::new(LengthUnit::Millimetre), problems: RefCell::default(), assumed: RefCell::default() }
    }

    /// Unit of the numbers that carry none.
    pub(crate) fn units(&self) -> LengthUnit {
        self.units.get()
    }

    pub(crate) fn set_units(&self, units: LengthUnit) {
        self.units.set(units);
    }

    pub(crate) fn problem(&self, span: Range<usize>, message: String, label: String, help: Option<String>) {
        let problem = Problem { span, message: shortened(message), label, help: help.map(shortened) };
        let mut problems = self.problems.borrow_mut();
        if problems.len() < KEPT && !problems.contains(&problem) {
            problems.push(problem);
        }
    }

    /// Whether further problems would not be kept.
    pub(crate) fn is_full(&self) -> bool {
        self.problems.borrow().len() >= KEPT
    }

    pub(crate) fn assume(&self, key: String, value: String, because: &str) {
        self.assumed.borrow_mut().push(Assumed { key, value, because: because.to_owned() });
    }

    /// What was assumed, or every problem with its line.
    pub(crate) fn finish(self, name: &str, text: &str) -> Result<Vec<Assumed>, SceneError> {
        let problems = self.problems.into_inner();
        if problems.is_empty() { Ok(self.assumed.into_inner()) } else { Err(on_lines(name, text, problems)) }
    }

    pub(crate) fn has_problems(&self) -> bool {
        !self.problems.borrow().is_empty()
    }
}

/// Most problems kept of one file; nobody mends more at a time.
const KEPT: usize = 200;

/// Longest message, bytes: a file that is no scene may hold a word of megabytes.
const LONGEST: usize = 400;

fn shortened(mut text: String) -> String {
    if text.len() > LONGEST {
        let end = (0..=LONGEST).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0);
        text.truncate(end);
        text.push('…');
    }
    text
}

/// The problems, in the order of the text, each on its line.
pub(crate) fn on_lines(name: &str, text: &str, mut problems: Vec<Problem>) -> SceneError {
    problems.sort_by_key(|problem| problem.span.start);
    SceneError::lines(problems.into_iter().map(|problem| on_line(name, text, problem)).collect())
}

fn on_line(name: &str, text: &str, problem: Problem) -> LineRemark {
    let bytes = text.as_bytes();
    let start = problem.span.start.min(text.len());
    let line_start = bytes[..start].iter().rposition(|&b| b == b'\n').map_or(0, |at| at + 1);
    let line_end = bytes[start..].iter().position(|&b| b == b'\n').map_or(text.len(), |at| start + at);
    let line = text[line_start..line_end].trim_end_matches('\r');
    let end = problem.span.end.clamp(start, line_start + line.len().max(start - line_start));
    LineRemark {
        path: name.to_owned(),
        line: bytes[..line_start].iter().filter(|&&b| b == b'\n').count() + 1,
        text: line.to_owned(),
        span: start - line_start..end - line_start,
        message: problem.message,
        label: problem.label,
        help: problem.help,
        severity: Severity::Error,
    }
}
