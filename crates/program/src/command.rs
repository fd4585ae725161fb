//! One line's words sorted by what they are: codes by modal group, numbers by letter.

use crate::codes::{self, Effect, GROUPS, Group};
use crate::diagnostic::{At, Collector, Kind, Severity, Span};
use crate::listing::{AXES, Line, Word};
use crate::program::{Dropped, Setup};

/// A code of some modal group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Code {
    /// Ten times the number of a G code; the number of an M code.
    pub(crate) code: u32,
    pub(crate) span: Span,
}

/// No word of a line: it has at most 64.
const ABSENT: u8 = u8::MAX;

/// One line as a command.
pub(crate) struct Command<'a> {
    pub(crate) at: At<'a>,
    codes: [Option<Code>; GROUPS],
    /// The line's words, and by letter which of them counts; [`ABSENT`]: none.
    line: &'a [Word],
    words: [u8; 26],
    /// Letters that stand on the line, and those that something has used, as bits from A.
    given: u32,
    used: u32,
    /// A code was left out, so words may stand there that it would have used.
    left_out: bool,
    /// What the line moves cannot be known.
    pub(crate) doubtful: bool,
    /// Axis words in text that could not be read, as bits.
    lost: u8,
    /// The motion mode a code that is not taken would set, with its ten times number.
    pub(crate) foreign_mode: Option<u32>,
    /// M7 and M8 both, the only codes of a group that share a line.
    pub(crate) both_coolants: bool,
}

impl<'a> Command<'a> {
    /// Sorts a line's words, reporting what is not taken and what is in conflict.
    pub(crate) fn new(at: At<'a>, line: &'a Line, setup: &Setup, into: &mut Collector) -> Self {
        let has_error = |one: &crate::Diagnostic| one.severity == Severity::Error;
        let mut command = Self {
            at,
            codes: [None; GROUPS],
            line: &line.words,
            words: [ABSENT; 26],
            given: 0,
            used: 0,
            left_out: false,
            doubtful: line.lost != 0 || line.diagnostics.iter().any(has_error),
            lost: line.lost,
            foreign_mode: None,
            both_coolants: false,
        };
        for (index, &word) in line.words.iter().enumerate() {
            command.sort(word, index as u8, setup, into);
        }
        command
    }

    fn sort(&mut self, word: Word, index: u8, setup: &Setup, into: &mut Collector) {
        match word.letter {
            b'G' => self.g_code(word, setup, into),
            b'M' => self.m_code(word, setup, into),
            letter if setup.drops.contains(&Dropped::Letter(letter)) => self.drop_word(word, into),
            letter => {
                if let Some(what) = codes::letter_not_taken(letter) {
                    let message = format!("{} is {what}", char::from(letter));
                    self.not_taken(Effect::Line, word.span, message, "", into);
                } else {
                    self.letter(word, index, into);
                }
            }
        }
    }

    fn g_code(&mut self, word: Word, setup: &Setup, into: &mut Collector) {
        let Some(code) = whole(word.value * 10.0, 0.001) else {
            let message = "a G code is a number from 0 up with at most one decimal";
            self.error(Kind::Number, word.span, message, into);
            return;
        };
        if setup.drops.contains(&Dropped::G(code)) {
            self.drop_word(word, into);
            return;
        }
        let with_axes = self.line.iter().any(|word| AXES.contains(&word.letter));
        if let Some(what) = codes::idle_cancel(code, with_axes) {
            let message =
                format!("{} turns off {what}; that is never on here, so it changes nothing", codes::g_name(code));
            self.not_taken(Effect::None, word.span, message, "", into);
            return;
        }
        let group = codes::g_group(code);
        match group.and_then(|group| codes::lacks(setup, group, code).map_or(Ok(group), Err)) {
            Ok(group) => self.code(group, code, word.span, into),
            Err(left_out) => {
                if left_out.effect == Effect::Mode {
                    self.foreign_mode = Some(code);
                }
                let message = format!("{} is not taken: {}", codes::g_name(code), left_out.what);
                self.not_taken(left_out.effect, word.span, message, left_out.help, into);
            }
        }
    }

    fn m_code(&mut self, word: Word, setup: &Setup, into: &mut Collector) {
        let Some(code) = whole(word.value, 0.0001) else {
            let message = "an M code is a whole number from 0 up";
            self.error(Kind::Number, word.span, message, into);
            return;
        };
        if setup.drops.contains(&Dropped::M(code)) {
            self.drop_word(word, into);
            return;
        }
        match codes::m_group(code) {
            Ok(group) => self.code(group, code, word.span, into),
            Err(left_out) => {
                let message = format!("M{code} is not taken: {}", left_out.what);
                self.not_taken(left_out.effect, word.span, message, left_out.help, into);
            }
        }
    }

    /// Leaves out what this controller is known to drop.
    fn drop_word(&mut self, word: Word, into: &mut Collector) {
        self.left_out = true;
        let written = self.at.text.get(word.span.start as usize..word.span.end as usize).unwrap_or_default();
        let message =
            format!("{} is dropped by this controller without a word, and so by this reading", written.escape_ascii());
        into.push(self.at.diagnostic(Severity::Warning, Kind::NotUnderstood, word.span, message));
    }

