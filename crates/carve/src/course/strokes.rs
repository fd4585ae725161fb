//! Blocks cut into strokes, and what each stroke took.
//!
//! A stroke is about one cutter diameter of way over the wood, and at most an eighth of a turn, so that a block of a
//! hundred turns tells where along it the wood was taken. How many a block has follows from its motion and the blank. Strokes
//! are whole pieces of the motion, or equal shares of a long straight piece; there a row belongs to the share in which the
//! cutter's axis passes it.

use std::f64::consts::TAU;
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, Ordering};

use dryturn_geom::{Axis, Motion};
use rayon::prelude::*;

use crate::cut::Taken;
use crate::job::{CarveError, Job, piece_count};
use crate::kernel::{Lost, Piece};
use crate::plan::is_cancelled;
use crate::tree::Place;

/// Most strokes beyond one a block; where there would be more they are longer.
const MOST_MORE: u64 = 1_000_000;
/// Strokes under a slender cutter are not shorter than this, mm.
const SHORTEST: f64 = 3.0;
/// Most that the blank turns in a stroke, radians.
const WIDEST_TURN: f64 = TAU / 8.0;
/// Blocks that one task looks at.
const BATCH: u32 = 4096;

/// How many strokes and pieces a block has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Division {
    block: u32,
    strokes: u32,
    pieces: u32,
}

/// All strokes of a job, filled in from any thread.
#[derive(Debug, Default)]
pub(crate) struct Strokes {
    /// Blocks of more than one stroke.
    long: Vec<Division>,
    /// First stroke of every block, and the number of all.
    first: Vec<u32>,
    units: Vec<AtomicI64>,
    left_twice: Vec<AtomicI64>,
    /// Bits of a number that is not negative, which grow with it.
    depth: Vec<AtomicU32>,
}

impl Strokes {
    /// Bytes for each stroke, its block's part included.
    pub(crate) const BYTES: usize = size_of::<(i64, i64, u32, u32)>();

    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn of(job: &Job<'_>, cancel: Option<&AtomicBool>) -> Result<Strokes, CarveError> {
        let mut stretched = 1.0;
        let mut long = divisions(job, stretched, cancel)?;
        while long.iter().map(|it| u64::from(it.strokes) - 1).sum::<u64>() > MOST_MORE {
            stretched *= 2.0;
            long = divisions(job, stretched, cancel)?;
        }
        let mut first = Vec::with_capacity(job.motions.count() as usize + 1);
        let (mut next, mut of_long) = (0, long.iter().peekable());
        for block in 0..job.motions.count() {
            first.push(next);
            next += of_long.next_if(|it| it.block == block).map_or(1, |it| it.strokes);
        }
        first.push(next);
        let none = || (0..next).map(|_| AtomicI64::new(0)).collect();
        let depth = (0..next).map(|_| AtomicU32::new(0)).collect();
        Ok(Strokes { long, first, units: none(), left_twice: none(), depth })
    }

    /// Bytes it takes.
    pub(crate) fn bytes(&self) -> usize {
        self.depth.len() * Strokes::BYTES + self.long.capacity() * size_of::<Division>()
    }

    /// The strokes that a piece of a block is part of.
    pub(crate) fn shares(&self, block: u32, piece: &Piece, place: Place) -> Shares {
        let block = block as usize;
        let (first, strokes) = (self.first[block], self.first[block + 1] - self.first[block]);
        if strokes <= place.count {
            let index = ((u64::from(place.index) + 1) * u64::from(strokes) - 1) / u64::from(place.count);
            return Shares { first: first + index as u32, count: 1, ..Shares::default() };
        }
        let count = strokes / place.count;
        let per_mm = f64::from(count) / piece.by.x;
        Shares { first: first + place.index * count, count, from: piece.from.x, per_mm }
    }

    /// Takes in what a tile lost.
    pub(crate) fn add(&self, taken: &[Taken]) {
        for Taken { stroke, lost: Lost { units, left_twice, depth } } in taken {
            let stroke = *stroke as usize;
            self.units[stroke].fetch_add(*units, Ordering::Relaxed);
            self.left_twice[stroke].fetch_add(*left_twice, Ordering::Relaxed);
            self.depth[stroke].fetch_max(depth.to_bits(), Ordering::Relaxed);
        }
    }

    /// Each stroke of a block: the share of its way, and what was lost to it.
    pub(crate) fn of_block(&self, block: u32) -> impl Iterator<Item = ((f64, f64), Lost)> {
        let division = self.long.binary_search_by_key(&block, |it| it.block).map(|place| self.long[place]);
        let division = division.unwrap_or(Division { block, strokes: 1, pieces: 1 });
        let first = self.first[block as usize];
        (0..division.strokes).map(move |index| {
            let stroke = (first + index) as usize;
            let lost = Lost {
                units: self.units[stroke].load(Ordering::Relaxed),
                left_twice: self.left_twice[stroke].load(Ordering::Relaxed),
                depth: f32::from_bits(self.depth[stroke].load(Ordering::Relaxed)),
            };
            ((division.start(index), division.start(index + 1)), lost)
        })
    }
}

impl Division {
    /// The share of the block's way at which a stroke starts.
    fn start(&self, stroke: u32) -> f64 {
        let (stroke, strokes, pieces) = (u64::from(stroke), u64::from(self.strokes), u64::from(self.pieces));
        if strokes > pieces {
            stroke as f64 / strokes as f64
        } else {
            (stroke * pieces / strokes) as f64 / pieces as f64
        }
    }
}

/// The strokes that a piece is part of: one, or by the row if there are more.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Shares {
    first: u32,
    count: u32,
    /// Station at the start, mm, and strokes a mm from there.
    from: f64,
    per_mm: f64,
}

impl Shares {
    /// The stroke of a row.
    #[inline]
    pub(crate) fn stroke(&self, station: f64) -> u32 {
        if self.count <= 1 {
            return self.first;
        }
        // A number below zero becomes zero.
        let share = ((station - self.from) * self.per_mm) as u32;
        self.first + share.min(self.count - 1)
    }
}

/// The blocks of more than one stroke, where strokes are so many times as long as they should be.
fn divisions(job: &Job<'_>, stretched: f64, cancel: Option<&AtomicBool>) -> Result<Vec<Division>, CarveError> {
    let (count, top) = (job.motions.count(), job.stock.swept_radius());
    let of_batch = |batch: u32| {
        if is_cancelled(cancel) {
            return Err(CarveError::Cancelled);
        }
        let blocks = batch * BATCH..((batch + 1) * BATCH).min(count);
        let divisions = blocks.filter_map(|block| {
            let motion = job.motions.motion(block)?;
            let cutter = job.cutters.get(usize::from(motion.cutter))?;
            let stroke = stretched * (2.0 * cutter.flutes.radius()).max(SHORTEST);
            Some(division(block, &motion, top, stroke, stretched * WIDEST_TURN)).filter(|it| it.strokes > 1)
        });
        Ok(divisions.collect::<Vec<_>>())
    };
    let batches: Vec<_> = (0..count.div_ceil(BATCH)).into_par_iter().map(of_batch).collect::<Result<_, _>>()?;
    Ok(batches.concat())
}

/// How a motion over a blank of the greatest radius `top` is divided into strokes of about `length` mm that turn the blank
/// by at most `turn` radians.
fn division(block: u32, motion: &Motion, top: f64, length: f64, turn: f64) -> Division {
    let pieces = piece_count(motion, top);
    let along = (motion.to.x - motion.from.x).abs();
    let ways = (way_of(motion, top) / length).max(turn_of(motion) / turn);
    let strokes = (ways as u32).clamp(1, pieces);
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
