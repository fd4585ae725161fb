//! What the cuts of a whole run do to the wood: how far they push it, and which necks they may break.
//!
//! A [`Watch`] goes through the moments of a course in parts, and [`Watch::strain`] brings together what came of them.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::ops::Range;

use dryturn_carve::{CarveError, Course, Grid, RunOptions, Stroke};
use dryturn_scene::Job;
use rayon::prelude::*;

use super::bar::Give;
use super::held::Held;
use super::meantime::{Meantime, is_alike};
use super::nearest::Search;
use super::spring::{Sprung, spring, until_it_breaks};
use super::stem::Stem;
use super::weak::{Between, Burden, Pulls, Strength, Stresses, Weak, Wood};
use crate::limits;
use crate::load::{Load, Loads};

/// What the cuts of a run do to the wood that is held.
pub(crate) struct Strain {
    /// How far wood and cutter may spring apart, mm.
    pub(crate) allowed: f64,
    /// The strokes that push them farther, in their order.
    pub(crate) pushed: Vec<Pushed>,
    /// The weakest sections, of each program and place along the axis one, in this order.
    pub(crate) necks: Vec<Neck>,
}

/// How far a stroke pushes wood and cutter apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pushed {
    /// Its block, or the first of its blocks, and the last.
    pub(crate) block: u32,
    pub(crate) last: u32,
    /// Share of the block in the middle of it.
    pub(crate) share: f32,
    /// Station of the cutter there, mm.
    pub(crate) station: f32,
    /// Least and greatest, mm.
    pub(crate) ends: [f32; 2],
    /// Whether the wood breaks there.
    pub(crate) breaks: bool,
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

/// A stroke that takes wood.
pub(super) struct Cut {
    /// Its place among all strokes between two looks.
    pub(super) index: usize,
    pub(super) stroke: Stroke,
    pub(super) load: Load,
    /// Where its load stands, mm.
    pub(super) station: f64,
}

impl Cut {
    /// Between these stations its load stands from one share of the stroke to another, mm.
    pub(super) fn stations(&self, shares: [f64; 2]) -> [f64; 2] {
        let moved = self.station - self.load.station;
        let [start, end] = self.load.ends;
        let [from, to] = shares.map(|share| (start + share * (end - start) + moved).max(0.0));
        [from.min(to), from.max(to)]
    }
}

/// Sections of one place that may be too weak for what is cut after a moment, up to the next.
pub(super) struct Seen {
    pub(super) moment: usize,
    pub(super) weak: Vec<Weak>,
}

impl Seen {
    /// Strength over stress at the least, of all of them.
    pub(super) fn factor(&self) -> f64 {
        self.weak.iter().map(|weak| weak.factor).fold(f64::INFINITY, f64::min)
    }
}

/// What is known of a job before its loads.
pub(crate) struct Watch<'a> {
    pub(super) job: &'a Job,
    pub(super) course: &'a Course,
    pub(super) loads: &'a Loads<'a>,
    pub(super) held: Held<'a>,
    pub(super) strength: Strength,
    stems: Vec<Option<Stem>>,
    /// How far wood and cutter may spring apart, mm.
    allowed: f64,
    /// Of each program that is meant to part the area of each section under which that is parted, mm²; 0 where it is not to be.
    parted: Vec<Vec<f64>>,
}

/// What came of some moments in a row.
#[derive(Default)]
pub(crate) struct Part {
    pushed: Vec<Pushed>,
    seen: Vec<((usize, i64), Seen)>,
}

impl Strain {
    /// The worst stroke of a block, of those that are told.
    pub(crate) fn worst_of(&self, block: u32) -> Option<&Pushed> {
        let first = self.pushed.partition_point(|pushed| pushed.last < block);
        let of_block = self.pushed[first..].iter().take_while(|pushed| pushed.block <= block);
        of_block.reduce(|worst, next| if self.badness(next) > self.badness(worst) { next } else { worst })
    }

    /// How bad a stroke is that pushes too far; the greatest is the worst. Whether it is sure to, whether the wood breaks, and
    /// how far it pushes at the most, mm: the same order among the strokes of a block and among blocks, so that it does not
    /// matter which of them are one block.
    pub(crate) fn badness(&self, pushed: &Pushed) -> (bool, bool, f64) {
        let [least, greatest] = pushed.ends.map(f64::from);
        (least > self.allowed, pushed.breaks, greatest)
    }
}

/// The sections that a program is meant to part: of those it leaves less than a quarter, or less than the tab that is to
/// stay, and as soon as it does how far they spring does not matter any more. As in [`Watch`]; none where parting is not meant.
fn parted(job: &Job, course: &Course, held: &Held<'_>, program: usize) -> Vec<f64> {
    let Some(parts) = job.scene.programs.get(program).and_then(|entry| entry.parts) else { return Vec::new() };
    let blocks = job.blocks_of(program);
    let moments = [blocks.start, blocks.end]
        .map(|block| course.moments().partition_point(|moment| *moment < block))
        .map(|moment| moment.min(course.moments().len() - 1));
    let tab = parts.min_tab.unwrap_or(0.0);
    let under = |at: usize| {
        let [before, after] = moments.map(|moment| held.section(course, moment, at).area);
        let under = (0.25 * before).max(0.25 * PI * tab * tab);
        if after < before && after < under { under } else { 0.0 }
    };
    (0..held.count()).map(under).collect()
}

