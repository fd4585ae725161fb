//! The run: carve, watch every pair of bodies, and let the rules speak.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::atomic::Ordering;

use dryturn_carve::{CarveError, Carved, Replay, RunOptions, carve};
use dryturn_geom::{Motion, Motions, angle};
use dryturn_scene::Job;
use rayon::prelude::*;

use crate::accept::accepted;
use crate::assumed::assumed;
use crate::bodies;
use crate::contact::{ContactReport, Examiner, FARTHEST, PairClearance, Span};
use crate::cures::cures;
use crate::diagnosis;
use crate::evidence::{Evidence, turning_points};
use crate::finding::{Assumed, Clearance, Cure, Finding, NotChecked, Severity, Verdict, verdict};
use crate::not_checked::not_checked;
use crate::preparation::Preparation;
use crate::rules::{self, swing::Swept};
use crate::run::Run;
use crate::stretches::{Until, motions, motions_of};
use crate::target::{Comparison, Limits, Surface, Wanted, compare};
use crate::time::{CutterTimes, JobTimes, ProgramTimes};
use crate::told::{SERIES_POINTS, Told, moment_of, spans};
use crate::work::Work;
use crate::zero_window::{ZeroWindow, zero_window};

/// What a run found.
#[derive(Clone, Debug)]
pub struct Proof {
    /// What the findings come to.
    pub verdict: Verdict,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The closest approach of every described pair of bodies.
    pub clearances: Vec<Clearance>,
    /// How far the zeros may be off before bodies meet; `None` where the scene does not say what holds the blank.
    pub zero_window: Option<ZeroWindow>,
    /// What the scene did not say, and what was taken.
    pub assumed: Vec<Assumed>,
    /// What was not looked at.
    pub not_checked: Vec<NotChecked>,
    /// One for each program.
    pub programs: Vec<ProgramSummary>,
    /// One for each cutter that moves, by its number.
    pub cutters: Vec<CutterTimes>,
    /// How long all programs take, and a batch.
    pub times: JobTimes,
    /// How the piece lies beside the target, where there is one.
    pub target: Option<Comparison>,
    /// What a person gets ready before it.
    pub preparation: Preparation,
    /// What the run is told by.
    pub told: Told,
    /// What is left of the blank.
    pub carved: Carved,
}

/// What one program does.
#[derive(Clone, Debug, PartialEq)]
pub struct ProgramSummary {
    /// Its blocks among those of the job.
    pub blocks: Range<u32>,
    /// How many of them move something.
    pub moving: u32,
    /// Volume it removes, mm³.
    pub removed_mm3: f64,
    /// How long it takes at the machine.
    pub times: ProgramTimes,
    /// Extremes of the tip, if it moves: station, y, height over the axis (mm) and θ on top (degrees).
    pub extents: Option<[[f64; 2]; 4]>,
    /// The word that turns the blank before the first move and after the last, degrees, as [`Job::wound`] counts them.
    pub winding: Option<[f64; 2]>,
}

/// Proves a job out.
///
/// # Errors
/// As [`carve`]: cancelled, or no threads.
pub fn prove(job: &Job, options: &RunOptions<'_>) -> Result<Proof, CarveError> {
    prove_in_slices(job, options, SERIES_POINTS)
}

