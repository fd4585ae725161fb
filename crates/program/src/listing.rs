//! One line of text into words and comments, without asking what they mean.
//!
//! Nothing here depends on another line or on a mode. The first thing that cannot be read ends the line:
//! what stands after it would only be a guess, so the axis letters in it are remembered as lost instead.

mod flow;
mod formula;
mod token;

pub(crate) use flow::plain_name;
pub use flow::{Flow, Keyword, Label};
pub use formula::{Formula, Function, Operator, Step};
pub use token::{Token, TokenKind, tokens};

use std::borrow::Cow;

use crate::diagnostic::{At, Diagnostic, Kind, Severity, Span};
use crate::number::{self, Number};
use crate::survey::Survey;
use crate::text::REFUSED;

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
    /// Finite, at most [`LARGEST`] in size; 0 for a formula that is not evaluated yet.
    pub value: f64,
    /// What gives the value, where that is no plain number.
    pub formula: Option<Formula>,
    /// From the letter to the end of the number.
    pub span: Span,
}

/// A parameter that the line sets, once all of it is evaluated (NISTIR 6556 section 3.3.3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Which one.
    pub target: Target,
    /// Its new value.
    pub value: Formula,
    /// From the `#` to the end of the value.
    pub span: Span,
}

/// What names a parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// Its index.
    Index(Formula),
    /// Its name, without the brackets.
    Name(Span),
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
    /// It starts with `/`, which stands here.
    pub slash: Option<Span>,
    /// The N word, where it is one.
    pub number: Option<u32>,
    /// Where N and digits stand, line numbers or not.
    pub number_spans: Vec<Span>,
    /// All words but N, in the order written.
    pub words: Vec<Word>,
    /// Parameters set, in the order written.
    pub settings: Vec<Setting>,
    /// The formulas of words, settings and flow, in postfix order.
    pub steps: Vec<Step>,
    /// An O word and what follows it.
    pub flow: Option<Flow>,
    /// All comments.
    pub comments: Vec<Comment>,
    /// A `%` stands first.
    pub percent: Option<Span>,
    /// From where to where the line was not read; a diagnostic says why.
    pub unread: Option<Span>,
    /// Axis words (bit 0 X … bit 5 C) named where the line could not be read.
    pub lost: u8,
    /// What is wrong with the line.
    pub diagnostics: Vec<Diagnostic>,
}

impl Line {
    /// Whether anything but comments, a line number or `%` stands on it.
    pub fn says_something(&self) -> bool {
        !(self.words.is_empty() && self.diagnostics.is_empty() && self.settings.is_empty()) || self.flow.is_some()
    }
}

/// Largest number a word may hold; a larger one is an error.
pub const LARGEST: f64 = 1e12;

/// More words than a line can use: every letter once, and a code of every modal group.
const MOST_WORDS: usize = 64;

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

/// The axis words that stand anywhere in a file outside comments, bit 0 X … bit 5 C: what can move at all. Letters of
/// functions and of O words are none.
pub fn axes_written(source: &[u8]) -> u8 {
    Survey::of(source).axes
}

/// [`parse_line`] into a line that is used again.
pub(crate) fn read_line(into: &mut Line, text: &[u8], line: u32, options: Options) {
    into.slash = None;
    into.number = None;
    into.number_spans.clear();
    into.words.clear();
    into.settings.clear();
    into.steps.clear();
    into.flow = None;
    into.comments.clear();
    into.percent = None;
    into.unread = None;
    into.lost = 0;
    into.diagnostics.clear();
    let mut parser = Parser { at: At { text, line }, place: 0, begun: 0, line: into };
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
    /// Where what is being read began.
    begun: usize,
    line: &'a mut Line,
}

