//! The text of a program: a path in the words of a controller.
//!
//! Only words that every controller of this language knows are written: G0 G1 G17 G20 G21 G54 G90 G93 G94, M3 M5 M30,
//! F S X Y Z and one rotary word, remarks in brackets, N where it is wanted. Each line says its motion itself, so that a
//! program can be cut short or taken up by hand.
//!
//! F is worked out from the minutes a move is to take, for the reading that the controller has of it (NISTIR 6556,
//! sections 2.1.2.5 and 3.5.19; the second is common practice, no source):
//!
//! ```text
//! linear   F = √(x² + y² + z²) / T, or degrees / T where only the rotary word moves
//! all      F = √(x² + y² + z² + a²) / T, degrees counted as lengths of the program's unit
//! inverse  F = 1 / T under G93, on every line
//! ```

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Along, Frame, Lean, Pose, Side, Turns, Wrap, angle};

use crate::measure::{figures, trimmed};
use crate::path::{Path, Place, Step};

/// How F is to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeedForm {
    /// Along X, Y and Z, as the standard has it; degrees where only the rotary word moves.
    Linear,
    /// Over all words, degrees counted as lengths.
    All,
    /// One over minutes, G93.
    Inverse,
}

/// What a controller and its machine want of a program.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posting {
    /// Unit of X, Y, Z and F, and of lengths that are told.
    pub unit: LengthUnit,
    /// How F is to be read.
    pub feed: FeedForm,
    /// Machine axis the rotary axis lies along.
    pub along: Along,
    /// Side the chuck stands on.
    pub chuck_on: Side,
    /// Sense of the rotary word.
    pub turns: Turns,
    /// The rotary word: 0, 1, 2 for A, B, C.
    pub rotary: usize,
    /// Whether lines are numbered.
    pub numbered: bool,
    /// Most that the rotary axis turns at feed, degrees/min, if that is known.
    pub turning: Option<f64>,
}

impl Default for Posting {
    /// Millimetres, F along X, Y and Z, the chuck at the small end of X, A by ISO 841, lines without numbers.
    fn default() -> Posting {
        Posting {
            unit: LengthUnit::Millimetre,
            feed: FeedForm::Linear,
            along: Along::X,
            chuck_on: Side::Minus,
            turns: Turns::Iso,
            rotary: 0,
            numbered: false,
            turning: None,
        }
    }
}

/// Letters of the six words.
const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];
/// Decimals of degrees; those of lengths are a tenth of a micrometre or a little more.
const DEGREE_DECIMALS: usize = 4;
/// Figures of F that count: its speed is right to far less than a hundredth.
const FEED_FIGURES: i32 = 6;
/// From one N word to the next.
const STEP: usize = 10;
/// Five digits are the most of an N word (NISTIR 6556, section 3.3.1): there they begin again.
const ROUND: usize = 100_000;

impl Posting {
    /// The letter of the word that turns the blank.
    pub fn rotary_letter(&self) -> char {
        LETTERS[3 + self.rotary.min(2)]
    }

    /// The letter of the word along the rotary axis.
    pub fn along_letter(&self) -> char {
        if self.along == Along::X { 'X' } else { 'Y' }
    }

    /// The letter of the word across the bed.
    pub fn across_letter(&self) -> char {
        if self.along == Along::X { 'Y' } else { 'X' }
    }

    /// The six words of a place, mm and degrees.
    pub(crate) fn words(&self, place: &Place) -> [f64; 6] {
        let zero = Pose { x: 0.0, y: 0.0, z: 0.0, turn: 0.0 };
        let wrap = Wrap::Rotary(self.rotary.min(2));
        let frame =
            Frame { along: self.along, chuck: self.chuck_on, turns: self.turns, wrap, zero, lean: Lean::default() };
        frame.words(&Pose { x: place.x, y: place.y, z: place.z, turn: angle::radians(place.a) })
    }

