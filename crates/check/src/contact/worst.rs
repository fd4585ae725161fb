//! The worst moment of a contact: where the moving body would have to go up the most to be free.

use super::convex::hill;
use super::distance::distance;
use super::hunt::{Hunt, Pair};
use super::lift::{Lift, free_lift, last_meeting, led};
use super::region::{Piece, Pieces, Region, in_pieces, tip_at};
use super::search::{Encounter, SLACK};
use super::shape::MovingPart;
use super::solid::{Fixed, length};
use super::stretches::{MEETING, Run};
use super::tree::{Search, Step, Tree, Walk};
use dryturn_geom::{Motion, Pose, angle};
use std::f64::consts::TAU;
use std::ops::ControlFlow;

/// Lifts within this of the greatest count as it, mm.
const BRACKET: f64 = 1e-3;
/// A contact with what turns is followed down to this way of travel, mm.
const FINEST: f64 = 1e-4;
/// Stretches that turn more than this are asked about with the ring alone, then halved, radians.
const RING_ONLY: f64 = 0.35;

/// The worst moment.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Worst {
    pub(crate) motion: Motion,
    /// Share of the block.
    pub(crate) share: f64,
    pub(crate) lift: Lift,
    /// Which body of the row.
    pub(crate) which: u32,
}

/// The worst moment of a run of blocks, in the first block that comes as high.
pub(crate) fn worst(tree: &Tree, smaller: &Encounter, whole: &Encounter, run: &Run) -> Option<Worst> {
    let range = [run.first, run.last];
    let mut search = WorstSearch { smaller, whole, over: f64::NEG_INFINITY, tolerance: BRACKET, found: None };
    tree.search(range, &mut search);
    let greatest = search.found?;
    let over = greatest.lift.rise - BRACKET;
    let mut first = WorstSearch { smaller, whole, over, tolerance: 0.0, found: None };
    let _ = tree.walk(range, &mut first);
    first.found.or(Some(greatest))
}

/// Looks for moments in contact whose lift is over `over` by more than `tolerance`.
struct WorstSearch<'a> {
    smaller: &'a Encounter<'a>,
    whole: &'a Encounter<'a>,
    over: f64,
    tolerance: f64,
    found: Option<Worst>,
}

impl WorstSearch<'_> {
    fn limit(&self) -> f64 {
        self.over + self.tolerance
    }

    /// No lift in contact within the region is higher.
    fn highest(&self, region: &Region) -> f64 {
        self.whole.fixed.iter().map(|fixed| self.highest_over(fixed, region)).fold(f64::NEG_INFINITY, f64::max)
    }

    fn highest_over(&self, fixed: &Fixed, region: &Region) -> f64 {
        let meets = |part: &MovingPart| Pair::new(part, fixed).bound(region, MEETING) < MEETING;
        if !self.smaller.parts.iter().any(meets) {
            return f64::NEG_INFINITY;
        }
        let highest = |part: &MovingPart| led(last_meeting(part, &region.tip, &fixed.hull, 0.0).map(|lift| lift.rise));
        self.whole.parts.iter().map(highest).fold(f64::NEG_INFINITY, f64::max)
    }

    fn look(&mut self, motion: &Motion) {
        let radius = self.whole.radius();
        let _ = in_pieces(motion, radius, &mut Look { search: self, motion });
    }
}

impl Search for WorstSearch<'_> {
    fn bound(&mut self, region: &Region) -> f64 {
        -self.highest(region)
    }

    fn cutoff(&self) -> f64 {
        -self.limit()
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) {
        self.look(motion);
    }
}

