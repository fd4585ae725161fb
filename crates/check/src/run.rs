//! The run of a job: the wood that is left, and all that is known of the way there.
//!
//! The job is carved once, and its strokes are gone through once: of each the load is worked out, what springs under it, and
//! what that does to necks; all of it is told as it comes. Many strokes in a row are gone through at the same time as
//! others. Where they are parted follows from the job alone, so that the bits do not depend on threads.

use std::ops::Range;

use dryturn_carve::{CarveError, Carved, Course, Grid, RunOptions, Stroke, carve_recorded};
use dryturn_scene::Job;
use rayon::prelude::*;

use crate::air::through_air;
use crate::grain::WithGrain;
use crate::load::{Load, Loads};
use crate::parts::{Looked, Loose, loose};
use crate::rules::loads::{Beyond, Watches};
use crate::strength::{Part, Sprung, Strain, Watch};
use crate::time::Times;
use crate::told::{Effort, Telling};

/// Moments that one thread goes through in a row.
const IN_A_ROW: usize = 16;

/// How a job runs, without a look at what would be wrong with that.
pub struct Run<'a> {
    /// What is left of the blank.
    pub carved: Carved,
    /// What the run did on its way.
    pub course: Course,
    /// When each block comes.
    pub times: Times<'a>,
    /// Of each block the share of its way on which it takes no wood.
    air: Vec<f32>,
    /// What it is told by, as yet.
    pub telling: Telling,
    /// What the cuts do to the wood that is held, where anyone can tell.
    pub(crate) strain: Option<Strain>,
    /// What comes loose.
    pub(crate) loose: Vec<Loose>,
    /// What the loads are held against, and what goes beyond.
    pub(crate) watches: Watches<'a>,
    pub(crate) beyond: Beyond,
    /// How the cuts go with the grain.
    pub(crate) grain: WithGrain,
}

impl<'a> Run<'a> {
    /// The share of a block's way on which it takes no wood.
    pub fn air(&self, block: u32) -> f64 {
        self.air.get(block as usize).copied().map_or(0.0, f64::from)
    }

    /// Runs a job, told in so many slices; `work` is the same job as it is to be carved on the grid.
    ///
    /// # Errors
    /// As [`carve_recorded`].
    pub fn of(
        job: &'a Job,
        (work, grid): (&dryturn_carve::Job<'_>, &Grid),
        slices: u32,
        options: &RunOptions<'_>,
    ) -> Result<Run<'a>, CarveError> {
        let mut moments = Course::choose_moments(work, grid, options)?;
        moments.extend(job.programs.iter().map(|run| run.first_block));
        let (carved, course) = carve_recorded(work, grid, &moments, options)?;
        let times = Times::of(job);
        let watches = Watches::of(job);
        let Walked { told: Gone { telling, beyond, grain, .. }, strain } = {
            let asked = |block| times.asked(block);
            let loads = Loads::new(job, &asked);
            let watch = Watch::of(job, grid, &course, &loads);
            let watch = watch.as_ref();
            let walk = Walk { job, course: &course, times: &times, loads: &loads, watches: &watches, watch, slices };
            walk.walk(work, options)?
        };
        let span = job.scene.target.as_ref().zip(job.target.as_ref()).map(|(target, shape)| target.compared(shape));
        let looked = Looked { scene: &job.scene, work, carved: &carved, course: &course, span };
        let loose = loose(&looked, options)?;
        let air = through_air(job, grid, &course);
        Ok(Run { carved, course, times, air, telling, strain, loose, watches, beyond, grain })
    }
}

/// All that the strokes are looked at with.
struct Walk<'a> {
    job: &'a Job,
    course: &'a Course,
    times: &'a Times<'a>,
    loads: &'a Loads<'a>,
    watches: &'a Watches<'a>,
    watch: Option<&'a Watch<'a>>,
    slices: u32,
}

/// What is made of some strokes in a row.
struct Gone {
    telling: Telling,
    beyond: Beyond,
    grain: WithGrain,
}

/// What is made of all strokes.
struct Walked {
    told: Gone,
    strain: Option<Strain>,
}

impl Gone {
    /// Takes in what was made of the strokes that follow.
    fn join(&mut self, later: Gone) {
        self.telling.join(later.telling);
        self.beyond.join(later.beyond);
        self.grain.join(&later.grain);
    }
}

impl Walk<'_> {
    fn walk(&self, work: &dryturn_carve::Job<'_>, options: &RunOptions<'_>) -> Result<Walked, CarveError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        pool.install(|| {
            let intervals = self.course.moments().len().saturating_sub(1);
            let parts = (0..intervals.div_ceil(IN_A_ROW)).into_par_iter();
            let parts = parts.map(|part| self.part(part * IN_A_ROW..intervals.min((part + 1) * IN_A_ROW)));
            let parts: Vec<(Gone, Option<Part>)> = parts.collect();
            let (mut told, mut strained) = (self.nothing(), Vec::new());
            for (later, part) in parts {
                told.join(later);
                strained.extend(part);
            }
            let strain = self.watch.map(|watch| watch.strain(strained, work, options)).transpose()?;
            Ok(Walked { told, strain })
        })
    }

    /// The strokes after some moments in a row, each up to the next.
    fn part(&self, moments: Range<usize>) -> (Gone, Option<Part>) {
        let mut gone = self.nothing();
        let mut tell = |stroke: &Stroke, load: &Load, spring: Option<Sprung>| {
            gone.telling.take(self.times, &Effort::of(stroke, load, spring));
            gone.beyond.look(self.watches, load);
            gone.grain.take(self.job, load);
        };
        let strained = self.watch.map(|watch| watch.part(moments.clone(), &mut tell));
        if strained.is_none() {
            let blocks = self.course.moments()[moments.start]..self.course.moments()[moments.end];
            let strokes = self.course.strokes(blocks);
            strokes
                .filter_map(|stroke| Some((stroke, self.loads.of(&stroke)?)))
                .for_each(|(stroke, load)| tell(&stroke, &load, None));
        }
        (gone, strained)
    }

    /// Of no strokes at all.
    fn nothing(&self) -> Gone {
        Gone { telling: Telling::new(self.times, self.slices), beyond: Beyond::default(), grain: WithGrain::default() }
    }
}
