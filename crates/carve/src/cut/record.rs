//! What the rays lose, told as it happens: stroke by stroke, and which rows have changed.

use std::ops::Range;

use crate::course::{Shares, Strokes};
use crate::kernel::{AimChunk, Heading, Instructions, LANES, Lost, Side};
use crate::tile::Span;

use super::Pass;

/// Told what the rays lose. A carve that nobody listens to tells `()`, at no cost.
pub(crate) trait Record {
    /// Whether anybody listens.
    fn is_listening(&self) -> bool {
        false
    }
    /// A piece begins.
    fn begin(&mut self, _pass: &Pass<'_>) {}
    /// It comes to a row of the grid.
    fn go_to(&mut self, _row: usize, _station: f64) {}
    /// Brings rays, by bit, down to new outer ends, as [`Instructions::lower`] does.
    #[inline]
    fn lower(
        &mut self,
        instructions: Instructions,
        rays: u32,
        ends: (&[f32; LANES], u32),
        _aims: &AimChunk,
        (outer, outer_by): (&mut [f32; LANES], &mut [u32; LANES]),
    ) -> (i64, f32) {
        instructions.lower(rays, ends, outer, outer_by)
    }
    /// A ray of a chunk that had this outermost solid lost so many units of volume, if any, and now has another.
    fn cut(&mut self, _aims: &AimChunk, _lane: usize, _before: Option<(Span, i64)>, _after: Span) {}
}

impl Record for () {}

/// What a tile lost to a stroke.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Taken {
    pub(crate) stroke: u32,
    pub(crate) lost: Lost,
}

/// Room for what is taken from a tile before it has to grow.
const ROOM: usize = 1024;

/// Notes of one tile.
pub(crate) struct Recorder<'a> {
    strokes: &'a Strokes,
    /// Strokes that the piece is part of, by the row.
    shares: Shares,
    heading: Heading,
    /// The row that the piece is at, of those of the tile, and its station.
    row: usize,
    station: f64,
    /// The side of that row, as soon as it loses anything: most rows under a piece do not.
    here: Side,
    has_entered: bool,
    /// What is lost to the stroke under way, where there is one.
    going_on: Option<Taken>,
    /// What was lost to strokes before, now and then more than one for a stroke.
    taken: Vec<Taken>,
    /// Rows of the grid that the tile has.
    rows: Range<usize>,
    /// Which of them have changed.
    pub(crate) changed: Vec<bool>,
}

impl<'a> Recorder<'a> {
    /// Of a tile with these rows of the grid; all count as changed at first.
    pub(crate) fn new(strokes: &'a Strokes, rows: Range<usize>) -> Recorder<'a> {
        let changed = vec![true; rows.len()];
        let (shares, heading) = (Shares::default(), Heading::default());
        let (here, has_entered, going_on, taken) = (Side::default(), false, None, Vec::with_capacity(ROOM));
        Recorder { strokes, shares, heading, row: 0, station: 0.0, here, has_entered, going_on, taken, rows, changed }
    }

    /// What was lost, by stroke; now and then more than one for a stroke.
    pub(crate) fn finish(mut self) -> Vec<Taken> {
        self.taken.extend(self.going_on);
        self.taken
    }

    /// The side of the row, which loses something.
    #[inline]
    fn here(&mut self) -> &Side {
        if !self.has_entered {
            self.enter();
        }
        &self.here
    }

    fn enter(&mut self) {
        self.changed[self.row] = true;
        (self.here, self.has_entered) = (self.heading.at(self.station), true);
        let stroke = self.shares.stroke(self.station);
        if self.going_on.is_none_or(|taken| taken.stroke != stroke) {
            self.taken.extend(self.going_on.replace(Taken { stroke, lost: Lost::default() }));
        }
    }

    #[inline]
    fn add(&mut self, lost: &Lost) {
        if let Some(taken) = &mut self.going_on {
            taken.lost.add(lost);
        }
    }
}

impl Record for Recorder<'_> {
    fn is_listening(&self) -> bool {
        true
    }

    fn begin(&mut self, pass: &Pass<'_>) {
        self.shares = self.strokes.shares(pass.block, pass.piece, pass.place);
        self.heading = Heading::of(pass.piece, pass.cutter.flutes.radius());
    }

    fn go_to(&mut self, row: usize, station: f64) {
        (self.row, self.station, self.has_entered) = (row - self.rows.start, station, false);
    }

    #[inline]
    fn lower(
        &mut self,
        instructions: Instructions,
        rays: u32,
        ends: (&[f32; LANES], u32),
        aims: &AimChunk,
        ray_ends: (&mut [f32; LANES], &mut [u32; LANES]),
    ) -> (i64, f32) {
        let (lost, top) = instructions.lower_told(rays, ends, self.here(), aims, ray_ends);
        self.add(&lost);
        (lost.units, top)
    }

    fn cut(&mut self, aims: &AimChunk, lane: usize, before: Option<(Span, i64)>, after: Span) {
        if let Some((Span { inner, outer, .. }, units)) = before {
            let after = (after.inner, after.outer);
            let lost = Lost::of_ray(self.here(), &aims.aim(lane), units, (inner, outer), after);
            self.add(&lost);
        }
    }
}
