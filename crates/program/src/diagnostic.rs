//! What is wrong with a program, and where: data, never an early return.

use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

/// How much a diagnostic matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; the reading is certain.
    Note,
    /// Probably not what was meant; the reading is still certain.
    Warning,
    /// The motion is not what the text says, or cannot be known.
    Error,
}

/// What kind of thing is wrong; the name is stable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Text that is no word, comment or number.
    Unreadable,
    /// A number that is out of range, negative or not whole where it must not be.
    Number,
    /// A comment that is not closed, or opened twice.
    Comment,
    /// A formula that cannot be read or has no value, or a parameter that is none.
    Expression,
    /// An O word, call, loop or condition that leads nowhere.
    Flow,
    /// A length offset that is not that of the cutter in the spindle.
    WrongLength,
    /// Cutter radius compensation that cannot be.
    Compensation,
    /// A canned cycle without what it needs.
    Cycle,
    /// An N word the standard does not allow.
    LineNumber,
    /// More characters on a line than the controller takes.
    LineLength,
    /// A word or code that is not taken.
    NotUnderstood,
    /// Two codes of one modal group, or a letter twice.
    Conflict,
    /// Axis words that no motion uses, or a motion without what it needs.
    NoMotion,
    /// An arc that cannot be.
    Arc,
    /// A feed word that is missing or ambiguous.
    Feed,
    /// A word that nothing on its line uses.
    UnusedWord,
    /// A percent line out of place.
    Percent,
    /// How the program ends.
    End,
    /// Modes used without ever being stated.
    Modes,
    /// A position that cannot be known.
    Position,
    /// A cutter number or change.
    Cutter,
    /// Lines with block delete.
    BlockDelete,
    /// More blocks than allowed.
    Budget,
    /// Nothing in the file, or no text.
    NotAProgram,
    /// How many diagnostics were left out.
    More,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 25] = [
        Kind::Unreadable,
        Kind::Number,
        Kind::Comment,
        Kind::Expression,
        Kind::Flow,
        Kind::WrongLength,
        Kind::Compensation,
        Kind::Cycle,
        Kind::LineNumber,
        Kind::LineLength,
        Kind::NotUnderstood,
        Kind::Conflict,
        Kind::NoMotion,
        Kind::Arc,
        Kind::Feed,
        Kind::UnusedWord,
        Kind::Percent,
        Kind::End,
        Kind::Modes,
        Kind::Position,
        Kind::Cutter,
        Kind::BlockDelete,
        Kind::Budget,
        Kind::NotAProgram,
        Kind::More,
    ];

    /// The stable name, in lower case with hyphens.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Unreadable => "unreadable",
            Kind::Number => "number",
            Kind::Comment => "comment",
            Kind::Expression => "expression",
            Kind::Flow => "flow",
            Kind::WrongLength => "wrong-length",
            Kind::Compensation => "compensation",
            Kind::Cycle => "cycle",
            Kind::LineNumber => "line-number",
            Kind::LineLength => "line-length",
            Kind::NotUnderstood => "not-understood",
            Kind::Conflict => "conflict",
            Kind::NoMotion => "no-motion",
            Kind::Arc => "arc",
            Kind::Feed => "feed",
            Kind::UnusedWord => "unused-word",
            Kind::Percent => "percent",
            Kind::End => "end",
            Kind::Modes => "modes",
            Kind::Position => "position",
            Kind::Cutter => "cutter",
            Kind::BlockDelete => "block-delete",
            Kind::Budget => "budget",
            Kind::NotAProgram => "not-a-program",
            Kind::More => "more",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One thing wrong with a program.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// What kind of thing is wrong.
    pub kind: Kind,
    /// How much it matters.
    pub severity: Severity,
    /// Line in the file, from 1.
    pub line: u32,
    /// Bytes of the line's text as [`crate::line_text`] gives it, always on character boundaries.
    pub span: Range<usize>,
    /// One sentence saying what is wrong.
    pub message: String,
    /// What to do about it, where that is known.
    pub help: Option<Cow<'static, str>>,
    /// For [`Kind::WrongLength`], how far the tip stands from where Z says, mm, above 0 higher; where both lengths are known.
    pub shift: Option<f64>,
}

/// A stretch of one line, in bytes of the file as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    pub(crate) fn new(start: usize, end: usize) -> Self {
        let clamp = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { start: clamp(start), end: clamp(end) }
    }
}

/// The line a diagnostic is about: its bytes and its number from 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At<'a> {
    pub(crate) text: &'a [u8],
    pub(crate) line: u32,
}

impl At<'_> {
    pub(crate) fn diagnostic(
        self,
        severity: Severity,
        kind: Kind,
        span: Span,
        message: impl Into<String>,
    ) -> Diagnostic {
        Diagnostic {
            kind,
            severity,
            line: self.line,
            span: lossy_span(self.text, span),
            message: message.into(),
            help: None,
            shift: None,
        }
    }
}

