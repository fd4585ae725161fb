//! Where a tip may be: over a span of blocks, over one block, over a stretch of it.

use super::distance::TipBox;
use dryturn_geom::{Axis, Motion, Pose};
use std::f64::consts::FRAC_PI_2;
use std::ops::ControlFlow;

/// How far a chord may lie from its arc, mm.
const SAGITTA: f64 = 5e-4;

/// A box of tips and a range of the angle on top, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Region {
    pub(crate) tip: TipBox,
    pub(crate) turn: [f64; 2],
}

impl Region {
    pub(crate) fn of_poses(a: &Pose, b: &Pose) -> Region {
        let range = |a: f64, b: f64| [a.min(b), a.max(b)];
        Region {
            tip: TipBox { x: range(a.x, b.x), y: range(a.y, b.y), z: range(a.z, b.z) },
            turn: range(a.turn, b.turn),
        }
    }

    /// Everything the motion passes between the shares `start` and `end` of it, chords of its arc included.
    pub(crate) fn of_motion(motion: &Motion, start: f64, end: f64) -> Region {
        let mut region = Region::of_poses(&motion.at(start), &motion.at(end));
        let Some(arc) = motion.arc else { return region };
        // Each coordinate turns back where the parameter passes a whole number of quarter turns.
        let angles = [arc.start + arc.sweep * start, arc.start + arc.sweep * end];
        let quarters = [angles[0].min(angles[1]), angles[0].max(angles[1])].map(|angle| angle / FRAC_PI_2);
        let (first, last) = (quarters[0].ceil(), quarters[1].floor());
        let mut quarter = first;
        // Four in a row are all there are.
        while quarter <= last && quarter < first + 4.0 {
            let share = ((quarter * FRAC_PI_2 - arc.start) / arc.sweep).clamp(start, end);
            let pose = motion.at(share);
            region.join(&Region::of_poses(&pose, &pose));
            quarter += 1.0;
        }
        // An arc whose ends miss its circle drifts by that miss; no more than that can be left out above.
        let miss = missed(motion);
        for (axis, miss) in arc.axes.into_iter().zip(miss) {
            let range = region.range_mut(axis);
            *range = [range[0] - miss, range[1] + miss];
        }
        // Nor does an axis that leans bring more aside than by the way along it.
        let along = region.tip.x[1] - region.tip.x[0];
        for (range, rate) in [(&mut region.tip.y, arc.lean.across), (&mut region.tip.z, arc.lean.up)] {
            *range = [range[0] - rate.abs() * along, range[1] + rate.abs() * along];
        }
        region
    }

    fn range_mut(&mut self, axis: Axis) -> &mut [f64; 2] {
        match axis {
            Axis::X => &mut self.tip.x,
            Axis::Y => &mut self.tip.y,
            Axis::Z => &mut self.tip.z,
            Axis::Turn => &mut self.turn,
        }
    }

    /// Widens the region to hold `other` too.
    pub(crate) fn join(&mut self, other: &Region) {
        let hull = |a: &mut [f64; 2], b: [f64; 2]| *a = [a[0].min(b[0]), a[1].max(b[1])];
        hull(&mut self.tip.x, other.tip.x);
        hull(&mut self.tip.y, other.tip.y);
        hull(&mut self.tip.z, other.tip.z);
        hull(&mut self.turn, other.turn);
    }

    pub(crate) fn sweep(&self) -> f64 {
        self.turn[1] - self.turn[0]
    }

    /// The eight corners of the box of tips.
    pub(crate) fn corners(&self) -> impl Iterator<Item = TipBox> + '_ {
        (0..8usize).map(|k| TipBox {
            x: [self.tip.x[k & 1]; 2],
            y: [self.tip.y[(k >> 1) & 1]; 2],
            z: [self.tip.z[(k >> 2) & 1]; 2],
        })
    }
}

/// By how much the ends of an arc's motion miss its circle, in each of its two coordinates.
fn missed(motion: &Motion) -> [f64; 2] {
    let Some(arc) = motion.arc else { return [0.0; 2] };
    let get = |pose: &Pose, axis: Axis| match axis {
        Axis::X => pose.x,
        Axis::Y => pose.y,
        Axis::Z => pose.z,
        Axis::Turn => pose.turn,
    };
    let miss = |k: usize, pose: &Pose, parameter: f64| {
        let (sine, cosine) = dryturn_geom::angle::sin_cos(parameter);
        (arc.center[k] + arc.reach[k] * [cosine, sine][k] - get(pose, arc.axes[k])).abs()
    };
    let [from, to] = [motion.from, motion.to].map(|end| arc.lean.sent(&end));
    [0, 1].map(|k| miss(k, &from, arc.start).max(miss(k, &to, arc.start + arc.sweep)))
}

pub(crate) fn tip_at(pose: &Pose) -> TipBox {
    TipBox { x: [pose.x; 2], y: [pose.y; 2], z: [pose.z; 2] }
}

/// A straight stretch of a block, between two shares of it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) from: Pose,
    pub(crate) to: Pose,
    pub(crate) shares: [f64; 2],
}

impl Piece {
    pub(crate) fn at(&self, t: f64) -> Pose {
        if t >= 1.0 { self.to } else { self.from.toward(&self.to, t) }
    }

    /// The share of the whole block at the share `t` of the piece.
    pub(crate) fn share(&self, t: f64) -> f64 {
        self.shares[0] + (self.shares[1] - self.shares[0]) * t
    }

    pub(crate) fn velocity(&self) -> [f64; 3] {
        [self.to.x - self.from.x, self.to.y - self.from.y, self.to.z - self.from.z]
    }

    pub(crate) fn sweep(&self) -> f64 {
        (self.to.turn - self.from.turn).abs()
    }
}

/// Something that looks at blocks piece by piece.
pub(crate) trait Pieces {
    /// Whether anything within the region needs a closer look.
    fn wants(&mut self, region: &Region) -> bool;
    /// Looks at a straight piece.
    fn piece(&mut self, piece: &Piece) -> ControlFlow<()>;
}

/// Shows the motion to `look`: the whole region, then, only where wanted, its straight pieces; arcs are halved down
/// to their chords, whose number follows from the arc and the greatest `radius` of what turns, mm.
pub(crate) fn in_pieces(motion: &Motion, radius: f64, look: &mut impl Pieces) -> ControlFlow<()> {
    let count = motion.chord_count(SAGITTA, radius);
    chords(motion, count, [0, count], look)
}

fn chords(motion: &Motion, count: u32, [first, end]: [u32; 2], look: &mut impl Pieces) -> ControlFlow<()> {
    let share = |k: u32| f64::from(k) / f64::from(count);
    let shares = [share(first), share(end)];
    if !look.wants(&Region::of_motion(motion, shares[0], shares[1])) {
        return ControlFlow::Continue(());
    }
    if end - first == 1 {
        return look.piece(&Piece { from: motion.at(shares[0]), to: motion.at(shares[1]), shares });
    }
    let middle = first + (end - first) / 2;
    chords(motion, count, [first, middle], look)?;
    chords(motion, count, [middle, end], look)
}