impl Walk for WorstSearch<'_> {
    fn step(&mut self, region: &Region) -> Step {
        if self.highest(region) > self.limit() { Step::Enter } else { Step::Skip }
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) -> ControlFlow<()> {
        self.look(motion);
        if self.found.is_some() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

/// One block under the search.
struct Look<'a, 'b> {
    search: &'a mut WorstSearch<'b>,
    motion: &'a Motion,
}

impl Pieces for Look<'_, '_> {
    fn wants(&mut self, region: &Region) -> bool {
        self.search.highest(region) > self.search.limit()
    }

    fn piece(&mut self, piece: &Piece) -> ControlFlow<()> {
        let whole = self.search.whole;
        for fixed in whole.fixed {
            match fixed.reach {
                Some(reach) if piece.sweep() > 0.0 => self.turning(piece, fixed, reach, [0.0, 1.0]),
                _ => self.still(piece, fixed),
            }
        }
        ControlFlow::Continue(())
    }
}

impl Look<'_, '_> {
    /// Takes the lift at a moment if the smaller body meets the fixed one there.
    fn offer(&mut self, piece: &Piece, t: f64, fixed: &Fixed) {
        let pose = piece.at(t);
        let (tip, solid) = (tip_at(&pose), fixed.at(pose.turn));
        if !self.search.smaller.parts.iter().any(|part| distance(part, &tip, &solid).distance <= MEETING) {
            return;
        }
        let Some(lift) = free_lift(self.search.whole.parts.iter(), &tip, &solid) else { return };
        if lift.rise > self.search.over {
            self.search.over = lift.rise;
            self.search.found = Some(Worst { motion: *self.motion, share: piece.share(t), lift, which: fixed.which });
        }
    }

    /// The fixed body stands still: each part is in contact over one interval, and its lift has one hill there.
    fn still(&mut self, piece: &Piece, fixed: &Fixed) {
        let mut met: Option<[f64; 2]> = None;
        for part in self.search.smaller.parts {
            if let Some([start, end]) = contact_span(piece, &Pair::new(part, fixed)) {
                met = Some(met.map_or([start, end], |m| [m[0].min(start), m[1].max(end)]));
            }
        }
        let Some(met) = met else { return };
        let solid = fixed.at(piece.from.turn);
        self.offer(piece, met[0], fixed);
        self.offer(piece, met[1], fixed);
        for part in self.search.whole.parts {
            let rise = |t: f64| led(last_meeting(part, &tip_at(&piece.at(t)), &solid, 0.0).map(|lift| lift.rise));
            let (t, _) = hill(met, rise);
            self.offer(piece, t, fixed);
        }
    }

    fn turning(&mut self, piece: &Piece, fixed: &Fixed, reach: f64, [start, end]: [f64; 2]) {
        let (from, to) = (piece.at(start), piece.at(end));
        let (region, sweep) = (Region::of_poses(&from, &to), (to.turn - from.turn).abs());
        let way = length(length(to.x - from.x, to.y - from.y), to.z - from.z);
        if sweep > TAU + RING_ONLY && way < 0.5 * BRACKET {
            // The tip as good as stands still: one turn shows all that the others do.
            return self.turning(piece, fixed, reach, [start, start + (end - start) * TAU / sweep]);
        }
        let t = 0.5 * (start + end);
        if t <= start || t >= end {
            return;
        }
        if sweep > RING_ONLY {
            if self.search.highest_over(fixed, &region) <= self.search.limit() {
                return;
            }
        } else {
            self.offer(piece, t, fixed);
            if 0.5 * (way + reach * sweep) < FINEST || self.highest_turned(&region, fixed, reach) <= self.search.limit()
            {
                return;
            }
        }
        self.turning(piece, fixed, reach, [start, t]);
        self.turning(piece, fixed, reach, [t, end]);
    }

    /// No lift in contact is higher while the body turns by the little the region does: taken where it stands at the
    /// middle, it may be higher, and nearer, by the chord it still swings.
    fn highest_turned(&self, region: &Region, fixed: &Fixed, reach: f64) -> f64 {
        let solid = fixed.at(0.5 * (region.turn[0] + region.turn[1]));
        let swing = 2.0 * reach * angle::sin_cos(0.25 * region.sweep()).0;
        let meets = |part: &MovingPart| distance(part, &region.tip, &solid).distance <= swing + MEETING;
        if !self.search.smaller.parts.iter().any(meets) {
            return f64::NEG_INFINITY;
        }
        let highest = |part: &MovingPart| led(last_meeting(part, &region.tip, &solid, swing).map(|lift| lift.rise));
        self.search.whole.parts.iter().map(highest).fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The interval of shares of the piece over which the pair meets, the body standing still.
fn contact_span(piece: &Piece, pair: &Pair) -> Option<[f64; 2]> {
    let own = Piece { shares: [0.0, 1.0], ..*piece };
    let mut hunt = Hunt::under(MEETING, SLACK);
    pair.hunt(&own, &mut hunt);
    let inside = hunt.seen?.share;
    let meets = |pose: &Pose| pair.gap(pose).distance <= MEETING;
    let edge = |outside: f64| {
        if meets(&own.at(outside)) {
            return outside;
        }
        let (mut meeting, mut apart) = (inside, outside);
        for _ in 0..50 {
            let middle = 0.5 * (meeting + apart);
            if meets(&own.at(middle)) {
                meeting = middle;
            } else {
                apart = middle;
            }
        }
        meeting
    };
    Some([edge(0.0), edge(1.0)])
}
