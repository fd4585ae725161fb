//! What the motion itself shows: `no-feed`, `out-of-reach`, `wound-up`.

use dryturn_geom::{Motion, Motions, Wrap, angle};

use crate::evidence::{Evidence, Stretch, mm};
use crate::finding::{Finding, Severity};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = no_feed(evidence);
    findings.extend(out_of_reach(evidence));
    findings.extend(wound_up(evidence));
    findings
}

/// One a program.
fn no_feed(evidence: &Evidence<'_>) -> Vec<Finding> {
    let job = evidence.job;
    let without = evidence
        .motions()
        .filter(|motion| !motion.rapid && job.feed(motion.block).is_none_or(|feed| feed <= 0.0))
        .map(|motion| motion.block);
    let mut findings: Vec<Finding> = Vec::new();
    for stretch in evidence.stretches(without, u32::MAX - 1) {
        if findings.last().is_some_and(|found| found.program == Some(stretch.program)) {
            continue;
        }
        findings.push(Finding {
            place: evidence.tip_place(stretch.first),
            text: "A cutting move has no feed in force: no F word stands before it.".to_owned(),
            cure: "Put an F word on this line or before it.".to_owned(),
            ..evidence.over("no-feed", Severity::Error, &stretch)
        });
    }
    findings
}

/// How far a motion leaves the travel, and along which word; poses of an arc are looked at this often.
const LOOKS: u32 = 24;
/// Rounding of inches and sums, mm or degrees.
const REACH_SLACK: f64 = 1e-6;

fn out_of_reach(evidence: &Evidence<'_>) -> Vec<Finding> {
    let reach = &evidence.job.scene.machine.reach;
    let axes = [("X", reach.x, "mm"), ("Y", reach.y, "mm"), ("Z", reach.z, "mm"), ("A", reach.a, "°")];
    axes.into_iter()
        .enumerate()
        .filter_map(|(axis, (word, travel, unit))| Some((axis, word, travel?, unit)))
        .flat_map(|(axis, word, travel, unit)| beyond(evidence, axis, word, travel, unit))
        .collect()
}

