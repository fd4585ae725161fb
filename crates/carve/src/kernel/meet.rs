//! Which rays of a tile a piece may meet, row by row, and out of all rows side by side.

use std::ops::Range;

use super::filter::{Bars, meets};
use super::lanes::{AimChunk, LANES, Wood};
use super::settle::{Chunk, Gathered};

/// A row of a tile under a part of the flutes.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Its number on the grid, and its station, mm.
    pub(crate) row: usize,
    pub(crate) station: f64,
    /// Nothing of the part is lower here, mm.
    pub(crate) floor: f64,
    /// Columns of the tile that can see it.
    pub(crate) within: Range<usize>,
}

/// The outermost solid of the rays of a tile.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field<'a> {
    /// The first row, on the grid.
    pub(crate) first: usize,
    /// Chunks of a row.
    pub(crate) chunks: usize,
    pub(crate) inner: &'a [f32],
    pub(crate) outer: &'a [f32],
    /// Greatest outer end of each chunk.
    pub(crate) tops: &'a [f32],
}

impl<'a> Field<'a> {
    /// A chunk of a row of the grid.
    #[inline(always)]
    pub(crate) fn wood(&self, row: usize, chunk: usize) -> Wood<'a> {
        let first = ((row - self.first) * self.chunks + chunk) * LANES;
        let whole = "rows are filled up to whole chunks";
        Wood {
            inner: self.inner[first..].first_chunk().expect(whole),
            outer: self.outer[first..].first_chunk().expect(whole),
        }
    }

    #[inline(always)]
    fn top(&self, row: usize, chunk: usize) -> f32 {
        self.tops[(row - self.first) * self.chunks + chunk]
    }
}

/// Gathers the rays under the rows that the part behind the bars may meet, so many of them looked at together.
#[inline(always)]
pub(crate) fn gather<const TOGETHER: usize>(
    rows: &[Row],
    bars: &mut Bars,
    aims: &[AimChunk],
    field: &Field<'_>,
    gathered: &mut Gathered,
) {
    for Row { row, station, floor, within } in rows {
        let xi = bars.go_to(*station);
        for chunk in within.start / LANES..within.end.div_ceil(LANES) {
            if f64::from(field.top(*row, chunk)) <= *floor {
                continue;
            }
            let (aims, wood) = (&aims[chunk], field.wood(*row, chunk));
            let rays = meets::<TOGETHER>(bars, lanes_within(within, chunk), &aims.rough, wood.outer);
            if rays != 0 {
                gathered.add(Chunk { row: *row, chunk, rays }, xi, aims, wood);
            }
        }
    }
}

/// The bits of a chunk's lanes that lie within columns of the tile.
#[inline(always)]
fn lanes_within(within: &Range<usize>, chunk: usize) -> u32 {
    let first = within.start.saturating_sub(chunk * LANES);
    let end = (within.end - chunk * LANES).min(LANES);
    (u32::MAX >> (32 - end as u32)) & (u32::MAX << first as u32)
}
