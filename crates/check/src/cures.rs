//! The least changes that cure a contact, each proved before it is told.

use dryturn_geom::{Motion, Motions};
use dryturn_scene::{BlankShape, Job, Scene};
use rayon::prelude::*;

use crate::bodies::fixed_bodies;
use crate::contact::{Apart, ContactReport, Examiner, SKIN, Shift, Stretch};
use crate::finding::{Cure, Remedy};

/// Changes of a length are tried in these steps and told in those, mm.
const LENGTHS: Steps = Steps { coarse: 0.25, fine: 0.01, skin: SKIN };
/// The same for an angle, degrees.
const ANGLES: Steps = Steps { coarse: 1.0, fine: 0.1, skin: 0.0 };
/// A screw shorter than this is none, mm.
const SHORTEST: f64 = 1.0;
/// Farther than this no rapid is raised, mm, and no run of more blocks than this.
const HIGHEST: f64 = 50.0;
const LONGEST: u32 = 1000;

/// What a contact is cured by is asked for one contact.
struct Asked<'a> {
    job: &'a Job,
    examiner: &'a Examiner<'a>,
    report: &'a ContactReport,
    hit: &'a Stretch,
}

/// For each contact of the report what cures it, the best first.
pub(crate) fn cures(job: &Job, examiner: &Examiner<'_>, report: &ContactReport) -> Vec<Vec<Cure>> {
    let pair = |hit: &Stretch| (hit.cutter, hit.moving.clone(), hit.row.clone());
    let mut pairs: Vec<&Stretch> = Vec::new();
    for hit in &report.contacts {
        if !pairs.iter().any(|known| pair(known) == pair(hit)) {
            pairs.push(hit);
        }
    }
    let asked = |hit| Asked { job, examiner, report, hit };
    // Most cures free a pair wherever it is in contact.
    let of_pairs: Vec<Vec<Cure>> = pairs.par_iter().map(|hit| asked(hit).of_the_pair()).collect();
    let all = report.contacts.par_iter().map(|hit| {
        let shared = pairs.iter().position(|known| pair(known) == pair(hit));
        let shared = shared.and_then(|at| of_pairs.get(at)).cloned().unwrap_or_default();
        asked(hit).retract().into_iter().chain(shared).collect()
    });
    all.collect()
}