    fn code(&mut self, group: Group, code: u32, span: Span, into: &mut Collector) {
        let slot = &mut self.codes[group as usize];
        let both_coolants = |one: u32, other: u32| one.min(other) == 7 && one.max(other) == 8;
        match *slot {
            None => *slot = Some(Code { code, span }),
            Some(before) if group == Group::Coolant && both_coolants(before.code, code) => self.both_coolants = true,
            Some(before) if before.code == code => {
                let message = "the same code twice on one line";
                into.push(self.at.diagnostic(Severity::Warning, Kind::Conflict, span, message));
            }
            Some(_) => {
                let message = "two codes of one modal group on one line";
                self.error(Kind::Conflict, span, message, into);
            }
        }
    }

    fn letter(&mut self, word: Word, index: u8, into: &mut Collector) {
        let slot = &mut self.words[usize::from(word.letter - b'A')];
        if *slot != ABSENT {
            let message = format!("a second {} on one line", char::from(word.letter));
            self.error(Kind::Conflict, word.span, message, into);
        } else {
            *slot = index;
            self.given |= 1 << (word.letter - b'A');
        }
    }

    fn not_taken(&mut self, effect: Effect, span: Span, message: String, help: &'static str, into: &mut Collector) {
        self.left_out = true;
        let severity = match effect {
            Effect::None => Severity::Note,
            Effect::Aside => Severity::Warning,
            Effect::Motion => Severity::Error,
            Effect::Line | Effect::Mode => {
                self.doubtful = true;
                Severity::Error
            }
        };
        let found = self.at.diagnostic(severity, Kind::NotUnderstood, span, message);
        into.push(if help.is_empty() { found } else { found.help(help) });
    }

    /// Reports an error after which what the line moves cannot be known.
    pub(crate) fn error(&mut self, kind: Kind, span: Span, message: impl Into<String>, into: &mut Collector) {
        self.doubtful = true;
        into.push(self.at.diagnostic(Severity::Error, kind, span, message));
    }

    /// Reports a code that this controller does not take; the words it would have used say nothing then.
    pub(crate) fn leave_out(&mut self, span: Span, message: &str, help: &'static str, into: &mut Collector) {
        self.left_out = true;
        into.push(self.at.diagnostic(Severity::Error, Kind::NotUnderstood, span, message).help(help));
    }

    /// The code of a group on this line.
    pub(crate) fn code_of(&self, group: Group) -> Option<Code> {
        self.codes[group as usize]
    }

    /// Whether anything stands on the line that may set a mode other than motion and feed.
    pub(crate) fn sets_modes(&self) -> bool {
        let others =
            self.codes.iter().enumerate().any(|(group, code)| code.is_some() && group != Group::Motion as usize);
        others || self.has(b'S') || self.has(b'T')
    }

    /// The word with a letter, which counts as used from here on.
    pub(crate) fn take(&mut self, letter: u8) -> Option<Word> {
        self.used |= 1 << (letter - b'A');
        self.word(letter)
    }

    fn word(&self, letter: u8) -> Option<Word> {
        self.line.get(usize::from(self.words[usize::from(letter - b'A')])).copied()
    }

    /// The words that count, by letter.
    fn all_words(&self) -> impl Iterator<Item = &'a Word> {
        let line = self.line;
        self.words.iter().filter_map(move |&index| line.get(usize::from(index)))
    }

    /// Whether a word with this letter stands on the line.
    pub(crate) fn has(&self, letter: u8) -> bool {
        self.given & 1 << (letter - b'A') != 0
    }

    /// Axis words given, by place, all used from here on.
    pub(crate) fn take_axes(&mut self) -> [Option<Word>; 6] {
        std::array::from_fn(|axis| self.take(AXES[axis]))
    }

    /// The axis words named, whether or not they could be read, as bits.
    pub(crate) fn named_axes(&self) -> u8 {
        // X Y Z are the last three letters, A B C the first.
        let linear = self.given >> (b'X' - b'A') & 0b111;
        let rotary = self.given & 0b111;
        (linear | rotary << 3) as u8 | self.lost
    }

    /// The first axis word, to point at.
    pub(crate) fn first_axis(&self) -> Option<Word> {
        let place = |word: &Word| word.span.start;
        AXES.iter().filter_map(|&letter| self.word(letter)).min_by_key(place)
    }

    /// What a diagnostic about the whole motion points at: from the first word to the last.
    pub(crate) fn motion_span(&self) -> Span {
        let codes = self.codes.iter().flatten().map(|code| code.span);
        let spans = codes.chain(self.all_words().map(|word| word.span));
        let whole = spans.reduce(|one, other| Span { start: one.start.min(other.start), end: one.end.max(other.end) });
        whole.unwrap_or_default()
    }

    /// Words nothing has used; a zero arc offset out of the plane says nothing and passes.
    pub(crate) fn report_unused(&self, into: &mut Collector) {
        if self.given & !self.used == 0 || self.left_out || self.doubtful {
            return;
        }
        for word in self.all_words() {
            let idle = self.used & 1 << (word.letter - b'A') == 0;
            let says_nothing = matches!(word.letter, b'I' | b'J' | b'K') && word.value == 0.0;
            if idle && !says_nothing {
                let message = format!("nothing on this line uses {}", char::from(word.letter));
                let kind = Kind::UnusedWord;
                into.push(self.at.diagnostic(Severity::Warning, kind, word.span, message));
            }
        }
    }
}

/// A number from 0 up that is whole to within `slack` (NISTIR 6556 section 3.3.2.1: 0.0001).
pub(crate) fn whole(value: f64, slack: f64) -> Option<u32> {
    let nearest = value.round();
    let fits = (0.0..=f64::from(u32::MAX)).contains(&nearest) && (value - nearest).abs() <= slack;
    fits.then_some(nearest as u32)
}
