//! Programs: what the cutter is to do, in the piece's own terms, and how that is put into words for a controller.

use std::fmt::Write;

use crate::shop::{Rotary, Setting, Unit};

/// Where to, in one coordinate: station, across, height over the axis, angle on top in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Word {
    X(f64),
    Y(f64),
    Z(f64),
    A(f64),
}

use Word::{A, X, Y, Z};

/// A line of a program.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Step {
    Rapid(Vec<Word>),
    /// With its speed through the wood, mm/min, if a feed is stated.
    Feed(Vec<Word>, Option<f64>),
    Spindle,
    Stop,
    /// The cutter is changed.
    Change(u32),
    /// The length of a cutter is put in force.
    Length(u32),
    /// The rotary word is zeroed where it stands.
    ZeroRotary,
}

/// Where the tip is: station, across, height, angle on top.
pub(crate) type Place = [f64; 4];

/// Most that the rotary axis turns at feed, degrees/min.
const FASTEST_TURN: f64 = 3000.0;

/// A program and how it is entered in the scene.
#[derive(Clone, Debug)]
pub(crate) struct Program {
    pub(crate) name: &'static str,
    pub(crate) cutter: u32,
    pub(crate) steps: Vec<Step>,
    pub(crate) indexed: bool,
    /// Least diameter of the tab, where the piece is parted.
    pub(crate) tab: Option<f64>,
    /// Whether the shape wanted comes about only by this program.
    pub(crate) shapes: bool,
    /// How far the blank turned in its jaws before, degrees.
    pub(crate) slip: f64,
    safe: f64,
    at: Place,
}

impl Program {
    /// Begins with the spindle on and the cutter at a safe height.
    pub(crate) fn new(name: &'static str, cutter: u32, safe: f64) -> Program {
        let steps = vec![Step::Spindle, Step::Rapid(vec![Z(safe)])];
        let at = [0.0, 0.0, safe, 0.0];
        Program { name, cutter, steps, indexed: false, tab: None, shapes: true, slip: 0.0, safe, at }
    }

    pub(crate) fn rapid<const N: usize>(&mut self, words: [Word; N]) {
        apply(&mut self.at, &words);
        self.steps.push(Step::Rapid(words.to_vec()));
    }

    /// Cuts to a place at a speed through the wood, mm/min.
    pub(crate) fn feed<const N: usize>(&mut self, words: [Word; N], speed: f64) {
        apply(&mut self.at, &words);
        self.steps.push(Step::Feed(words.to_vec(), Some(speed)));
    }

    /// The angle on top after turning on.
    pub(crate) fn turned(&self, degrees: f64) -> Word {
        A(self.at[3] + degrees)
    }

    pub(crate) fn retract(&mut self) {
        self.rapid([Z(self.safe)]);
    }

    pub(crate) fn end(mut self) -> Program {
        self.retract();
        self.steps.push(Step::Stop);
        self
    }

    /// Where each step leads, from the safe height over program zero on.
    pub(crate) fn places(&self) -> Vec<Place> {
        let mut at = [0.0, 0.0, self.safe, 0.0];
        self.steps
            .iter()
            .map(|step| {
                if let Step::Rapid(words) | Step::Feed(words, _) = step {
                    apply(&mut at, words);
                }
                at
            })
            .collect()
    }

    /// The indices of its feed moves with the places they lead to.
    pub(crate) fn cuts(&self) -> Vec<(usize, Place)> {
        let steps = self.steps.iter().zip(self.places()).enumerate();
        steps
            .filter(|(_, (step, _))| matches!(step, Step::Feed(..)))
            .map(|(index, (_, place))| (index, place))
            .collect()
    }

    /// Its lines in the scene.
    pub(crate) fn entry(&self) -> String {
        let mut text = format!("[[program]]\nfile = \"{}.nc\"\ncutter = {}\n", self.name, self.cutter);
        if self.indexed {
            text += "indexed = true\n";
        }
        if let Some(tab) = self.tab {
            text += &format!("parts = {{ min_tab = {tab} }}\n");
        }
        if self.slip != 0.0 {
            text += &format!("slip = {{ a = {} }}\n", self.slip);
        }
        text + "\n"
    }

