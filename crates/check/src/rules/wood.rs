//! What happens in the wood: `shank-in-blank`, `holder-in-blank`, `spindle-in-blank`, `rapid-in-blank`, `past-axis`,
//! `spindle-still`, `cuts-nothing`.

use std::collections::{BTreeMap, BTreeSet};

use dryturn_carve::{Reach, Upper};
use dryturn_geom::Motions;
use dryturn_scene::SpindleSwitch;

use super::motion::lost_blocks;
use crate::digits::{mm, short};
use crate::evidence::{Evidence, Met, counted, plain, turning_points};
use crate::finding::{Finding, Place, Severity};
use crate::stretches::{Event, Stretch, motions, motions_of, place, stretches};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (kind, reaches) in &evidence.carved.uppers {
        findings.extend(upper_in_blank(evidence, *kind, reaches));
    }
    findings.extend(rapid_in_blank(evidence));
    findings.extend(past_axis(evidence));
    findings.extend(spindle_still(evidence));
    findings.extend(cuts_nothing(evidence));
    findings
}

/// The reach of a block, of reaches in block order.
fn reach_of(reaches: &[Reach], block: u32) -> Option<&Reach> {
    let at = reaches.binary_search_by_key(&block, |reach| reach.block).ok()?;
    reaches.get(at)
}

fn event(evidence: &Evidence<'_>, reach: &Reach) -> Event<f32> {
    Event {
        block: reach.block,
        place: place(evidence.carved.grid().station(reach.row as usize)),
        value: reach.depth,
        volume: evidence.carved.removed_by(reach.block),
    }
}

/// A shank may rub a little where flutes have just cut.
fn upper_in_blank(evidence: &Evidence<'_>, kind: Upper, reaches: &[Reach]) -> Vec<Finding> {
    let (rule, body) = match kind {
        Upper::Shank => ("shank-in-blank", "shank"),
        Upper::Holder => ("holder-in-blank", "holder"),
        Upper::Spindle => ("spindle-in-blank", "spindle"),
    };
    let allowed = evidence.job.scene.checks.shank_in_blank;
    let told = reaches.iter().filter(|reach| kind != Upper::Shank || f64::from(reach.depth) > allowed.warning);
    stretches(evidence.job, told.map(|reach| event(evidence, reach)))
        .iter()
        .filter_map(|stretch| {
            let worst = reach_of(reaches, stretch.worst.block)?;
            let rubs = kind == Upper::Shank && f64::from(worst.depth) <= allowed.error;
            let severity = if rubs { Severity::Warning } else { Severity::Error };
            let depth = f64::from(worst.depth);
            Some(Finding {
                place: Some(evidence.place_of(worst, Met::OnTop)),
                value: Some(depth),
                unit: Some("mm"),
                text: format!("The {body} goes {} deep into the blank, beyond what the flutes clear.", mm(depth)),
                cure: match kind {
                    Upper::Shank => "Cut less deep at a time, or use longer flutes or a thinner shank.".to_owned(),
                    _ => format!("Let the cutter stick out further, {} at the least, or cut less deep.", mm(depth)),
                },
                ..evidence.over(rule, severity, stretch)
            })
        })
        .collect()
}

/// What one rapid takes after another is taken together; runs of rapids that meet the same place are told as one.
/// Less than the depth or the volume that are let pass is told as a note.
fn rapid_in_blank(evidence: &Evidence<'_>) -> Vec<Finding> {
    let job = evidence.job;
    let runs = evidence.carved.rapids.chunk_by(|a, b| {
        job.program_of(a.block) == job.program_of(b.block) && (a.block..b.block).all(|block| job.is_rapid(block))
    });
    let least = job.scene.checks.rapid_in_blank;
    let (mut spoils, mut grazes) = (Vec::new(), Vec::new());
    for run in runs {
        let depth = run.iter().map(|reach| reach.depth).fold(0.0, f32::max);
        let volume: f64 = run.iter().map(|reach| evidence.carved.removed_by(reach.block)).sum();
        let told = if f64::from(depth) >= least.depth && volume >= least.volume { &mut spoils } else { &mut grazes };
        // All of a run belongs to one place, wherever it goes.
        let place = run.first().map_or(0, |reach| event(evidence, reach).place);
        told.extend(run.iter().map(|reach| Event { place, ..event(evidence, reach) }));
    }
    [(Severity::Error, spoils), (Severity::Note, grazes)]
        .into_iter()
        .flat_map(|(severity, events)| {
            let tell = |stretch: &Stretch<f32>| rapid_takes(evidence, severity, stretch);
            stretches(job, events).iter().filter_map(tell).collect::<Vec<_>>()
        })
        .collect()
}

