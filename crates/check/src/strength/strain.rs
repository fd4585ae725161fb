//! What the cuts of a whole run do to the wood: how far they push it, and which necks they may break.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::ops::Range;

use dryturn_carve::{CarveError, Course, Grid, Replay, RunOptions, Section};
use dryturn_scene::Job;
use rayon::prelude::*;

use super::bar::Give;
use super::held::Held;
use super::neck::{outline, stresses};
use super::section::Profile;
use super::spring::spring;
use super::stem::Stem;
use super::weak::{Burden, Pulls, Strength, Stresses, Weak, Wood};
use crate::load::{Load, Loads};
use crate::stretches::{Until, place};

/// Most moments at which the wood is looked at, beside those at which a program begins: more would cost more than a
/// twentieth of the carve, and change little.
const MOMENTS: usize = 192;
/// Moments that one thread goes through in a row.
const IN_A_ROW: usize = 16;

/// Sections of one place that are looked at closely.
const LOOKS: usize = 12;

/// What the cuts of a run do to the wood that is held.
pub(crate) struct Strain {
    /// Of each block the stroke that springs the most.
    worst: Vec<Spring>,
    /// Of every stroke that takes wood, in their order, the least and the greatest spring, mm; 0 where nobody can tell.
    springs: Vec<[f32; 2]>,
    /// The weakest sections, of each program and place along the axis one, in this order.
    pub(crate) necks: Vec<Neck>,
}

/// How far a block pushes wood and cutter apart at the worst.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Spring {
    /// Least and greatest, mm; 0 where it takes nothing, or nobody can tell.
    pub(crate) ends: [f32; 2],
    /// Share of the block at which it is.
    pub(crate) share: f32,
}

/// A section that is too weak for what is cut with it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Neck {
    pub(crate) program: usize,
    /// mm.
    pub(crate) station: f64,
    /// mm².
    pub(crate) area: f64,
    /// Diameter of the circle of that area, mm.
    pub(crate) diameter: f64,
    /// MPa for each N·mm.
    pub(crate) stresses: Stresses,
    pub(crate) burden: Burden,
    /// Strength over stress, for the least and the greatest burden.
    pub(crate) factors: [f64; 2],
    /// The block that brings it nearest to breaking.
    pub(crate) block: u32,
}

/// A weak section and the moment at which it was seen.
#[derive(Clone, Copy)]
struct Seen {
    moment: usize,
    weak: Weak,
}

/// What is known of a job before its loads.
struct Watch<'a> {
    job: &'a Job,
    course: &'a Course,
    loads: &'a Loads<'a>,
    held: Held<'a>,
    strength: Strength,
    stems: Vec<Option<Stem>>,
    /// Moments of the course at which the wood is looked at.
    looks: Vec<usize>,
    /// Of each program the sections that it is meant to part, if any.
    parted: Vec<Vec<bool>>,
}

/// What came of some moments in a row.
#[derive(Default)]
struct Part {
    worst: Vec<Spring>,
    springs: Vec<[f32; 2]>,
    seen: Vec<((usize, i64), Seen)>,
}

