//! The ways of blocks cut into strokes.
//!
//! A stroke is about one cutter diameter of way over the wood, and at most an eighth of a turn, so that a block of a
//! hundred turns tells where along it the wood was taken. How many a block has follows from its motion and the blank. Strokes
//! are whole pieces of the motion, or equal shares of a long straight piece; there a row belongs to the share in which the
//! cutter's axis passes it. Short blocks that go on straight are one stroke until it is half as long: what one of them
//! takes by itself is mostly a matter of which rays it happens to meet.

use std::f64::consts::TAU;
use std::sync::atomic::AtomicBool;

use dryturn_geom::{Axis, Motion, Pose};
use rayon::prelude::*;

use crate::job::{CarveError, Job, piece_count};
use crate::plan::is_cancelled;

/// Most strokes beyond one a block; where there would be more they are longer.
const MOST_MORE: u64 = 1_000_000;
/// Strokes under a slender cutter are not shorter than this, mm.
const SHORTEST: f64 = 3.0;
/// Most that the blank turns in a stroke, radians.
const WIDEST_TURN: f64 = TAU / 8.0;
/// Blocks are joined until they come to this share of a stroke's length.
const JOINED: f64 = 0.5;
/// Square of the cosine of the angle up to which one block goes on as the other went: 10°.
const STRAIGHT_ON: f64 = 0.97;
/// Blocks that one task looks at.
const BATCH: u32 = 4096;

/// How many strokes and pieces a block has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Division {
    pub(super) block: u32,
    pub(super) strokes: u32,
    pub(super) pieces: u32,
}

impl Division {
    /// The share of the block's way at which a stroke starts.
    pub(super) fn start(&self, stroke: u32) -> f64 {
        let (stroke, strokes, pieces) = (u64::from(stroke), u64::from(self.strokes), u64::from(self.pieces));
        if strokes > pieces {
            stroke as f64 / strokes as f64
        } else {
            (stroke * pieces / strokes) as f64 / pieces as f64
        }
    }
}

/// The blocks of more than one stroke, and how many strokes begin with each block: none where it is joined to the one before.
///
/// # Errors
/// [`CarveError::Cancelled`] if told to stop.
pub(super) fn divided(
    job: &Job<'_>,
    moments: &[u32],
    cancel: Option<&AtomicBool>,
) -> Result<(Vec<Division>, Vec<u32>), CarveError> {
    let mut divider = Divider { job, top: job.stock.swept_radius(), moments, stretched: 1.0 };
    loop {
        let (long, begun) = divider.divided(cancel)?;
        if long.iter().map(|it| u64::from(it.strokes) - 1).sum::<u64>() <= MOST_MORE {
            return Ok((long, begun));
        }
        divider.stretched *= 2.0;
    }
}

struct Divider<'a> {
    job: &'a Job<'a>,
    /// Greatest radius of the blank, mm.
    top: f64,
    /// No stroke goes on through these.
    moments: &'a [u32],
    /// So many times as long as they should be strokes are.
    stretched: f64,
}

impl Divider<'_> {
    fn divided(&self, cancel: Option<&AtomicBool>) -> Result<(Vec<Division>, Vec<u32>), CarveError> {
        let count = self.job.motions.count();
        let of_batch = |batch: u32| match is_cancelled(cancel) {
            true => Err(CarveError::Cancelled),
            false => Ok(self.batch(batch * BATCH, ((batch + 1) * BATCH).min(count))),
        };
        let batches: Vec<_> = (0..count.div_ceil(BATCH)).into_par_iter().map(of_batch).collect::<Result<_, _>>()?;
        let (long, begun): (Vec<_>, Vec<_>) = batches.into_iter().unzip();
        Ok((long.concat(), begun.concat()))
    }

    /// The same of the blocks from one to another.
    fn batch(&self, from: u32, to: u32) -> (Vec<Division>, Vec<u32>) {
        let (mut long, mut begun) = (Vec::new(), Vec::with_capacity((to - from) as usize));
        let mut under_way: Option<Joined> = None;
        let mut moments = self.moments[self.moments.partition_point(|moment| *moment <= from)..].iter().peekable();
        for block in from..to {
            if moments.next_if(|moment| **moment == block).is_some() {
                under_way = None;
            }
            let (strokes, joined) = match &self.job.motions.motion(block) {
                Some(motion) => self.strokes((block, motion), under_way, &mut long),
                None => (1, None),
            };
            begun.push(strokes);
            under_way = joined;
        }
        (long, begun)
    }

    /// How many strokes begin with a motion, and what the next may join; `long` takes it if they are several.
    fn strokes(
        &self,
        (block, motion): (u32, &Motion),
        before: Option<Joined>,
        long: &mut Vec<Division>,
    ) -> (u32, Option<Joined>) {
        let Some(cutter) = self.job.cutters.get(usize::from(motion.cutter)) else { return (1, None) };
        let (top, stroke) = (self.top, (2.0 * cutter.flutes.radius()).max(SHORTEST));
        let (length, widest) = (self.stretched * stroke, self.stretched * WIDEST_TURN);
        let (way, turn) = (way_of(motion, top), turn_of(motion));
        if way >= length || turn >= widest {
            let strokes = (way / length).max(turn / widest);
            let division = division((block, motion), strokes, length, top);
            if division.strokes > 1 {
                long.push(division);
                return (division.strokes, None);
            }
        }
        let longest = JOINED * stroke;
        let is_short = motion.arc.is_none() && way < longest;
        if !is_short {
            return (1, None);
        }
        let Motion { cutter, rapid, to, .. } = *motion;
        let alone = Joined { end: to, cutter, rapid, direction: over_wood(motion), way, turn };
        match before.filter(|before| before.goes_on(motion.from, &alone, longest)) {
            Some(before) => (0, Some(Joined { end: to, way: before.way + way, turn: before.turn + turn, ..before })),
            None => (1, Some(alone)),
        }
    }
}

