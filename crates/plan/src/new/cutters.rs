//! The cutters: from T words and the comments near them, or from the comments at the head of a program.

use std::collections::BTreeMap;

use dryturn_geom::units::LengthUnit;
use dryturn_program::describe::{Comment, Units};

use super::Reading;
use super::entry::{Entry, Part};
use super::sizes::Sizes;
use super::words::{Said, ShapeWord};

/// A cutter of the scene to be.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cutter {
    pub(super) number: u32,
    said: Said,
    /// Where it says so.
    source: Option<String>,
    copied: Vec<String>,
}

/// The cutters, and the number of the one that each program begins with, for programs that call none.
pub(super) struct Drawer {
    pub(super) cutters: Vec<Cutter>,
    pub(super) begins: Vec<Option<Beginning>>,
}

/// What a program that calls no cutter begins with.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Beginning {
    pub(super) number: u32,
    pub(super) because: String,
}

/// Most comments that are copied for a cutter.
const MOST: usize = 8;

/// The unit of a program's plain numbers.
pub(super) fn unit_of(reading: &Reading) -> LengthUnit {
    match reading.told.units {
        Units::Inches(_) => LengthUnit::Inch,
        _ => LengthUnit::Millimetre,
    }
}

impl Drawer {
    pub(super) fn of(readings: &[Reading]) -> Drawer {
        let mut drawer = Drawer { cutters: Vec::new(), begins: Vec::new() };
        let mut called: BTreeMap<u32, Cutter> = BTreeMap::new();
        for reading in readings {
            for call in reading.told.cutters.iter().filter(|call| call.number > 0) {
                let found = Cutter::new(call.number, &call.comments, reading);
                called.entry(call.number).and_modify(|known| known.learn(&found)).or_insert(found);
            }
        }
        drawer.cutters.extend(called.into_values());
        readings.iter().for_each(|reading| drawer.begin(reading));
        drawer
    }

    /// Finds what a program begins with: what its head says, or else what is in the spindle already.
    fn begin(&mut self, reading: &Reading) {
        if reading.told.cutters.iter().any(|call| call.number > 0) {
            self.begins.push(None);
            return;
        }
        let found = Cutter::new(self.free(), &reading.told.head, reading);
        let before = self.begins.iter().flatten().next_back().map(|beginning| beginning.number);
        let same = self.cutters.iter().find(|known| found.says_something() && known.said == found.said);
        let (number, because) = match (same, before.or_else(|| Some(self.cutters.first()?.number))) {
            (Some(known), _) => (known.number, format!("{} names it.", found.source.unwrap_or_default())),
            (None, Some(before)) if !found.says_something() => {
                (before, format!("Nothing in {} says that the cutter is changed.", reading.file))
            }
            _ => {
                let (number, source) = (found.number, found.source.clone());
                self.cutters.push(found);
                let named = source.map(|source| format!("{source} names it."));
                (number, named.unwrap_or_else(|| format!("{} calls no cutter by a T word.", reading.file)))
            }
        };
        self.begins.push(Some(Beginning { number, because }));
    }

    /// The least number that no cutter has.
    fn free(&self) -> u32 {
        (1..).find(|number| self.cutters.iter().all(|cutter| cutter.number != *number)).unwrap_or(1)
    }
}

impl Cutter {
    fn new(number: u32, comments: &[Comment], reading: &Reading) -> Cutter {
        let place = |comment: &Comment| format!("{}:{}", reading.file, comment.line);
        let says = |comment: &Comment| Said::of(&comment.text, unit_of(reading));
        // The first of those that say the most.
        let best = comments.iter().rev().max_by_key(|comment| says(comment).count());
        let best = best.filter(|comment| says(comment).count() > 0);
        let copied = comments.iter().take(MOST).map(|comment| format!("{}: {}", place(comment), cut(&comment.text)));
        Cutter { number, said: best.map(says).unwrap_or_default(), source: best.map(place), copied: copied.collect() }
    }