impl Parser<'_> {
    fn run(&mut self) {
        while let Some(&byte) = self.at.text.get(self.place) {
            self.begun = self.place;
            match byte {
                _ if number::is_blank(byte) => self.place += 1,
                b'(' => self.bracket_comment(),
                b';' => self.semicolon_comment(),
                b'/' if self.nothing_yet() && self.line.slash.is_none() => {
                    self.line.slash = Some(Span::new(self.place, self.place + 1));
                    self.place += 1;
                }
                b'%' if self.nothing_yet() => self.percent(),
                b'N' | b'n' => self.line_number(),
                b'O' | b'o' => self.flow(),
                b':' if self.nothing_yet() => self.flow(),
                b'#' => self.setting(),
                _ if byte.is_ascii_alphabetic() => self.word(byte.to_ascii_uppercase()),
                _ => self.unreadable(byte),
            }
        }
    }

    fn nothing_yet(&self) -> bool {
        self.nothing_yet_but_number() && self.line.number.is_none()
    }

    fn nothing_yet_but_number(&self) -> bool {
        self.line.words.is_empty() && self.line.settings.is_empty() && self.line.flow.is_none()
    }

    fn report(&mut self, diagnostic: Diagnostic) {
        self.line.diagnostics.push(diagnostic);
    }

    /// Reports an error at `span` and leaves the rest of the line unread, its axis letters lost.
    fn give_up(&mut self, kind: Kind, span: Span, message: impl Into<String>, help: impl Into<Cow<'static, str>>) {
        let help = help.into();
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
        self.line.unread = Some(Span::new(self.begun, self.place));
    }

    fn bracket_comment(&mut self) {
        let start = self.place;
        let inside = &self.at.text[start + 1..];
        let close = inside.iter().position(|&byte| byte == b')');
        let length = close.unwrap_or(inside.len());
        let end = (start + 1 + length + 1).min(self.at.text.len());
        self.line.comments.push(Comment { span: Span::new(start, end), semicolon: false });
        (self.place, self.begun) = (end, end);
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
            self.line.unread = Some(span);
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
        self.line.number_spans.push(Span::new(start, end));
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
                self.place = end;
                self.too_many(start);
            }
            Number::Read { value, end, .. } if value.abs() <= LARGEST => {
                self.line.words.push(Word { letter, value, formula: None, span: Span::new(start, end) });
                self.place = end;
            }
            Number::Read { end, .. } => {
                let message = format!("this {} is too large a number", char::from(letter));
                self.give_up(Kind::Number, Span::new(start, end), message, "");
            }
            missing => self.number_missing(letter, missing),
        }
    }

    /// A letter with no plain number after it.
    fn number_missing(&mut self, letter: u8, found: Number) {
        let start = self.place;
        if let Some(word) = self.foreign_keyword(start) {
            let message = format!("{word} is a word of another macro language, which is not read");
            let help = "loops and conditions are written with O words: o1 while [#1 LT 5] … o1 endwhile, o2 if [#1 EQ 0] … o2 endif";
            self.give_up(Kind::NotUnderstood, Span::new(start, start + word.len()), message, help);
            return;
        }
        let next = match found {
            Number::Missing { at } | Number::Read { end: at, .. } => at,
        };
        let follows = self.at.text.get(next).copied();
        let reckoned = follows.is_some_and(|byte| byte.is_ascii_alphabetic() || matches!(byte, b'#' | b'['));
        if !reckoned || letter == b'N' || self.at.text[start + 1..next].contains(&b'.') {
            let message = format!("{} has no number", char::from(letter));
            self.give_up(Kind::Unreadable, Span::new(start, start + 1), message, "");
            return;
        }
        self.place = start + 1;
        match self.formula() {
            Ok(_) if self.line.words.len() == MOST_WORDS => self.too_many(start),
            Ok(formula) => {
                let span = Span::new(start, self.place);
                self.line.words.push(Word { letter, value: 0.0, formula: Some(formula), span });
            }
            Err(fault) => {
                let by_letters = follows.is_some_and(|byte| byte.is_ascii_alphabetic()) && fault.at == next;
                if by_letters {
                    let message = format!("{} has no number", char::from(letter));
                    self.give_up(Kind::Unreadable, self.one_byte(start), message, fault.help);
                    return;
                }
                self.lose(start, fault.at);
                self.give_up(Kind::Expression, self.one_byte(fault.at), fault.message, fault.help);
            }
        }
    }

    /// A word that directs which line comes next in macro languages without O words.
    fn foreign_keyword(&self, start: usize) -> Option<&'static str> {
        let rest = &self.at.text[start..];
        let stands =
            |word: &&str| rest.get(..word.len()).is_some_and(|text| text.eq_ignore_ascii_case(word.as_bytes()));
        ["WHILE", "GOTO", "THEN", "IF", "DO", "END"].into_iter().find(stands)
    }

    /// The byte at a place, or the last one of the line.
    fn one_byte(&self, at: usize) -> Span {
        let at = at.min(self.at.text.len().saturating_sub(1));
        Span::new(at, at + 1)
    }

    /// Remembers the axis word that starts at `start`, of which the text up to `end` was read in vain.
    fn lose(&mut self, start: usize, end: usize) {
        if let Some(axis) = self.at.text.get(start).and_then(|letter| axis(letter.to_ascii_uppercase())) {
            self.line.lost |= u8::from(start < end) << axis;
        }
    }

    fn too_many(&mut self, start: usize) {
        let message = format!("more than {MOST_WORDS} words on one line");
        self.give_up(Kind::LineLength, Span::new(start, self.place), message, "");
    }

    /// `#` index or name `=` value.
    fn setting(&mut self) {
        let start = self.place;
        if let Err(fault) = self.read_setting() {
            self.place = start;
            self.give_up(Kind::Expression, self.one_byte(fault.at), fault.message, fault.help);
        }
    }

    fn read_setting(&mut self) -> Result<(), formula::Fault> {
        let start = self.place;
        self.place += 1;
        let target = match self.peek() {
            Some(b'<') => Target::Name(self.name()?),
            _ => Target::Index(self.formula()?),
        };
        if !self.pass("=") {
            let message = "a parameter alone says nothing: '=' and a value should follow";
            return Err(formula::Fault { at: self.place, message, help: "" });
        }
        let value = self.formula()?;
        let span = Span::new(start, self.place);
        if self.line.settings.len() == MOST_WORDS {
            return Err(formula::Fault { at: start, message: "too many parameters set on one line", help: "" });
        }
        self.line.settings.push(Setting { target, value, span });
        Ok(())
    }

    /// Something that starts no word.
    fn unreadable(&mut self, byte: u8) {
        let from = self.place;
        let ends = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'\t' | b'(' | b';');
        let rest = &self.at.text[from + 1..];
        let length = match byte {
            b'$' => rest.iter().position(|byte| matches!(byte, b'(' | b';')),
            b'0'..=b'9' => rest.iter().position(|byte| !byte.is_ascii_digit()),
            _ => rest.iter().position(ends),
        };
        let end = from + 1 + length.unwrap_or(rest.len());
        let (kind, message, help) = match byte {
            b'[' => (Kind::Unreadable, "an expression without a letter", ""),
            b']' => (Kind::Unreadable, "a ']' that closes no bracket", ""),
            b'=' => (Kind::Unreadable, "a '=' that sets no parameter", ""),
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
            b'+' | b'-' | b'*' => {
                (Kind::Unreadable, "an operator outside brackets", "an expression stands in brackets: [#1 + 2]")
            }
            b'0'..=b'9' => (Kind::Unreadable, "a number without a letter", ""),
            0..0x20 | 0x7f => (Kind::Unreadable, "a control character", ""),
            0x80.. => (Kind::Unreadable, "a character that no program holds outside comments", ""),
            _ => (Kind::Unreadable, "this character starts no word", ""),
        };
        let help = match self.decimal_comma() {
            Some(meant) if byte == b',' => Cow::Owned(format!("the decimal sign is a point: write {meant}")),
            _ => Cow::Borrowed(help),
        };
        self.give_up(kind, Span::new(from, end), message, help);
    }

    /// The word that is meant where a comma stands between its digits.
    fn decimal_comma(&self) -> Option<String> {
        let word = self.line.words.last().filter(|word| word.span.end as usize == self.place)?;
        let before = &self.at.text[word.span.start as usize..self.place];
        let Number::Read { end, plain: true, .. } = number::read(self.at.text, self.place + 1) else {
            return None;
        };
        let after = &self.at.text[self.place + 1..end];
        let whole = word.formula.is_none() && !before.contains(&b'.');
        whole.then(|| format!("{}.{}", before.escape_ascii(), after.escape_ascii()))
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
        let message = format!("this line has more than {REFUSED} characters and is not read");
        let span = Span::new(0, 1);
        let found = self.at.diagnostic(Severity::Error, Kind::LineLength, span, message);
        self.report(found.help("is this a program, and are its line ends whole?"));
        self.line.unread = Some(Span::new(0, self.at.text.len()));
        self.line.lost = 0b11_1111;
    }
}

#[cfg(test)]
mod tests;
