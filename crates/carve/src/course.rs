//! What a run did on its way: how much each block took and how, and which sections of wood were left meanwhile.
//!
//! [`carve_recorded`] notes both as it carves. What a block took is told by [`Stroke`]s, stretches of its way of about one
//! cutter diameter; short blocks that go on straight are one stroke together. The wood is looked at before some blocks, the moments, and of each row only what changes from one
//! moment to the next is kept. All sums are of whole numbers, so that they are the same for any threads and tiles.

mod division;
mod moments;
mod sections;
mod strokes;

use std::collections::BTreeSet;
use std::ops::Range;

use rayon::prelude::*;

use crate::carve::{Beside, Gathering, Progress};
use crate::carved::Carved;
use crate::cut::{Recorder, Taken};
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::plan::{Plan, State};
use crate::tile::cubic_mm;
use sections::{RowsOfTile, Sections, Weigher};

use strokes::Told;
pub(crate) use strokes::{Shares, Strokes};

/// What is left of the blank at one station at one moment, as integrals over its section in the blank frame: a point at
/// the radius r of the ray θ lies at y = −r sin θ, z = r cos θ, and the rotary axis at 0, 0.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Section {
    /// Area, mm².
    pub area: f64,
    /// First moments ∫ y dA and ∫ z dA, mm³.
    pub first: [f64; 2],
    /// Second moments ∫ y² dA, ∫ z² dA and ∫ y z dA about the rotary axis, mm⁴.
    pub second: [f64; 3],
    /// Distance of its outermost wood from the rotary axis, mm.
    pub reach: f64,
    /// Between these distances from the rotary axis, mm, there is wood all round; nowhere if the first is not the less.
    pub ring: [f64; 2],
    /// ∫ t³ ds, mm⁴: t is the length of a stretch of wood along a ray, and ds goes around through its middle.
    pub walls: f64,
    /// Area inside the line through the middle of the outermost stretches of wood along rays, mm².
    pub inside: f64,
    /// ∫ ds/t.
    pub around: f64,
}

/// What the cutter took on one stretch of a block's way, or on the whole way of a few short blocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// The block, or the first of those that follow each other straight on.
    pub block: u32,
    /// The same block, or the last of them.
    pub last: u32,
    /// The stretch, as shares of the block's way; of several blocks all of it.
    pub share: (f64, f64),
    /// Wood taken, mm³.
    pub volume_mm3: f64,
    /// Greatest depth, straight down, by which the outer end of any ray came down through wood at once, mm.
    pub depth_mm: f64,
    /// Of the wood taken, what lay to the left of the cutter's way over the wood, seen from above and looking along it, mm³;
    /// of what a cutter took that went straight down, half.
    pub left_mm3: f64,
}

/// What a run did on its way.
#[derive(Debug)]
pub struct Course {
    grid: Grid,
    moments: Vec<u32>,
    sections: Sections,
    strokes: Strokes,
}

impl Course {
    /// The blocks before which the wood was looked at, ascending: the first is 0, the last the number of all blocks.
    pub fn moments(&self) -> &[u32] {
        &self.moments
    }

    /// The wood at the station of a row before the block `moments()[moment]`.
    ///
    /// # Panics
    /// If there is no such row or moment.
    pub fn section(&self, row: usize, moment: usize) -> Section {
        assert!(moment < self.moments.len(), "there is no moment {moment}");
        self.sections.section(row, moment as u32)
    }

    /// Whether the wood at the station of a row may be other before the block `moments()[moment]` than at the moment before;
    /// at the first moment it is.
    ///
    /// # Panics
    /// If there is no such row.
    pub fn changes(&self, row: usize, moment: usize) -> bool {
        moment == 0 || self.sections.changes(row, moment as u32)
    }

    /// The strokes that begin in some blocks, in their order, those that took nothing included. Strokes of several blocks do
    /// not go on past one of the [`moments`](Course::moments).
    ///
    /// # Panics
    /// If there are no such blocks.
    pub fn strokes(&self, blocks: Range<u32>) -> impl Iterator<Item = Stroke> {
        let mm3 = |units: i64| cubic_mm(units as f64, self.grid.station_step, self.grid.angle_step);
        self.strokes.within(blocks).map(move |Told { blocks, share, lost }| Stroke {
            block: blocks.start,
            last: blocks.end - 1,
            share,
            volume_mm3: mm3(lost.units),
            depth_mm: f64::from(lost.depth),
            left_mm3: 0.5 * mm3(lost.left_twice),
        })
    }