/// Blocks of one stroke, as yet.
#[derive(Clone, Copy)]
struct Joined {
    end: Pose,
    cutter: u16,
    rapid: bool,
    /// The way of the first over the wood, mm: along the axis, across the bed, up.
    direction: [f64; 3],
    /// mm, and radians.
    way: f64,
    turn: f64,
}

impl Joined {
    /// Whether another motion, which starts at a pose, goes on from the last as the first went, and both together are not too
    /// much.
    fn goes_on(&self, from: Pose, next: &Joined, longest: f64) -> bool {
        let is_same = self.end == from && self.cutter == next.cutter && self.rapid == next.rapid;
        let dot = |a: &[f64; 3], b: &[f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let along = dot(&self.direction, &next.direction);
        let lengths = dot(&self.direction, &self.direction) * dot(&next.direction, &next.direction);
        let is_straight = along > 0.0 && along * along > STRAIGHT_ON * lengths;
        is_same && is_straight && self.way < longest && self.turn + next.turn <= WIDEST_TURN
    }
}

/// The way of a tip over the wood, as its middle goes, mm: along the axis, across the bed, up. At the height z over the axis
/// the wood goes across by z for every radian it turns.
fn over_wood(motion: &Motion) -> [f64; 3] {
    let (from, to) = (&motion.from, &motion.to);
    let turned = to.turn - from.turn;
    let (y, z) = (0.5 * (from.y + to.y), 0.5 * (from.z + to.z));
    [to.x - from.x, to.y - from.y - z * turned, to.z - from.z + y * turned]
}

/// How a motion over a blank of the greatest radius `top` is divided into about so many strokes of a length in mm.
fn division((block, motion): (u32, &Motion), strokes: f64, length: f64, top: f64) -> Division {
    let pieces = piece_count(motion, top);
    let along = (motion.to.x - motion.from.x).abs();
    let strokes = (strokes as u32).clamp(1, pieces);
    // Rows tell the shares of a piece apart, but only along the axis.
    let by_row = (along / (length * f64::from(pieces))) as u32;
    let strokes = if motion.arc.is_none() && by_row > 1 { pieces.saturating_mul(by_row) } else { strokes };
    Division { block, strokes, pieces }
}

/// About how far a cutter goes over wood of a radius, mm; on an arc at the most.
fn way_of(motion: &Motion, radius: f64) -> f64 {
    let (from, to) = (&motion.from, &motion.to);
    let parts = [to.x - from.x, to.y - from.y, to.z - from.z, radius * (to.turn - from.turn)];
    let straight = parts.iter().map(|part| part * part).sum::<f64>().sqrt();
    straight + on_arc(motion, |axis| if axis == Axis::Turn { radius } else { 1.0 })
}

/// How far a motion turns the blank, radians; on an arc at the most.
fn turn_of(motion: &Motion) -> f64 {
    (motion.to.turn - motion.from.turn).abs() + on_arc(motion, |axis| if axis == Axis::Turn { 1.0 } else { 0.0 })
}

/// The way on an arc, if there is one, its coordinates weighed.
fn on_arc(motion: &Motion, weight: impl Fn(Axis) -> f64) -> f64 {
    motion.arc.map_or(0.0, |arc| {
        let reaches = arc.axes.iter().zip(arc.reach).map(|(axis, reach)| (reach * weight(*axis)).abs());
        reaches.fold(0.0, f64::max) * arc.sweep.abs()
    })
}
