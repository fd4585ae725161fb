//! How long a block takes, by each reading of its F word.
//!
//! The standard (NISTIR 6556 sections 2.1.2.5 and 3.5.19) measures F along X, Y and Z and lets rotary words finish with
//! them: T = L/F. Only where none of those moves is F in degrees a minute: T = √(a² + b² + c²)/F. Many small controllers
//! measure F over all words alike, degrees counted as lengths: T = √(L² + a² + b² + c²)/F, lengths in the unit of the
//! program (common practice, no source). Under G93 T = 1/F minutes in any reading. L is measured along an arc or helix.

use std::f64::consts::FRAC_PI_2;

use dryturn_geom::angle;

use crate::program::{Arc, Block, BlockFlags, EventKind, Program, SAME, unknown_words};

/// What F counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedReading {
    /// The way along X, Y and Z, as the standard has it; a rotary word alone counts in degrees.
    Linear,
    /// The way over all words, degrees counted as lengths.
    All,
    /// One over minutes, as if G93 were in force throughout.
    InverseTime,
}

/// Greatest rates of X Y Z A B C, mm/min and degrees/min.
pub type Rates = [f64; 6];

const INCH: f64 = 25.4;

impl Program {
    /// Seconds that a block takes, no word going faster than its rate: the whole block slows. A rapid takes as long as
    /// its slowest word. `None`: where it starts is unknown, or no feed is in force.
    pub fn seconds(&self, block: usize, reading: FeedReading, rates: &Rates) -> Option<f64> {
        let (way, block) = (self.way(block)?, self.blocks.get(block)?);
        let is_rapid = block.flags.has(BlockFlags::RAPID);
        Some(
            60.0 * if is_rapid {
                way.least_minutes(rates)
            } else {
                way.slowed(way.minutes_asked(block, reading)?, rates)
            },
        )
    }

    /// Minutes that a feed block asks for, whatever the machine can do. `None` for a rapid, or where it cannot be told.
    pub fn minutes_asked(&self, block: usize, reading: FeedReading) -> Option<f64> {
        self.way(block)?.minutes_asked(self.blocks.get(block)?, reading)
    }

    /// Seconds of all blocks and dwells; blocks that cannot be told are left out.
    pub fn total_seconds(&self, reading: FeedReading, rates: &Rates) -> f64 {
        let blocks: f64 = (0..self.blocks.len()).filter_map(|block| self.seconds(block, reading, rates)).sum();
        let dwell = |kind| if let EventKind::Dwell(seconds) = kind { seconds } else { 0.0 };
        blocks + self.events.iter().map(|event| dwell(event.kind)).sum::<f64>()
    }

    /// How far each word goes in a block.
    pub(crate) fn way(&self, block: usize) -> Option<Way> {
        if self.blocks.get(block)?.flags.has(BlockFlags::START_UNKNOWN) {
            return None;
        }
        self.way_beside(block, 0)
    }

    /// [`Self::way`] where the words of these bits are known to stand still, though not where.
    pub(crate) fn way_beside(&self, block: usize, still: u8) -> Option<Way> {
        let to = self.blocks.get(block)?;
        if to.flags.has(BlockFlags::BROKEN) || to.unknown() & !still != 0 {
            return None;
        }
        let from = self.known_before(block, still)?;
        let goes = |word: usize| if still & 1 << word == 0 { (to.to[word] - from[word]).abs() } else { 0.0 };
        let mut words: [f64; 6] = std::array::from_fn(goes);
        let mut linear = length([words[0], words[1], words[2]]);
        if let Some(arc) = self.arcs.get(to.arc as usize) {
            let [first, second, normal] = arc.plane.axes();
            linear = angle::hypot(arc.radius * arc.sweep.abs(), words[normal]);
            (words[first], words[second]) = fastest_stretch(arc);
        }
        let rotary = length([words[3], words[4], words[5]]);
        Some(Way { words, linear, rotary })
    }

    /// Where a block starts, if that is known of all words but those of the bits `still`.
    fn known_before(&self, block: usize, still: u8) -> Option<[f64; 6]> {
        match block.checked_sub(1).and_then(|before| self.blocks.get(before)) {
            Some(before) => (before.unknown() & !still == 0).then_some(before.to),
            None => (unknown_words(&self.start) & !still == 0).then(|| self.start.map(Option::unwrap_or_default)),
        }
    }
}

/// How far a block goes.
pub(crate) struct Way {
    /// Each word's way, or what bounds its rate on an arc, mm or degrees.
    words: [f64; 6],
    /// Along X, Y and Z, mm.
    pub(crate) linear: f64,
    /// Over A, B and C, degrees.
    pub(crate) rotary: f64,
}

impl Way {
    /// Whether X, Y or Z moves, so that F is in lengths.
    pub(crate) fn is_linear(&self) -> bool {
        self.linear > SAME
    }

    /// Minutes that the feed of a block asks for on this way.
    pub(crate) fn minutes_asked(&self, block: &Block, reading: FeedReading) -> Option<f64> {
        let feed = f64::from(block.feed);
        // Not a number, too, where no feed is in force.
        if block.flags.has(BlockFlags::RAPID) || feed.is_nan() || feed <= 0.0 {
            return None;
        }
        if block.flags.has(BlockFlags::INVERSE_TIME) {
            return Some(1.0 / feed);
        }
        let unit = if block.flags.has(BlockFlags::INCH) { INCH } else { 1.0 };
        // The feed of a block that moves X, Y or Z is in mm/min, of any other the number as written.
        let written = if self.is_linear() { feed / unit } else { feed };
        Some(match reading {
            FeedReading::Linear if self.is_linear() => self.linear / feed,
            FeedReading::Linear => self.rotary / feed,
            FeedReading::All => angle::diagonal(self.linear / unit, self.rotary) / written,
            FeedReading::InverseTime => 1.0 / written,
        })
    }

