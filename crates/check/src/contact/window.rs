//! How far zeros and lengths may be off before something is hit.
//!
//! A tip that is off by anything up to e one way sweeps a box from where the program has it. The distance forms take
//! such a box as they take a point, so one decision says whether any e up to there meets anything. A single pass over
//! the tree, led by the least distance, lowers e wherever a block is not free at it; the block that lowered it last is
//! what ends it. The pairs are decided upon as contacts are, with the moving body less its skin, and the skin is taken
//! off the answer: there the whole bodies just touch.

use super::distance::TipBox;
use super::hunt::Pair;
use super::region::{Piece, Pieces, Region, in_pieces};
use super::search::{Encounter, comes_nearly_under, first_under};
use super::shape::MovingPart;
use super::shrink::shrunk;
use super::solid::length;
use super::stretches::MEETING;
use super::tree::{Search, Tree};
use super::{Examiner, SKIN};
use dryturn_geom::{Motion, Pose};
use rayon::prelude::*;
use std::f64::consts::PI;
use std::ops::ControlFlow;

/// Farther off than this nothing is looked at: mm, and radians for the angle.
pub const FARTHEST: f64 = 50.0;
/// A block that would lower a limit by less does not, mm or radians.
const STEP: f64 = 2e-4;
/// Limits are bisected to this, mm or radians.
const FINE: f64 = 5e-5;
/// What only passes by this near may count as met, mm: bodies that glance off each other come so near long before.
const GLANCE: f64 = 1e-5;
/// Share of a limit to which it is found at first.
const ROUGH: f64 = 0.05;
/// Angles that carry no point of what turns farther than this are not halved for a region, mm.
const HARDLY: f64 = 0.2;
/// A turn and a move that carry no point farther than this are one moment, mm.
const MOMENT: f64 = 4e-3;

/// How far something may be off one way.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// mm, or radians; never below 0.
    pub free: f64,
    /// What is met just beyond it; `None` where nothing is met as far as was looked.
    pub end: Option<End>,
}

/// What ends a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// Name of the moving body.
    pub moving: String,
    /// Row of the fixed body.
    pub row: String,
    /// Which of its row, from 1; 0 where the row has but one.
    pub which: u32,
    /// Index of the cutter.
    pub cutter: u16,
    /// The block.
    pub block: u32,
}

/// How far things may be off, each by itself, downward and upward in the coordinates of the blank frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// Stations, across, and heights, mm.
    pub axes: [[Limit; 2]; 3],
    /// The angle on top, radians.
    pub turn: [Limit; 2],
    /// For each cutter asked about: its index, and how much less and more it may stick out, mm.
    pub stickout: Vec<(u16, [Limit; 2])>,
    /// By how much all three of the axes may be off at once, whatever their signs, mm.
    pub together: Limit,
}

/// What is off, and which way.
#[derive(Clone, Copy, Debug)]
enum Way {
    Along { axis: usize, sign: f64 },
    Everywhere,
    Turned { sign: f64 },
}

impl Way {
    /// Where the tip may be while it is off by up to `by`.
    fn room(self, by: f64) -> TipBox {
        let [x, y, z] = match self {
            Way::Along { axis, sign } => std::array::from_fn(|k| if k == axis { toward(sign, by) } else { [0.0; 2] }),
            Way::Everywhere => [[-by, by]; 3],
            Way::Turned { .. } => [[0.0; 2]; 3],
        };
        TipBox { x, y, z }
    }

    /// The angles by which the blank may stand turned.
    fn angles(self, by: f64) -> [f64; 2] {
        if let Way::Turned { sign } = self { toward(sign, by) } else { [0.0; 2] }
    }
}

fn toward(sign: f64, by: f64) -> [f64; 2] {
    [(sign * by).min(0.0), (sign * by).max(0.0)]
}

/// The bodies that are off.
#[derive(Clone, Copy, Debug)]
enum Moved {
    All,
    /// What hangs above the flutes of a cutter, its shank too or not.
    Above {
        cutter: u16,
        shank: bool,
    },
}