    /// Text of a word's number in the program's unit.
    fn number(&self, word: usize, value: f64) -> String {
        match (word, self.unit) {
            (3.., _) => trimmed(value, DEGREE_DECIMALS),
            (_, LengthUnit::Millimetre) => trimmed(value, 4),
            (_, LengthUnit::Inch) => trimmed(value / 25.4, 6),
        }
    }

    /// The F word of a move that is to take so many minutes.
    fn feed_word(&self, from: &Place, to: &Place, minutes: f64) -> String {
        let unit = self.unit.in_mm();
        let along = angle::hypot(to.x - from.x, angle::hypot(to.y - from.y, to.z - from.z)) / unit;
        let turned = (to.a - from.a).abs();
        let way = match self.feed {
            FeedForm::Linear if along > 0.0 => along,
            FeedForm::Linear => turned,
            FeedForm::All => angle::hypot(along, turned),
            FeedForm::Inverse => 1.0,
        };
        format!("F{}", figures(way / minutes, FEED_FIGURES))
    }
}

/// How a program begins and ends.
#[derive(Clone, Debug)]
pub(crate) struct Frills {
    /// Remarks before the first word; plain letters, no brackets.
    pub(crate) head: Vec<String>,
    /// Turns a minute of the spindle.
    pub(crate) spindle: f64,
    /// Whether the rotary word is zeroed where it stands at the end.
    pub(crate) rezero: bool,
}

/// Writes a path.
pub(crate) fn write(path: &Path, posting: &Posting, frills: &Frills) -> String {
    let mut writer =
        Writer { posting, text: String::new(), lines: 0, shown: Default::default(), feed: String::new(), at: path.at };
    // M30 takes the zero of G92 back (NISTIR 6556, 3.6.1); a program that ends with a percent sign ends without it.
    if frills.rezero {
        writer.text.push_str("%\n");
    }
    frills.head.iter().for_each(|remark| writer.remark(remark));
    let unit = if posting.unit == LengthUnit::Inch { "G20" } else { "G21" };
    writer.line(&format!("{unit} G17 G90 G94 G54"));
    writer.line(&format!("S{} M3", trimmed(frills.spindle, 0)));
    for step in &path.steps {
        writer.step(step);
    }
    if posting.feed == FeedForm::Inverse {
        writer.line("G94");
    }
    writer.line("M5");
    if frills.rezero {
        writer.line(&format!("G92 {}0", posting.rotary_letter()));
        writer.text.push_str("%\n");
    } else {
        writer.line("M30");
    }
    writer.text
}

/// Most characters of a remark: with its brackets it fits where lines are short.
const REMARK: usize = 66;

/// A text folded at blanks into lines of so many characters, longer only where a word is.
fn folded(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.len() + 1 + word.len() <= width => *line += &format!(" {word}"),
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A remark as every controller takes it: brackets would end it, and what is not plain some do not read.
pub(crate) fn plain(text: &str) -> String {
    let plain = |c: char| if c.is_ascii_graphic() && c != '(' && c != ')' || c == ' ' { c } else { '_' };
    text.chars().map(plain).collect()
}

struct Writer<'a> {
    posting: &'a Posting,
    text: String,
    lines: usize,
    /// What each word says now.
    shown: [String; 6],
    /// The F word in force.
    feed: String,
    at: Place,
}