    /// The minutes that are asked for, or more where a word would be faster than its rate. Few are, and for the others
    /// nothing is divided.
    fn slowed(&self, minutes: f64, rates: &Rates) -> f64 {
        let is_slow = self.words.iter().zip(rates).all(|(way, rate)| *way <= rate * minutes);
        if is_slow { minutes } else { minutes.max(self.least_minutes(rates)) }
    }

    fn least_minutes(&self, rates: &Rates) -> f64 {
        let slowest = self.words.iter().zip(rates).map(|(way, rate)| if *way > 0.0 { way / rate } else { 0.0 });
        slowest.fold(0.0, f64::max)
    }
}

/// The length of a way by three words, none near to overflow.
fn length(words: [f64; 3]) -> f64 {
    words.iter().map(|way| way * way).sum::<f64>().sqrt()
}

/// The way each word of an arc's plane would go at its greatest rate on the arc: |sin| and |cos| of the direction at
/// their greatest between start and end.
fn fastest_stretch(arc: &Arc) -> (f64, f64) {
    let length = arc.radius * arc.sweep.abs();
    let greatest = |from: f64| {
        let to = from + arc.sweep;
        let (low, high) = (from.min(to), from.max(to));
        // |sin| is greatest at odd quarter turns.
        let quarter = ((low / FRAC_PI_2 - 1.0) / 2.0).ceil() * 2.0 + 1.0;
        let at_ends = angle::sin_cos(from).0.abs().max(angle::sin_cos(to).0.abs());
        if quarter * FRAC_PI_2 <= high { 1.0 } else { at_ends }
    };
    // The first word moves with the sine of the place on the circle, the second with its cosine.
    (length * greatest(arc.from), length * greatest(arc.from + FRAC_PI_2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::program::Setup;
    use crate::read;

    const FREE: Rates = [f64::INFINITY; 6];

    fn minutes(text: &str, reading: FeedReading) -> Option<f64> {
        let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
        let program = read(format!("{text}\nM2").as_bytes(), &setup);
        program.minutes_asked(program.blocks.len() - 1, reading)
    }

    #[track_caller]
    fn takes(text: &str, reading: FeedReading, expected: f64) {
        let found = minutes(text, reading).unwrap();
        assert!((found - expected).abs() <= 1e-6 * expected, "{text} takes {found} min");
    }

    #[test]
    fn each_reading_by_its_formula() {
        // NISTIR 6556 section 2.1.2.5; the same block is 6.0 s by the standard and 54.3 s over all words.
        takes("G1 X10 A90 F100", FeedReading::Linear, 0.1);
        takes("G1 X10 A90 F100", FeedReading::All, 8200_f64.sqrt() / 100.0);
        takes("G1 X3 Y4 F50", FeedReading::Linear, 0.1);
        takes("G1 A90 F100", FeedReading::Linear, 0.9);
        takes("G1 A3 B4 F10", FeedReading::Linear, 0.5);
        takes("G20 G1 X1 A90 F10", FeedReading::Linear, 0.1);
        takes("G20 G1 X1 A90 F10", FeedReading::All, 8101_f64.sqrt() / 10.0);
        takes("G20 G1 A90 F10", FeedReading::All, 9.0);
        takes("G1 X10 F4", FeedReading::InverseTime, 0.25);
        takes("G20 G1 X10 F4", FeedReading::InverseTime, 0.25);
    }

    #[test]
    fn inverse_time_whatever_moves() {
        // NISTIR 6556 section 3.5.19: F2 takes half a minute.
        for reading in [FeedReading::Linear, FeedReading::All, FeedReading::InverseTime] {
            takes("G93 G1 X10 A90 F2", reading, 0.5);
        }
    }

    #[test]
    fn arcs_and_helices_along_their_way() {
        // NISTIR 6556 section 5.1.2, Table 10: length 3.0644 mm, 9.193 s at F20.
        let text = "G1 X3 Y1 F20\nG2 X0 R7.01 Z0.5";
        let seconds = 60.0 * minutes(text, FeedReading::Linear).unwrap();
        assert!((seconds - 9.193).abs() < 5e-4, "{seconds}");
        takes("G2 X0 I5 F10", FeedReading::Linear, std::f64::consts::PI);
    }

    #[test]
    fn no_word_goes_faster_than_its_rate() {
        let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
        let rates = [1000.0, 1000.0, 500.0, 3600.0, 3600.0, 3600.0];
        let seconds = |text: &str| {
            let program = read(format!("{text}\nM2").as_bytes(), &setup);
            program.seconds(0, FeedReading::Linear, &rates)
        };
        assert_eq!(seconds("G0 X100 A90"), Some(6.0));
        assert_eq!(seconds("G0 Z100"), Some(12.0));
        assert_eq!(seconds("G1 X1 A3600 F100"), Some(60.0));
        assert_eq!(seconds("G1 X100 F2000"), Some(6.0));
        assert_eq!(seconds("G1 X100"), None);
        let quarter = seconds("G2 X10 Y10 I10 F100000").unwrap();
        let arc_length = 10.0 * FRAC_PI_2;
        assert!((quarter - arc_length / 1000.0 * 60.0).abs() < 1e-9, "{quarter}");
        assert!(read(b"G0 X1\nM2", &Setup::default()).seconds(0, FeedReading::Linear, &FREE).is_none());
    }

    #[test]
    fn totals_count_dwells() {
        let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
        let program = read(b"G1 X10 F100\nG4 P2\nG1 A1\nM2", &setup);
        let total = program.total_seconds(FeedReading::Linear, &FREE);
        assert!((total - 8.6).abs() < 1e-6, "{total}");
    }
}
