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

/// Stretches of blocks that are looked at; moments lie between them. As many changes of cutter are told at the most.
const PARTS: u32 = 1024;
/// Most moments that are spread over the blocks.
const MOST: u32 = 256;
/// As many moments are spread however long it takes to look.
const LEAST: u32 = 16;
/// Rays that can be looked at for each touch of a ray by a block, in a fortieth of the time.
const RAYS_A_TOUCH: f64 = 0.06;
/// And as many in any case, half a hundredth of a second's work.
const RAYS: f64 = 1e6;
/// Of a stretch of many blocks one in so many is looked at, but about so many at the least.
const ONE_IN: u32 = 16;
const AT_LEAST: u32 = 12;

/// What the blocks between two moments can reach, and the work they are.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    x: (f64, f64),
    theta: (f64, f64),
    /// Where the tip itself goes, and its least height over the axis, mm.
    tip: (f64, f64),
    lowest: f64,
    touches: f64,
}

/// The hull of nothing.
const NOWHERE: (f64, f64) = (f64::INFINITY, f64::NEG_INFINITY);

impl Stretch {
    const NOTHING: Stretch = Stretch { x: NOWHERE, theta: NOWHERE, tip: NOWHERE, lowest: f64::INFINITY, touches: 0.0 };

    fn join(self, other: Stretch) -> Stretch {
        Stretch {
            x: hull(self.x, other.x),
            theta: hull(self.theta, other.theta),
            tip: hull(self.tip, other.tip),
            lowest: self.lowest.min(other.lowest),
            touches: self.touches + other.touches,
        }
    }

    /// Takes in what a cutter can reach of a blank of the greatest radius `top` while its tip keeps to some bounds.
    fn reach(&mut self, cutter: &Cutter, bounds: &Extent, top: f64) {
        let parts = cutter.flutes.parts().iter();
        let Some(radius) = parts.filter_map(|part| radius_below(part, top - bounds.z.0)).reduce(f64::max) else {
            return;
        };
        self.x = hull(self.x, (bounds.x.0 - radius, bounds.x.1 + radius));
        self.theta = hull(self.theta, Sector::seen(bounds, radius, bounds.z.0).ends());
        self.tip = hull(self.tip, bounds.x);
        self.lowest = self.lowest.min(bounds.z.0);
    }