impl Moved {
    fn includes(self, candidate: &Candidate<'_>) -> bool {
        match self {
            Moved::All => true,
            Moved::Above { cutter, shank } => {
                let above = candidate.moving != "cutter" && (shank || candidate.moving != "shank");
                candidate.cutter == cutter && above
            }
        }
    }
}

/// A limit to look for.
struct Question {
    way: Way,
    cap: f64,
    moved: Moved,
}

impl Question {
    /// One for each sign; an axis is 0 … 2.
    fn along(axis: usize) -> [Question; 2] {
        [-1.0, 1.0].map(|sign| Question { way: Way::Along { axis, sign }, cap: FARTHEST, moved: Moved::All })
    }

    fn turned() -> [Question; 2] {
        [-1.0, 1.0].map(|sign| Question { way: Way::Turned { sign }, cap: PI, moved: Moved::All })
    }

    /// A cutter that sticks out less, by `least` mm at the most, and one that sticks out more. The shank begins at the
    /// flutes and only grows or shrinks at its upper end.
    fn stickout((cutter, least): (u16, f64)) -> [Question; 2] {
        let [shorter, longer] = Question::along(2);
        let cap = FARTHEST.min(least.max(0.0));
        [
            Question { cap, moved: Moved::Above { cutter, shank: false }, ..shorter },
            Question { moved: Moved::Above { cutter, shank: true }, ..longer },
        ]
    }
}

/// A pair with what it is called.
struct Candidate<'a> {
    tree: &'a Tree<'a>,
    pair: Pair<'a>,
    cutter: u16,
    moving: &'a str,
    row: &'a str,
}

impl Examiner<'_> {
    /// Whether a cutter moves at all.
    pub fn moves(&self, cutter: u16) -> bool {
        self.movers.iter().any(|mover| mover.cutter == cutter)
    }

    /// How far everything may be off. `stickouts` asks about cutters: index, and by how much each may be set in at all.
    pub fn window(&self, stickouts: &[(u16, f64)]) -> Window {
        let smaller = self.smaller();
        let candidates = self.candidates(&smaller);
        let mut questions: Vec<Question> = (0..3).flat_map(Question::along).chain(Question::turned()).collect();
        questions.push(Question { way: Way::Everywhere, cap: FARTHEST, moved: Moved::All });
        questions.extend(stickouts.iter().copied().flat_map(Question::stickout));
        let limits: Vec<Limit> = questions.par_iter().map(|question| limit(&candidates, question)).collect();
        let mut limits = limits.into_iter();
        // There is an answer to every question.
        let mut next = || limits.next().unwrap_or(Limit { free: 0.0, end: None });
        Window {
            axes: std::array::from_fn(|_| [next(), next()]),
            turn: [next(), next()],
            together: next(),
            stickout: stickouts.iter().map(|&(cutter, _)| (cutter, [next(), next()])).collect(),
        }
    }

    /// The parts of every body of every mover, less their skin.
    fn smaller(&self) -> Vec<Vec<Vec<MovingPart>>> {
        let bodies = |mover: &super::Mover<'_>| mover.bodies.iter().map(|(_, parts)| shrunk(parts, SKIN)).collect();
        self.movers.iter().map(bodies).collect()
    }

    fn candidates<'b>(&'b self, smaller: &'b [Vec<Vec<MovingPart>>]) -> Vec<Candidate<'b>> {
        let mut candidates = Vec::new();
        for (mover, bodies) in self.movers.iter().zip(smaller) {
            for ((moving, _), parts) in mover.bodies.iter().zip(bodies) {
                for (row, fixed) in &self.rows {
                    let pairs = parts.iter().flat_map(|part| fixed.iter().map(move |fixed| Pair::new(part, fixed)));
                    let (tree, cutter) = (&mover.tree, mover.cutter);
                    candidates.extend(pairs.map(|pair| Candidate { tree, pair, cutter, moving, row }));
                }
            }
        }
        candidates
    }
}