    fn says_something(&self) -> bool {
        self.said.count() > 0
    }

    /// Takes what another program says of the same cutter.
    fn learn(&mut self, other: &Cutter) {
        if other.said.count() > self.said.count() {
            self.said = other.said;
            self.source.clone_from(&other.source);
        }
        let new = other.copied.iter().filter(|line| !self.copied.contains(line)).cloned().collect::<Vec<_>>();
        self.copied.extend(new);
        self.copied.truncate(MOST);
    }

    /// Half of its diameter, mm, as it is written.
    pub(super) fn radius(&self, sizes: &Sizes) -> f64 {
        self.said.diameter.unwrap_or_else(|| sizes.usual_cutter()) / 2.0
    }

    /// Its table.
    pub(super) fn part(&self, sizes: &Sizes) -> Part {
        let source = self.source.clone().unwrap_or_default();
        let shape = self.said.shape.unwrap_or(ShapeWord::Flat);
        let diameter = self.said.diameter.unwrap_or_else(|| sizes.usual_cutter());
        let mut entries = vec![Entry::plain("number", self.number.to_string())];
        let quoted = format!("\"{}\"", shape.name());
        entries.push(match self.said.shape {
            Some(shape) => Entry::guessed("shape", quoted, format!("{source} says \"{}\".", shape.name())),
            None => Entry::stands_in(
                "shape",
                quoted,
                "no comment says in plain words (flat, ball, bull, vee, taper, drill) how this cutter is shaped.",
            ),
        });
        entries.push(match self.said.diameter {
            Some(_) => Entry::guessed("diameter", sizes.number(diameter), format!("{source} gives it.")),
            None => Entry::stands_in(
                "diameter",
                sizes.number(diameter),
                "no comment says in plain words how thick this cutter is.",
            ),
        });
        self.own(shape, diameter, &source, sizes, &mut entries);
        entries.push(Entry::open(
            "stickout",
            sizes.number(40.0),
            "From the tip to the holder; needed to look after the holder.",
        ));
        entries.push(Entry::open(
            "holder",
            format!("[[{}, {}]]", sizes.number(25.0), sizes.number(20.0)),
            "Collet nut and what is above it: [diameter, length] upward.",
        ));
        Part { copied: self.copied.clone(), ..Part::new("cutter", true, entries) }
    }

    /// The keys that only its shape has.
    fn own(&self, shape: ShapeWord, diameter: f64, source: &str, sizes: &Sizes, entries: &mut Vec<Entry>) {
        let mut angle = |usual: &str, what: &str| {
            entries.push(match self.said.angle {
                Some(angle) => {
                    Entry::guessed("angle", crate::measure::trimmed(angle, 3), format!("{source} gives it."))
                }
                None => Entry::stands_in("angle", usual, format!("nothing says {what}.")),
            });
        };
        match shape {
            ShapeWord::Vee => angle("90", "the included angle"),
            ShapeWord::Taper => angle("5", "the angle of one side"),
            ShapeWord::Drill if self.said.angle.is_some() => angle("118", "the angle of the point"),
            _ => {}
        }
        match shape {
            ShapeWord::Taper => entries.push(match self.said.part {
                Some(tip) => Entry::guessed("tip", sizes.number(tip), format!("{source} gives it.")),
                None => Entry::stands_in("tip", sizes.number(diameter / 4.0), "nothing says the diameter of the tip."),
            }),
            ShapeWord::Bull => entries.push(match self.said.part {
                Some(corner) => Entry::guessed("corner", sizes.number(corner), format!("{source} gives it.")),
                None => {
                    Entry::stands_in("corner", sizes.number(diameter / 8.0), "nothing says the radius of the corner.")
                }
            }),
            _ => {}
        }
    }
}

/// Characters of a comment that are copied.
const COPIED: usize = 160;

fn cut(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= COPIED { text.to_owned() } else { text.chars().take(COPIED).chain(['…']).collect() }
}
