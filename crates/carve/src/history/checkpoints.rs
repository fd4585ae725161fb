//! Where a run is saved: chosen before it starts, alike for all tiles.

use rayon::prelude::*;

use crate::job::piece_count;
use crate::plan::{Plan, is_cancelled};
use crate::reach::{Extent, Sector, radius_below, rows_between};
use std::sync::atomic::AtomicBool;

use crate::job::CarveError;

/// What a row of rays costs beside its rays, in rays.
const ROW_COST: f64 = 5.0;

/// Blocks that one task looks at.
const BATCH: u32 = 4096;

/// Blocks, the first of them 0, with about `every` touches of rays between one and the next.
///
/// # Errors
/// [`CarveError::Cancelled`] if told to stop.
pub(super) fn choose(plan: &Plan<'_>, every: u64, cancel: Option<&AtomicBool>) -> Result<Vec<u32>, CarveError> {
    let count = plan.job.motions.count();
    let batches: Vec<Vec<f32>> = (0..count.div_ceil(BATCH))
        .into_par_iter()
        .map(|batch| {
            let blocks = batch * BATCH..((batch + 1) * BATCH).min(count);
            let is_going_on = !is_cancelled(cancel);
            is_going_on.then(|| blocks.map(|block| touches(plan, block) as f32).collect()).ok_or(CarveError::Cancelled)
        })
        .collect::<Result<_, _>>()?;
    let (mut checkpoints, mut since) = (vec![0], 0.0);
    for (block, touches) in (0..).zip(batches.into_iter().flatten()) {
        if since > 0.0 && since + f64::from(touches) > every as f64 {
            checkpoints.push(block);
            since = 0.0;
        }
        since += f64::from(touches);
    }
    Ok(checkpoints)
}

/// About how many rays a block is held against, by the windows of its pieces over the untouched blank.
fn touches(plan: &Plan<'_>, block: u32) -> f64 {
    let Some(motion) = plan.job.motions.motion(block) else { return 0.0 };
    let Some(cutter) = plan.job.cutters.get(usize::from(motion.cutter)) else { return 0.0 };
    let (grid, top) = (&plan.grid, plan.job.stock.swept_radius());
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