    /// The file, posted for a machine.
    pub(crate) fn post(&self, setting: &Setting) -> String {
        let mut text = format!("({})\n", self.name);
        text += match setting.stated {
            Some(Unit::Millimetre) => "G21 G17 G90 G94\n",
            Some(Unit::Inch) => "G20 G17 G90 G94\n",
            None => "G17 G90 G94\n",
        };
        let mut from = [0.0, 0.0, self.safe, 0.0];
        for (step, to) in self.steps.iter().zip(self.places()) {
            let line = match step {
                Step::Rapid(words) => format!("G0{}", posted(words, setting)),
                Step::Feed(words, speed) => {
                    let feed = speed.map(|speed| feed_word(from, to, speed, words, setting));
                    format!("G1{}{}", posted(words, setting), feed.unwrap_or_default())
                }
                Step::Spindle => "M3 S16000".to_owned(),
                Step::Stop => "M5".to_owned(),
                Step::Change(number) => format!("T{number} M6"),
                Step::Length(number) => format!("G43 H{number}"),
                Step::ZeroRotary => "G92 A0".to_owned(),
            };
            from = to;
            if line != "G0" && line != "G1" {
                writeln!(text, "{line}").expect("a text takes all");
            }
        }
        text + "M30\n"
    }
}

fn apply(place: &mut Place, words: &[Word]) {
    for word in words {
        match *word {
            X(value) => place[0] = value,
            Y(value) => place[1] = value,
            Z(value) => place[2] = value,
            A(value) => place[3] = value,
        }
    }
}

fn posted(words: &[Word], setting: &Setting) -> String {
    let other = if setting.along == 'x' { 'Y' } else { 'X' };
    let mut text = String::new();
    for word in words {
        text += &match *word {
            X(station) => length(setting.along.to_ascii_uppercase(), setting.along_word(station), setting),
            // The word across is the one that turns.
            Y(_) if matches!(setting.rotary, Rotary::Wrapped(_)) => String::new(),
            Y(across) => length(other, setting.across_word(across), setting),
            Z(height) => length('Z', height - setting.height.over_axis(), setting),
            A(angle) => match setting.rotary_word(angle) {
                Some((letter @ ('X' | 'Y'), arc)) => length(letter, arc, setting),
                Some((letter, degrees)) => format!(" {letter}{}", number(degrees, 4)),
                None => String::new(),
            },
        };
    }
    text
}

fn length(letter: char, value: f64, setting: &Setting) -> String {
    match setting.unit {
        Unit::Millimetre => format!(" {letter}{}", number(value, 3)),
        Unit::Inch => format!(" {letter}{}", number(value / 25.4, 4)),
    }
}

fn number(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The F word that gives a speed through the wood, where F counts the linear words alone.
fn feed_word(from: Place, to: Place, speed: f64, words: &[Word], setting: &Setting) -> String {
    let turn = (to[3] - from[3]).abs();
    let linear = (0..3).map(|word| (to[word] - from[word]).powi(2)).sum::<f64>().sqrt();
    let arc = from[2].max(to[2]).abs() * turn.to_radians();
    let minutes = (linear.hypot(arc) / speed).max(turn / FASTEST_TURN);
    let wrapped = matches!(setting.rotary, Rotary::Wrapped(_));
    if wrapped || linear > 0.0 {
        let counted = if wrapped { linear.hypot(arc) } else { linear };
        let rate = if minutes > 0.0 { counted / minutes } else { speed };
        let in_unit = if setting.unit == Unit::Inch { rate / 25.4 } else { rate };
        format!(" F{}", number(in_unit.max(0.1), 2))
    } else if words.iter().any(|word| matches!(word, A(_))) && minutes > 0.0 {
        format!(" F{}", number(turn / minutes, 1))
    } else {
        format!(" F{}", number(speed, 1))
    }
}