impl Asked<'_> {
    fn of_the_pair(&self) -> Vec<Cure> {
        let cures = [self.stickout(), self.shorter_screws(), self.moved_screws(), self.turned_jaws()];
        cures.into_iter().flatten().chain(self.stations()).collect()
    }

    /// A change proved for touching and for the distance that is let pass.
    fn proved(
        &self,
        what: Remedy,
        now: Option<f64>,
        sign: f64,
        least: impl Fn(Apart<'_>) -> Option<f64>,
    ) -> Option<Cure> {
        let near = |row: &str| self.job.scene.checks.near(row);
        let touching = sign * least(Apart::Touching)?;
        Some(Cure { what, now, touching, with_near: least(Apart::Near(&near)).map(|by| sign * by) })
    }

    /// Along the axis, away from the end of the blank that what is hit stands at; of both ways the shorter first.
    fn stations(&self) -> Vec<Cure> {
        let signs: &[f64] = match self.hit.row.as_str() {
            "chuck" | "jaws" | "faceplate" | "screw" | "drive" => &[1.0],
            "center" | "head" | "quill" | "tailstock" => &[-1.0],
            _ => &[1.0, -1.0],
        };
        let along = |sign: &f64| {
            let shift = Shift::Stations(*sign);
            let least = |apart: Apart<'_>| self.examiner.least_shift(self.report, self.hit, apart, shift);
            self.proved(Remedy::ZeroX, None, *sign, least)
        };
        let mut cures: Vec<Cure> = signs.iter().filter_map(along).collect();
        cures.sort_by(|a, b| a.touching.abs().total_cmp(&b.touching.abs()));
        cures
    }

    fn stickout(&self) -> Option<Cure> {
        if self.hit.moving == "cutter" || self.hit.moving == "shank" {
            return None;
        }
        let now = self.job.scene.cutters.get(usize::from(self.hit.cutter))?.stickout?;
        let shift = Shift::Stickout(self.hit.cutter);
        self.proved(Remedy::Stickout, Some(now), 1.0, |apart| {
            self.examiner.least_shift(self.report, self.hit, apart, shift)
        })
    }

    /// The least change of the scene, up to `most`, after which the row no longer meets.
    fn changed(&self, apart: Apart<'_>, steps: Steps, most: f64, change: impl Fn(&mut Scene, f64)) -> Option<f64> {
        let skin = if matches!(apart, Apart::Touching) { steps.skin } else { 0.0 };
        steps.least(most, skin, |by| {
            let mut scene = self.job.scene.clone();
            change(&mut scene, by);
            self.examiner.cures(self.report, self.hit, apart, &fixed_bodies(&scene))
        })
    }

    fn hit_screw(&self) -> Option<dryturn_scene::Screw> {
        let screws = self.job.scene.faceplate.as_ref().filter(|_| self.hit.row == "screw")?;
        screws.screws.get(self.hit.which.checked_sub(1)? as usize).copied()
    }

    /// All screws as long as the one that is hit become shorter.
    fn shorter_screws(&self) -> Option<Cure> {
        let now = self.hit_screw()?.length;
        let shorten = |scene: &mut Scene, by: f64| {
            let screws = scene.faceplate.iter_mut().flat_map(|plate| &mut plate.screws);
            screws.for_each(|screw| screw.length = screw.length.min(now - by));
        };
        self.proved(Remedy::ScrewLength, Some(now), -1.0, |apart| self.changed(apart, LENGTHS, now - SHORTEST, shorten))
    }

    /// All screws on the circle of the one that is hit go further in or out, within plate and blank.
    fn moved_screws(&self) -> Option<Cure> {
        let screw = self.hit_screw()?;
        let plate = self.job.scene.faceplate.as_ref()?.diameter;
        let outermost = (0.5 * plate).min(self.job.scene.stock().flat_radius()) - 0.5 * screw.diameter;
        let to = |sign: f64, most: f64| {
            let shift = move |scene: &mut Scene, by: f64| {
                let screws = scene.faceplate.iter_mut().flat_map(|plate| &mut plate.screws);
                let circle = screws.filter(|other| other.radius == screw.radius);
                circle.for_each(|other| other.radius += sign * by);
            };
            self.proved(Remedy::ScrewRadius, Some(screw.radius), sign, |apart| {
                self.changed(apart, LENGTHS, most, shift)
            })
        };
        shorter([to(-1.0, screw.radius), to(1.0, outermost - screw.radius)])
    }

    /// Jaws turned about a round blank; those on flats stay on them.
    fn turned_jaws(&self) -> Option<Cure> {
        let round = matches!(self.job.scene.blank.shape, BlankShape::Round { .. } | BlankShape::Tube { .. });
        let jaws = self.job.scene.chuck.as_ref()?.jaws.as_ref().filter(|_| round && self.hit.row == "jaws")?;
        let to = |sign: f64| {
            let turn = move |scene: &mut Scene, by: f64| {
                let jaws = scene.chuck.iter_mut().flat_map(|chuck| &mut chuck.jaws);
                jaws.for_each(|jaws| jaws.turned_deg += sign * by);
            };
            let most = 180.0 / f64::from(jaws.count);
            self.proved(Remedy::JawsTurned, Some(jaws.turned_deg), sign, |apart| {
                self.changed(apart, ANGLES, most, turn)
            })
        };
        shorter([to(1.0), to(-1.0)])
    }

    /// Level rapids that hit are raised, and so are the ends of the blocks that lead to them and away.
    fn retract(&self) -> Option<Cure> {
        let run = self.level_rapids()?;
        self.proved(Remedy::Retract, None, 1.0, |apart| {
            let skin = if matches!(apart, Apart::Touching) { SKIN } else { 0.0 };
            LENGTHS.least(HIGHEST, skin, |by| self.examiner.cured_by(self.report, self.hit, apart, &raised(&run, by)))
        })
    }

    /// The level rapids around the contact, with a block before and one after; nothing if anything else hits.
    fn level_rapids(&self) -> Option<Vec<Motion>> {
        let (first, last) = (self.hit.first_block, self.hit.last_block);
        let height = self.job.motion(first)?.from.z;
        let level = |block: &u32| {
            let at_height = |motion: &Motion| motion.from.z == height && motion.to.z == height && motion.arc.is_none();
            self.job
                .motion(*block)
                .is_some_and(|motion| motion.rapid && motion.cutter == self.hit.cutter && at_height(&motion))
        };
        if last - first > LONGEST || !(first..=last).all(|block| level(&block)) {
            return None;
        }
        let before = (first.saturating_sub(LONGEST)..first).rev().find(|block| !level(block))?;
        let after = (last + 1..last.saturating_add(LONGEST)).find(|block| !level(block))?;
        (before..=after).map(|block| self.job.motion(block)).collect()
    }
}

/// A run of level rapids raised, with the ends of the blocks before and after it.
fn raised(run: &[Motion], by: f64) -> Vec<Motion> {
    let mut raised = run.to_vec();
    let last = raised.len().saturating_sub(1);
    for (at, motion) in raised.iter_mut().enumerate() {
        if at > 0 {
            motion.from.z += by;
        }
        if at < last {
            motion.to.z += by;
        }
    }
    raised
}

/// The one of two that changes less.
fn shorter(cures: [Option<Cure>; 2]) -> Option<Cure> {
    cures.into_iter().flatten().reduce(|a, b| if b.touching.abs() < a.touching.abs() { b } else { a })
}

/// How a change is looked for.
#[derive(Clone, Copy)]
struct Steps {
    coarse: f64,
    fine: f64,
    /// What is added where bodies that are smaller by their skin are free.
    skin: f64,
}

impl Steps {
    /// The first multiple of the fine step, up to `most`, that is free, with room for the skin added.
    fn least(self, most: f64, skin: f64, free: impl Fn(f64) -> bool) -> Option<f64> {
        let each = (self.coarse / self.fine).round() as u32;
        let at = |k: u32| f64::from(k) * self.fine;
        let most = (most / self.fine + 1e-6).floor().max(0.0) as u32;
        let mut found = (1..).map(|k| k * each).take_while(|k| *k <= most).find(|k| free(at(*k)))?;
        let mut met = found - each;
        while found - met > 1 {
            let middle = met + (found - met) / 2;
            if free(at(middle)) {
                found = middle;
            } else {
                met = middle;
            }
        }
        // Where smaller bodies just touch they are not free yet: that is one step.
        let whole = (found + (skin / self.fine).round() as u32).saturating_sub(u32::from(skin > 0.0));
        (whole <= most && free(at(whole))).then(|| at(whole))
    }
}