fn rapid_takes(evidence: &Evidence<'_>, severity: Severity, stretch: &Stretch<f32>) -> Option<Finding> {
    let worst = reach_of(&evidence.carved.rapids, stretch.worst.block)?;
    let depth = f64::from(worst.depth).max(0.0);
    let (deep, volume) = (mm(depth), short(stretch.volume));
    Some(Finding {
        place: Some(evidence.place_of(worst, Met::OnTop)),
        value: Some(depth),
        unit: Some("mm"),
        text: match stretch.blocks {
            1 => format!("A rapid goes {deep} deep into the wood and takes {volume} mm³ with it."),
            rapids => format!("{rapids} rapids go up to {deep} deep into the wood and take {volume} mm³ with them."),
        },
        cure: "Retract higher before the rapid, or check the Z zero and the size of the blank.".to_owned(),
        ..evidence.over("rapid-in-blank", severity, stretch)
    })
}

/// Rounding of inches and sums, mm.
const ON_AXIS: f64 = 1e-6;

/// Where wood beyond the axis goes while the blank turns each stretch is told; a tip that only runs below it, as in a
/// row of holes right through, is told once for a program and cutter, and not at all beside the other.
fn past_axis(evidence: &Evidence<'_>) -> Vec<Finding> {
    // Wood that goes further beyond the axis while the blank turns is cut from the wrong side.
    let allowed = evidence.job.scene.checks.past_axis;
    let (mut wrong, mut below) = (Vec::new(), Vec::new());
    for motion in motions(evidence.job) {
        let lowest = turning_points(&motion).map(|share| motion.at(share).z).fold(f64::INFINITY, f64::min);
        if lowest >= -ON_AXIS {
            continue;
        }
        // What is told of a block's wood is a bound; none of it can lie lower than the tip goes.
        let wood = reach_of(&evidence.carved.beyond_axis, motion.block)
            .map(|reach| f64::from(reach.depth).min(-lowest))
            .filter(|depth| *depth > allowed && motion.from.turn != motion.to.turn);
        let event = |place, value| Event { block: motion.block, place, value, volume: 0.0 };
        match wood {
            Some(depth) => wrong.push(event(place(motion.to.x), depth)),
            None => below.push(event(0, -lowest)),
        }
    }
    let wrong = stretches(evidence.job, wrong);
    let told: BTreeSet<(usize, u16)> = wrong.iter().map(|stretch| (stretch.program, stretch.cutter)).collect();
    let below = stretches(evidence.job, below);
    let untold = below.iter().filter(|stretch| !told.contains(&(stretch.program, stretch.cutter)));
    let warnings = wrong.iter().map(|stretch| wood_beyond(evidence, stretch));
    warnings.chain(untold.map(|stretch| tip_below(evidence, stretch))).collect()
}

fn wood_beyond(evidence: &Evidence<'_>, stretch: &Stretch<f64>) -> Finding {
    let depth = stretch.worst.value;
    let parts = evidence.job.scene.programs.get(stretch.program).is_some_and(|entry| entry.parts.is_some());
    let (severity, cure) = if parts {
        (Severity::Note, "Nothing to do: parting is declared.")
    } else {
        (Severity::Warning, "Check the Z zero; if parting is meant, write parts = {} for the program.")
    };
    let worst = reach_of(&evidence.carved.beyond_axis, stretch.worst.block);
    Finding {
        place: worst.map(|reach| evidence.place_of(reach, Met::Below)),
        value: Some(depth),
        unit: Some("mm"),
        text: format!("The tip runs below the axis while the blank turns and takes wood {} beyond it.", mm(depth)),
        cure: cure.to_owned(),
        ..evidence.over("past-axis", severity, stretch)
    }
}

fn tip_below(evidence: &Evidence<'_>, stretch: &Stretch<f64>) -> Finding {
    let depth = stretch.worst.value;
    Finding {
        place: lowest_place(evidence, stretch.worst.block),
        value: Some(depth),
        unit: Some("mm"),
        text: format!("The tip goes down to {} below the axis.", mm(depth)),
        cure: "Nothing to do if it is meant, as for a hole right through.".to_owned(),
        ..evidence.over("past-axis", Severity::Note, stretch)
    }
}

/// Where the tip is lowest during a block.
fn lowest_place(evidence: &Evidence<'_>, block: u32) -> Option<Place> {
    let motion = evidence.job.motion(block)?;
    let lower = |a: f64, b: f64| if motion.at(b).z < motion.at(a).z { b } else { a };
    evidence.tip_place(block, turning_points(&motion).reduce(lower)?)
}

