//! How far each word goes.

use std::f64::consts::FRAC_PI_2;

use crate::listing::AXES;
use crate::program::{Arc, Block, BlockFlags, Program, SAME};

/// From the least place to the greatest, mm or degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Least.
    pub least: f64,
    /// Greatest.
    pub greatest: f64,
}

/// How far a rotary word winds, in turns, from the first place that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// Where it stands at the end; the sign is the word's.
    pub net: f64,
    /// The farthest away it ever is, on either side; the sign is the word's.
    pub greatest: f64,
}

/// A word that stands in the text, or is moved by an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WordUse {
    /// In upper case.
    pub letter: char,
    /// The first line that commands it, if any is executed.
    pub line: Option<u32>,
    /// Its place changes.
    pub moves: bool,
    /// All places it comes to, arcs and all.
    pub all: Option<Extent>,
    /// Those it comes to at feed rate.
    pub fed: Option<Extent>,
    /// For A, B and C.
    pub winding: Option<Winding>,
}

/// Gathers what words do, block by block.
#[derive(Debug, Default)]
pub(super) struct Words {
    /// Words that are looked at, as bits.
    axes: u8,
    moved: u8,
    all: [Option<Extent>; 6],
    fed: [Option<Extent>; 6],
    first: [Option<f64>; 6],
}

impl Words {
    pub(super) fn new(axes: u8) -> Self {
        Self { axes, ..Self::default() }
    }

    pub(super) fn take(&mut self, program: &Program, index: usize, block: &Block) {
        let arc = program.arcs.get(block.arc as usize);
        if let Some(arc) = arc {
            // An arc moves both words of its plane, written or not.
            let [first, second, _] = arc.plane.axes();
            self.moved |= 1 << first | 1 << second;
            self.axes |= self.moved;
        }
        let from = program.start_of(index);
        let unknown = block.unknown();
        let fed = !block.flags.has(BlockFlags::RAPID);
        for word in (0..6).filter(|&word| self.axes & !unknown & 1 << word != 0) {
            let to = block.to[word];
            self.first[word].get_or_insert(to);
            let moves = from[word].is_some_and(|from| (from - to).abs() > SAME);
            self.moved |= u8::from(moves) << word;
            widen(&mut self.all[word], to, to);
            if fed {
                let from = from[word].unwrap_or(to);
                widen(&mut self.fed[word], from.min(to), from.max(to));
            }
        }
        if let Some(arc) = arc {
            self.take_arc(arc, fed);
        }
    }

    /// Whether a word is looked at, or an arc has moved it.
    pub(super) fn has(&self, word: usize) -> bool {
        self.axes & 1 << word != 0
    }

    fn take_arc(&mut self, arc: &Arc, fed: bool) {
        let [first, second, _] = arc.plane.axes();
        for (word, place) in crests(arc).map(|(along_second, place)| (if along_second { second } else { first }, place))
        {
            widen(&mut self.all[word], place, place);
            if fed {
                widen(&mut self.fed[word], place, place);
            }
        }
    }

    pub(super) fn told(&self, program: &Program) -> [Option<WordUse>; 6] {
        std::array::from_fn(|word| {
            (self.axes & 1 << word != 0).then(|| WordUse {
                letter: char::from(AXES[word]),
                line: program.facts.commanded[word],
                moves: self.moved & 1 << word != 0,
                all: self.all[word],
                fed: self.fed[word],
                winding: if word < 3 { None } else { self.winding(program, word) },
            })
        })
    }

    fn winding(&self, program: &Program, word: usize) -> Option<Winding> {
        let (first, extent) = (self.first[word]?, self.all[word]?);
        let last = program.blocks.iter().rev().find(|block| block.unknown() & 1 << word == 0)?;
        let (down, up) = (extent.least - first, extent.greatest - first);
        let farthest = if up >= -down { up } else { down };
        Some(Winding { net: (last.to[word] - first) / 360.0, greatest: farthest / 360.0 })
    }
}

fn widen(extent: &mut Option<Extent>, least: f64, greatest: f64) {
    let before = extent.unwrap_or(Extent { least, greatest });
    *extent = Some(Extent { least: before.least.min(least), greatest: before.greatest.max(greatest) });
}

/// The places between the ends of an arc that are farthest along one of its axes: whether it is the second, and where.
fn crests(arc: &Arc) -> impl Iterator<Item = (bool, f64)> {
    let to = arc.from + arc.sweep;
    let (low, high) = (arc.from.min(to), arc.from.max(to));
    let (first, last) = ((low / FRAC_PI_2).ceil() as i32, (high / FRAC_PI_2).floor() as i32);
    let ([first_center, second_center], radius) = (arc.center, arc.radius);
    (first..=last).map(move |quarter| match quarter.rem_euclid(4) {
        0 => (false, first_center + radius),
        1 => (true, second_center + radius),
        2 => (false, first_center - radius),
        _ => (true, second_center - radius),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Description;

    #[track_caller]
    fn extents(text: &str, letter: char) -> WordUse {
        let (_, told) = Description::of(text.as_bytes());
        told.words.into_iter().flatten().find(|word| word.letter == letter).expect("the word stands there")
    }

    fn near(found: Option<Extent>, least: f64, greatest: f64) -> bool {
        found.is_some_and(|found| (found.least - least).abs() < 1e-9 && (found.greatest - greatest).abs() < 1e-9)
    }

    #[test]
    fn an_arc_goes_beyond_its_ends() {
        let text = "G0 X1 Y0\nG3 X0 Y1 R-1 F100\nM2";
        let (x, y) = (extents(text, 'X'), extents(text, 'Y'));
        assert!(near(x.all, 0.0, 2.0) && near(y.all, 0.0, 2.0), "{x:?} {y:?}");
        let text = "G0 X1 Y0\nG2 X1 Y0 I-1 F100\nM2";
        assert!(near(extents(text, 'X').fed, -1.0, 1.0) && near(extents(text, 'Y').fed, -1.0, 1.0));
        let y = extents("G0 X1\nG2 X3 I1 F100\nM2", 'Y');
        assert!(near(y.all, 0.0, 1.0) && y.moves && y.line.is_none(), "{y:?}");
        let text = "G0 X1 Y0\nG3 X0 Y1 I-1 F100\nM2";
        assert!(near(extents(text, 'X').fed, 0.0, 1.0) && near(extents(text, 'Y').fed, 0.0, 1.0));
    }

    #[test]
    fn fed_places_count_both_ends_and_rapids_only_their_own() {
        let z = extents("G0 Z20\nG1 Z-3 F100\nG0 Z50\nM2", 'Z');
        assert!(near(z.all, -3.0, 50.0) && near(z.fed, -3.0, 20.0) && z.moves, "{z:?}");
        let x = extents("G0 X5\nG1 X5 F100\nM2", 'X');
        assert!(!x.moves && near(x.all, 5.0, 5.0));
    }

    #[test]
    fn winding_from_the_first_place() {
        let a = extents("G0 A90\nG1 A3690 F100\nG0 A-630\nA450\nM2", 'A').winding.unwrap();
        assert_eq!((a.net, a.greatest), (1.0, 10.0));
        let a = extents("G0 A0\nA-720\nA360\nM2", 'A').winding.unwrap();
        assert_eq!((a.net, a.greatest), (1.0, -2.0));
        assert_eq!(extents("G0 X1\nM2", 'X').winding, None);
    }
}
