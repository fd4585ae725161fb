//! Cases put to a whole carve: what runs there before and instead of the search for single rays is compared too.
//!
//! A batch of cases lies on one round blank, a row for each, far enough apart that no cutter reaches two.

use dryturn_carve::{CarveError, Cutter, Grid, Job, RunOptions, carve};
use dryturn_geom::{Motion, Stock};
use rayon::prelude::*;

use super::compare::{Compared, held_against_reference};
use super::walks::{Case, Family, on_blank, radius_of_blank};

/// Cases in a batch.
pub(crate) const BATCH: u64 = 128;
/// Distance of rows, mm.
const APART: f64 = 80.0;

/// A case on its row, and what the carve takes from its ray.
pub(crate) struct Answer {
    pub(crate) case: Case,
    pub(crate) taken: Vec<(f64, f64)>,
}

/// Carves the cases `first` … `first + BATCH` of a family and compares the ray that each was drawn for.
///
/// # Errors
/// What the carve says.
pub(crate) fn batch(family: Family, first: u64) -> Result<Vec<Compared>, CarveError> {
    let compared = answers(family, first)?.into_par_iter().enumerate().map(|(row, Answer { case, taken })| {
        held_against_reference(first + row as u64, &case, |_| vec![(case.outer, taken.into())])
    });
    Ok(compared.collect())
}

/// The same cases with what the carve says of them.
///
/// # Errors
/// What the carve says.
pub(crate) fn answers(family: Family, first: u64) -> Result<Vec<Answer>, CarveError> {
    let radius = radius_of_blank(first);
    let stock = Stock::round(radius, BATCH as f64 * APART);
    let grid = Grid::over(&stock, APART);
    let rows: Vec<(Case, usize)> = (0..BATCH as usize).map(|row| on_grid(family, first, row, &grid)).collect();
    let cutters: Vec<Cutter> =
        rows.iter().map(|(case, _)| Cutter { flutes: case.flutes.clone(), uppers: vec![] }).collect();
    let motion = |(row, (case, _)): (usize, &(Case, usize))| Motion {
        from: case.from,
        to: case.to,
        arc: None,
        block: row as u32,
        cutter: row as u16,
        rapid: false,
    };
    let motions: Vec<Motion> = rows.iter().enumerate().map(motion).collect();
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let carved = carve(&job, &grid, &RunOptions::default())?;
    let taken = |(row, (case, column)): (usize, (Case, usize))| {
        let solid = carved.spans(row, column).map(|span| (f64::from(span.inner), f64::from(span.outer)));
        Answer { case, taken: complement(solid.collect(), radius) }
    };
    Ok(rows.into_iter().enumerate().map(taken).collect())
}

/// The case of a row, moved to it, and its column.
fn on_grid(family: Family, first: u64, row: usize, grid: &Grid) -> (Case, usize) {
    let column = (first as usize + 7 * row) % grid.angles;
    (on_blank(family, first + row as u64, radius_of_blank(first), grid.station(row), grid.theta(column)), column)
}

/// What is missing of a ray of a length, given what is there from the outside in.
fn complement(solid: Vec<(f64, f64)>, outer: f64) -> Vec<(f64, f64)> {
    let mut missing = Vec::new();
    let mut from = 0.0;
    for (inner, end) in solid.into_iter().rev() {
        missing.push((from, inner));
        from = end;
    }
    missing.push((from, outer));
    missing.retain(|(low, high)| low < high);
    missing
}