impl<'a> Watch<'a> {
    /// `None` where the scene does not say what holds the blank, or how stiff it is. `course` is what a carve of the job on
    /// the grid told; every program begins at one of its moments.
    pub(crate) fn of(job: &'a Job, grid: &'a Grid, course: &'a Course, loads: &'a Loads<'a>) -> Option<Watch<'a>> {
        let held = Held::of(&job.scene, grid)?;
        let material = job.scene.blank.material.as_ref();
        let given = |strength: Option<f64>| strength.filter(|it| *it > 0.0).unwrap_or(f64::INFINITY);
        let strength = Strength {
            bending: given(material.and_then(|it| it.bending)),
            shear: given(material.and_then(|it| it.shear)),
        };
        let stems = job.scene.cutters.iter().map(Stem::of).collect();
        let parted = (0..job.scene.programs.len()).map(|program| parted(job, course, &held, program)).collect();
        Some(Watch { job, course, loads, held, strength, stems, allowed: limits::spring(&job.scene), parted })
    }

    /// What comes of all moments, part by part. `work` is the job as it was carved.
    ///
    /// # Errors
    /// As [`dryturn_carve::Replay::new`].
    pub(crate) fn strain(
        &self,
        parts: Vec<Part>,
        work: &dryturn_carve::Job<'_>,
        options: &RunOptions<'_>,
    ) -> Result<Strain, CarveError> {
        let mut seen: BTreeMap<(usize, i64), Vec<Seen>> = BTreeMap::new();
        let mut pushed = Vec::new();
        for part in parts {
            pushed.extend(part.pushed);
            for (key, weak) in part.seen {
                seen.entry(key).or_default().push(weak);
            }
        }
        let search = |program: usize| Search { watch: self, work, options, program };
        let necks = seen.into_par_iter().map(|((program, _), seen)| search(program).nearest(seen));
        let necks: Vec<Option<Neck>> = necks.collect::<Result<_, CarveError>>()?;
        let safety = self.job.scene.checks.safety;
        let is_weak = |neck: &Neck| neck.factors[1] < safety;
        let necks = necks.into_iter().flatten().filter(is_weak).collect();
        Ok(Strain { allowed: self.allowed, pushed, necks })
    }

    /// What comes of the blocks after some moments in a row, each up to the next; `tell` is told every stroke that takes
    /// wood, and how far it pushes wood and cutter apart, where anyone can tell.
    pub(crate) fn part(&self, moments: Range<usize>, mut tell: impl FnMut(&Stroke, &Load, Option<Sprung>)) -> Part {
        let mut part = Part::default();
        let mut wood = self.wood(moments.start);
        for moment in moments {
            let next = wood.next(&self.held, self.course, moment + 1);
            self.interval(&mut part, moment, [&wood, &next], &mut tell);
            wood = next;
        }
        part
    }

    /// The wood at a moment and at the next.
    pub(super) fn woods(&self, moment: usize) -> [Wood; 2] {
        let first = self.wood(moment);
        let second = first.next(&self.held, self.course, moment + 1);
        [first, second]
    }

    /// Where the wood ends that nothing holds, mm; beyond all stations where something does.
    pub(super) fn end(&self, wood: &Wood) -> f64 {
        if self.held.is_free() { wood.end(&self.held) } else { f64::INFINITY }
    }

    /// Where all wood from the cutter on to the free `end` lies under the cutter, that wood is what is being cut away: it
    /// neither carries the load nor matters. The load then stands at the edge of what stays. Its station, mm.
    pub(super) fn clear_of_end(&self, load: &Load, end: f64) -> f64 {
        let cutter = self.job.scene.cutters.get(usize::from(load.cutter));
        let radius = cutter.map_or(0.0, |cutter| cutter.flutes.radius());
        // A row farther in, for rows stand for what lies within half a step of them.
        let inward = radius + self.held.step();
        if load.station + radius < end { load.station } else { (load.station - inward).max(0.0) }
    }

    fn wood(&self, moment: usize) -> Wood {
        Wood::new(&self.held, self.course, moment)
    }

    /// The blocks after a moment, up to the next.
    pub(super) fn blocks(&self, moment: usize) -> Range<u32> {
        self.course.moments()[moment]..self.course.moments()[moment + 1]
    }

    /// Goes through the cuts after a moment, up to the next, the wood known at both, and hands on each with what is known of the
    /// wood before and after it.
    pub(super) fn go(&self, moment: usize, wood: [&Wood; 2], parted: &[f64], hear: &mut dyn FnMut(&Cut, Met<'_>)) {
        let end = self.end(wood[0]);
        let mut cuts = self.course.strokes(self.blocks(moment)).enumerate().filter_map(|(index, stroke)| {
            let load = self.loads.of(&stroke)?;
            Some(Cut { index, stroke, station: self.clear_of_end(&load, end), load })
        });
        // Many blocks cut at one place, and only few places are cut.
        let mut known: BTreeMap<usize, [Give; 2]> = BTreeMap::new();
        while let Some(cut) = cuts.next() {
            let at = self.held.at(cut.station);
            let gives = *known.entry(at).or_insert_with(|| self.gives(&cut, wood));
            if wood[0].is_through(parted, at) || is_alike(gives) {
                hear(&cut, Met { wood, gives, is_looked_into: false });
                continue;
            }
            let rest: Vec<Cut> = std::iter::once(cut).chain(&mut cuts).collect();
            Meantime::new(self, moment, wood).go(&rest, &mut |cut, wood| {
                hear(cut, Met { wood, gives: self.gives(cut, wood), is_looked_into: true });
            });
        }
    }

    /// How the wood under a cut gives way, before and after.
    fn gives(&self, cut: &Cut, wood: [&Wood; 2]) -> [Give; 2] {
        wood.map(|wood| wood.bar.give(self.held.station(self.held.at(cut.station))))
    }

    /// The blocks between a moment and the next, the wood at both.
    fn interval(
        &self,
        part: &mut Part,
        moment: usize,
        wood: [&Wood; 2],
        tell: &mut impl FnMut(&Stroke, &Load, Option<Sprung>),
    ) {
        let program = self.job.program_of(self.blocks(moment).start);
        let parted = self.parted.get(program).map_or(&[][..], Vec::as_slice);
        let mut pulls = Pulls::default();
        self.go(moment, wood, parted, &mut |cut, met| {
            let Cut { stroke, load, .. } = cut;
            pulls.take(load, cut.stations([0.0, 1.0]), met.is_looked_into);
            let sprung = self.as_it_meets(cut, &met, parted).and_then(|met| self.sprung(cut, &met));
            part.pushed.extend(sprung.filter(|it| it.ends[1] > self.allowed).map(|it| Pushed::by(load, it)));
            tell(stroke, load, sprung);
        });
        let between = Between { held: &self.held, wood, parted: if self.leaves_tab(program) { &[] } else { parted } };
        let weak = between.weak(&pulls, &self.strength, self.job.scene.checks.safety);
        let key = |weak: &[Weak]| (program, self.held.place(weak[0].at));
        part.seen.extend(weak.into_iter().map(|weak| (key(&weak), Seen { moment, weak })));
    }

    /// Whether a tab is to stay where a program parts: it then has to bear what is cut beyond it.
    fn leaves_tab(&self, program: usize) -> bool {
        let parts = self.job.scene.programs.get(program).and_then(|entry| entry.parts);
        parts.and_then(|parts| parts.min_tab).is_some_and(|tab| tab > 0.0)
    }

    /// A cut that parts the wood with what it meets alone, as what it leaves may spring as it likes; nothing of one in wood that
    /// is parted already.
    fn as_it_meets<'w>(&self, cut: &Cut, met: &Met<'w>, parted: &[f64]) -> Option<Met<'w>> {
        let (at, [before, after]) = (self.held.at(cut.station), met.wood);
        if before.is_through(parted, at) {
            return None;
        }
        let is_parting = after.is_through(parted, at);
        let gives = if is_parting { [met.gives[0]; 2] } else { met.gives };
        Some(Met { wood: if is_parting { [before; 2] } else { met.wood }, gives, ..*met })
    }

