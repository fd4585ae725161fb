//! The job carved under another reading, on a coarse grid, and how well it fits.

use std::cell::OnceCell;
use std::ops::Range;

use dryturn_carve::{self as carve, CarveError, Carved, Grid, RunOptions, carve as carve_blank};
use dryturn_geom::{Motions, Stock};
use dryturn_scene::{Job, JobOptions, Scene};

use super::altered::{Altered, Change};
use crate::bodies;
use crate::evidence::Evidence;
use crate::stretches::Until;
use crate::target::{Surface, mismatch};

/// Rays that are enough to tell two readings apart.
const RAYS: f64 = 40_000.0;
/// Wood a program takes that is no accident, and wood that no rapid takes by accident, mm³.
const SOME: f64 = 0.5;

/// Where readings are tried.
pub(super) struct Desk<'a> {
    pub(super) evidence: &'a Evidence<'a>,
    options: RunOptions<'a>,
    stock: Stock,
    cutters: Vec<carve::Cutter>,
    grid: Grid,
    surface: OnceCell<Surface>,
    given: OnceCell<Reading>,
}

/// What comes of a reading.
pub(super) struct Reading {
    carved: Carved,
    /// Volume off the target, mm³, where there is one.
    pub(super) off: Option<f64>,
    /// Blocks that turn the blank and take wood beyond the axis.
    past_axis: Vec<u32>,
}

/// What some blocks do under a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Deeds {
    /// Wood taken at feed, mm³.
    pub(super) fed: f64,
    /// Wood taken by rapids, mm³.
    pub(super) by_rapids: f64,
    /// Wood is taken from beyond the axis while the blank turns.
    pub(super) past_axis: bool,
}

impl Deeds {
    /// Whether a program may be meant to do so: it takes wood, and none as no program should.
    pub(super) fn make_sense(&self) -> bool {
        self.fed > SOME && self.by_rapids < SOME && !self.past_axis
    }

    /// Whether no program is meant to do so.
    pub(super) fn are_wrong(&self) -> bool {
        self.by_rapids >= SOME || self.past_axis
    }
}

