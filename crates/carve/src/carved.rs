//! What is left, and what every block did.

use std::borrow::Cow;
use std::ops::Range;

use rayon::prelude::*;

use crate::dexel::Dexel;
use crate::grid::Grid;
use crate::job::Upper;
use crate::kernel::units;
use crate::layout::Layout;
use crate::tile::{Held, Span, Tile, cubic_mm};
use crate::watch::Reach;

/// A carved blank.
///
/// Where memory was short its tiles are packed (see [`RunOptions::memory`](crate::RunOptions::memory)). A ray asked for by
/// itself then costs the unpacking of its tile, some hundred microseconds; whoever looks at all of them goes band by band
/// ([`Carved::bands`], [`Carved::band`]), or with a [`Carved::reader`] for each thread.
#[derive(Clone, Debug)]
pub struct Carved {
    pub(crate) grid: Grid,
    pub(crate) layout: Layout,
    pub(crate) tiles: Vec<Held>,
    pub(crate) blank: i128,
    pub(crate) removed: Vec<i64>,
    /// For each rapid that removed wood, the ray it went deepest in, measured inside the flutes.
    pub rapids: Vec<Reach>,
    /// For each block that removed wood below the rotary axis, the ray on which it went farthest; depth in mm.
    pub beyond_axis: Vec<Reach>,
    /// For each kind of body above the flutes and each block in which it met wood, the ray it went deepest in.
    pub uppers: Vec<(Upper, Vec<Reach>)>,
    pub(crate) touches: u64,
    pub(crate) bytes: u64,
}

impl Carved {
    /// Where the rays stand.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// How many times a ray was held against a piece of motion: what the work is counted in. It depends on the tiles.
    pub fn touches(&self) -> u64 {
        self.touches
    }

    /// Bytes it takes, what is kept about blocks included.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// The solid along a ray, from the outside in.
    ///
    /// # Panics
    /// If the row or the column is not on the grid.
    pub fn spans(&self, row: usize, column: usize) -> impl Iterator<Item = Span> + use<> {
        self.look(row, column, |dexel| dexel.spans())
    }

    /// The outermost radius of solid on a ray, mm; 0 where nothing is left.
    ///
    /// # Panics
    /// As [`Carved::spans`].
    pub fn radius(&self, row: usize, column: usize) -> f32 {
        self.look(row, column, |dexel| dexel.radius())
    }

    /// The block that made the outermost end of a ray, or emptied it; [`UNTOUCHED`](crate::UNTOUCHED) or
    /// [`PREPARED`](crate::PREPARED) where none did.
    ///
    /// # Panics
    /// As [`Carved::spans`].
    pub fn cut_by(&self, row: usize, column: usize) -> u32 {
        self.look(row, column, |dexel| dexel.cut_by())
    }

    fn look<T>(&self, row: usize, column: usize, at: impl FnOnce(Dexel<'_>) -> T) -> T {
        let tile = self.tiles[self.layout.tile_of(row, column)].tile();
        at(Dexel::new(&tile, row, column))
    }

    /// The rows of the grid, in order, in portions that cost least to be opened.
    pub fn bands(&self) -> impl Iterator<Item = Range<usize>> + use<> {
        let (rows, all) = (self.layout.rows, self.grid.stations);
        (0..self.layout.down).map(move |band| band * rows..((band + 1) * rows).min(all))
    }

    /// Some rows of the grid to look at; tiles that are packed are unpacked for as long as the band lives, on all threads
    /// of the pool that it is called in.
    ///
    /// # Panics
    /// If there is no such row on the grid.
    pub fn band(&self, rows: Range<usize>) -> Band<'_> {
        assert!(rows.start <= rows.end && rows.end <= self.grid.stations, "there are no such rows: {rows:?}");
        let across = self.layout.across;
        let tiles = rows.start / self.layout.rows * across..rows.end.div_ceil(self.layout.rows) * across;
        let first = tiles.start;
        let tiles = self.tiles[tiles].par_iter().map(Held::tile).collect();
        Band { grid: &self.grid, layout: self.layout, rows, first, tiles }
    }