/// First roughly, so that blocks that are worse than those before them cost little, then once more from there.
fn limit(candidates: &[Candidate<'_>], question: &Question) -> Limit {
    let mut order: Vec<(f64, &Candidate<'_>)> = candidates
        .iter()
        .filter(|candidate| question.moved.includes(candidate))
        .filter_map(|candidate| Some((candidate.pair.bound(candidate.tree.region_of_all()?, f64::INFINITY), candidate)))
        .collect();
    // The sort is stable: of equal bounds the earlier pair goes first.
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let turned = matches!(question.way, Way::Turned { .. });
    if turned {
        // What does not turn may be hit already.
        if let Some(end) = order.iter().find_map(|(_, candidate)| candidate.hit()) {
            return Limit { free: 0.0, end: Some(end) };
        }
        order.retain(|(_, candidate)| candidate.pair.fixed.reach.is_some());
    }
    let Some(rough) = pass(&order, question.way, question.cap, ROUGH) else {
        return Limit { free: question.cap, end: None };
    };
    let ending = pass(&order, question.way, rough.met + STEP, 0.0).unwrap_or(rough);
    let skin = ending.candidate.pair.fixed.reach.filter(|_| turned).map_or(SKIN, |reach| SKIN / reach);
    Limit { free: (ending.free - STEP - skin).max(0.0), end: Some(ending.candidate.end(ending.block)) }
}

/// Where a limit was lowered last.
struct Ending<'a> {
    /// All is free up to here, but for less than a step.
    free: f64,
    /// Here it is not.
    met: f64,
    block: u32,
    candidate: &'a Candidate<'a>,
}

/// Closes in from `start` on all blocks of all pairs; `rough` is the share of a limit to which it is bisected.
fn pass<'a>(order: &[(f64, &'a Candidate<'a>)], way: Way, start: f64, rough: f64) -> Option<Ending<'a>> {
    let mut ending: Option<Ending<'a>> = None;
    for &(_, candidate) in order {
        let free = ending.as_ref().map_or(start, |ending| ending.free);
        let mut closing = Closing { candidate, way, rough, free, met: free, block: None };
        candidate.tree.search(candidate.tree.all(), &mut closing);
        let Closing { free, met, block, .. } = closing;
        ending = block.map(|block| Ending { free, met, block, candidate }).or(ending);
    }
    ending
}

impl Candidate<'_> {
    fn end(&self, block: u32) -> End {
        let which = self.pair.fixed.which;
        End { moving: self.moving.to_owned(), row: self.row.to_owned(), which, cutter: self.cutter, block }
    }

    /// Where the pair meets while nothing is off.
    fn hit(&self) -> Option<End> {
        let (parts, fixed) = (std::slice::from_ref(self.pair.part), std::slice::from_ref(self.pair.fixed));
        let ordinal = first_under(self.tree, &Encounter { parts, fixed }, MEETING)?;
        self.tree.block_at(ordinal).map(|motion| self.end(motion.block))
    }
}

/// A limit that closes in on the blocks of one pair.
struct Closing<'a> {
    candidate: &'a Candidate<'a>,
    way: Way,
    rough: f64,
    /// What was looked at is free up to here, but for less than a step.
    free: f64,
    /// Where what lowered it last meets.
    met: f64,
    /// What lowered it last.
    block: Option<u32>,
}

impl Closing<'_> {
    fn may_meet(&self, region: &Region, by: f64) -> bool {
        let pair = self.candidate.pair.with_room(self.way.room(by));
        may_meet_turned(&pair, region, self.way.angles(by))
    }

    fn meets(&self, motion: &Motion, by: f64) -> bool {
        let pair = self.candidate.pair.with_room(self.way.room(by));
        match (self.way, pair.fixed.reach) {
            (Way::Turned { .. }, Some(reach)) => {
                let mut turned = Turned { pair, reach, angles: self.way.angles(by) };
                in_pieces(motion, reach, &mut turned).is_break()
            }
            (_, reach) => comes_nearly_under(&pair, motion, reach.unwrap_or(0.0), MEETING, GLANCE),
        }
    }
}