    /// By which share of its radius wood becomes thinner at the most, as far as the tip tells; `floors` are the radii that are
    /// left in the rows before it, and after.
    fn thinner(&self, floors: &mut [f64], grid: &Grid) -> f64 {
        if self.tip.0 > self.tip.1 {
            return 0.0;
        }
        let (floor, step) = (self.lowest.max(0.0), grid.station_step);
        let rows = rows_between(grid, self.tip.0 - step, self.tip.1 + step, &(0..grid.stations));
        let lowered = floors.get_mut(rows).unwrap_or_default().iter_mut().map(|radius| {
            let before = std::mem::replace(radius, radius.min(floor));
            if before > floor { 1.0 - floor / before } else { 0.0 }
        });
        lowered.fold(0.0, f64::max)
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
    let parts = PARTS.min(count);
    let bound = |part: u32| (u64::from(part) * u64::from(count) / u64::from(parts.max(1))) as u32;
    let stretches: Vec<(Stretch, Vec<u32>)> = (0..parts)
        .into_par_iter()
        .map(|part| {
            let is_going_on = !is_cancelled(cancel);
            is_going_on.then(|| stretch(job, grid, bound(part)..bound(part + 1)))
        })
        .collect::<Option<_>>()
        .ok_or(CarveError::Cancelled)?;
    let (stretches, changes): (Vec<Stretch>, Vec<Vec<u32>>) = stretches.into_iter().unzip();
    let spread = spread(&stretches, job.stock.swept_radius(), grid).into_iter().map(|part| bound(part as u32));
    let changes = changes.concat();
    let changes = if changes.len() <= PARTS as usize { changes } else { Vec::new() };
    let mut moments: Vec<u32> = spread.chain(changes).chain([0, count]).collect();
    moments.sort_unstable();
    moments.dedup();
    Ok(moments)
}

/// Before which stretches the wood is looked at, so that it costs little enough.
fn spread(stretches: &[Stretch], top: f64, grid: &Grid) -> Vec<usize> {
    let weights = weights(stretches, top, grid);
    let most = RAYS.max(RAYS_A_TOUCH * stretches.iter().map(|stretch| stretch.touches).sum::<f64>());
    let rays = |looks: &[usize]| {
        let ends = looks.iter().skip(1).copied().chain([stretches.len()]);
        let between = looks.iter().zip(ends).map(|(from, to)| stretches[*from..to].iter().copied());
        between.map(|some| some.fold(Stretch::NOTHING, Stretch::join).rays(grid)).sum::<f64>()
    };
    let mut count = MOST;
    loop {
        let looks = evenly(&weights, count);
        if count <= LEAST || rays(&looks) <= most {
            return looks;
        }
        count /= 2;
    }
}

/// Places between which the weights, in order, come to as much each time, about `count` of them; the first is 0.
fn evenly(weights: &[f64], count: u32) -> Vec<usize> {
    let whole: f64 = weights.iter().sum();
    let (mut before, mut passed) = (0.0, None);
    let is_look = |weight: &f64| {
        let step = (before / whole * f64::from(count)) as u32;
        before += weight;
        passed.replace(step) != Some(step)
    };
    let looks: Vec<bool> = weights.iter().map(is_look).collect();
    (0..weights.len()).filter(|at| looks[*at]).collect()
}

/// How much there is to see in each stretch: half of it evenly, half by how much thinner the wood becomes in it, as far as
/// the tip tells. A neck is seen soon after it is made.
fn weights(stretches: &[Stretch], top: f64, grid: &Grid) -> Vec<f64> {
    let mut floors = vec![top; grid.stations];
    let thinner: Vec<f64> = stretches.iter().map(|stretch| stretch.thinner(&mut floors, grid)).collect();
    let whole: f64 = thinner.iter().sum();
    let even = 1.0 / stretches.len().max(1) as f64;
    thinner.iter().map(|thinner| even + if whole > 0.0 { thinner / whole } else { 0.0 }).collect()
}

/// What some blocks can reach and cost, and those that begin with another cutter than the one before.
fn stretch(job: &Job<'_>, grid: &Grid, blocks: Range<u32>) -> (Stretch, Vec<u32>) {
    let top = job.stock.swept_radius();
    let every = (blocks.len() as u32 / AT_LEAST).clamp(1, ONE_IN);
    let cutter_of = |block: u32| job.motions.motion(block).map(|motion| motion.cutter);
    let mut before = blocks.start.checked_sub(1).and_then(cutter_of);
    let (mut whole, mut changes) = (Stretch::NOTHING, Vec::new());
    let mut bounds: Option<Extent> = None;
    let mut reach = |cutter: Option<u16>, bounds: Option<Extent>| {
        let cutter = cutter.and_then(|cutter| job.cutters.get(usize::from(cutter)));
        if let Some((cutter, bounds)) = cutter.zip(bounds) {
            whole.reach(cutter, &bounds, top);
        }
    };
    let mut all = 0.0;
    let is_looked_at = |block: &u32| (block - blocks.start).is_multiple_of(every) || block + 1 == blocks.end;
    for block in blocks.clone().filter(is_looked_at) {
        let Some(motion) = job.motions.motion(block) else { continue };
        let last = before.replace(motion.cutter);
        if last.is_some_and(|last| last != motion.cutter) {
            let mut since = block.saturating_sub(every - 1).max(blocks.start)..block;
            changes.push(since.find(|between| cutter_of(*between) == before).unwrap_or(block));
            reach(last, bounds.take());
        }
        let extent = Extent::of_motion(&motion);
        bounds = Some(bounds.map_or(extent, |bounds| bounds.join(&extent)));
        all += f64::from(every) * touches(job, grid, block);
    }
    reach(before, bounds);
    (Stretch { touches: all, ..whole }, changes)
}
