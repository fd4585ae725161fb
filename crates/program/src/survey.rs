//! What stands in a file at all, by letter and number, before anything of it is executed.

use std::collections::BTreeMap;
use std::io::{self, Read};

use crate::codes::g_name;
use crate::command::whole;
use crate::listing::{self, Line, Options, axis};
use crate::number::{self, Number};
use crate::stream::Stream;
use crate::text::Lines;

/// A code by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CodeName {
    /// A G code, ten times its number.
    G(u32),
    /// An M code.
    M(u32),
}

impl std::fmt::Display for CodeName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            CodeName::G(tenths) => f.write_str(&g_name(*tenths)),
            CodeName::M(code) => write!(f, "M{code}"),
        }
    }
}

/// Where something stands first, and how often.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen {
    /// Line, from 1.
    pub line: u32,
    /// How often in the text, however often it is executed.
    pub times: u64,
}

/// The words of a text as they are written, comments left out. Nothing is executed and no formula has a value, so what
/// stands behind the end of a program or is never reached counts too.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Survey {
    /// Lines in the file.
    pub lines: u32,
    /// Axis words that stand anywhere, bit 0 X … bit 5 C. Letters of functions and of O words are none.
    pub axes: u8,
    /// G and M codes.
    pub codes: BTreeMap<CodeName, Seen>,
    /// Lines with parameters or formulas.
    pub formulas: Option<Seen>,
    /// Lines with an O word that directs which line comes next.
    pub flow: Option<Seen>,
    /// A T word stands somewhere.
    pub cutters: bool,
}

impl Survey {
    /// Looks through a text.
    pub fn of(source: &[u8]) -> Self {
        let mut survey = Self::default();
        let mut line = Line::default();
        for (number, text) in Lines::new(source) {
            survey.line(number, text, &mut line);
        }
        survey
    }

    /// Looks through a file, of which only a part is in memory at a time.
    ///
    /// # Errors
    ///
    /// What the reading of the file meets.
    pub fn of_file(input: impl Read) -> io::Result<Self> {
        let mut survey = Self::default();
        let mut line = Line::default();
        let mut stream = Stream::new(input)?;
        while let Some((number, text)) = stream.next_line()? {
            survey.line(number, text, &mut line);
        }
        Ok(survey)
    }

    /// Whether a code stands anywhere, given as ten times its number for G.
    pub(crate) fn holds(&self, code: CodeName) -> bool {
        self.codes.contains_key(&code)
    }

    fn line(&mut self, number: u32, text: &[u8], line: &mut Line) {
        self.lines = number;
        if !self.plain(number, text) {
            self.thorough(number, text, line);
        }
    }

    /// A line of letters and numbers. False: it holds more than that, and nothing of it has been counted but what
    /// counting again does not change.
    fn plain(&mut self, line: u32, text: &[u8]) -> bool {
        if text.iter().any(|byte| matches!(byte, b'[' | b'#' | b'(' | b';' | b'O' | b'o' | b':')) {
            return false;
        }
        for (place, byte) in text.iter().enumerate() {
            match byte.to_ascii_uppercase() {
                letter @ (b'X'..=b'Z' | b'A'..=b'C') => self.axes |= axis(letter).map_or(0, |axis| 1 << axis),
                b'T' => self.cutters = true,
                letter @ (b'G' | b'M') => {
                    if let Number::Read { value, .. } = number::read(text, place + 1) {
                        self.code(letter, value, line);
                    }
                }
                _ => {}
            }
        }
        true
    }

    /// A line with comments, formulas or an O word.
    fn thorough(&mut self, number: u32, text: &[u8], line: &mut Line) {
        listing::read_line(line, text, number, Options { line_limit: usize::MAX });
        self.axes |= line.lost;
        for word in &line.words {
            self.axes |= axis(word.letter).map_or(0, |axis| 1 << axis);
            self.cutters |= word.letter == b'T';
            if word.formula.is_none() {
                self.code(word.letter, word.value, number);
            }
        }
        if !line.steps.is_empty() {
            seen(&mut self.formulas, number);
        }
        if line.flow.as_ref().is_some_and(|flow| flow.keyword.is_some()) {
            seen(&mut self.flow, number);
        }
    }

    fn code(&mut self, letter: u8, value: f64, line: u32) {
        let code = match letter {
            b'G' => whole(value * 10.0, 1e-3).map(CodeName::G),
            b'M' => whole(value, 1e-4).map(CodeName::M),
            _ => None,
        };
        if let Some(code) = code {
            self.codes.entry(code).or_insert(Seen { line, times: 0 }).times += 1;
        }
    }
}

fn seen(slot: &mut Option<Seen>, line: u32) {
    slot.get_or_insert(Seen { line, times: 0 }).times += 1;
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &[u8] =
        b"%\n(M6 G43)\nG21 g0x1 T1\nM06 G43 H1\n; G20\nM[3*2] Zsin[30]\no1 if [#1]\nG38.2 A1\nG0 Y1 (B)\n";

    #[test]
    fn codes_and_words_outside_comments() {
        let survey = Survey::of(TEXT);
        assert_eq!((survey.lines, survey.axes, survey.cutters), (9, 0b1111, true));
        let codes: Vec<String> =
            survey.codes.iter().map(|(code, seen)| format!("{code} {} {}", seen.line, seen.times)).collect();
        assert_eq!(codes, ["G0 3 2", "G21 3 1", "G38.2 8 1", "G43 4 1", "M6 4 1"]);
        assert_eq!(survey.formulas, Some(Seen { line: 6, times: 2 }));
        assert_eq!(survey.flow, Some(Seen { line: 7, times: 1 }));
    }

    #[test]
    fn a_file_is_its_text() {
        assert_eq!(Survey::of_file(TEXT).unwrap(), Survey::of(TEXT));
        assert_eq!(Survey::of(b""), Survey::default());
    }
}
