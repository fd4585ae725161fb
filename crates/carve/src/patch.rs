//! A part of the grid carved again at a finer pitch.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::dexel::Dexel;
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::layout::Layout;
use crate::plan::{Plan, look};
use crate::tile::{Span, Tile};

/// Some rows and columns of a grid, carved. Its rays are those of a carve of the whole grid, bit for bit.
#[derive(Clone, Debug)]
pub struct Patch {
    grid: Grid,
    rows: Range<usize>,
    columns: Range<usize>,
    layout: Layout,
    /// By their number in the layout.
    tiles: BTreeMap<usize, Tile>,
}

/// Rows and columns of a tile: small, so that little is carved beyond the edges of a patch.
const TILE: (usize, usize) = (16, 32);

/// Carves the cells of some rows and columns of a grid again, each cut into `factor` × `factor` cells.
///
/// The patch is part of the grid [`Grid::finer`]; row i and column j of `grid` become the rows i·`factor` and the columns
/// j·`factor` and those after. The columns may run on past the last one, around to the first.
///
/// # Errors
/// As [`carve`](crate::carve()).
pub fn finer(
    job: &Job<'_>,
    grid: &Grid,
    rows: Range<usize>,
    columns: Range<usize>,
    factor: usize,
    options: &RunOptions<'_>,
) -> Result<Patch, CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    let options = RunOptions { tile: options.tile.or(Some(TILE)), ..*options };
    let fine = grid.finer(factor);
    let factor = factor.max(1);
    let rows = (rows.start * factor).min(fine.stations)..(rows.end * factor).min(fine.stations);
    let columns = columns.start * factor..(columns.end * factor).min(columns.start * factor + fine.angles);
    pool.install(|| {
        let plan = Plan::new(job, &fine, &options)?;
        let numbers = tiles_of(&plan.layout, &fine, &rows, &columns);
        let (done, all) = (AtomicUsize::new(0), numbers.len());
        let carve = |number: usize| {
            let mut state = plan.blank(number, options.cancel)?;
            plan.advance(&mut state, 0..job.motions.count(), |_| look(options.cancel))?;
            if let Some(progress) = options.progress {
                progress((done.fetch_add(1, Ordering::Relaxed) + 1) as f64 / all as f64);
            }
            Ok((number, state.tile))
        };
        let tiles = numbers.into_par_iter().map(carve).collect::<Result<Vec<_>, CarveError>>()?;
        Ok(Patch { layout: plan.layout, tiles: tiles.into_iter().collect(), grid: fine.clone(), rows, columns })
    })
}

/// The tiles that hold any ray of the rows and columns.
fn tiles_of(layout: &Layout, grid: &Grid, rows: &Range<usize>, columns: &Range<usize>) -> Vec<usize> {
    let mut numbers: Vec<usize> = rows
        .clone()
        .step_by(layout.rows.min(rows.len().max(1)))
        .chain(rows.clone().last())
        .flat_map(|row| columns.clone().map(move |column| (row, column)))
        .map(|(row, column)| layout.tile_of(row, column % grid.angles))
        .collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

impl Patch {
    /// The whole grid that the patch is part of.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Its rows on that grid.
    pub fn rows(&self) -> Range<usize> {
        self.rows.clone()
    }

    /// Its columns on that grid; they may run on past the last one, around to the first.
    pub fn columns(&self) -> Range<usize> {
        self.columns.clone()
    }

    /// A ray, by its row and column on that grid.
    ///
    /// # Panics
    /// If the row or the column does not belong to the patch.
    pub fn dexel(&self, row: usize, column: usize) -> Dexel<'_> {
        let column = column % self.grid.angles;
        Dexel::new(&self.tiles[&self.layout.tile_of(row, column)], row, column)
    }

    /// The solid along a ray, from the outside in.
    ///
    /// # Panics
    /// As [`Patch::dexel`].
    pub fn spans(&self, row: usize, column: usize) -> impl Iterator<Item = Span> + use<> {
        self.dexel(row, column).spans()
    }

    /// The outermost radius of solid on a ray, mm; 0 where nothing is left.
    ///
    /// # Panics
    /// As [`Patch::dexel`].
    pub fn radius(&self, row: usize, column: usize) -> f32 {
        self.dexel(row, column).radius()
    }
}
