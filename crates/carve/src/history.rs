//! Going to any block of a run, to and fro.
//!
//! The run is carved once, tile by tile, and each tile is saved now and then on its way: [`History::record`]. To show
//! the wood before a block, each tile is taken back to its newest save at or before that block and the blocks since
//! then pass over it again: [`History::at`]. Same rays, same blocks, same order: the bits are those of a run that
//! stopped there.
//!
//! What a way costs is counted in touches of rays by pieces, so that is how saves are spaced: at checkpoints, blocks
//! with about the same number of touches from one to the next, the same for all tiles. A tile that did not change since
//! its last save is not saved again, which also tells later that no block between the two needs to pass over it.

mod checkpoints;

use std::sync::atomic::AtomicBool;

use rayon::prelude::*;

use crate::carve::{Beside, Gathering, Progress};
use crate::carved::Carved;
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::plan::{Plan, State, look};
use crate::tile::{Packed, Spans, Tile};
use crate::watch::Seen;

/// A run that can be shown as it was before any of its blocks.
pub struct History<'a> {
    plan: Plan<'a>,
    pool: rayon::ThreadPool,
    /// Blocks, the first of them 0.
    checkpoints: Vec<u32>,
    tracks: Vec<Track>,
    /// What the whole run removed and noted, without its tiles.
    whole: Carved,
    shown: Carved,
}

/// A tile through the run.
struct Track {
    /// In the order of the run; the first is the blank.
    saves: Vec<Save>,
    /// Which of the run the tile shown is; `None` while it is on its way.
    shown: Option<Shown>,
    /// The tile while it is carved on, an empty one at all other times.
    state: State,
}

struct Save {
    /// Index of the checkpoint.
    checkpoint: usize,
    packed: Packed,
}

#[derive(Clone, Copy)]
struct Shown {
    /// Index of the save it came from.
    save: usize,
    /// Whether any block changed it since.
    is_changed: bool,
    /// The block it is shown before.
    block: u32,
}

impl<'a> History<'a> {
    /// Touches of rays between two checkpoints that keep ways short, to about 5 ms of carving, and saves about as large as
    /// the rays themselves.
    pub const EVERY: u64 = 500_000;

    /// Carves all blocks of a job as [`carve`](crate::carve()) does, and saves the way there with about `every_touches`
    /// touches of rays between two checkpoints; fewer make ways shorter and saves more.
    ///
    /// # Errors
    /// As [`carve`](crate::carve()).
    pub fn record(
        job: &Job<'a>,
        grid: &Grid,
        every_touches: u64,
        options: &RunOptions<'_>,
    ) -> Result<History<'a>, CarveError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let (plan, checkpoints, tracks, mut shown) = pool.install(|| {
            let plan = Plan::new(job, grid, options)?;
            let checkpoints = checkpoints::choose(&plan, every_touches, options.cancel)?;
            let (progress, gathering) = (Progress::new(&plan, options), Gathering::new(&plan, options, 0));
            let recorded = (0..plan.layout.count()).into_par_iter().map(|tile| {
                let (state, track) = record_tile(&plan, &checkpoints, tile, &progress)?;
                Ok((gathering.keep(state, Beside::default())?, track))
            });
            let recorded = recorded.collect::<Result<Vec<_>, CarveError>>()?;
            let (tiles, tracks): (Vec<_>, Vec<_>) = recorded.into_iter().unzip();
            let shown = gathering.carved(&plan, tiles);
            Ok::<_, CarveError>((plan, checkpoints, tracks, shown))
        })?;
        let tiles = std::mem::take(&mut shown.tiles);
        let whole = shown.clone();
        shown.tiles = tiles;
        Ok(History { plan, pool, checkpoints, tracks, whole, shown })
    }

    /// What the blocks before `block` left, to the last bit as if they were the whole job; a block past the last one
    /// means all of them. `cancel` ends it early when set from outside.
    ///
    /// The nearer the block is to the one before which the history stood last, the quicker it is.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop; the history can be asked again.
    pub fn at(&mut self, block: u32, cancel: Option<&AtomicBool>) -> Result<&Carved, CarveError> {
        let block = block.min(self.plan.job.motions.count());
        let (plan, checkpoints) = (&self.plan, &self.checkpoints);
        let tiles = self.tracks.par_iter_mut().zip(&mut self.shown.tiles);
        self.pool.install(|| {
            tiles
                .with_min_len(1)
                .try_for_each(|(track, tile)| track.go_to(block, tile.opened(), plan, checkpoints, cancel))
        })?;
        self.shown.stop_before(block, &self.whole);
        Ok(&self.shown)
    }

    /// Number of blocks of the run.
    pub fn blocks(&self) -> u32 {
        self.plan.job.motions.count()
    }

    /// The blocks at which tiles were saved, the first of them 0.
    pub fn checkpoints(&self) -> &[u32] {
        &self.checkpoints
    }

    /// Number of saves of all tiles.
    pub fn saves(&self) -> usize {
        self.tracks.iter().map(|track| track.saves.len()).sum()
    }

    /// Bytes the saves take.
    pub fn bytes(&self) -> usize {
        self.tracks.iter().flat_map(|track| &track.saves).map(|save| size_of::<Save>() + save.packed.bytes()).sum()
    }
}

