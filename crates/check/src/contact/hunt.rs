//! The least distance of one part from one fixed body over one straight piece of a motion.
//!
//! Where the body does not turn the distance is convex in time: tangents bracket it. Where it turns, the distance and
//! the direction at the middle of a stretch bound it: no point comes nearer than half the way travelled, and against
//! the plane across that direction, kept fixed, every point of the body runs on its chord but for the sagitta of its
//! arc.

use super::distance::{Gap, TipBox, distance, plane_gap, rough_distance};
use super::region::{Piece, Region, tip_at};
use super::shape::MovingPart;
use super::solid::{Fixed, length};
use dryturn_geom::{Pose, angle};
use std::f64::consts::TAU;

/// Stretches that turn more than this are asked about with the ring alone, then halved, radians.
const RING_ONLY: f64 = 0.35;
/// Regions that turn less than this are measured against the turned body too, radians.
const TURNED_BOUND: f64 = 0.7;

/// A part of a moving body and one fixed body.
#[derive(Clone, Copy)]
pub(crate) struct Pair<'a> {
    pub(crate) part: &'a MovingPart,
    pub(crate) fixed: &'a Fixed,
    /// Where the tip may be, seen from where the program has it: the part is anywhere in this box.
    room: TipBox,
}

/// What a hunt has found so far.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hunt {
    /// Least distance seen, mm, or the limit under which one is looked for.
    pub(crate) best: f64,
    /// What remains unseen may be lower by this, mm.
    pub(crate) tolerance: f64,
    /// At or below this there is nothing more to find, mm.
    pub(crate) enough: f64,
    /// Where `best` was seen; `None` while it is only the limit.
    pub(crate) seen: Option<Sight>,
}

/// A moment within a block.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sight {
    /// Share of the block.
    pub(crate) share: f64,
    pub(crate) gap: Gap,
}

impl Hunt {
    /// For the least distance, to within `tolerance`.
    pub(crate) fn least(tolerance: f64) -> Self {
        Hunt { best: f64::INFINITY, tolerance, enough: 0.0, seen: None }
    }

    /// For any moment at or under `limit`: `seen` is then set. A moment over it by less than `slack` may be taken too;
    /// none under it is missed.
    pub(crate) fn under(limit: f64, slack: f64) -> Self {
        Hunt { best: limit + slack, tolerance: slack, enough: limit, seen: None }
    }

    /// A stretch that stays at or above this can be left out.
    pub(crate) fn cutoff(&self) -> f64 {
        self.best - self.tolerance
    }

    pub(crate) fn done(&self) -> bool {
        self.best <= self.enough
    }

    fn offer(&mut self, share: f64, gap: &Gap) {
        if gap.distance < self.best {
            self.best = gap.distance;
            self.seen = Some(Sight { share, gap: *gap });
        }
    }
}

impl<'a> Pair<'a> {
    /// The pair as the program has it.
    pub(crate) fn new(part: &'a MovingPart, fixed: &'a Fixed) -> Self {
        Pair { part, fixed, room: TipBox::ORIGIN }
    }

    /// The same pair with the tip anywhere in a box about where it would be.
    pub(crate) fn with_room(self, room: TipBox) -> Self {
        Pair { room, ..self }
    }

    fn tip_at(&self, pose: &Pose) -> TipBox {
        tip_at(pose).plus(&self.room)
    }

    /// A lower bound of the distance anywhere in the region; exact work only while it can stay under `cutoff`.
    pub(crate) fn bound(&self, region: &Region, cutoff: f64) -> f64 {
        let tip = region.tip.plus(&self.room);
        let rough = rough_distance(self.part, &tip, &self.fixed.hull);
        // For a cylinder with sharp edges that is the distance itself.
        let exact = matches!(self.part, MovingPart::Cylinder { rounding: 0.0, .. });
        let hull = if rough >= cutoff || exact { rough } else { distance(self.part, &tip, &self.fixed.hull).distance };
        let Some(reach) = self.fixed.reach.filter(|_| hull < cutoff && region.sweep() < TURNED_BOUND) else {
            return hull;
        };
        let solid = self.fixed.at(0.5 * (region.turn[0] + region.turn[1]));
        let swing = 2.0 * reach * angle::sin_cos(0.25 * region.sweep()).0;
        hull.max(distance(self.part, &tip, &solid).distance - swing)
    }

