//! One line of text into words and comments, without asking what they mean.
//!
//! Nothing here depends on another line or on a mode. The first thing that cannot be read ends the line:
//! what stands after it would only be a guess, so the axis letters in it are remembered as lost instead.

use crate::diagnostic::{At, Diagnostic, Kind, Severity, Span};
use crate::number::{self, Number};

/// How lines are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// Most bytes on a line (NISTIR 6556 section 3.3: 256).
    pub line_limit: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self { line_limit: 256 }
    }
}

/// A letter and its number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Word {
    /// In upper case.
    pub letter: u8,
    /// Finite, at most [`LARGEST`] in size.
    pub value: f64,
    /// From the letter to the end of the number.
    pub span: Span,
}

/// A comment and how it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Comment {
    /// With its brackets or semicolon.
    pub span: Span,
    /// `;` to the end of the line, not round brackets.
    pub semicolon: bool,
}

/// One line, read. Empty for an empty line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Line {
    /// It starts with `/`.
    pub block_delete: bool,
    /// The N word, where it is one.
    pub number: Option<u32>,
    /// All words but N, in the order written.
    pub words: Vec<Word>,
    /// All comments.
    pub comments: Vec<Comment>,
    /// A `%` stands first.
    pub percent: Option<Span>,
    /// Axis words (bit 0 X … bit 5 C) named where the line could not be read.
    pub lost: u8,
    /// What is wrong with the line.
    pub diagnostics: Vec<Diagnostic>,
}

/// Largest number a word may hold; a larger one is an error.
pub const LARGEST: f64 = 1e12;

/// More words than a line can use: every letter once, and a code of every modal group.
const MOST_WORDS: usize = 64;

/// A line longer than this is refused unread, whatever the controller takes.
const REFUSED: usize = 1 << 16;

/// The axis words in the order of every position.
pub const AXES: [u8; 6] = *b"XYZABC";

/// Place of a letter among the axis words.
pub(crate) fn axis(letter: u8) -> Option<usize> {
    AXES.iter().position(|&axis| axis == letter)
}

/// Reads one line of bytes, number `line` of its file. Never fails.
///
/// ```
/// use dryturn_program::listing::{Options, parse_line};
/// let line = parse_line(b"n10 g0x +0. 12 34y 7 (go)", 1, Options::default());
/// let words: Vec<_> = line.words.iter().map(|w| (char::from(w.letter), w.value)).collect();
/// assert_eq!(words, [('G', 0.0), ('X', 0.1234), ('Y', 7.0)]);
/// assert_eq!(line.number, Some(10));
/// assert!(line.diagnostics.is_empty());
/// ```
pub fn parse_line(text: &[u8], line: u32, options: Options) -> Line {
    let mut result = Line::default();
    read_line(&mut result, text, line, options);
    result
}

/// [`parse_line`] into a line that is used again.
pub(crate) fn read_line(into: &mut Line, text: &[u8], line: u32, options: Options) {
    into.block_delete = false;
    into.number = None;
    into.words.clear();
    into.comments.clear();
    into.percent = None;
    into.lost = 0;
    into.diagnostics.clear();
    let mut parser = Parser { at: At { text, line }, place: 0, line: into };
    if text.len() > REFUSED {
        parser.refuse();
        return;
    }
    parser.run();
    parser.check_length(options.line_limit);
}

struct Parser<'a> {
    at: At<'a>,
    place: usize,
    line: &'a mut Line,
}

