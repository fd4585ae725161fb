//! How the grid is cut into tiles.

use std::ops::Range;

use crate::grid::Grid;

/// Rows and columns of rays that one thread carves in one go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layout {
    pub(crate) rows: usize,
    pub(crate) columns: usize,
    pub(crate) down: usize,
    pub(crate) across: usize,
}

/// Rows of rays that are opened together where a piece is packed: those of a tile.
pub const BAND_ROWS: usize = 32;

/// Rows and columns of a tile that fits the second cache of a core with room to spare.
pub(crate) const TILE: (usize, usize) = (BAND_ROWS, 128);

impl Layout {
    pub(crate) fn new(grid: &Grid, tile: Option<(usize, usize)>) -> Layout {
        let (rows, columns) = tile.unwrap_or(TILE);
        let (rows, columns) = (rows.max(1), columns.max(1));
        Layout { rows, columns, down: grid.stations.div_ceil(rows), across: grid.angles.div_ceil(columns) }
    }

    pub(crate) fn count(&self) -> usize {
        self.down * self.across
    }

    /// Rows and columns of a tile on the grid.
    pub(crate) fn extent(&self, tile: usize, grid: &Grid) -> (Range<usize>, Range<usize>) {
        let (i, j) = (tile / self.across, tile % self.across);
        let rows = i * self.rows..((i + 1) * self.rows).min(grid.stations);
        let columns = j * self.columns..((j + 1) * self.columns).min(grid.angles);
        (rows, columns)
    }

    /// The tile that holds a ray.
    pub(crate) fn tile_of(&self, row: usize, column: usize) -> usize {
        row / self.rows * self.across + column / self.columns
    }
}
