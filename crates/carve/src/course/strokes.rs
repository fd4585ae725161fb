//! What each stroke took.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, Ordering};

use super::division::{Division, divided};
use crate::cut::Taken;
use crate::job::{CarveError, Job};
use crate::kernel::{Lost, Piece};
use crate::tree::Place;

/// All strokes of a job, filled in from any thread.
#[derive(Debug, Default)]
pub(crate) struct Strokes {
    /// Blocks of more than one stroke.
    long: Vec<Division>,
    /// First stroke of every block, and the number of all; blocks of one stroke have the same.
    first: Vec<u32>,
    units: Vec<AtomicI64>,
    left_twice: Vec<AtomicI64>,
    /// Bits of a number that is not negative, which grow with it.
    depth: Vec<AtomicU32>,
}

/// What is known of one stroke.
pub(crate) struct Told {
    /// The blocks whose way it is, or is part of.
    pub(crate) blocks: Range<u32>,
    /// The share of their way.
    pub(crate) share: (f64, f64),
    pub(crate) lost: Lost,
}

impl Strokes {
    /// Bytes for each stroke, its block's part included.
    pub(crate) const BYTES: usize = size_of::<(i64, i64, u32, u32)>();

    /// The strokes of a job; none is of blocks on both sides of one of the `moments`, which ascend.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn of(job: &Job<'_>, moments: &[u32], cancel: Option<&AtomicBool>) -> Result<Strokes, CarveError> {
        let (long, begun) = divided(job, moments, cancel)?;
        let mut first = begun;
        let mut next = 0;
        for first in &mut first {
            next += *first;
            // Blocks that begin none are part of the last.
            *first = next - (*first).max(1);
        }
        first.push(next);
        let none = || (0..next).map(|_| AtomicI64::new(0)).collect();
        let depth = (0..next).map(|_| AtomicU32::new(0)).collect();
        Ok(Strokes { long, first, units: none(), left_twice: none(), depth })
    }

    /// Bytes it takes.
    pub(crate) fn bytes(&self) -> usize {
        self.depth.len() * size_of::<(i64, i64, u32)>()
            + self.first.len() * size_of::<u32>()
            + self.long.capacity() * size_of::<Division>()
    }

    /// The first stroke of a block, and how many it has.
    fn of_block(&self, block: u32) -> (u32, u32) {
        let block = block as usize;
        let (first, next) = (self.first[block], self.first[block + 1]);
        (first, (next - first).max(1))
    }

    /// The strokes that a piece of a block is part of.
    pub(crate) fn shares(&self, block: u32, piece: &Piece, place: Place) -> Shares {
        let (first, strokes) = self.of_block(block);
        if strokes == 1 {
            return Shares { first, count: 1, ..Shares::default() };
        }
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

    /// The strokes that begin in some blocks, in their order; these begin and end with strokes.
    pub(crate) fn within(&self, blocks: Range<u32>) -> impl Iterator<Item = Told> {
        let end = blocks.end;
        let mut long = self.long[self.long.partition_point(|it| it.block < blocks.start)..].iter().peekable();
        let mut next = blocks.start;
        let runs = std::iter::from_fn(move || {
            let block = (next < end).then_some(next)?;
            let first = self.first[block as usize];
            next += 1;
            while next < end && self.first[next as usize] == first {
                next += 1;
            }
            let division = long.next_if(|it| it.block == block).copied();
            Some((first, block..next, division.unwrap_or(Division { block, strokes: 1, pieces: 1 })))
        });
        runs.flat_map(move |(first, blocks, division)| {
            (0..division.strokes).map(move |index| Told {
                blocks: blocks.clone(),
                share: (division.start(index), division.start(index + 1)),
                lost: self.lost((first + index) as usize),
            })
        })
    }

    fn lost(&self, stroke: usize) -> Lost {
        Lost {
            units: self.units[stroke].load(Ordering::Relaxed),
            left_twice: self.left_twice[stroke].load(Ordering::Relaxed),
            depth: f32::from_bits(self.depth[stroke].load(Ordering::Relaxed)),
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
