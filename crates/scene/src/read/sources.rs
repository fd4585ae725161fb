//! The files a scene is made of: its own and the libraries it uses. Places in them are counted through all files, so that
//! a span alone tells file, line and unit.

use std::cell::Cell;
use std::ops::Range;
use std::path::PathBuf;

use dryturn_geom::units::LengthUnit;

use crate::error::{LineRemark, SceneError, Severity};
use crate::model::Origin;

/// Something wrong at a place in the files of a scene.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    pub(crate) span: Range<usize>,
    pub(crate) message: String,
    pub(crate) label: String,
    pub(crate) help: Option<String>,
}

/// One file of a scene.
pub(crate) struct Source {
    /// What messages call it.
    pub(crate) name: String,
    pub(crate) text: String,
    /// Folder that its relative paths start from.
    pub(crate) folder: PathBuf,
    /// What its keys are said to come from.
    pub(crate) origin: Origin,
    start: usize,
    units: Cell<LengthUnit>,
}

/// All files of a scene, and the order in which their keys are laid over each other.
#[derive(Default)]
pub(crate) struct Sources {
    files: Vec<Source>,
    /// Indices of the files, the scene's own last.
    pub(crate) order: Vec<usize>,
}

impl Sources {
    /// Takes up a file; the first is the scene's own. Gives its index.
    pub(crate) fn push(&mut self, name: String, text: String, folder: PathBuf, origin: Origin) -> usize {
        // One further, so that the end of a file is not the beginning of the next.
        let start = self.files.last().map_or(0, |last| last.start + last.text.len() + 1);
        self.files.push(Source { name, text, folder, origin, start, units: Cell::new(LengthUnit::Millimetre) });
        self.files.len() - 1
    }

    pub(crate) fn len(&self) -> usize {
        self.files.len()
    }

    pub(crate) fn file(&self, index: usize) -> &Source {
        &self.files[index]
    }

    /// The file a place lies in.
    pub(crate) fn at(&self, place: usize) -> &Source {
        &self.files[self.files.partition_point(|file| file.start <= place).saturating_sub(1)]
    }

    /// The problems, in the order of the files, each on its line.
    pub(crate) fn on_lines(&self, mut problems: Vec<Problem>) -> SceneError {
        problems.sort_by_key(|problem| problem.span.start);
        SceneError::lines(problems.into_iter().map(|problem| self.at(problem.span.start).on_line(problem)).collect())
    }
}

impl Source {
    /// A span of this file's text as a span through all files.
    pub(crate) fn placed(&self, span: Range<usize>) -> Range<usize> {
        self.start + span.start..self.start + span.end
    }

    /// Unit of its numbers that carry none.
    pub(crate) fn units(&self) -> LengthUnit {
        self.units.get()
    }

    pub(crate) fn set_units(&self, units: LengthUnit) {
        self.units.set(units);
    }

    /// Its first line.
    pub(crate) fn head(&self) -> Range<usize> {
        self.placed(0..self.text.lines().next().map_or(0, str::len))
    }

    fn on_line(&self, problem: Problem) -> LineRemark {
        let bytes = self.text.as_bytes();
        let start = (problem.span.start - self.start).min(self.text.len());
        let line_start = bytes[..start].iter().rposition(|&b| b == b'\n').map_or(0, |at| at + 1);
        let line_end = bytes[start..].iter().position(|&b| b == b'\n').map_or(self.text.len(), |at| start + at);
        let line = self.text[line_start..line_end].trim_end_matches('\r');
        let last = line_start + line.len().max(start - line_start);
        let end = problem.span.end.saturating_sub(self.start).clamp(start, last);
        LineRemark {
            path: self.name.clone(),
            line: bytes[..line_start].iter().filter(|&&b| b == b'\n').count() + 1,
            text: line.to_owned(),
            span: start - line_start..end - line_start,
            message: problem.message,
            label: problem.label,
            help: problem.help,
            severity: Severity::Error,
        }
    }
}