impl Search for Closing<'_> {
    fn bound(&mut self, region: &Region) -> f64 {
        // Nothing under a step is looked for; less than nothing would turn the room inside out.
        if self.free > STEP && self.may_meet(region, self.free - STEP) {
            self.candidate.pair.bound(region, f64::INFINITY)
        } else {
            f64::INFINITY
        }
    }

    fn cutoff(&self) -> f64 {
        if self.free > STEP { f64::INFINITY } else { f64::NEG_INFINITY }
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) {
        let mut meeting = self.free - STEP;
        if meeting < 0.0 || !self.meets(motion, meeting) {
            return;
        }
        let mut free = 0.0;
        if self.meets(motion, free) {
            meeting = free;
        }
        while meeting - free > FINE.max(self.rough * meeting) {
            let middle = 0.5 * (free + meeting);
            if self.meets(motion, middle) {
                meeting = middle;
            } else {
                free = middle;
            }
        }
        (self.free, self.met, self.block) = (free, meeting, Some(motion.block));
    }
}

/// Whether a pair can meet in a region while the blank stands turned by any of some angles; the angles are halved until
/// they hardly matter.
fn may_meet_turned(pair: &Pair<'_>, region: &Region, angles: [f64; 2]) -> bool {
    let turn = [region.turn[0] + angles[0], region.turn[1] + angles[1]];
    if pair.bound(&Region { turn, ..*region }, MEETING) >= MEETING {
        return false;
    }
    let swept = pair.fixed.reach.map_or(0.0, |reach| reach * (angles[1] - angles[0]));
    if swept < HARDLY || region.sweep() > angles[1] - angles[0] {
        return true;
    }
    let half = 0.5 * (angles[0] + angles[1]);
    may_meet_turned(pair, region, [angles[0], half]) || may_meet_turned(pair, region, [half, angles[1]])
}

/// Whether a pair meets while the blank stands turned by any of some angles. Breaks off where it does.
struct Turned<'a> {
    pair: Pair<'a>,
    reach: f64,
    angles: [f64; 2],
}

impl Pieces for Turned<'_> {
    fn wants(&mut self, region: &Region) -> bool {
        may_meet_turned(&self.pair, region, self.angles)
    }

    fn piece(&mut self, piece: &Piece) -> ControlFlow<()> {
        if self.meets(piece, [0.0, 1.0], self.angles) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

impl Turned<'_> {
    /// No point of either body gets farther from where it is at the middle of both ranges than half of what it travels.
    fn meets(&mut self, piece: &Piece, times: [f64; 2], angles: [f64; 2]) -> bool {
        let middle = |range: [f64; 2]| 0.5 * (range[0] + range[1]);
        let (from, to) = (piece.at(times[0]), piece.at(times[1]));
        let pose = piece.at(middle(times));
        let gap = self.pair.gap(&Pose { turn: pose.turn + middle(angles), ..pose }).distance;
        let way = length(length(to.x - from.x, to.y - from.y), to.z - from.z);
        let moved = 0.5 * (way + self.reach * (to.turn - from.turn).abs());
        let turned = 0.5 * self.reach * (angles[1] - angles[0]);
        if gap <= MEETING || (moved + turned < MOMENT && gap <= moved + turned) {
            return true;
        }
        let region = Region::of_poses(&from, &to);
        let turn = [region.turn[0] + angles[0], region.turn[1] + angles[1]];
        if gap > moved + turned || self.pair.bound(&Region { turn, ..region }, MEETING) >= MEETING {
            return false;
        }
        if moved > turned {
            let half = middle(times);
            self.meets(piece, [times[0], half], angles) || self.meets(piece, [half, times[1]], angles)
        } else {
            let half = middle(angles);
            self.meets(piece, times, [angles[0], half]) || self.meets(piece, times, [half, angles[1]])
        }
    }
}