impl Parser<'_> {
    fn run(&mut self) {
        while let Some(&byte) = self.at.text.get(self.place) {
            match byte {
                _ if number::is_blank(byte) => self.place += 1,
                b'(' => self.bracket_comment(),
                b';' => self.semicolon_comment(),
                b'/' if self.nothing_yet() && !self.line.block_delete => {
                    self.line.block_delete = true;
                    self.place += 1;
                }
                b'%' if self.nothing_yet() => self.percent(),
                b'N' | b'n' => self.line_number(),
                _ if byte.is_ascii_alphabetic() => self.word(byte.to_ascii_uppercase()),
                _ => self.unreadable(byte),
            }
        }
    }

    fn nothing_yet(&self) -> bool {
        self.line.words.is_empty() && self.line.number.is_none()
    }

    fn report(&mut self, diagnostic: Diagnostic) {
        self.line.diagnostics.push(diagnostic);
    }

    /// Reports an error at `span` and leaves the rest of the line unread, its axis letters lost.
    fn give_up(&mut self, kind: Kind, span: Span, message: impl Into<String>, help: &'static str) {
        let mut diagnostic = self.at.diagnostic(Severity::Error, kind, span, message);
        if !help.is_empty() {
            diagnostic = diagnostic.help(help);
        }
        self.report(diagnostic);
        let mut in_comment = false;
        for &byte in &self.at.text[span.start as usize..] {
            match byte {
                b';' if !in_comment => break,
                b'(' => in_comment = true,
                b')' => in_comment = false,
                _ if in_comment => {}
                _ => {
                    if let Some(axis) = axis(byte.to_ascii_uppercase()) {
                        self.line.lost |= 1 << axis;
                    }
                }
            }
        }
        self.place = self.at.text.len();
    }

    fn bracket_comment(&mut self) {
        let start = self.place;
        let inside = &self.at.text[start + 1..];
        let close = inside.iter().position(|&byte| byte == b')');
        let length = close.unwrap_or(inside.len());
        let end = (start + 1 + length + 1).min(self.at.text.len());
        self.line.comments.push(Comment { span: Span::new(start, end), semicolon: false });
        self.place = end;
        if let Some(nested) = inside[..length].iter().position(|&byte| byte == b'(') {
            let at = start + 1 + nested;
            let message = "a comment may not hold another '('";
            self.give_up(Kind::Comment, Span::new(at, at + 1), message, "a comment ends at the first ')'");
        } else if close.is_none() {
            let message = "this comment is not closed";
            let span = Span::new(start, start + 1);
            let found = self.at.diagnostic(Severity::Error, Kind::Comment, span, message);
            self.report(found.help("close it with ')' on the same line"));
        }
    }

    fn semicolon_comment(&mut self) {
        self.line.comments.push(Comment { span: Span::new(self.place, self.at.text.len()), semicolon: true });
        self.place = self.at.text.len();
    }

    fn percent(&mut self) {
        let start = self.place;
        self.line.percent = Some(Span::new(start, start + 1));
        self.place = self.at.text.len();
        let rest = &self.at.text[start + 1..];
        if !rest.iter().all(|&byte| number::is_blank(byte)) {
            let span = Span::new(start + 1, self.at.text.len());
            let message = "text beside a % is not read";
            let found = self.at.diagnostic(Severity::Warning, Kind::Percent, span, message);
            self.report(found);
        }
    }

    /// `N` and up to five digits, before all words (NISTIR 6556 section 3.3.1). It has no effect, so a bad one
    /// is only a warning.
    fn line_number(&mut self) {
        let start = self.place;
        let found = number::read(self.at.text, start + 1);
        let Number::Read { value, end, digits, plain } = found else {
            self.number_missing(b'N', found);
            return;
        };
        let first = self.nothing_yet();
        self.place = end;
        self.line.number = (plain && value <= f64::from(u32::MAX)).then_some(value as u32);
        let problem = match (plain, first, digits) {
            (false, ..) => "a line number is digits only",
            (_, false, _) => "a line number stands before all other words",
            (.., 6..) => "a line number has at most five digits",
            _ => return,
        };
        if self.line.diagnostics.iter().any(|one| one.kind == Kind::LineNumber) {
            return;
        }
        let span = Span::new(start, end);
        let found = self.at.diagnostic(Severity::Warning, Kind::LineNumber, span, problem);
        self.report(found.help("the controller may refuse it; the motion is the same"));
    }

    fn word(&mut self, letter: u8) {
        let start = self.place;
        match number::read(self.at.text, start + 1) {
            Number::Read { end, .. } if self.line.words.len() == MOST_WORDS => {
                let message = format!("more than {MOST_WORDS} words on one line");
                self.give_up(Kind::LineLength, Span::new(start, end), message, "");
            }
            Number::Read { value, end, .. } if value.abs() <= LARGEST => {
                self.line.words.push(Word { letter, value, span: Span::new(start, end) });
                self.place = end;
            }
            Number::Read { end, .. } => {
                let message = format!("this {} is too large a number", char::from(letter));
                self.give_up(Kind::Number, Span::new(start, end), message, "");
            }
            missing => self.number_missing(letter, missing),
        }
    }

    /// A letter with no number after it.
    fn number_missing(&mut self, letter: u8, found: Number) {
        let start = self.place;
        let next = match found {
            Number::Missing { at } | Number::Read { end: at, .. } => at,
        };
        let letter_span = Span::new(start, start + 1);
        let follows = self.at.text.get(next).copied();
        if self.line.words.first().is_some_and(|word| word.letter == b'O') {
            let from = self.line.words[0].span.start as usize;
            let span = Span::new(from, self.at.text.len());
            self.give_up(Kind::NotUnderstood, span, O_WORD, "");
        } else if matches!(follows, Some(b'#' | b'[')) {
            self.unreadable_at(next, follows.unwrap_or(b'#'), start);
        } else if follows.is_some_and(|byte| byte.is_ascii_alphabetic()) {
            let message = format!("{} has no number", char::from(letter));
            let help = "a letter is followed by digits; the letter O is not the digit 0";
            self.give_up(Kind::Unreadable, letter_span, message, help);
        } else {
            let message = format!("{} has no number", char::from(letter));
            self.give_up(Kind::Unreadable, letter_span, message, "");
        }
    }

    fn unreadable(&mut self, byte: u8) {
        self.unreadable_at(self.place, byte, self.place);
    }

    /// Something at `from` that starts no word; the span begins at `start`, where its word does.
    fn unreadable_at(&mut self, from: usize, byte: u8, start: usize) {
        let ends = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'\t' | b'(' | b';');
        let rest = &self.at.text[from + 1..];
        let length = match byte {
            b'#' | b'[' | b'$' => rest.iter().position(|byte| matches!(byte, b'(' | b';')),
            b'0'..=b'9' => rest.iter().position(|byte| !byte.is_ascii_digit()),
            _ => rest.iter().position(ends),
        };
        let end = from + 1 + length.unwrap_or(rest.len());
        let (kind, message, help) = match byte {
            b'#' => (Kind::NotUnderstood, "parameters (#) are not taken yet", ""),
            b'[' => (Kind::NotUnderstood, "expressions in brackets are not taken yet", ""),
            b'$' => (
                Kind::NotUnderstood,
                "a $ line speaks to the controller and may move the machine",
                "leave settings, homing and jogging out of the program",
            ),
            b'.' => (Kind::Unreadable, "a second decimal point", ""),
            b',' => (Kind::Unreadable, "a comma", "the decimal sign is a point"),
            b'/' => (
                Kind::Unreadable,
                "a slash in the middle of a line",
                "block delete stands first, before the line number",
            ),
            b')' => (Kind::Unreadable, "a ')' that closes no comment", ""),
            b'+' | b'-' => (Kind::Unreadable, "a sign that no number follows", ""),
            b'0'..=b'9' => (Kind::Unreadable, "a number without a letter", ""),
            0..0x20 | 0x7f => (Kind::Unreadable, "a control character", ""),
            0x80.. => (Kind::Unreadable, "a character that no program holds outside comments", ""),
            _ => (Kind::Unreadable, "this character starts no word", ""),
        };
        self.give_up(kind, Span::new(start, end), message, help);
    }

    /// Too long a line is an error where words stand past the limit, else a warning.
    fn check_length(&mut self, limit: usize) {
        let length = self.at.text.len();
        if length <= limit {
            return;
        }
        let cut_off = |span: Span| span.end as usize > limit;
        let severity =
            if self.line.words.iter().any(|word| cut_off(word.span)) { Severity::Error } else { Severity::Warning };
        let message = format!("this line has {length} characters, the controller takes {limit}");
        let span = Span::new(limit, length);
        let found = self.at.diagnostic(severity, Kind::LineLength, span, message);
        self.report(found.help("a controller may refuse it, or cut it off without a word"));
    }

    fn refuse(&mut self) {
        let length = self.at.text.len();
        let message = format!("this line has {length} characters and is not read");
        let span = Span::new(0, 1);
        let found = self.at.diagnostic(Severity::Error, Kind::LineLength, span, message);
        self.report(found.help("is this a program, and are its line ends whole?"));
        self.line.lost = 0b11_1111;
    }
}

