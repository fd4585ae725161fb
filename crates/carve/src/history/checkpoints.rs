//! Where a run is saved: chosen before it starts, alike for all tiles.

use rayon::prelude::*;

use crate::effort::touches;
use crate::job::CarveError;
use crate::plan::{Plan, is_cancelled};
use std::sync::atomic::AtomicBool;

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
            is_going_on
                .then(|| blocks.map(|block| touches(&plan.job, &plan.grid, block) as f32).collect())
                .ok_or(CarveError::Cancelled)
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