    /// Moments for [`carve_recorded`], in order: spread over the blocks, more of them where wood becomes thin, and every
    /// change of cutter, as long as there are not too many. At least a few; beyond them as many, up to some hundreds, as can be
    /// looked at within half a hundredth of a second, or a fortieth of what the carve itself should take.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] if no thread could be started.
    pub fn choose_moments(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> Result<Vec<u32>, CarveError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        pool.install(|| moments::choose(job, grid, options.cancel))
    }
}

/// As [`carve`](crate::carve()), bit for bit, and tells what the run did on its way. The wood is looked at before the first
/// block, before those given in `moments` (see [`Course::choose_moments`]), in any order, and after the last.
///
/// # Errors
/// As [`carve`](crate::carve()).
pub fn carve_recorded(
    job: &Job<'_>,
    grid: &Grid,
    moments: &[u32],
    options: &RunOptions<'_>,
) -> Result<(Carved, Course), CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| {
        let plan = Plan::new(job, grid, options)?;
        let watch = Watch::new(&plan, moments, options)?;
        let progress = Progress::new(&plan, options);
        let gathering = Gathering::new(&plan, options, watch.strokes.bytes() as u64);
        let tiles = (0..plan.layout.count()).into_par_iter().map(|tile| {
            let (state, taken, rows) = watch.carve_tile(&plan, tile, &progress)?;
            watch.strokes.add(&taken);
            let noted = taken.capacity() * size_of::<Taken>() + rows.bytes();
            let beside = Beside { noted, kept: watch.weigher.add(rows) };
            gathering.keep(state, beside)
        });
        let tiles = tiles.collect::<Result<Vec<_>, CarveError>>()?;
        Ok((gathering.carved(&plan, tiles), watch.course(&plan)))
    })
}

/// What is watched for while a job is carved.
struct Watch {
    /// Ascending, from 0 to the number of blocks.
    moments: Vec<u32>,
    weigher: Weigher,
    strokes: Strokes,
}

impl Watch {
    fn new(plan: &Plan<'_>, moments: &[u32], options: &RunOptions<'_>) -> Result<Watch, CarveError> {
        let count = plan.job.motions.count();
        let moments: BTreeSet<u32> = moments.iter().copied().chain([0, count]).filter(|it| *it <= count).collect();
        let moments: Vec<u32> = moments.into_iter().collect();
        let strokes = Strokes::of(&plan.job, &moments, options.cancel)?;
        Ok(Watch { moments, weigher: Weigher::new(&plan.grid, plan.job.stock.swept_radius()), strokes })
    }

    /// Carves a tile from moment to moment; stretches between them that cannot reach it are passed over at once.
    fn carve_tile(
        &self,
        plan: &Plan<'_>,
        tile: usize,
        progress: &Progress<'_>,
    ) -> Result<(State, Vec<Taken>, RowsOfTile), CarveError> {
        let mut state = plan.blank(tile, progress.cancel())?;
        let mut recorder = Recorder::new(&self.strokes, state.tile.rows.clone());
        let mut rows = RowsOfTile::new(state.tile.rows.clone());
        let mut look = |state: &State, recorder: &mut Recorder<'_>, moment: usize| {
            rows.look(&self.weigher, plan.instructions, &state.tile, &mut recorder.changed, moment as u32);
        };
        look(&state, &mut recorder, 0);
        let window = plan.window(&state.tile.rows, &state.tile.columns);
        let count = plan.job.motions.count();
        let mut steps = progress.of_tile();
        let mut from = 0;
        while let Some(block) = plan.tree.next(from, count, &window, f64::from(state.tile.top())) {
            let moment = self.moments.partition_point(|moment| *moment <= block);
            from = self.moments[moment];
            plan.advance_told(&mut state, block..from, &mut recorder, |next| steps.look(next))?;
            look(&state, &mut recorder, moment);
        }
        steps.finish(count)?;
        Ok((state, recorder.finish(), rows))
    }

    fn course(self, plan: &Plan<'_>) -> Course {
        let sections = self.weigher.finish(plan.grid.angle_step);
        Course { grid: plan.grid.clone(), moments: self.moments, sections, strokes: self.strokes }
    }
}