/// As [`prove()`], its course told in so many slices, and its blocks in so many rows.
///
/// # Errors
/// As [`prove()`].
pub fn prove_in_slices(job: &Job, options: &RunOptions<'_>, slices: u32) -> Result<Proof, CarveError> {
    let set_up = Work::of(&job.scene);
    let work = set_up.job(job);
    let run = Run::of(job, (&work, &set_up.grid), slices, options)?;
    let watched = watched(job, &run.carved, &spans(&run.times, slices), options)?;
    let target = beside_target(job, &work, &run.carved, options)?;
    let replay =
        if job.scene.cutters.iter().all(|it| it.cuts_center) { None } else { Some(Replay::new(&work, options)?) };
    let evidence = Evidence {
        job,
        carved: &run.carved,
        replay: replay.as_ref(),
        contacts: &watched.contacts,
        cures: &watched.cures,
        swept: &watched.swept,
        target: target.as_ref(),
        course: &run.course,
        times: &run.times,
        watches: &run.watches,
        beyond: &run.beyond,
        grain: &run.grain,
        loose: &run.loose,
        strain: run.strain.as_ref(),
        is_explained: false,
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    let (findings, preparation) = pool
        .install(|| rayon::join(|| findings(&evidence, options), || Preparation::of(job, &run.carved, &run.course)));
    let findings = findings?;
    let found_s = findings.iter().map(|found| moment_of(job, &run.times, found)).collect();
    let air = |block| run.air(block);
    let programs = (0..job.programs.len()).map(|program| summary(&evidence, program, air));
    let programs: Vec<ProgramSummary> = programs.collect();
    let cutters = run.times.cutters(air);
    let blocks = run.times.by_block(slices, air);
    let told = Told { blocks, found_s, ..run.telling.finish(&run.times, &watched.clearances) };
    let by_program: Vec<ProgramTimes> = programs.iter().map(|program| program.times).collect();
    let described = job.scene.holding_described() && job.scene.holders_described();
    Ok(Proof {
        verdict: verdict(&findings, described),
        clearances: watched.contacts.clearances.iter().map(|pair| clearance(&evidence, pair)).collect(),
        zero_window: watched.zero_window,
        assumed: assumed(job, &told, run.strain.is_some()),
        not_checked: not_checked(job, &programs, &told),
        cutters,
        times: run.times.whole(&by_program),
        preparation,
        findings,
        programs,
        told,
        target,
        carved: run.carved,
    })
}

/// What the rules have to say, diagnosis first: it may explain what the others see.
fn findings(evidence: &Evidence<'_>, options: &RunOptions<'_>) -> Result<Vec<Finding>, CarveError> {
    go_on(options)?;
    let mut findings = diagnosis::findings(evidence, options)?;
    let is_explained = findings.iter().any(|found| found.severity == Severity::Error);
    findings.extend(rules::all(&Evidence { is_explained, ..*evidence }));
    go_on(options)?;
    Ok(accepted(&evidence.job.scene, findings))
}

/// The piece beside its target, after the program it is meant for.
fn beside_target(
    job: &Job,
    work: &dryturn_carve::Job<'_>,
    carved: &Carved,
    options: &RunOptions<'_>,
) -> Result<Option<Comparison>, CarveError> {
    let (Some(target), Some(shape)) = (&job.scene.target, &job.target) else { return Ok(None) };
    let next = target.after.and_then(|after| job.programs.get(after as usize));
    let count = next.map_or(job.count(), |run| run.first_block);
    let until = Until { motions: job, count };
    let work = dryturn_carve::Job { motions: &until, ..*work };
    // Both pieces are kept at the same time.
    let left = RunOptions { memory: options.memory.map(|bound| bound.saturating_sub(carved.bytes())), ..*options };
    let earlier = if count < job.count() { Some(carve(&work, carved.grid(), &left)?) } else { None };
    let used = motions(job).filter(|motion| motion.block < count && !motion.rapid).map(|motion| motion.cutter);
    let used: BTreeSet<u16> = used.collect();
    let wanted = Wanted {
        surface: &Surface::new(shape),
        limits: Limits { gouge: target.gouge, leftover: target.leftover, allowance: target.allowance },
        span: target.compared(shape),
        cutters: used.iter().filter_map(|index| Some(&job.scene.cutters.get(usize::from(*index))?.flutes)).collect(),
    };
    let replay = Replay::new(&work, options)?;
    compare(earlier.as_ref().unwrap_or(carved), &replay, &wanted, options).map(Some)
}

fn go_on(options: &RunOptions<'_>) -> Result<(), CarveError> {
    match options.cancel {
        Some(cancel) if cancel.load(Ordering::Relaxed) => Err(CarveError::Cancelled),
        _ => Ok(()),
    }
}

/// What is known of the bodies.
struct Watched {
    contacts: ContactReport,
    cures: Vec<Vec<Cure>>,
    swept: Swept,
    zero_window: Option<ZeroWindow>,
    /// Least distance of any two bodies in each slice of the run, mm.
    clearances: Vec<Option<f64>>,
}

fn watched(job: &Job, carved: &Carved, slices: &[Span], options: &RunOptions<'_>) -> Result<Watched, CarveError> {
    let scene = &job.scene;
    let (assemblies, fixed) = (bodies::assemblies(scene), bodies::fixed_bodies(scene));
    let program_of = |block| job.program_of(block);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    let watched = pool.install(|| {
        let examiner = Examiner::new(job, &assemblies, &fixed, &program_of, options.cancel);
        let contacts = examiner.report(&|row| scene.checks.near(row));
        let cures = cures(job, &examiner, &contacts);
        let swept = Swept::of(job, carved, &assemblies, &fixed, options.cancel);
        let clearances = slices.par_iter().map(|slice| examiner.least_over(slice, FARTHEST)).collect();
        Watched { contacts, cures, swept, zero_window: zero_window(job, &examiner), clearances }
    });
    go_on(options).map(|()| watched)
}

fn clearance(evidence: &Evidence<'_>, pair: &PairClearance) -> Clearance {
    Clearance {
        moving: pair.moving.clone(),
        fixed: pair.row.clone(),
        cutter: evidence.cutter_number(pair.cutter).unwrap_or_default(),
        least_mm: pair.least_mm,
        program: pair.program,
        line: evidence.job.line_of(pair.block),
        station_mm: pair.point[0],
    }
}

fn summary(evidence: &Evidence<'_>, program: usize, air: impl Fn(u32) -> f64) -> ProgramSummary {
    let (job, carved) = (evidence.job, evidence.carved);
    let blocks = job.blocks_of(program);
    let (mut moving, mut extents, mut winding) = (0, None, None);
    for motion in motions_of(job, program) {
        moving += 1;
        extents = extents.into_iter().chain([extents_of(&motion)]).reduce(widen);
        winding.get_or_insert([motion, motion])[1] = motion;
    }
    ProgramSummary {
        moving,
        removed_mm3: carved.removed_mm3(blocks.clone()),
        times: evidence.times.program(program, air),
        extents,
        winding: winding
            .and_then(|[first, last]| Some([job.wound(first.block, &first.from)?, job.wound(last.block, &last.to)?])),
        blocks,
    }
}

fn extents_of(motion: &Motion) -> [[f64; 2]; 4] {
    let at = |share: f64| {
        let pose = motion.at(share);
        [pose.x, pose.y, pose.z, angle::degrees(pose.turn)].map(|value| [value, value])
    };
    turning_points(motion).map(at).fold(at(0.0), widen)
}

fn widen(a: [[f64; 2]; 4], b: [[f64; 2]; 4]) -> [[f64; 2]; 4] {
    std::array::from_fn(|axis| [a[axis][0].min(b[axis][0]), a[axis][1].max(b[axis][1])])
}