impl<'a> Desk<'a> {
    pub(super) fn new(evidence: &'a Evidence<'a>, options: &RunOptions<'a>) -> Desk<'a> {
        let scene = &evidence.job.scene;
        let stock = scene.stock();
        let area = std::f64::consts::TAU * stock.swept_radius() * stock.length;
        let memory = options.memory.map(|bound| bound.saturating_sub(evidence.carved.bytes()));
        Desk {
            evidence,
            options: RunOptions { memory, progress: None, ..*options },
            cutters: bodies::carve_cutters(scene),
            grid: Grid::over(&stock, scene.grid.pitch.max((area / RAYS).sqrt())),
            stock,
            surface: OnceCell::new(),
            given: OnceCell::new(),
        }
    }

    /// How many times better a reading must fit to fit far better.
    pub(super) fn ratio(&self) -> f64 {
        self.evidence.job.scene.checks.mirrored.ratio
    }

    /// The job as the scene has it, on the grid of all readings.
    pub(super) fn as_given(&self) -> Result<&Reading, CarveError> {
        if self.given.get().is_none() {
            let given = self.read(Vec::new())?;
            return Ok(self.given.get_or_init(|| given));
        }
        self.given.get().ok_or(CarveError::Cancelled)
    }

    /// The job with some blocks, given in their order, read another way.
    pub(super) fn read(&self, changes: Vec<Change>) -> Result<Reading, CarveError> {
        let mut followed: Vec<Change> = Vec::with_capacity(changes.len());
        for change in changes {
            let change = match followed.last() {
                Some(before) => change.after(before),
                None => change,
            };
            followed.push(change);
        }
        self.carve(self.evidence.job, &followed)
    }

    /// The job under another scene; `None` where that cannot be read.
    pub(super) fn read_under(&self, change: impl FnOnce(&mut Scene)) -> Result<Option<Reading>, CarveError> {
        let job = self.evidence.job;
        // The target is the same, and is not read again.
        let mut scene = Scene { target: None, ..job.scene.clone() };
        change(&mut scene);
        let sources = job.programs.iter().map(|run| run.source.clone()).collect();
        match Job::from_sources(scene, sources, JobOptions { lenient: true }) {
            Ok(other) if other.count() == job.count() => self.carve(&other, &[]).map(Some),
            _ => Ok(None),
        }
    }

    fn carve(&self, motions: &dyn Motions, changes: &[Change]) -> Result<Reading, CarveError> {
        let all = Altered { motions, changes };
        let carved = self.carve_all(&all)?;
        let off = match self.compared_after() {
            None => None,
            Some(count) if count == all.count() => Some(self.off_target(&carved)?),
            Some(count) => Some(self.off_target(&self.carve_all(&Until { motions: &all, count })?)?),
        };
        let turns = |block: u32| all.motion(block).is_some_and(|motion| motion.from.turn != motion.to.turn);
        let beyond = self.evidence.job.scene.checks.past_axis;
        let past = carved.beyond_axis.iter().filter(|reach| f64::from(reach.depth) > beyond && turns(reach.block));
        let past_axis = past.map(|reach| reach.block).collect();
        Ok(Reading { carved, off, past_axis })
    }

    fn carve_all(&self, motions: &dyn Motions) -> Result<Carved, CarveError> {
        let dimple = bodies::dimple(&self.evidence.job.scene);
        let work = carve::Job { stock: &self.stock, dimple, cutters: &self.cutters, motions };
        carve_blank(&work, &self.grid, &self.options)
    }

    /// How many blocks are run before the piece is held against its target, where there is one.
    fn compared_after(&self) -> Option<u32> {
        let job = self.evidence.job;
        let target = job.scene.target.as_ref().filter(|_| job.target.is_some())?;
        let next = target.after.and_then(|after| job.programs.get(after as usize));
        Some(next.map_or(job.count(), |run| run.first_block))
    }

    fn off_target(&self, carved: &Carved) -> Result<f64, CarveError> {
        let job = self.evidence.job;
        let (Some(target), Some(shape)) = (&job.scene.target, &job.target) else { return Ok(0.0) };
        let surface = self.surface.get_or_init(|| Surface::new(shape));
        let pool = rayon::ThreadPoolBuilder::new().num_threads(self.options.threads).build()?;
        Ok(pool.install(|| mismatch(carved, surface, target.compared(shape))))
    }
}

impl Reading {
    /// What the blocks of a program do.
    pub(super) fn deeds(&self, job: &Job, blocks: Range<u32>) -> Deeds {
        let rapids = blocks.clone().filter(|block| job.is_rapid(*block));
        let by_rapids: f64 = rapids.map(|block| self.carved.removed_by(block)).sum();
        Deeds {
            fed: self.carved.removed_mm3(blocks.clone()) - by_rapids,
            by_rapids,
            past_axis: self.past_axis.iter().any(|block| blocks.contains(block)),
        }
    }

    /// Volume that lies in one of two pieces and not in the other, as far as their rays hold different amounts, mm³. Rays that
    /// hold as much but for `spared` mm of radius do not count.
    pub(super) fn between(one: &Reading, other: &Reading, spared: f64) -> f64 {
        let grid = one.carved.grid();
        let solid = |carved: &Carved, row: usize, column: usize| -> f64 {
            let area = |radius: f32| 0.5 * f64::from(radius) * f64::from(radius);
            carved.spans(row, column).map(|span| area(span.outer) - area(span.inner)).sum()
        };
        let rays = (0..grid.stations).flat_map(|row| (0..grid.angles).map(move |column| (row, column)));
        let apart = |(row, column): (usize, usize)| {
            let (one, other) = (solid(&one.carved, row, column), solid(&other.carved, row, column));
            let radii = (2.0 * one).sqrt() - (2.0 * other).sqrt();
            if radii.abs() > spared { (one - other).abs() } else { 0.0 }
        };
        let sum: f64 = rays.map(apart).sum();
        sum * grid.station_step * grid.angle_step
    }
}