impl Strain {
    /// `None` where the scene does not say what holds the blank, or how stiff it is. `work` is the job as it was carved on
    /// the grid, and `course` what the carve told.
    ///
    /// # Errors
    /// As [`Replay::new`].
    pub(crate) fn of(
        job: &Job,
        work: &dryturn_carve::Job<'_>,
        grid: &Grid,
        (course, loads): (&Course, &Loads<'_>),
        options: &RunOptions<'_>,
    ) -> Result<Option<Strain>, CarveError> {
        let Some(held) = Held::of(&job.scene, grid) else { return Ok(None) };
        let material = job.scene.blank.material.as_ref();
        let given = |strength: Option<f64>| strength.filter(|it| *it > 0.0).unwrap_or(f64::INFINITY);
        let strength = Strength {
            bending: given(material.and_then(|it| it.bending)),
            shear: given(material.and_then(|it| it.shear)),
        };
        let stems = job.scene.cutters.iter().map(Stem::of).collect();
        let looks = looks(job, course);
        let parted = (0..job.scene.programs.len()).map(|program| parted(job, course, &held, program)).collect();
        let watch = Watch { job, course, loads, held, strength, stems, looks, parted };
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        pool.install(|| watch.strain(work, options)).map(Some)
    }

    /// How far a block pushes wood and cutter apart.
    pub(crate) fn spring_of(&self, block: u32) -> Spring {
        self.worst.get(block as usize).copied().unwrap_or_default()
    }

    /// Least and greatest distance, mm, by which each stroke that takes wood pushes them apart, in the order of the strokes.
    pub(crate) fn by_stroke(&self) -> impl Iterator<Item = [f64; 2]> {
        self.springs.iter().map(|ends| ends.map(f64::from))
    }
}

/// Evenly spread moments of a course, the first and the last, and those at which a program begins.
fn looks(job: &Job, course: &Course) -> Vec<usize> {
    let moments = course.moments();
    let every = moments.len().div_ceil(MOMENTS).max(1);
    let begins = |block: &u32| job.programs.iter().any(|run| run.first_block == *block);
    let is_told = |at: &usize| at.is_multiple_of(every) || at + 1 == moments.len() || begins(&moments[*at]);
    (0..moments.len()).filter(is_told).collect()
}

/// The sections that a program is meant to part: of those it leaves less than a quarter, or less than the tab that is to
/// stay. How far these spring does not matter. None where parting is not meant.
fn parted(job: &Job, course: &Course, held: &Held<'_>, program: usize) -> Vec<bool> {
    let Some(parts) = job.scene.programs.get(program).and_then(|entry| entry.parts) else { return Vec::new() };
    let blocks = job.blocks_of(program);
    let [before, after] = [blocks.start, blocks.end]
        .map(|block| course.moments().partition_point(|moment| *moment < block))
        .map(|moment| held.sections(course, moment.min(course.moments().len() - 1)));
    let tab = parts.min_tab.unwrap_or(0.0);
    let is_parted = |before: &Section, after: &Section| {
        after.area < before.area && after.area < (0.25 * before.area).max(0.25 * PI * tab * tab)
    };
    before.iter().zip(&after).map(|(before, after)| is_parted(before, after)).collect()
}

impl Watch<'_> {
    fn strain(&self, work: &dryturn_carve::Job<'_>, options: &RunOptions<'_>) -> Result<Strain, CarveError> {
        let intervals = self.looks.len().saturating_sub(1);
        let runs = (0..intervals.div_ceil(IN_A_ROW)).into_par_iter();
        let parts: Vec<Part> = runs.map(|run| self.part(run * IN_A_ROW..intervals.min((run + 1) * IN_A_ROW))).collect();
        let mut seen: BTreeMap<(usize, i64), Vec<Seen>> = BTreeMap::new();
        let (mut worst, mut springs) = (Vec::new(), Vec::new());
        for part in parts {
            worst.extend(part.worst);
            springs.extend(part.springs);
            for (key, weak) in part.seen {
                seen.entry(key).or_default().push(weak);
            }
        }
        let necks = seen.into_iter().map(|((program, _), seen)| self.weakest(work, program, seen, options));
        let necks: Vec<Option<Neck>> = necks.collect::<Result<_, CarveError>>()?;
        let safety = self.job.scene.checks.safety;
        let is_weak = |neck: &Neck| neck.factors[1] < safety;
        Ok(Strain { worst, springs, necks: necks.into_iter().flatten().filter(is_weak).collect() })
    }

    /// Of the sections seen at one place the one that comes nearest to breaking. Its integrals never tell a section too
    /// strong: once one that was looked at closely is as weak as the next by its integrals, no other is weaker.
    fn weakest(
        &self,
        work: &dryturn_carve::Job<'_>,
        program: usize,
        mut seen: Vec<Seen>,
        options: &RunOptions<'_>,
    ) -> Result<Option<Neck>, CarveError> {
        seen.sort_by(|a, b| a.weak.factors[1].total_cmp(&b.weak.factors[1]));
        let mut known: Vec<(Profile, Stresses)> = Vec::new();
        let mut worst: Option<Neck> = None;
        for next in &seen {
            let is_done = worst.is_some_and(|worst| worst.factors[1] <= next.weak.factors[1]);
            let same = known.iter().find(|(profile, _)| *profile == next.weak.profile).map(|(_, stresses)| *stresses);
            if is_done || (same.is_none() && known.len() == LOOKS) {
                break;
            }
            let stresses = same.map_or_else(|| self.stresses(work, next, options), Ok)?;
            if same.is_none() {
                known.push((next.weak.profile, stresses));
            }
            let neck = self.neck(program, &next.weak, stresses);
            worst = Some(worst.filter(|worst| worst.factors[1] <= neck.factors[1]).unwrap_or(neck));
        }
        Ok(worst)
    }

    fn part(&self, intervals: Range<usize>) -> Part {
        let mut part = Part::default();
        let mut wood = self.wood(self.looks[intervals.start], None);
        for interval in intervals {
            let [moment, end] = [self.looks[interval], self.looks[interval + 1]];
            let next = self.wood(end, Some(&wood));
            let blocks = self.course.moments()[moment]..self.course.moments()[end];
            self.interval(&mut part, moment, blocks, [&wood, &next]);
            wood = next;
        }
        part
    }

    fn wood(&self, moment: usize, before: Option<&Wood>) -> Wood {
        Wood::new(&self.held, self.held.sections(self.course, moment), before)
    }