impl Writer<'_> {
    fn line(&mut self, words: &str) {
        self.lines += 1;
        if self.posting.numbered {
            self.text.push_str(&format!("N{} ", self.lines * STEP % ROUND));
        }
        self.text.push_str(words);
        self.text.push('\n');
    }

    fn remark(&mut self, text: &str) {
        let text = plain(text);
        for line in folded(&text, REMARK) {
            self.text.push_str(&format!("({line})\n"));
        }
    }

    fn step(&mut self, step: &Step) {
        match step {
            Step::Say(text) => self.remark(text),
            Step::Lift(height) => {
                self.at.z = *height;
                self.shown[2] = self.posting.number(2, *height);
                self.line(&format!("G0 Z{}", self.shown[2]));
            }
            Step::Rapid(to) => {
                if let Some(words) = self.moved(to) {
                    self.line(&format!("G0{words}"));
                }
                self.at = *to;
            }
            Step::Feed(to, minutes) => self.fed(to, *minutes),
        }
    }

    fn fed(&mut self, to: &Place, minutes: f64) {
        let inverse = self.posting.feed == FeedForm::Inverse;
        if inverse && self.feed.is_empty() {
            self.line("G93");
        }
        let feed = self.posting.feed_word(&self.at, to, minutes);
        if let Some(words) = self.moved(to) {
            let told = if inverse || feed != self.feed { format!(" {feed}") } else { String::new() };
            self.line(&format!("G1{words}{told}"));
            self.feed = feed;
        }
        self.at = *to;
    }

    /// The words that a place changes, each with a blank before it; `None` where none does.
    fn moved(&mut self, to: &Place) -> Option<String> {
        let turns = 3 + self.posting.rotary.min(2);
        let values = self.posting.words(to);
        let mut told = String::new();
        for word in [0, 1, 2, turns] {
            let number = self.posting.number(word, values[word]);
            if number != self.shown[word] {
                told += &format!(" {}{number}", LETTERS[word]);
                self.shown[word] = number;
            }
        }
        (!told.is_empty()).then_some(told)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::path::Pace;

    fn path() -> Path {
        let start = Place { x: 10.0, y: 0.0, z: 40.0, a: 0.0 };
        let mut path = Path::from(start, Pace { speed: 1000.0, turning: 1e9 });
        path.say("pass 1".to_owned());
        path.feed(Place { z: 25.4, ..start }, 25.4);
        path.feed(Place { z: 25.4, a: 360.0, ..start }, 25.4);
        path.feed(Place { x: 13.0, z: 25.4, a: 720.0, ..start }, 25.4);
        path.lift(40.0);
        path
    }

    fn written(posting: Posting, rezero: bool) -> String {
        write(&path(), &posting, &Frills { head: vec!["a bar".to_owned()], spindle: 18_000.0, rezero })
    }

    #[test]
    fn along_the_linear_words() {
        let expected = "\
(a bar)
G21 G17 G90 G94 G54
S18000 M3
G0 Z40
G0 X10 Y0 A0
(pass 1)
G1 Z25.4 F1000
G1 A360 F2255.74
G1 X13 A720 F18.7945
G0 Z40
M5
M30
";
        assert_eq!(written(Posting::default(), false), expected);
    }

    #[test]
    fn over_all_words_in_inches_numbered() {
        let posting = Posting { unit: LengthUnit::Inch, feed: FeedForm::All, numbered: true, ..Posting::default() };
        let text = written(posting, false);
        assert!(text.contains("N10 G20 G17 G90 G94 G54\nN20 S18000 M3\nN30 G0 Z1.574803\n"), "{text}");
        assert!(text.contains("N50 G1 Z1 F39.3701\nN60 G1 A360 F2255.74\n"), "{text}");
    }

    #[test]
    fn in_inverse_time_for_another_machine() {
        let posting = Posting {
            feed: FeedForm::Inverse,
            along: Along::Y,
            rotary: 1,
            chuck_on: Side::Plus,
            turns: Turns::Reversed,
            ..Posting::default()
        };
        let text = written(posting, true);
        assert!(text.starts_with("%\n(a bar)\n") && text.ends_with("G0 Z40\nG94\nM5\nG92 B0\n%\n"), "{text}");
        assert!(text.contains("G0 X0 Y-10 B0\n(pass 1)\nG93\n"), "{text}");
        assert!(text.contains("G1 B-360 F6.26594\nG1 Y-13 B-720 F6.26484\n"), "{text}");
    }
}
