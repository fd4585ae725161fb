//! Which pieces each tile has to look at, in program order.

use std::ops::Range;

use rayon::prelude::*;

use crate::grid::Grid;
use crate::job::{CarveError, Job, piece_count};
use crate::kernel::Piece;
use crate::reach::{Extent, Sector, radius_below, rows_between};

/// How the grid is cut into tiles.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layout {
    pub(crate) rows: usize,
    pub(crate) columns: usize,
    pub(crate) down: usize,
    pub(crate) across: usize,
}

/// Rows and columns of a tile that fits the second cache of a core with room to spare.
const TILE: (usize, usize) = (32, 128);

impl Layout {
    pub(crate) fn new(grid: &Grid, tile: Option<(usize, usize)>) -> Layout {
        let (rows, columns) = tile.unwrap_or(TILE);
        let (rows, columns) = (rows.max(1), columns.max(1));
        Layout { rows, columns, down: grid.stations.div_ceil(rows), across: grid.angles.div_ceil(columns) }
    }

    pub(crate) fn count(&self) -> usize {
        self.down * self.across
    }

    pub(crate) fn extent(&self, tile: usize, grid: &Grid) -> (Range<usize>, Range<usize>) {
        let (i, j) = (tile / self.across, tile % self.across);
        let rows = i * self.rows..((i + 1) * self.rows).min(grid.stations);
        let columns = j * self.columns..((j + 1) * self.columns).min(grid.angles);
        (rows, columns)
    }
}

/// A piece: a block and its number within the block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PieceId {
    pub(crate) block: u32,
    pub(crate) sub: u32,
}

/// For each tile the pieces that may reach it, in program order.
pub(crate) type Bins = Vec<Vec<PieceId>>;

/// Blocks that one task bins at a time.
const BATCH: u32 = 4096;

/// Bins all pieces of a job.
///
/// # Errors
/// [`CarveError::NoSuchCutter`] where a motion names a cutter the job lacks.
pub(crate) fn bin(job: &Job<'_>, grid: &Grid, layout: &Layout) -> Result<Bins, CarveError> {
    let count = job.motions.count();
    let batches: Vec<Vec<(u32, PieceId)>> = (0..count.div_ceil(BATCH))
        .into_par_iter()
        .map(|batch| bin_blocks(job, grid, layout, batch * BATCH..((batch + 1) * BATCH).min(count)))
        .collect::<Result<_, _>>()?;
    let mut bins: Bins = vec![Vec::new(); layout.count()];
    for (tile, piece) in batches.iter().flatten() {
        bins[*tile as usize].push(*piece);
    }
    Ok(bins)
}

fn bin_blocks(
    job: &Job<'_>,
    grid: &Grid,
    layout: &Layout,
    blocks: Range<u32>,
) -> Result<Vec<(u32, PieceId)>, CarveError> {
    let top = job.stock.swept_radius();
    let mut found = Vec::new();
    for block in blocks {
        let Some(motion) = job.motions.motion(block) else { continue };
        let cutter = job.cutters.get(usize::from(motion.cutter)).ok_or(CarveError::NoSuchCutter {
            block,
            cutter: motion.cutter,
            count: job.cutters.len(),
        })?;
        if motion.from.z.min(motion.to.z) >= top && motion.arc.is_none() {
            continue;
        }
        let pieces = piece_count(&motion, top);
        for sub in 0..pieces {
            let piece = piece_of(&motion, sub, pieces);
            let Some((extent, radius, lowest)) = widest(cutter, &piece, top) else { continue };
            let id = PieceId { block, sub };
            spread(grid, layout, &extent, radius, lowest, |tile| found.push((tile, id)));
        }
    }
    Ok(found)
}

/// The straight piece with this number of a motion.
pub(crate) fn piece_of(motion: &dryturn_geom::Motion, sub: u32, pieces: u32) -> Piece {
    if pieces == 1 {
        return Piece::new(&motion.from, &motion.to);
    }
    let at = |k: u32| motion.at(f64::from(k) / f64::from(pieces));
    Piece::new(&at(sub), &at(sub + 1))
}

/// The widest radius and the lowest height at which any body of the cutter can meet wood up to the radius `top`.
fn widest(cutter: &crate::job::Cutter, piece: &Piece, top: f64) -> Option<(Extent, f64, f64)> {
    let extent = Extent::of(piece);
    let room = top - extent.z.0;
    let flutes = cutter.flutes.parts().iter().filter_map(|part| radius_below(part, room));
    let uppers = cutter.uppers.iter().filter(|body| room > body.from).map(|body| body.radius);
    let radius = flutes.chain(uppers).reduce(f64::max)?;
    Some((extent, radius, extent.z.0))
}

fn spread(grid: &Grid, layout: &Layout, extent: &Extent, radius: f64, lowest: f64, mut into: impl FnMut(u32)) {
    let rows = rows_between(grid, extent.x.0 - radius, extent.x.1 + radius, &(0..grid.stations));
    if rows.is_empty() {
        return;
    }
    let columns = Sector::seen(extent, radius, lowest).columns(grid, &(0..grid.angles));
    for down in rows.start / layout.rows..=(rows.end - 1) / layout.rows {
        // Both ranges may end in the same tile where the sector wraps round nearly the whole turn.
        let mut last = None;
        for columns in columns.iter().rev().filter(|range| !range.is_empty()) {
            for across in columns.start / layout.columns..=(columns.end - 1) / layout.columns {
                if last != Some(across) {
                    into((down * layout.across + across) as u32);
                }
                last = Some(across);
            }
        }
    }
}