const O_WORD: &str = "subprograms and loops (O words) are not taken yet";

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Line {
        parse_line(text.as_bytes(), 1, Options::default())
    }

    fn words(text: &str) -> Vec<(char, f64)> {
        let line = parse(text);
        assert!(line.diagnostics.is_empty(), "{text}: {:?}", line.diagnostics);
        line.words.iter().map(|word| (char::from(word.letter), word.value)).collect()
    }

    /// The text under the caret of the only diagnostic, and its kind.
    fn fault(text: &str) -> (Kind, String) {
        let line = parse(text);
        assert_eq!(line.diagnostics.len(), 1, "{text}: {:?}", line.diagnostics);
        let found = &line.diagnostics[0];
        (found.kind, text[found.span.clone()].to_owned())
    }

    #[test]
    fn blanks_mean_nothing() {
        // NISTIR 6556 section 3.3.
        assert_eq!(words("g0x +0. 12 34y 7"), words("g0 x+0.1234 y7"));
        assert_eq!(words("g0x +0. 12 34y 7"), [('G', 0.0), ('X', 0.1234), ('Y', 7.0)]);
        assert_eq!(words("\tG 1 A - 7 2 0 0 ."), [('G', 1.0), ('A', -7200.0)]);
        assert_eq!(words("g3 8 .2"), [('G', 38.2)]);
    }

    #[test]
    fn block_delete_and_line_number() {
        let line = parse("/ n00100 g1 x1");
        assert!(line.block_delete);
        assert_eq!(line.number, Some(100));
        assert!(line.diagnostics.is_empty());
        assert_eq!(fault("N000009 X1"), (Kind::LineNumber, "N000009".into()));
        assert_eq!(fault("X1 N5"), (Kind::LineNumber, "N5".into()));
        assert_eq!(fault("N1.5 X1"), (Kind::LineNumber, "N1.5".into()));
        assert_eq!(fault("N150/ Z-38"), (Kind::Unreadable, "/".into()));
        assert_eq!(fault("// text"), (Kind::Unreadable, "/".into()));
    }

    #[test]
    fn comments_stand_anywhere_between_words() {
        let line = parse("(one) g1 (two) x5 (MSG, go) y6 ; three (");
        assert_eq!(line.words.len(), 3);
        assert_eq!(line.comments.len(), 4);
        assert!(line.comments[3].semicolon);
        assert!(line.diagnostics.is_empty());
        assert_eq!(words("x1(a)y2"), [('X', 1.0), ('Y', 2.0)]);
        assert_eq!(fault("x1 (open"), (Kind::Comment, "(".into()));
        assert_eq!(fault("x1 (a (b) y2"), (Kind::Comment, "(".into()));
        assert_eq!(fault("x1) y2"), (Kind::Unreadable, ")".into()));
    }

    #[test]
    fn what_cannot_be_read_is_pointed_at() {
        assert_eq!(fault("X.9. Y1"), (Kind::Unreadable, ".".into()));
        assert_eq!(fault("F0,3"), (Kind::Unreadable, ",".into()));
        assert_eq!(fault("GOO X1"), (Kind::Unreadable, "G".into()));
        assert_eq!(fault("XNaN"), (Kind::Unreadable, "X".into()));
        assert_eq!(fault("G1 X!!! Y2"), (Kind::Unreadable, "X".into()));
        assert_eq!(fault("G1 X"), (Kind::Unreadable, "X".into()));
        assert_eq!(fault("=5"), (Kind::Unreadable, "=".into()));
        assert_eq!(fault("12 X1"), (Kind::Unreadable, "12".into()));
        assert_eq!(fault("X1 - - 2"), (Kind::Unreadable, "-".into()));
        assert_eq!(fault("X99999999999999"), (Kind::Number, "X99999999999999".into()));
        assert_eq!(fault("é X1"), (Kind::Unreadable, "é".into()));
    }

    #[test]
    fn later_language_is_named() {
        assert_eq!(fault("#1=5 X2 (c)"), (Kind::NotUnderstood, "#1=5 X2 ".into()));
        assert_eq!(fault("G1 X#3"), (Kind::NotUnderstood, "X#3".into()));
        assert_eq!(fault("G1 X[1+2]"), (Kind::NotUnderstood, "X[1+2]".into()));
        assert_eq!(fault("o100 sub"), (Kind::NotUnderstood, "o100 sub".into()));
        assert_eq!(fault("$J=G91 X5"), (Kind::NotUnderstood, "$J=G91 X5".into()));
    }

    #[test]
    fn lost_axis_letters_are_remembered() {
        assert_eq!(parse("G1 Y2 X.9. Z5 (A) ; B").lost, 0b100);
        assert_eq!(parse("G1 X[1] A2").lost, 0b1001);
    }

    #[test]
    fn percent_lines() {
        assert!(parse(" % ").percent.is_some());
        assert_eq!(fault("% O100"), (Kind::Percent, " O100".into()));
        assert_eq!(fault("X1 %"), (Kind::Unreadable, "%".into()));
    }

    #[test]
    fn a_line_has_few_faults_whatever_stands_on_it() {
        for scrap in ["X1", "N5", "N.5", "()", "(()", "%", "\u{e9}", "#", "G1"] {
            let line = parse(&scrap.repeat(10_000));
            assert!(line.diagnostics.len() <= 3, "{scrap}: {}", line.diagnostics.len());
            assert!(line.words.len() <= MOST_WORDS);
        }
    }

    #[test]
    fn long_lines() {
        let comment = format!("X1 ({})", "-".repeat(300));
        let line = parse(&comment);
        assert_eq!(line.diagnostics[0].severity, Severity::Warning);
        let words = format!("X1 ({}) Y1", "-".repeat(300));
        assert_eq!(parse(&words).diagnostics[0].severity, Severity::Error);
        let huge = "X1".repeat(1 << 20);
        let line = parse(&huge);
        assert_eq!(line.words.len(), 0);
        assert_eq!(line.diagnostics.len(), 1);
    }
}
