//! What blocks cost, told beforehand.

use crate::grid::Grid;
use crate::job::{Job, piece_count};
use crate::reach::{Extent, Sector, radius_below, rows_between};

/// What a row of rays costs beside its rays, in rays.
const ROW_COST: f64 = 5.0;

/// About how many rays a block is held against, by the windows of its pieces over the untouched blank.
pub(crate) fn touches(job: &Job<'_>, grid: &Grid, block: u32) -> f64 {
    let Some(motion) = job.motions.motion(block) else { return 0.0 };
    let Some(cutter) = job.cutters.get(usize::from(motion.cutter)) else { return 0.0 };
    let top = job.stock.swept_radius();
    let whole = Extent::of_motion(&motion);
    let pieces = f64::from(piece_count(&motion, top));
    let per_piece = |(from, to): (f64, f64)| (to - from) / pieces;
    let piece = Extent { turn: (0.0, per_piece(whole.turn)), ..whole };
    let lowest = whole.z.0;
    let flutes = cutter.flutes.parts().iter().filter_map(|part| radius_below(part, top - lowest));
    let windows = flutes.map(|radius| {
        let all = rows_between(grid, whole.x.0 - radius, whole.x.1 + radius, &(0..grid.stations)).len() as f64;
        let rows = all.min((2.0 * radius + per_piece(whole.x)) / grid.station_step + 1.0);
        let (from, to) = Sector::seen(&piece, radius, lowest).ends();
        let columns = ((to - from) / grid.angle_step).min(grid.angles as f64);
        rows * (columns + ROW_COST)
    });
    pieces * windows.sum::<f64>()
}
