//! The run: tiles, each by one thread from its first piece to its last.

use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use dryturn_geom::{Motions, Stock};
use rayon::prelude::*;

use crate::carved::Carved;
use crate::grid::Grid;
use crate::job::{CarveError, Dimple, Job, RunOptions, Upper};
use crate::memory::Ledger;
use crate::plan::{Plan, State, look};
use crate::tile::Held;
use crate::watch::{Pile, Seen};

/// Carves all blocks of a job out of the blank.
///
/// The result depends on the job and the grid alone: not on threads, tiles, instructions or timing.
///
/// # Errors
/// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] if no thread could be started,
/// [`CarveError::Memory`] if the result takes more than it may, and [`CarveError::NoSuchCutter`] where the job contradicts
/// itself.
pub fn carve(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> Result<Carved, CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| {
        let plan = Plan::new(job, grid, options)?;
        let (progress, gathering) = (Progress::new(&plan, options), Gathering::new(&plan, options, 0));
        let tiles = (0..plan.layout.count()).into_par_iter();
        let tiles = tiles.map(|tile| gathering.keep(carve_tile(&plan, tile, &progress)?, Beside::default()));
        let tiles = tiles.collect::<Result<Vec<_>, CarveError>>()?;
        Ok(gathering.carved(&plan, tiles))
    })
}

pub(crate) fn carve_tile(plan: &Plan<'_>, tile: usize, progress: &Progress<'_>) -> Result<State, CarveError> {
    let mut state = plan.blank(tile, progress.cancel())?;
    let mut steps = progress.of_tile();
    let count = plan.job.motions.count();
    plan.advance(&mut state, 0..count, |next| steps.look(next))?;
    steps.finish(count)?;
    Ok(state)
}

/// The least that any carve of this job could cost on this machine: every ray within every window of [`carve`] is loaded,
/// compared and stored, and nothing else is done. Gives the number of rays so touched; benchmarks measure against it.
///
/// # Errors
/// As [`carve`].
pub fn skim(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> Result<u64, CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| {
        let plan = Plan::new(job, grid, options)?;
        let tiles = (0..plan.layout.count()).into_par_iter();
        tiles
            .map(|tile| {
                let mut state = plan.blank(tile, options.cancel)?;
                plan.skim(&mut state, 0..job.motions.count())?;
                Ok(state.touches)
            })
            .sum()
    })
}

/// How far the run is, in blocks seen by tiles; every tile counts one more, so that an empty job ends at all done.
pub(crate) struct Progress<'a> {
    options: &'a RunOptions<'a>,
    done: AtomicU64,
    all: u64,
}

impl<'a> Progress<'a> {
    pub(crate) fn new(plan: &Plan<'_>, options: &'a RunOptions<'a>) -> Progress<'a> {
        let all = plan.layout.count() as u64 * (u64::from(plan.job.motions.count()) + 1);
        Progress { options, done: AtomicU64::new(0), all }
    }

    /// What is set to have the run end early.
    pub(crate) fn cancel(&self) -> Option<&AtomicBool> {
        self.options.cancel
    }

    pub(crate) fn of_tile(&self) -> Steps<'_> {
        Steps { progress: self, done: 0 }
    }

    fn look(&self, more: u64) -> Result<(), CarveError> {
        look(self.options.cancel)?;
        if let Some(progress) = self.options.progress.filter(|_| more > 0) {
            let now = self.done.fetch_add(more, Ordering::Relaxed) + more;
            progress(now as f64 / self.all as f64);
        }
        Ok(())
    }
}

/// The blocks that one tile has seen.
pub(crate) struct Steps<'a> {
    progress: &'a Progress<'a>,
    done: u32,
}

impl Steps<'_> {
    /// Tells that `next` is the next block.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn look(&mut self, next: u32) -> Result<(), CarveError> {
        let more = u64::from(next.saturating_sub(self.done));
        self.done = self.done.max(next);
        self.progress.look(more)
    }

    /// Tells that the tile has seen all `count` blocks.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn finish(mut self, count: u32) -> Result<(), CarveError> {
        self.look(count)?;
        self.progress.look(1)
    }
}

/// Bytes that are taken beside a tile: while it is carved, and for good.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Beside {
    pub(crate) noted: usize,
    pub(crate) kept: usize,
}

/// Where the tiles of a run come together, each as soon as it is done and from any thread.
pub(crate) struct Gathering {
    ledger: Ledger,
    /// Units removed, by block: whole numbers, so that it does not matter which tile comes first.
    removed: Vec<AtomicI64>,
    rest: Mutex<Rest>,
}

#[derive(Default)]
struct Rest {
    blank: i128,
    touches: u64,
    seen: Pile,
}

impl Gathering {
    /// `beside` are bytes that the run keeps beside the tiles.
    pub(crate) fn new(plan: &Plan<'_>, options: &RunOptions<'_>, beside: u64) -> Gathering {
        let removed = (0..plan.job.motions.count()).map(|_| AtomicI64::new(0)).collect();
        Gathering { ledger: Ledger::new(plan, options, beside), removed, rest: Mutex::default() }
    }

    /// Takes in all that was noted of a tile and gives the tile as it is to be kept.
    ///
    /// # Errors
    /// [`CarveError::Memory`] where more is kept than may be.
    pub(crate) fn keep(&self, state: State, beside: Beside) -> Result<Held, CarveError> {
        let State { tile, blank, removed, seen, touches } = state;
        for (block, units) in &removed {
            self.removed[*block as usize].fetch_add(*units, Ordering::Relaxed);
        }
        let noted = removed.capacity() * size_of::<(u32, i64)>() + seen.bytes() + beside.noted;
        let noticed = {
            let mut rest = self.rest.lock().unwrap_or_else(PoisonError::into_inner);
            rest.blank += i128::from(blank);
            rest.touches += touches;
            rest.seen.add(seen);
            rest.seen.bytes()
        };
        self.ledger.keep(tile, noted, noticed, beside.kept)
    }

    /// What all tiles, in their order, come to.
    pub(crate) fn carved(self, plan: &Plan<'_>, tiles: Vec<Held>) -> Carved {
        let Rest { blank, touches, seen } = self.rest.into_inner().unwrap_or_else(PoisonError::into_inner);
        let Seen { rapids, beyond, uppers: [shank, holder, spindle] } = seen.joined();
        Carved {
            grid: plan.grid.clone(),
            layout: plan.layout,
            tiles,
            blank,
            removed: self.removed.into_iter().map(AtomicI64::into_inner).collect(),
            rapids,
            beyond_axis: beyond,
            uppers: vec![(Upper::Shank, shank), (Upper::Holder, holder), (Upper::Spindle, spindle)],
            touches,
            bytes: self.ledger.kept(),
        }
    }
}

/// The blank as it is before the first block, bore and dimple taken out.
///
/// # Errors
/// As [`carve`].
pub fn uncut(
    stock: &Stock,
    dimple: Option<Dimple>,
    grid: &Grid,
    options: &RunOptions<'_>,
) -> Result<Carved, CarveError> {
    let none: [dryturn_geom::Motion; 0] = [];
    let motions: &dyn Motions = &none.to_vec();
    carve(&Job { stock, dimple, cutters: &[], motions }, grid, options)
}