    /// Volume of the blank before the first block, bore and dimple taken out, mm³.
    pub fn blank_mm3(&self) -> f64 {
        self.mm3(self.blank)
    }

    /// Volume removed by a block, mm³.
    pub fn removed_by(&self, block: u32) -> f64 {
        self.mm3(i128::from(self.removed[block as usize]))
    }

    /// Volume removed by a range of blocks, mm³.
    pub fn removed_mm3(&self, blocks: std::ops::Range<u32>) -> f64 {
        let blocks = blocks.start as usize..blocks.end as usize;
        self.mm3(self.removed[blocks].iter().map(|&units| i128::from(units)).sum())
    }

    /// Volume that is left, mm³: that of the blank less all that was removed. It is the sum over the rays to the last unit,
    /// see [`Carved::check_integrity`].
    pub fn left_mm3(&self) -> f64 {
        self.mm3(self.blank - self.removed_units())
    }

    fn removed_units(&self) -> i128 {
        self.removed.iter().map(|&units| i128::from(units)).sum()
    }

    fn mm3(&self, units: i128) -> f64 {
        cubic_mm(units as f64, self.grid.station_step, self.grid.angle_step)
    }

    /// Checks what must hold of any carved blank: on every ray spans that are sorted, disjoint, finite and inside
    /// `greatest_radius` mm, and to the last unit blank = removed + left.
    ///
    /// # Errors
    /// A sentence naming the first thing that does not hold.
    pub fn check_integrity(&self, greatest_radius: f64) -> Result<(), String> {
        let most = greatest_radius as f32 * (1.0 + 1e-6);
        let tiles = self.tiles.par_iter().map(|tile| sound_units(&tile.tile(), most)).collect::<Result<Vec<_>, _>>()?;
        let (left, removed): (i128, _) = (tiles.into_iter().sum(), self.removed_units());
        if self.blank != removed + left {
            return Err(format!("blank {} is not removed {removed} + left {left}", self.blank));
        }
        Ok(())
    }
}

/// The units of solid in a tile, if on every ray the spans are sorted, disjoint, finite and within a radius.
fn sound_units(tile: &Tile, most: f32) -> Result<i128, String> {
    let mut sum = 0;
    for ray in tile.rays() {
        let mut above = most;
        for span in tile.spans(ray) {
            let sound = span.inner >= 0.0 && span.inner < span.outer && span.outer <= above;
            if !(sound && span.outer.is_finite()) {
                let (rows, columns) = (&tile.rows, &tile.columns);
                return Err(format!("ray {ray} of rows {rows:?}, columns {columns:?} holds {span:?} under {above}"));
            }
            above = span.inner;
            sum += i128::from(units(span.inner, span.outer));
        }
    }
    Ok(sum)
}

/// Some rows of a carved blank, open to be looked at.
#[derive(Debug)]
pub struct Band<'a> {
    grid: &'a Grid,
    layout: Layout,
    rows: Range<usize>,
    /// Number of the first of its tiles.
    first: usize,
    tiles: Vec<Cow<'a, Tile>>,
}

impl Band<'_> {
    /// The whole grid that it is part of.
    pub fn grid(&self) -> &Grid {
        self.grid
    }

    /// Its rows on that grid.
    pub fn rows(&self) -> Range<usize> {
        self.rows.clone()
    }

    /// A ray, by its row and column on the whole grid.
    ///
    /// # Panics
    /// If the row is not one of its own or the column not on the grid.
    pub fn dexel(&self, row: usize, column: usize) -> Dexel<'_> {
        Dexel::new(&self.tiles[self.layout.tile_of(row, column) - self.first], row, column)
    }

    /// The rays of a row in the order of their columns; quicker than one by one.
    ///
    /// # Panics
    /// If the row is not one of its own.
    pub fn row(&self, row: usize) -> impl Iterator<Item = Dexel<'_>> {
        let first = row / self.layout.rows * self.layout.across - self.first;
        self.tiles[first..first + self.layout.across].iter().flat_map(move |tile| Dexel::row(tile, row))
    }
}