impl Diagnostic {
    pub(crate) fn help(mut self, help: impl Into<Cow<'static, str>>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Turns a span of raw bytes into the span of the same characters after lossy decoding.
fn lossy_span(text: &[u8], span: Span) -> Range<usize> {
    let (start, end) = (span.start as usize, span.end as usize);
    if text.is_ascii() {
        return start.min(text.len())..end.min(text.len());
    }
    let (mut raw, mut lossy) = (0, 0);
    let (mut from, mut to) = (None, None);
    for chunk in text.utf8_chunks() {
        for character in chunk.valid().chars() {
            let length = character.len_utf8();
            if from.is_none() && start < raw + length {
                from = Some(lossy);
            }
            raw += length;
            lossy += length;
            if to.is_none() && end <= raw {
                to = Some(lossy);
            }
        }
        if chunk.invalid().is_empty() {
            continue;
        }
        if from.is_none() && start < raw + chunk.invalid().len() {
            from = Some(lossy);
        }
        raw += chunk.invalid().len();
        lossy += char::REPLACEMENT_CHARACTER.len_utf8();
        if to.is_none() && end <= raw {
            to = Some(lossy);
        }
    }
    let from = from.unwrap_or(lossy);
    from..to.unwrap_or(lossy).max(from)
}

/// Most diagnostics kept of each severity: a file of nothing but errors still gives a readable list, and
/// a flood of warnings cannot hide an error.
const KEPT: [usize; 3] = [40, 60, 100];

/// Diagnostics as they come, the first ones kept and the rest counted.
#[derive(Debug, Default)]
pub(crate) struct Collector {
    kept: Vec<Diagnostic>,
    seen: [usize; 3],
    once: Vec<String>,
    /// Lines may come again.
    pub(crate) repeating: bool,
}

impl Collector {
    pub(crate) fn push(&mut self, diagnostic: Diagnostic) {
        let severity = diagnostic.severity as usize;
        // A line executed again and again says the same thing once.
        if self.repeating && self.kept.contains(&diagnostic) {
            return;
        }
        self.seen[severity] += 1;
        if self.seen[severity] <= KEPT[severity] {
            self.kept.push(diagnostic);
        }
    }

    /// Keeps only the first diagnostic with its message; for the few messages that do not vary.
    pub(crate) fn push_once(&mut self, diagnostic: Diagnostic) {
        if !self.once.contains(&diagnostic.message) {
            self.once.push(diagnostic.message.clone());
            self.push(diagnostic);
        }
    }

    /// Notes, warnings and errors, those left out included.
    pub(crate) fn counted(&self) -> [usize; 3] {
        self.seen
    }

    pub(crate) fn errors(&self) -> usize {
        self.seen[Severity::Error as usize]
    }

    /// All kept, by line, and one more that counts what was left out.
    pub(crate) fn finish(mut self) -> Vec<Diagnostic> {
        self.kept.sort_by_key(|one| (one.line, one.span.start));
        let left_out = |severity: Severity| self.seen[severity as usize].saturating_sub(KEPT[severity as usize]);
        let all = [Severity::Error, Severity::Warning, Severity::Note];
        let more: usize = all.iter().map(|&severity| left_out(severity)).sum();
        if let Some(&severity) = all.iter().find(|&&severity| left_out(severity) > 0) {
            let line = self.kept.last().map_or(1, |one| one.line);
            let message = format!(
                "and {more} more: {} errors, {} warnings, {} notes",
                left_out(Severity::Error),
                left_out(Severity::Warning),
                left_out(Severity::Note)
            );
            self.kept.push(Diagnostic {
                kind: Kind::More,
                severity,
                line,
                span: 0..0,
                message,
                help: None,
                shift: None,
            });
        }
        self.kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_kinds_are_listed_in_order() {
        assert!(Kind::ALL.is_sorted());
        assert_eq!(Kind::ALL.map(|kind| kind as usize), std::array::from_fn(|index| index));
        assert_eq!(Kind::ALL.last(), Some(&Kind::More));
    }

    #[test]
    fn spans_follow_the_lossy_text() {
        let text = b"(\xe9\xc3\xa9) X!";
        let lossy = String::from_utf8_lossy(text);
        let span = lossy_span(text, Span::new(7, 8));
        assert_eq!(&lossy[span], "!");
        assert_eq!(&lossy[lossy_span(text, Span::new(1, 2))], "\u{fffd}");
        // In the middle of a character: the whole character.
        assert_eq!(&lossy[lossy_span(text, Span::new(3, 4))], "é");
    }

    #[test]
    fn a_flood_is_counted_and_hides_no_error() {
        let mut collector = Collector::default();
        let at = At { text: b"", line: 1 };
        for _ in 0..1000 {
            collector.push(at.diagnostic(Severity::Warning, Kind::Comment, Span::default(), ""));
        }
        collector.push(at.diagnostic(Severity::Error, Kind::Arc, Span::default(), ""));
        let all = collector.finish();
        assert_eq!(all.len(), 62);
        assert!(all.iter().any(|one| one.kind == Kind::Arc));
        assert!(all[61].message.contains("940 more"), "{}", all[61].message);
    }
}
