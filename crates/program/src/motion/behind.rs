//! What stands behind the end of a program: subprograms, or moves that nobody executes.

use crate::diagnostic::{At, Diagnostic, Kind, Severity, Span};
use crate::listing::{Keyword, Label, Line, axis};

/// A stretch of lines behind the end: up to the first O word, or from one that begins a subprogram to the next.
#[derive(Default)]
pub(super) struct Behind {
    label: Option<Label>,
    /// About its first line.
    found: Option<Diagnostic>,
    /// Lines with moves.
    moves: u32,
    /// A call led here.
    reached: bool,
}

impl Behind {
    /// Takes a line; what there is to say about the stretch before, where the line begins another.
    pub(super) fn take(&mut self, at: At<'_>, line: &Line, reached: bool) -> Option<Diagnostic> {
        let begins = line.flow.as_ref().filter(|flow| matches!(flow.keyword, None | Some(Keyword::Sub)));
        let before = begins.and_then(|flow| {
            let label = Some(flow.label.clone());
            std::mem::replace(self, Self { label, ..Self::default() }).close()
        });
        if line.says_something() {
            let span = begins.map_or(Span::new(0, at.text.len()), |flow| flow.span);
            self.found.get_or_insert_with(|| at.diagnostic(Severity::Note, Kind::End, span, ""));
        }
        let moves = line.diagnostics.is_empty() && line.words.iter().any(|word| axis(word.letter).is_some());
        self.moves += u32::from(moves);
        self.reached |= reached;
        before
    }

    /// What there is to say about the stretch.
    pub(super) fn close(self) -> Option<Diagnostic> {
        let found = self.found.filter(|_| !self.reached)?;
        let lines = match self.moves {
            1 => "1 line with moves is".to_owned(),
            moves => format!("{moves} lines with moves are"),
        };
        let (severity, message) = match (self.label, self.moves) {
            (None, 0) => (Severity::Note, "text after the end of the program is not executed".to_owned()),
            (Some(_), 0) => return None,
            (None, _) => (Severity::Warning, format!("after the end of the program {lines} not executed")),
            (Some(label), _) => (Severity::Warning, format!("{label} is never called: {lines} not executed")),
        };
        Some(Diagnostic { severity, message, ..found })
    }
}