    /// How far a cut pushes wood and cutter apart.
    fn sprung(&self, Cut { load, station, .. }: &Cut, met: &Met<'_>) -> Option<Sprung> {
        let stem = self.stems.get(usize::from(load.cutter)).and_then(Option::as_ref);
        let ends = spring(load, met.gives, stem)?;
        let forces = load.forces.filter(|_| ends[1] > SLIGHT.max(self.allowed));
        let there = if met.gives[1].across.is_finite() { met.wood[1] } else { met.wood[0] };
        let bears = forces.map_or(f64::INFINITY, |forces| there.bears(&self.held, &forces, *station, &self.strength));
        Some(until_it_breaks(ends, bears))
    }
}

/// Springs of less than this are not held against the strength of the wood, mm: it takes its time, and wood so stiff and so
/// weak is a neck that is told anyway.
const SLIGHT: f64 = 1.0;

/// The wood that a cut meets and leaves.
pub(super) struct Met<'w> {
    pub(super) wood: [&'w Wood; 2],
    /// How it gives way under the cut.
    gives: [Give; 2],
    /// Whether it was worked out for that cut, or for a few; otherwise it is that of both looks.
    is_looked_into: bool,
}

impl Pushed {
    fn by(load: &Load, Sprung { ends, breaks }: Sprung) -> Pushed {
        Pushed {
            block: load.block,
            last: load.last,
            share: (0.5 * (load.share.0 + load.share.1)) as f32,
            station: load.station as f32,
            ends: ends.map(|end| end as f32),
            breaks,
        }
    }
}

#[cfg(test)]
mod tests;