    /// The blocks between two moments, the wood before and after them.
    fn interval(&self, part: &mut Part, moment: usize, blocks: Range<u32>, wood: [&Wood; 2]) {
        let mut from = blocks.start;
        while from < blocks.end {
            let program = self.job.program_of(from);
            let until = self.job.blocks_of(program).end.clamp(from + 1, blocks.end);
            let is_parted = |station: f64| {
                let parted = self.parted.get(program).and_then(|rows| rows.get(self.held.at(station)));
                parted.copied().unwrap_or(false)
            };
            let pulls = self.pulls(part, from..until, wood, is_parted);
            if self.job.scene.programs.get(program).is_none_or(|entry| entry.parts.is_none()) {
                let weak = wood[0].weak(&self.held, &pulls, &self.strength, self.job.scene.checks.safety);
                let key = |weak: &Weak| (program, place(self.held.station(weak.at)));
                part.seen.extend(weak.into_iter().map(|weak| (key(&weak), Seen { moment, weak })));
            }
            from = until;
        }
    }

    fn pulls(
        &self,
        part: &mut Part,
        blocks: Range<u32>,
        [before, after]: [&Wood; 2],
        is_parted: impl Fn(f64) -> bool,
    ) -> Pulls {
        let mut pulls = Pulls::default();
        // By sections: many blocks cut at one place.
        let mut gives: Vec<Option<[Give; 2]>> = vec![None; self.held.count()];
        let end = if self.held.is_free() { before.end(&self.held) } else { f64::INFINITY };
        for block in blocks {
            let stem = self.job.cutter_index(block).and_then(|at| self.stems.get(usize::from(at))?.as_ref());
            let mut worst = Spring::default();
            for load in self.loads_of(block).map(|load| self.clear_of_end(load, end)) {
                pulls.take(&load);
                let at = self.held.at(load.station);
                let give = |wood: &Wood| wood.bar.give(self.held.station(at));
                let both = gives.get_mut(at).map(|known| *known.get_or_insert_with(|| [give(before), give(after)]));
                let spring = both.and_then(|both| spring(&load, both, stem)).filter(|_| !is_parted(load.station));
                let ends = spring.map_or([0.0; 2], |spring| spring.map(|end| end as f32));
                if ends[1] > worst.ends[1] {
                    worst = Spring { ends, share: (0.5 * (load.share.0 + load.share.1)) as f32 };
                }
                part.springs.push(ends);
            }
            part.worst.push(worst);
        }
        pulls
    }

    /// Where all wood from the cutter on to the free end lies under the cutter, that wood is what is being cut away: it
    /// neither carries the load nor matters. The load then stands at the edge of what stays.
    fn clear_of_end(&self, load: Load, end: f64) -> Load {
        let cutter = self.job.scene.cutters.get(usize::from(load.cutter));
        let radius = cutter.map_or(0.0, |cutter| cutter.flutes.radius());
        // A row farther in, for rows stand for what lies within half a step of them.
        let inward = radius + self.held.step();
        let station = if load.station + radius < end { load.station } else { (load.station - inward).max(0.0) };
        Load { station, ..load }
    }

    fn loads_of(&self, block: u32) -> impl Iterator<Item = Load> {
        self.course.strokes(block).filter_map(|stroke| self.loads.of(&stroke))
    }

    /// What a section makes of its burden: one that is not round is looked at by its outline.
    fn stresses(
        &self,
        work: &dryturn_carve::Job<'_>,
        seen: &Seen,
        options: &RunOptions<'_>,
    ) -> Result<Stresses, CarveError> {
        let Weak { at, profile, .. } = seen.weak;
        if profile.is_round() {
            return Ok(Stresses::of(&profile));
        }
        let section = self.held.sections(self.course, seen.moment)[at];
        let until = Until { motions: work.motions, count: self.course.moments()[seen.moment] };
        let replay = Replay::new(&dryturn_carve::Job { motions: &until, ..*work }, options)?;
        let drawn = stresses(&outline(&replay, self.held.station(at)), &section, &profile);
        Ok(drawn.unwrap_or_else(|| Stresses::of(&profile)))
    }

    fn neck(&self, program: usize, weak: &Weak, stresses: Stresses) -> Neck {
        let Weak { at, profile, burden, .. } = *weak;
        let bends = stresses.bending * burden.bending[1] / self.strength.bending;
        let twists = stresses.torsion * burden.torque[1] / self.strength.shear;
        Neck {
            program,
            station: self.held.station(at),
            area: profile.area,
            diameter: profile.diameter(),
            stresses,
            burden,
            factors: stresses.factors(&burden, &self.strength),
            block: burden.blocks[usize::from(twists > bends)],
        }
    }
}

#[cfg(test)]
mod tests;