    pub(crate) fn gap(&self, pose: &Pose) -> Gap {
        distance(self.part, &self.tip_at(pose), &self.fixed.at(pose.turn))
    }

    /// Carries the hunt through one piece.
    pub(crate) fn hunt(&self, piece: &Piece, hunt: &mut Hunt) {
        let ends = [self.gap(&piece.from), self.gap(&piece.to)];
        hunt.offer(piece.share(0.0), &ends[0]);
        hunt.offer(piece.share(1.0), &ends[1]);
        if hunt.done() {
            return;
        }
        match self.fixed.reach {
            Some(reach) if piece.sweep() > 0.0 => self.turning(piece, [0.0, 1.0], reach, hunt),
            _ => self.still(piece, ends, hunt),
        }
    }

    /// The fixed body stands still: the distance is convex.
    fn still(&self, piece: &Piece, ends: [Gap; 2], hunt: &mut Hunt) {
        let velocity = piece.velocity();
        let slope = |gap: &Gap| -(0..3).map(|k| gap.toward[k] * velocity[k]).sum::<f64>();
        let (mut low, mut high) = ((0.0, ends[0].distance, slope(&ends[0])), (1.0, ends[1].distance, slope(&ends[1])));
        for round in 0..60 {
            if low.2 >= 0.0 || high.2 <= 0.0 {
                return;
            }
            // Where the two tangents meet: the distance is nowhere below that.
            let width = high.0 - low.0;
            let ahead = (low.1 - high.1 + high.2 * width) / (high.2 - low.2);
            if low.1 + low.2 * ahead >= hunt.cutoff() || width < 1e-15 {
                return;
            }
            let share = if round % 3 == 2 { 0.5 } else { (ahead / width).clamp(1e-3, 1.0 - 1e-3) };
            let t = low.0 + width * share;
            let gap = self.gap(&piece.at(t));
            hunt.offer(piece.share(t), &gap);
            if hunt.done() || gap.touches() {
                return;
            }
            let here = (t, gap.distance, slope(&gap));
            if here.2 < 0.0 {
                low = here;
            } else {
                high = here;
            }
        }
    }

    fn turning(&self, piece: &Piece, [start, end]: [f64; 2], reach: f64, hunt: &mut Hunt) {
        if hunt.done() {
            return;
        }
        let (from, to) = (piece.at(start), piece.at(end));
        let sweep = (to.turn - from.turn).abs();
        let way = length(length(to.x - from.x, to.y - from.y), to.z - from.z);
        if sweep > TAU + RING_ONLY && way < 0.5 * hunt.tolerance {
            // The tip as good as stands still: one turn shows all that the others do.
            return self.turning(piece, [start, start + (end - start) * TAU / sweep], reach, hunt);
        }
        let t = 0.5 * (start + end);
        if t <= start || t >= end {
            return;
        }
        if sweep > RING_ONLY {
            let tip = Region::of_poses(&from, &to).tip.plus(&self.room);
            if distance(self.part, &tip, &self.fixed.hull).distance >= hunt.cutoff() {
                return;
            }
        } else {
            let middle = piece.at(t);
            let gap = self.gap(&middle);
            hunt.offer(piece.share(t), &gap);
            let travelled = 0.5 * (way + reach * sweep);
            if gap.touches() || gap.distance - travelled >= hunt.cutoff() || travelled < 1e-9 {
                return;
            }
            let apart = |pose: &Pose| plane_gap(self.part, &self.tip_at(pose), &self.fixed.at(pose.turn), gap.toward);
            let sagitta = reach * (1.0 - angle::sin_cos(0.5 * sweep).1);
            if apart(&from).min(apart(&to)) - sagitta >= hunt.cutoff() {
                return;
            }
        }
        self.turning(piece, [start, t], reach, hunt);
        self.turning(piece, [t, end], reach, hunt);
    }
}
