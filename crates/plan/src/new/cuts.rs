//! Where a program cuts, and from what height it comes down.

use dryturn_program::{BlockFlags, NO_ARC, Program};

use super::axes::{Axes, Turning, Z};

/// A height and the line that says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Height {
    pub(super) mm: f64,
    pub(super) line: u32,
}

/// What one program gives away of the blank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Cuts {
    /// Greatest height at which wood is cut that nothing has cut before.
    pub(super) first: Option<Height>,
    /// Least height, or distance from the axis for a tip beside it, that a rapid ends at over such wood.
    pub(super) approach: Option<Height>,
    /// The same over any wood.
    pub(super) any_first: Option<Height>,
    pub(super) any_approach: Option<Height>,
    /// Least height at feed.
    pub(super) deepest: Option<Height>,
    /// Least height while the blank makes a turn or more.
    pub(super) deepest_turning: Option<Height>,
    /// A place where wood is turned away under zero over some length.
    pub(super) turned_under_zero: Option<Height>,
    /// Whether the blank turns at all, and while it is cut.
    pub(super) turns: bool,
    pub(super) turns_at_feed: bool,
}

/// Which wood has been cut, and where a cutter has only gone straight down, in slices along the axis.
pub(super) struct Stretch {
    low: f64,
    width: f64,
    cut: Vec<bool>,
    entered: Vec<bool>,
}

const SLICES: usize = 1000;

impl Stretch {
    pub(super) fn over([low, high]: [f64; 2]) -> Stretch {
        let width = ((high - low) / SLICES as f64).max(1e-3);
        Stretch { low, width, cut: vec![false; SLICES + 1], entered: vec![false; SLICES + 1] }
    }

    fn slices(&self, from: f64, to: f64) -> std::ops::RangeInclusive<usize> {
        let at = |place: f64| (((place - self.low) / self.width).max(0.0) as usize).min(SLICES);
        at(from.min(to))..=at(from.max(to))
    }

    /// Whether some of it has never been cut.
    fn is_fresh(&self, from: f64, to: f64) -> bool {
        self.cut[self.slices(from, to)].contains(&false)
    }

    /// Whether a tip that comes down here meets the skin.
    fn is_whole(&self, place: f64) -> bool {
        let slice = *self.slices(place, place).start();
        !self.cut[slice] && !self.entered[slice]
    }

    fn take(&mut self, from: f64, to: f64) {
        let slices = self.slices(from, to);
        self.cut[slices].fill(true);
    }

    fn enter(&mut self, place: f64) {
        let slices = self.slices(place, place);
        self.entered[slices].fill(true);
    }
}

/// Nearer than this is the same place, mm or degrees.
const SAME: f64 = 1e-6;
/// Under zero by more than this is not the axis itself, mm.
const UNDER: f64 = 0.05;
/// Over more than this it is no parting cut, mm.
const SOME_LENGTH: f64 = 1.0;

/// One move at feed, its start known or taken to be its end.
struct Move {
    along: [f64; 2],
    across: [f64; 2],
    height: [f64; 2],
    turned: f64,
    line: u32,
    is_arc: bool,
}

impl Move {
    fn of(program: &Program, index: usize, axes: &Axes) -> Option<Move> {
        let block = &program.blocks[index];
        if block.unknown() & (1 << axes.along | 1 << Z) != 0 {
            return None;
        }
        let from = program.start_of(index);
        let ends = |word: usize| [from[word].unwrap_or(block.to[word]), block.to[word]];
        let way = |word: usize| (block.to[word] - ends(word)[0]).abs();
        let (across, turned) = match axes.turning {
            Turning::Word(word) => (ends(axes.across), way(word)),
            Turning::Wrapped { diameter, .. } => {
                ([0.0; 2], 360.0 * way(axes.across) / (std::f64::consts::PI * diameter))
            }
            Turning::Nothing => (ends(axes.across), 0.0),
        };
        Some(Move {
            along: ends(axes.along),
            across,
            height: ends(Z),
            turned,
            line: block.line,
            is_arc: block.arc != NO_ARC,
        })
    }

    fn way_along(&self) -> f64 {
        (self.along[1] - self.along[0]).abs()
    }

    /// Whether it goes anywhere but up or down.
    fn cuts(&self) -> bool {
        let across = (self.across[1] - self.across[0]).abs();
        self.is_arc || self.turned > SAME || self.way_along() > SAME || across > SAME
    }

    /// How far the tip is from the wood's axis where it begins: its height, unless it stands well beside.
    fn begins_at(&self) -> f64 {
        let ([across, _], [height, _]) = (self.across, self.height);
        if across.abs() > height / 2.0 { across.hypot(height) } else { height }
    }
}

impl Cuts {
    /// Goes through a program and takes what it cuts out of the wood.
    pub(super) fn of(program: &Program, axes: &Axes, wood: &mut Stretch) -> Cuts {
        let mut cuts = Cuts::default();
        let mut after_rapid = true;
        for (index, block) in program.blocks.iter().enumerate() {
            let found = Move::of(program, index, axes);
            cuts.turns |= found.as_ref().is_some_and(|found| found.turned > SAME);
            if block.flags.has(BlockFlags::RAPID) {
                after_rapid = true;
            } else if let Some(found) = found {
                let rapid = index.checked_sub(1).filter(|_| after_rapid).map(|before| program.blocks[before].line);
                cuts.take(&found, rapid, wood);
                after_rapid = false;
            }
        }
        cuts
    }

    /// Takes a move at feed; `rapid` is the line of the rapid it follows, if it does.
    fn take(&mut self, found: &Move, rapid: Option<u32>, wood: &mut Stretch) {
        let Move { along: [from, to], height: [begin, end], line, .. } = *found;
        let least = Height { mm: begin.min(end), line };
        lower(&mut self.deepest, least);
        if found.turned >= 360.0 {
            lower(&mut self.deepest_turning, Height { mm: begin.max(end), line });
            if begin.max(end) < -UNDER && found.way_along() > SOME_LENGTH {
                self.turned_under_zero.get_or_insert(least);
            }
        }
        self.turns_at_feed |= found.turned > SAME;
        if let Some(line) = rapid {
            let height = Height { mm: found.begins_at(), line };
            lower(&mut self.any_approach, height);
            if wood.is_whole(from) {
                lower(&mut self.approach, height);
            }
        }
        if found.cuts() {
            let height = Height { mm: end, line };
            higher(&mut self.any_first, height);
            if wood.is_fresh(from, to) {
                higher(&mut self.first, height);
            }
            wood.take(from, to);
        } else if end < begin {
            wood.enter(from);
        }
    }
}

fn lower(kept: &mut Option<Height>, height: Height) {
    if kept.is_none_or(|kept| height.mm < kept.mm) {
        *kept = Some(height);
    }
}

fn higher(kept: &mut Option<Height>, height: Height) {
    if kept.is_none_or(|kept| height.mm > kept.mm) {
        *kept = Some(height);
    }
}
