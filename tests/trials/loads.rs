//! The mistakes of strength: what was asked for is more than the piece, the machine or the cutter can bear.

use crate::mistakes::{changed, cuts};
use crate::program::Word::{A, X, Y, Z};
use crate::program::{Program, Step};
use crate::shape::stations;
use crate::shop::{Form, Job, Kind, PLUNGE, Section};

/// Radius of a neck that nobody would turn beside, mm.
const NECK: f64 = 1.5;
/// How far past the axis a cut runs that is to part for certain, mm.
const PAST: f64 = 0.5;
/// What a drive without its gear holds, or jaws that were pushed to by hand, N·m.
const WEAK: f64 = 0.05;
/// A spindle made for engraving, W.
const SMALL: f64 = 60.0;

/// A ring down to a radius, a turn a layer.
fn ring(job: &Job, name: &'static str, station: f64, floor: f64) -> Option<Program> {
    let cutter = job.cutters.iter().find(|cutter| cutter.form == Form::Flat)?;
    let mut program = Program::new(name, cutter.number, job.blank.corner() + 6.0);
    if job.programs.iter().flat_map(|program| &program.steps).any(|step| matches!(step, Step::Length(_))) {
        program.steps.insert(0, Step::Length(cutter.number));
    }
    program.rapid([X(station), Y(0.0), A(0.0)]);
    for height in &stations([job.blank.corner(), floor], 2.5)[1..] {
        program.feed([Z(*height)], 250.0);
        program.feed([program.turned(360.0)], 1200.0);
    }
    Some(program.end())
}

/// The piece is turned after a neck was cut near its holding: where it is parted, or where its shape begins.
pub(crate) fn necked_first(job: &Job) -> Option<Job> {
    let rough = job.programs.iter().position(|program| program.name == "rough")?;
    let parted = job.programs.iter().position(|program| program.name == "part");
    let station = match parted {
        Some(part) => job.programs[part].cuts()[0].1[0],
        None => job.target.as_ref()?.span[0] + 3.0,
    };
    let neck = ring(job, "neck", station, NECK)?;
    changed(job, job.kind == Kind::Turned, |job| {
        if let Some(part) = parted {
            job.programs.remove(part);
        }
        job.programs.insert(rough, neck);
    })
}

/// Right around in the middle of the work, through the wall of a tube or past the axis.
pub(crate) fn cut_through(job: &Job) -> Option<Job> {
    let ends = cuts(job).iter().fold([f64::MAX, f64::MIN], |[from, to], cut| [from.min(cut.x), to.max(cut.x)]);
    let floor = if let Section::Tube(bore) = job.blank.section { bore / 2.0 - 2.0 } else { -PAST };
    let off = ring(job, "off", (ends[0] + ends[1]) / 2.0, floor)?;
    changed(job, true, |job| {
        job.programs.retain(|program| program.tab.is_none());
        job.programs.push(off);
    })
}

/// Whether wood of some diameter is taken by the layer with a flat cutter.
fn is_hard_work(job: &Job) -> bool {
    let by_the_layer = matches!(job.kind, Kind::Turned | Kind::Stepped | Kind::Faceted | Kind::TwoSided);
    let flat = cuts(job).iter().any(|cut| cut.cutter.form == Form::Flat && cut.cutter.diameter >= 6.0);
    by_the_layer && flat && job.blank.across >= 36.0
}

pub(crate) fn weak_drive(job: &Job) -> Option<Job> {
    changed(job, is_hard_work(job), |job| job.torque = WEAK)
}

pub(crate) fn hardly_held(job: &Job) -> Option<Job> {
    changed(job, is_hard_work(job), |job| job.grip = WEAK)
}

/// The feeds of a big router, and another slip of a factor, on a small spindle; where the blank stands still nothing
/// slows it down.
pub(crate) fn small_spindle(job: &Job) -> Option<Job> {
    let still = matches!(job.kind, Kind::Faceted | Kind::TwoSided);
    changed(job, still && is_hard_work(job), |job| {
        job.power = SMALL;
        for step in job.programs.iter_mut().flat_map(|program| &mut program.steps) {
            if let Step::Feed(_, Some(speed)) = step {
                *speed *= 4.0;
            }
        }
    })
}

/// Straight down at twice what the cutter's maker allows.
pub(crate) fn plunged_fast(job: &Job) -> Option<Job> {
    let mut fast = job.clone();
    let mut plunges = 0;
    for step in fast.programs.iter_mut().flat_map(|program| &mut program.steps) {
        if let Step::Feed(words, speed @ Some(_)) = step
            && matches!(words[..], [Z(_)])
        {
            *speed = Some(2.0 * PLUNGE);
            plunges += 1;
        }
    }
    (plunges > 0).then_some(fast)
}