fn spindle_still(evidence: &Evidence<'_>) -> Vec<Finding> {
    let job = evidence.job;
    let by_hand = job.scene.machine.spindle_switch == SpindleSwitch::Hand;
    let never_named = job.programs.iter().all(|run| !run.program.facts.spindle);
    let removes = |block: &u32| evidence.carved.removed_by(*block) > 0.0;
    if by_hand || never_named {
        let who = if by_hand { "The spindle is switched by hand" } else { "No program switches the spindle" };
        let note = Finding {
            text: format!("{who}; it is taken to be on whenever wood is cut."),
            cure: "Switch the spindle on before the run, and wait until it is up to speed.".to_owned(),
            ..plain("spindle-still", Severity::Note)
        };
        return (0..job.count()).find(removes).map(|_| note).into_iter().collect();
    }
    // Standing still lasts until the spindle starts, wherever the cutter goes meanwhile.
    let mut starts = 0;
    let still = (0..job.count()).filter_map(|block| {
        if job.spindle_on(block) {
            starts += 2;
            return None;
        }
        removes(&block).then(|| Event { block, place: starts, value: (), volume: evidence.carved.removed_by(block) })
    });
    stretches(job, still).iter().map(|stretch| stands_still(evidence, stretch)).collect()
}

fn stands_still(evidence: &Evidence<'_>, stretch: &Stretch<()>) -> Finding {
    Finding {
        place: evidence.tip_place(stretch.first, 1.0),
        value: Some(stretch.volume),
        unit: Some("mm³"),
        text: format!("Wood is cut with the spindle stopped, {} mm³ of it.", short(stretch.volume)),
        cure: "Put M3 with an S word before this line; M5, M6 and the end of a program stop the spindle.".to_owned(),
        ..evidence.over("spindle-still", Severity::Error, stretch)
    }
}

/// What one cutter does in one program.
struct Use {
    feeds: u32,
    removes: bool,
    stretch: Stretch<()>,
}

/// A program that removes nothing is told once; of one that does, the cutters that feed and remove nothing.
fn cuts_nothing(evidence: &Evidence<'_>) -> Vec<Finding> {
    (0..evidence.job.programs.len()).flat_map(|program| idle_in(evidence, program)).collect()
}

fn idle_in(evidence: &Evidence<'_>, program: usize) -> Vec<Finding> {
    let mut uses: BTreeMap<u16, Use> = BTreeMap::new();
    for motion in motions_of(evidence.job, program) {
        let used = uses.entry(motion.cutter).or_insert_with(|| Use {
            feeds: 0,
            removes: false,
            stretch: Stretch { blocks: 0, ..Stretch::of_motion(evidence.job, &motion, ()) },
        });
        used.feeds += u32::from(!motion.rapid);
        used.removes |= evidence.carved.removed_by(motion.block) > 0.0;
        used.stretch.take(Event { block: motion.block, ..used.stretch.worst });
    }
    if uses.values().all(|used| !used.removes) {
        // What the moves do that nobody could look at is not known.
        let is_known = lost_blocks(evidence, program).is_empty();
        return is_known.then(|| idle_program(evidence, program, &uses)).into_iter().collect();
    }
    let idle = uses.values().filter(|used| !used.removes && used.feeds > 0);
    idle.map(|used| Finding {
        text: format!(
            "Cutter {} makes {} in this program and takes nothing off.",
            evidence.cutter_number(used.stretch.cutter).unwrap_or_default(),
            counted(used.feeds, "feed move", "feed moves")
        ),
        cure: CHECK.to_owned(),
        ..evidence.over("cuts-nothing", Severity::Warning, &used.stretch)
    })
    .collect()
}

const CHECK: &str = "Check the zeros, the size of the blank and the order of the programs.";

fn idle_program(evidence: &Evidence<'_>, program: usize, uses: &BTreeMap<u16, Use>) -> Finding {
    let feeds = uses.values().map(|used| used.feeds).sum();
    let stretches = || uses.values().map(|used| &used.stretch);
    let ends = stretches().map(|s| s.first).min().zip(stretches().map(|s| s.last).max());
    let cutter = stretches().next().filter(|_| uses.len() == 1);
    Finding {
        program: Some(program),
        lines: ends.map(|(first, last)| (evidence.job.line_of(first), evidence.job.line_of(last))),
        blocks: stretches().map(|stretch| stretch.blocks).sum(),
        cutter: cutter.and_then(|stretch| evidence.cutter_number(stretch.cutter)),
        text: format!("The program makes {} and takes nothing off.", counted(feeds, "feed move", "feed moves")),
        cure: CHECK.to_owned(),
        ..plain("cuts-nothing", Severity::Warning)
    }
}
