//! What the reading of one scene gathers on its way.

use std::cell::RefCell;
use std::ops::Range;

use crate::error::SceneError;
use crate::model::Assumed;
use crate::read::{Problem, Sources};

/// The state of one reading.
pub(crate) struct Context {
    pub(crate) sources: Sources,
    problems: RefCell<Vec<Problem>>,
    assumed: RefCell<Vec<Assumed>>,
}

impl Context {
    pub(crate) fn new(sources: Sources) -> Context {
        Context { sources, problems: RefCell::default(), assumed: RefCell::default() }
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

    /// Every problem with its line.
    pub(crate) fn refused(&self) -> SceneError {
        self.sources.on_lines(self.problems.take())
    }

    /// What was assumed, or every problem with its line.
    pub(crate) fn finish(self) -> Result<Vec<Assumed>, SceneError> {
        if self.has_problems() { Err(self.refused()) } else { Ok(self.assumed.into_inner()) }
    }

    pub(crate) fn has_problems(&self) -> bool {
        !self.problems.borrow().is_empty()
    }
}

/// Most problems kept of one scene; nobody mends more at a time.
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
