//! Which blocks the wood is looked at before: chosen before the run starts, from what the blocks can reach.

use std::f64::consts::TAU;
use std::ops::Range;
use std::sync::atomic::AtomicBool;

use rayon::prelude::*;

use crate::effort::touches;
use crate::grid::Grid;
use crate::job::{CarveError, Cutter, Job};
use crate::layout::TILE;
use crate::plan::is_cancelled;
use crate::reach::{Extent, Sector, hull, radius_below, rows_between};

/// Most moments that are spread over the blocks, and most changes of cutter that are told.
const MOST: u32 = 1024;
/// As many moments are spread however long it takes to look.
const LEAST: u32 = 16;
/// Rays that can be looked at for each touch of a ray by a block, in a twentieth of the time.
const RAYS_A_TOUCH: f64 = 0.12;
/// And as many in any case, a hundredth of a second's work.
const RAYS: f64 = 2e6;
/// Touches are counted for one in so many blocks.
const ONE_IN: u32 = 8;

/// What the blocks between two moments can reach, and the work they are.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    x: (f64, f64),
    theta: (f64, f64),
    touches: f64,
}

/// The hull of nothing.
const NOWHERE: (f64, f64) = (f64::INFINITY, f64::NEG_INFINITY);

impl Stretch {
    const NOTHING: Stretch = Stretch { x: NOWHERE, theta: NOWHERE, touches: 0.0 };

    fn join(self, other: Stretch) -> Stretch {
        let (x, theta) = (hull(self.x, other.x), hull(self.theta, other.theta));
        Stretch { x, theta, touches: self.touches + other.touches }
    }

    /// Takes in what a cutter can reach of a blank of the greatest radius `top` while its tip keeps to some bounds.
    fn reach(&mut self, cutter: &Cutter, bounds: &Extent, top: f64) {
        let parts = cutter.flutes.parts().iter();
        let Some(radius) = parts.filter_map(|part| radius_below(part, top - bounds.z.0)).reduce(f64::max) else {
            return;
        };
        self.x = hull(self.x, (bounds.x.0 - radius, bounds.x.1 + radius));
        self.theta = hull(self.theta, Sector::seen(bounds, radius, bounds.z.0).ends());
    }

    /// Rays that are looked at after it: those of all tiles it can reach, in the rows it can reach.
    fn rays(&self, grid: &Grid) -> f64 {
        if self.x.0 > self.x.1 {
            return 0.0;
        }
        let rows = rows_between(grid, self.x.0, self.x.1, &(0..grid.stations)).len() as f64;
        let columns = (self.theta.1 - self.theta.0).min(TAU) / grid.angle_step + TILE.1 as f64;
        rows * columns.min(grid.angles as f64)
    }
}

/// The moments, ascending, from 0 to the number of blocks.
pub(super) fn choose(job: &Job<'_>, grid: &Grid, cancel: Option<&AtomicBool>) -> Result<Vec<u32>, CarveError> {
    let count = job.motions.count();
    let parts = MOST.min(count);
    let bound = |part: u32, parts: u32| (u64::from(part) * u64::from(count) / u64::from(parts.max(1))) as u32;
    let stretches: Vec<(Stretch, Vec<u32>)> = (0..parts)
        .into_par_iter()
        .map(|part| {
            let is_going_on = !is_cancelled(cancel);
            is_going_on.then(|| stretch(job, grid, bound(part, parts)..bound(part + 1, parts)))
        })
        .collect::<Option<_>>()
        .ok_or(CarveError::Cancelled)?;
    let every = spacing(&stretches.iter().map(|(stretch, _)| *stretch).collect::<Vec<_>>(), grid);
    let spread = (0..parts).step_by(every).map(|part| bound(part, parts));
    let changes: Vec<u32> = stretches.into_iter().flat_map(|(_, changes)| changes).collect();
    let changes = if changes.len() <= MOST as usize { changes } else { Vec::new() };
    let mut moments: Vec<u32> = spread.chain(changes).chain([0, count]).collect();
    moments.sort_unstable();
    moments.dedup();
    Ok(moments)
}

/// How many stretches go together so that looking at the wood costs little enough.
fn spacing(stretches: &[Stretch], grid: &Grid) -> usize {
    let most = RAYS.max(RAYS_A_TOUCH * stretches.iter().map(|stretch| stretch.touches).sum::<f64>());
    let rays = |every: &usize| {
        let joined = stretches.chunks(*every).map(|some| some.iter().copied().fold(Stretch::NOTHING, Stretch::join));
        joined.map(|stretch| stretch.rays(grid)).sum::<f64>()
    };
    let widest = stretches.len() / LEAST as usize;
    (0..)
        .map(|power| 1 << power)
        .take_while(|every| *every <= widest)
        .find(|every| rays(every) <= most)
        .unwrap_or(widest.max(1))
}

/// What some blocks can reach and cost, and those that begin with another cutter than the one before.
fn stretch(job: &Job<'_>, grid: &Grid, blocks: Range<u32>) -> (Stretch, Vec<u32>) {
    let top = job.stock.swept_radius();
    let mut before = blocks.start.checked_sub(1).and_then(|block| job.motions.motion(block)).map(|it| it.cutter);
    let (mut whole, mut changes) = (Stretch::NOTHING, Vec::new());
    let mut bounds: Option<Extent> = None;
    let mut reach = |cutter: Option<u16>, bounds: Option<Extent>| {
        let cutter = cutter.and_then(|cutter| job.cutters.get(usize::from(cutter)));
        if let Some((cutter, bounds)) = cutter.zip(bounds) {
            whole.reach(cutter, &bounds, top);
        }
    };
    let mut all = 0.0;
    for block in blocks {
        let Some(motion) = job.motions.motion(block) else { continue };
        let last = before.replace(motion.cutter);
        if last.is_some_and(|last| last != motion.cutter) {
            changes.push(block);
            reach(last, bounds.take());
        }
        let extent = Extent::of_motion(&motion);
        bounds = Some(bounds.map_or(extent, |bounds| bounds.join(&extent)));
        if block.is_multiple_of(ONE_IN) {
            all += f64::from(ONE_IN) * touches(job, grid, block);
        }
    }
    reach(before, bounds);
    (Stretch { touches: all, ..whole }, changes)
}
