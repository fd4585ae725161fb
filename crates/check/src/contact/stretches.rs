//! Which blocks are in contact, and which of them belong together.

use super::distance::{TipBox, distance};
use super::hunt::Pair;
use super::region::{Piece, Pieces, Region, in_pieces, tip_at};
use super::search::{Encounter, comes_under};
use super::tree::{Step, Tree, Walk};
use dryturn_geom::{Motion, Pose};
use std::ops::ControlFlow;

/// Smaller bodies this near count as meeting, mm.
pub(crate) const MEETING: f64 = 1e-5;

/// Blocks of one contact, by ordinal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Run {
    pub(crate) first: u32,
    pub(crate) last: u32,
    /// How many of them are in contact.
    pub(crate) blocks: u32,
}

/// The contacts of a pair in program order. `smaller` has the moving body less its skin, `whole` has all of it; two
/// contacts are one while the pair stays within `near` mm between them (what turns: within its ring).
pub(crate) fn contacts(tree: &Tree, smaller: &Encounter, whole: &Encounter, near: f64) -> Vec<Run> {
    let mut walk = ContactWalk { tree, radius: smaller.radius(), pairs: smaller.pairs().collect(), runs: Vec::new() };
    let _ = tree.walk(tree.all(), &mut walk);
    let mut joined: Vec<Run> = Vec::new();
    for run in walk.runs {
        match joined.last_mut() {
            Some(before) if follows(tree, before, &run) && stays_near(tree, whole, [before.last, run.first], near) => {
                before.last = run.last;
                before.blocks += run.blocks;
            }
            _ => joined.push(run),
        }
    }
    joined
}

/// Whether no break lies between two runs.
fn follows(tree: &Tree, before: &Run, run: &Run) -> bool {
    tree.next_break(before.last).is_none_or(|at| at > run.first)
}

struct ContactWalk<'a> {
    tree: &'a Tree<'a>,
    radius: f64,
    /// What met last goes first: it is the likeliest to meet in the next block too.
    pairs: Vec<Pair<'a>>,
    runs: Vec<Run>,
}

impl ContactWalk<'_> {
    /// Adds blocks that follow on from each other.
    fn add(&mut self, first: u32, last: u32) {
        let blocks = last - first + 1;
        let goes_on = self.tree.next_break(first.saturating_sub(1)) != Some(first);
        match self.runs.last_mut() {
            Some(run) if goes_on && run.last + 1 == first => {
                run.last = last;
                run.blocks += blocks;
            }
            _ => self.runs.push(Run { first, last, blocks }),
        }
    }
}

impl Walk for ContactWalk<'_> {
    fn step(&mut self, region: &Region) -> Step {
        let mut near = self.pairs.iter().filter(|pair| pair.bound(region, MEETING) < MEETING).peekable();
        if near.peek().is_none() {
            return Step::Skip;
        }
        // What stands still is farthest from some corner of the box of tips: in contact at all eight, it is throughout.
        let all = near.any(|pair| {
            pair.fixed.reach.is_none()
                && region.corners().all(|tip| distance(pair.part, &tip, &pair.fixed.hull).distance <= MEETING)
        });
        if all { Step::Take } else { Step::Enter }
    }

    fn take(&mut self, mut first: u32, last: u32) {
        while let Some(at) = self.tree.next_break(first).filter(|&at| at <= last) {
            self.add(first, at - 1);
            first = at;
        }
        self.add(first, last);
    }

    fn block(&mut self, ordinal: u32, motion: &Motion) -> ControlFlow<()> {
        if let Some(place) = self.pairs.iter().position(|pair| comes_under(pair, motion, self.radius, MEETING)) {
            self.pairs.swap(0, place);
            self.add(ordinal, ordinal);
        }
        ControlFlow::Continue(())
    }
}

/// Whether the pair stays within `near` on all blocks between two ordinals.
fn stays_near(tree: &Tree, whole: &Encounter, [before, after]: [u32; 2], near: f64) -> bool {
    if after <= before + 1 {
        return true;
    }
    let mut walk = NearWalk { whole, near };
    tree.walk([before + 1, after - 1], &mut walk).is_continue()
}

struct NearWalk<'a> {
    whole: &'a Encounter<'a>,
    near: f64,
}

impl NearWalk<'_> {
    /// Whether one pair is within reach at all of these tips; then it is anywhere between them too, since the distance
    /// to what does not turn is convex.
    fn near_at(&self, tips: impl Iterator<Item = TipBox> + Clone) -> bool {
        self.whole
            .pairs()
            .any(|pair| tips.clone().all(|tip| distance(pair.part, &tip, &pair.fixed.hull).distance < self.near))
    }
}

impl Walk for NearWalk<'_> {
    fn step(&mut self, region: &Region) -> Step {
        let far =
            self.whole.pairs().all(|pair| distance(pair.part, &region.tip, &pair.fixed.hull).distance >= self.near);
        if far {
            return Step::Stop;
        }
        let corners: Vec<_> = region.corners().collect();
        if self.near_at(corners.into_iter()) { Step::Skip } else { Step::Enter }
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) -> ControlFlow<()> {
        in_pieces(motion, self.whole.radius(), self)
    }
}

impl Pieces for NearWalk<'_> {
    fn wants(&mut self, _region: &Region) -> bool {
        true
    }

    fn piece(&mut self, piece: &Piece) -> ControlFlow<()> {
        let ends: [&Pose; 2] = [&piece.from, &piece.to];
        if self.near_at(ends.into_iter().map(tip_at)) { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    }
}