fn record_tile(
    plan: &Plan<'_>,
    checkpoints: &[u32],
    tile: usize,
    progress: &Progress<'_>,
) -> Result<(State, Track), CarveError> {
    let mut state = plan.blank(tile, progress.cancel())?;
    let mut saves = vec![Save { checkpoint: 0, packed: Packed::of(&state.tile) }];
    let window = plan.window(&state.tile.rows, &state.tile.columns);
    let count = plan.job.motions.count();
    let mut last_change = None;
    let mut steps = progress.of_tile();
    let mut from = 0;
    // Whole stretches between checkpoints that cannot reach the tile are passed over at once.
    while let Some(block) = plan.tree.next(from, count, &window, f64::from(state.tile.top())) {
        let next = newest(checkpoints, block) + 1;
        from = checkpoints.get(next).copied().unwrap_or(count);
        plan.advance(&mut state, block..from, |next| steps.look(next))?;
        let change = state.removed.last().map(|(block, _)| *block);
        if change != last_change && next < checkpoints.len() {
            saves.push(Save { checkpoint: next, packed: Packed::of(&state.tile) });
        }
        last_change = change;
    }
    steps.finish(count)?;
    let since = saves.last().map_or(0, |save| checkpoints[save.checkpoint]);
    let is_changed = last_change.is_some_and(|change| change >= since);
    let shown = Some(Shown { save: saves.len() - 1, is_changed, block: count });
    let bare = State::new(Tile::filled(0..0, 0..0, |_, _| Spans::new()), state.blank);
    Ok((state, Track { saves, shown, state: bare }))
}

/// Index of the newest checkpoint at or before a block.
fn newest(checkpoints: &[u32], block: u32) -> usize {
    checkpoints.partition_point(|checkpoint| *checkpoint <= block).saturating_sub(1)
}

impl Track {
    /// Turns the tile shown into what it was before a block.
    fn go_to(
        &mut self,
        block: u32,
        tile: &mut Tile,
        plan: &Plan<'_>,
        checkpoints: &[u32],
        cancel: Option<&AtomicBool>,
    ) -> Result<(), CarveError> {
        let look = || look(cancel);
        look()?;
        let checkpoint = newest(checkpoints, block);
        let save = self.saves.partition_point(|save| save.checkpoint <= checkpoint) - 1;
        // Between a save and that checkpoint nothing changed the tile.
        let start = checkpoints[checkpoint];
        let shown = self.shown.take().filter(|shown| shown.save == save && (!shown.is_changed || shown.block <= block));
        let (from, mut is_changed) = match shown {
            Some(shown) => (shown.block.clamp(start, block), shown.is_changed),
            None => {
                self.saves[save].packed.unpack_into(tile);
                (start, false)
            }
        };
        std::mem::swap(&mut self.state.tile, tile);
        let outcome = plan.advance(&mut self.state, from..block, |_| look());
        std::mem::swap(&mut self.state.tile, tile);
        is_changed |= !self.state.removed.is_empty();
        self.state.removed.clear();
        self.state.seen = Seen::default();
        outcome?;
        self.shown = Some(Shown { save, is_changed, block });
        Ok(())
    }
}

impl Carved {
    /// Tells of the blocks before `block` what `whole` tells of all of them.
    fn stop_before(&mut self, block: u32, whole: &Carved) {
        let follow = |told: &mut Vec<_>, all: &[crate::Reach]| {
            follow(told, all, all.partition_point(|reach| reach.block < block));
        };
        self::follow(&mut self.removed, &whole.removed, block as usize);
        follow(&mut self.rapids, &whole.rapids);
        follow(&mut self.beyond_axis, &whole.beyond_axis);
        for ((_, told), (_, all)) in self.uppers.iter_mut().zip(&whole.uppers) {
            follow(told, all);
        }
    }
}

/// Makes a list that starts like `all` be its first `count`.
fn follow<T: Clone>(told: &mut Vec<T>, all: &[T], count: usize) {
    told.truncate(count);
    told.extend_from_slice(&all[told.len()..count]);
}