fn beyond(
    evidence: &Evidence<'_>,
    axis: usize,
    word: &'static str,
    [least, most]: [f64; 2],
    unit: &'static str,
) -> Vec<Finding> {
    let excess = |motion: &Motion| -> f64 {
        let looks = if motion.arc.is_some() { LOOKS } else { 1 };
        (0..=looks)
            .filter_map(|k| travel_value(evidence, motion, axis, f64::from(k) / f64::from(looks)))
            .map(|value| (least - value).max(value - most))
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let outside: Vec<(u32, f64)> = evidence
        .motions()
        .map(|motion| (motion.block, excess(&motion)))
        .filter(|(_, excess)| *excess > REACH_SLACK)
        .collect();
    evidence
        .runs(outside.iter().map(|(block, _)| *block))
        .iter()
        .map(|stretch| {
            let inside = outside.iter().filter(|(block, _)| (stretch.first..=stretch.last).contains(block));
            let (block, worst) = inside.fold((stretch.first, 0.0), |a, b| if b.1 > a.1 { *b } else { a });
            Finding {
                place: evidence.tip_place(block),
                value: Some(worst),
                unit: Some(unit),
                text: format!("{word} goes {worst:.3} {unit} beyond its travel of {least} to {most}."),
                cure: "Move the zero or the blank, or shorten the program.".to_owned(),
                ..evidence.over("out-of-reach", Severity::Error, stretch)
            }
        })
        .collect()
}

/// The value that `reach` bounds: station, y, height of the holder's lower face, θ on top in degrees.
fn travel_value(evidence: &Evidence<'_>, motion: &Motion, axis: usize, share: f64) -> Option<f64> {
    let pose = motion.at(share);
    match axis {
        0 => Some(pose.x),
        1 => Some(pose.y),
        2 => Some(pose.z + evidence.job.scene.cutters.get(usize::from(motion.cutter))?.stickout?),
        _ => Some(angle::degrees(pose.turn)),
    }
}

/// A program that ends wound up by this many turns is told so.
const TURNS_TOLD: f64 = 2.0;
/// One move without cutting that turns the blank back for longer than this is worth a warning, minutes.
const UNWINDING: f64 = 5.0;
/// Arc in the wood that a controller's numbers must still resolve, mm.
const RESOLVED: f64 = 0.02;

fn wound_up(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for program in 0..evidence.job.programs.len() {
        findings.extend(winding(evidence, program));
        findings.extend(unwinding(evidence, program));
        findings.extend(unresolved(evidence, program));
    }
    findings
}

fn motions_of(evidence: &Evidence<'_>, program: usize) -> impl Iterator<Item = Motion> {
    let job = evidence.job;
    let run = &job.programs[program];
    let blocks = run.first_block..run.first_block + run.program.blocks.len() as u32;
    blocks.filter_map(move |block| job.motion(block))
}

fn one_block(evidence: &Evidence<'_>, program: usize, motion: &Motion) -> Stretch {
    debug_assert_eq!(evidence.job.program_of(motion.block), program);
    Stretch { program, cutter: motion.cutter, first: motion.block, last: motion.block, blocks: 1 }
}

fn winding(evidence: &Evidence<'_>, program: usize) -> Option<Finding> {
    let first = motions_of(evidence, program).next()?;
    let last = motions_of(evidence, program).last()?;
    let turns = (last.to.turn - first.from.turn) / std::f64::consts::TAU;
    (turns.abs() >= TURNS_TOLD).then(|| Finding {
        value: Some(turns),
        unit: Some("turns"),
        text: format!("The program leaves the rotary axis wound up by {:.2} turns.", turns.abs()),
        cure: "Zero the rotary word again only at a whole turn; unwinding at the end takes its time.".to_owned(),
        ..evidence.over("wound-up", Severity::Note, &one_block(evidence, program, &last))
    })
}

fn unwinding(evidence: &Evidence<'_>, program: usize) -> Option<Finding> {
    let rate = evidence.job.scene.machine.rapid.a;
    let minutes = |motion: &Motion| angle::degrees((motion.to.turn - motion.from.turn).abs()) / rate;
    let idle = |motion: &Motion| motion.rapid && evidence.carved.removed_by(motion.block) == 0.0;
    let start = motions_of(evidence, program).next()?.from.turn;
    let back = |motion: &Motion| (motion.to.turn - start).abs() < (motion.from.turn - start).abs();
    let longest = motions_of(evidence, program)
        .filter(|motion| idle(motion) && back(motion) && minutes(motion) > UNWINDING)
        .reduce(|a, b| if minutes(&b) > minutes(&a) { b } else { a })?;
    let time = minutes(&longest);
    Some(Finding {
        place: evidence.tip_place(longest.block),
        value: Some(time),
        unit: Some("min"),
        text: format!("One move turns the rotary axis back for {time:.1} minutes without cutting."),
        cure: "Zero the rotary word again at a whole turn, for example with G92, in place of unwinding.".to_owned(),
        ..evidence.over("wound-up", Severity::Warning, &one_block(evidence, program, &longest))
    })
}

fn unresolved(evidence: &Evidence<'_>, program: usize) -> Option<Finding> {
    let run = &evidence.job.programs[program];
    if !evidence.job.scene.controller.numbers_f32 || !matches!(run.frame.wrap, Wrap::Rotary(_)) {
        return None;
    }
    let radius = evidence.job.scene.swept_radius();
    let word = |motion: &Motion| {
        let [.., a] = evidence.job.shown(motion.block, &motion.to);
        a.unwrap_or(0.0) as f32
    };
    let step = |motion: &Motion| {
        let shown = word(motion).abs();
        angle::radians(f64::from(f32::from_bits(shown.to_bits() + 1) - shown)) * radius
    };
    let coarsest = motions_of(evidence, program).reduce(|a, b| if word(&b).abs() > word(&a).abs() { b } else { a })?;
    let step = step(&coarsest);
    (step > RESOLVED).then(|| Finding {
        place: evidence.tip_place(coarsest.block),
        value: Some(step),
        unit: Some("mm"),
        text: format!(
            "The rotary word has grown so large that a controller with 32-bit numbers moves in steps of {}.",
            mm(step)
        ),
        cure: "Zero the rotary word again at a whole turn now and then, or write numbers = \"f64\" if the controller \
               has them."
            .to_owned(),
        ..evidence.over("wound-up", Severity::Warning, &one_block(evidence, program, &coarsest))
    })
}
