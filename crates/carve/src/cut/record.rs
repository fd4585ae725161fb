//! What the rays lose, told as it happens: stroke by stroke, and which rows have changed.

use crate::course::{Shares, Strokes};
use crate::kernel::{AimChunk, Change, Heading, LANES, Lost, Wood};
use crate::plan::Plan;
use std::ops::Range;

use super::Pass;

/// Told what each chunk of rays loses. A carve that nobody listens to tells `()`, at no cost.
pub(crate) trait Record {
    /// A piece begins.
    fn begin(&mut self, _pass: &Pass<'_>) {}
    /// A chunk is about to be cut.
    fn before(&mut self, _wood: Wood<'_>) {}
    /// Rays of it, by bit, lost the outer part of their outermost solid, and no more.
    fn lowered(&mut self, _rays: u32) {}
    /// Units of volume that a ray of it lost in another way, if any.
    fn cut(&mut self, _lane: usize, _units: Option<i64>) {}
    /// It was changed, in a row of the grid, and these are its outer ends.
    fn after(&mut self, _plan: &Plan<'_>, _row: usize, _aims: &AimChunk, _outer: &[f32; LANES]) {}
}

impl Record for () {}

/// What a tile lost to a stroke.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Taken {
    pub(crate) stroke: u32,
    pub(crate) lost: Lost,
}

/// Notes of one tile.
pub(crate) struct Recorder<'a> {
    strokes: &'a Strokes,
    /// Strokes that the piece is part of, by the row.
    shares: Shares,
    heading: Heading,
    chunk: Chunk,
    /// What was lost, by stroke; now and then more than one for a stroke.
    pub(crate) taken: Vec<Taken>,
    /// Rows of the grid that the tile has.
    rows: Range<usize>,
    /// Which of them have changed.
    pub(crate) changed: Vec<bool>,
}

/// A chunk that is being cut.
struct Chunk {
    inner: [f32; LANES],
    outer: [f32; LANES],
    lowered: u32,
    cut: [i64; LANES],
}

impl Chunk {
    const NONE: Chunk = Chunk { inner: [0.0; LANES], outer: [0.0; LANES], lowered: 0, cut: [0; LANES] };
}

impl<'a> Recorder<'a> {
    /// Of a tile with these rows of the grid; all count as changed at first.
    pub(crate) fn new(strokes: &'a Strokes, rows: Range<usize>) -> Recorder<'a> {
        let changed = vec![true; rows.len()];
        let (shares, heading) = (Shares::default(), Heading::default());
        Recorder { strokes, shares, heading, chunk: Chunk::NONE, taken: Vec::new(), rows, changed }
    }
}

impl Record for Recorder<'_> {
    fn begin(&mut self, pass: &Pass<'_>) {
        self.shares = self.strokes.shares(pass.block, pass.piece, pass.place);
        self.heading = Heading::of(pass.piece);
    }

    #[inline]
    fn before(&mut self, wood: Wood<'_>) {
        (self.chunk.inner, self.chunk.outer) = (*wood.inner, *wood.outer);
        (self.chunk.lowered, self.chunk.cut) = (0, [0; LANES]);
    }

    #[inline]
    fn lowered(&mut self, rays: u32) {
        self.chunk.lowered = rays;
    }

    #[inline]
    fn cut(&mut self, lane: usize, units: Option<i64>) {
        self.chunk.cut[lane] += units.unwrap_or(0);
    }

    fn after(&mut self, plan: &Plan<'_>, row: usize, aims: &AimChunk, outer: &[f32; LANES]) {
        self.changed[row - self.rows.start] = true;
        let station = plan.grid.station(row);
        let Chunk { inner, outer: before, lowered, cut } = &self.chunk;
        let change = Change { inner, before, after: outer, lowered: *lowered, cut };
        let lost = plan.instructions.lost(&self.heading, station, aims, &change);
        let stroke = self.shares.stroke(station);
        match self.taken.last_mut().filter(|last| last.stroke == stroke) {
            Some(last) => last.lost.add(&lost),
            None => self.taken.push(Taken { stroke, lost }),
        }
    }
}
