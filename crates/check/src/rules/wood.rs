//! What happens in the wood: `shank-in-blank`, `holder-in-blank`, `spindle-in-blank`, `rapid-in-blank`, `past-axis`,
//! `spindle-still`, `cuts-nothing`.

use std::collections::BTreeMap;

use dryturn_carve::{Reach, Upper};
use dryturn_geom::Motions;
use dryturn_scene::SpindleSwitch;

use crate::evidence::{Evidence, Stretch, mm, plain};
use crate::finding::{Finding, Severity};

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

/// Of the reaches within a stretch the deepest, the first of equals.
fn deepest<'a>(reaches: &'a [Reach], stretch: &Stretch) -> Option<&'a Reach> {
    let inside = reaches.iter().filter(|reach| (stretch.first..=stretch.last).contains(&reach.block));
    inside.reduce(|best, reach| if reach.depth > best.depth { reach } else { best })
}

/// A shank may rub a little where flutes have just cut; from here on it is told, mm.
const SHANK_RUBS: f32 = 0.05;
/// From here on a shank burns or breaks, mm.
const SHANK_BREAKS: f32 = 0.3;

fn upper_in_blank(evidence: &Evidence<'_>, kind: Upper, reaches: &[Reach]) -> Vec<Finding> {
    let (rule, body) = match kind {
        Upper::Shank => ("shank-in-blank", "shank"),
        Upper::Holder => ("holder-in-blank", "holder"),
        Upper::Spindle => ("spindle-in-blank", "spindle"),
    };
    let told: Vec<Reach> =
        reaches.iter().filter(|reach| kind != Upper::Shank || reach.depth > SHANK_RUBS).copied().collect();
    evidence
        .runs(told.iter().map(|reach| reach.block))
        .iter()
        .filter_map(|stretch| {
            let worst = deepest(&told, stretch)?;
            let rubs = kind == Upper::Shank && worst.depth <= SHANK_BREAKS;
            let severity = if rubs { Severity::Warning } else { Severity::Error };
            let depth = f64::from(worst.depth);
            Some(Finding {
                place: Some(evidence.place_of(worst)),
                value: Some(depth),
                unit: Some("mm"),
                text: format!("The {body} goes {} deep into the blank, beyond what the flutes clear.", mm(depth)),
                cure: match kind {
                    Upper::Shank => "Cut less deep at a time, or use longer flutes or a thinner shank.".to_owned(),
                    _ => format!("Let the cutter stick out at least {} further, or cut less deep.", mm(depth)),
                },
                ..evidence.over(rule, severity, stretch)
            })
        })
        .collect()
}

/// A rapid that takes less than both of these is told as a note, mm and mm³.
const RAPID_DEPTH: f64 = 0.05;
const RAPID_VOLUME: f64 = 0.5;

fn rapid_in_blank(evidence: &Evidence<'_>) -> Vec<Finding> {
    let reaches = &evidence.carved.rapids;
    evidence
        .stretches(reaches.iter().map(|reach| reach.block), 0)
        .iter()
        .filter_map(|stretch| {
            let worst = deepest(reaches, stretch)?;
            let volume = evidence.carved.removed_mm3(stretch.first..stretch.last + 1);
            let depth = f64::from(worst.depth).max(0.0);
            let spoils = depth >= RAPID_DEPTH && volume >= RAPID_VOLUME;
            Some(Finding {
                place: Some(evidence.place_of(worst)),
                value: Some(depth),
                unit: Some("mm"),
                text: format!("A rapid goes {} deep into the wood and takes {volume:.1} mm³ with it.", mm(depth)),
                cure: "Retract higher before the rapid, or check the Z zero and the size of the blank.".to_owned(),
                ..evidence.over("rapid-in-blank", if spoils { Severity::Error } else { Severity::Note }, stretch)
            })
        })
        .collect()
}

/// Wood that goes this far beyond the axis while the blank turns is cut from the wrong side, mm.
const BEYOND: f32 = 0.05;

fn past_axis(evidence: &Evidence<'_>) -> Vec<Finding> {
    let cuts_below = |block: &u32| evidence.carved.removed_by(*block) > 0.0;
    let below = evidence.motions().filter(|motion| motion.from.z.min(motion.to.z) < 0.0).map(|motion| motion.block);
    let mut groups: BTreeMap<(usize, u16), Stretch> = BTreeMap::new();
    for stretch in evidence.stretches(below.filter(cuts_below), u32::MAX - 1) {
        groups.insert((stretch.program, stretch.cutter), stretch);
    }
    let turning = |reach: &&Reach| {
        let motion = evidence.job.motion(reach.block);
        reach.depth > BEYOND && motion.is_some_and(|motion| motion.from.turn != motion.to.turn)
    };
    let wrong: Vec<Reach> = evidence.carved.beyond_axis.iter().filter(turning).copied().collect();
    groups.values().map(|stretch| tip_below(evidence, stretch, &wrong)).collect()
}

fn tip_below(evidence: &Evidence<'_>, stretch: &Stretch, wrong: &[Reach]) -> Finding {
    let parts = evidence.job.scene.programs.get(stretch.program).is_some_and(|entry| entry.parts.is_some());
    let worst = deepest(wrong, stretch);
    let lowest = evidence
        .motions()
        .filter(|motion| (stretch.first..=stretch.last).contains(&motion.block))
        .map(|motion| motion.from.z.min(motion.to.z))
        .fold(0.0, f64::min);
    let severity = if worst.is_some() && !parts { Severity::Warning } else { Severity::Note };
    let base = evidence.over("past-axis", severity, stretch);
    match worst {
        Some(reach) => Finding {
            place: Some(evidence.place_of(reach)),
            value: Some(f64::from(reach.depth)),
            unit: Some("mm"),
            text: format!(
                "The tip runs below the axis while the blank turns and takes wood {} beyond it.",
                mm(f64::from(reach.depth))
            ),
            cure: "Check the Z zero; if parting is meant, write parts = {} for the program.".to_owned(),
            ..base
        },
        None => Finding {
            value: Some(lowest),
            unit: Some("mm"),
            text: format!("The tip goes down to {} below the axis.", mm(-lowest)),
            cure: "Nothing to do if it is meant, as for a hole right through.".to_owned(),
            ..base
        },
    }
}

fn spindle_still(evidence: &Evidence<'_>) -> Vec<Finding> {
    let job = evidence.job;
    let by_hand = job.scene.machine.spindle_switch == SpindleSwitch::Hand;
    let never_named = job.programs.iter().all(|run| !run.program.facts.spindle);
    let removes = (0..job.count()).any(|block| evidence.carved.removed_by(block) > 0.0);
    if by_hand || never_named {
        let note = Finding {
            text: "No program switches the spindle; it is taken to be on whenever wood is cut.".to_owned(),
            cure: "Switch the spindle on by hand before the run, and wait until it is up to speed.".to_owned(),
            ..plain("spindle-still", Severity::Note)
        };
        return if removes { vec![note] } else { Vec::new() };
    }
    let still = (0..job.count()).filter(|&block| !job.spindle_on(block) && evidence.carved.removed_by(block) > 0.0);
    evidence
        .runs(still)
        .iter()
        .map(|stretch| {
            let volume = evidence.carved.removed_mm3(stretch.first..stretch.last + 1);
            Finding {
                place: evidence.tip_place(stretch.first),
                value: Some(volume),
                unit: Some("mm³"),
                text: format!("Wood is cut with the spindle stopped, {volume:.1} mm³ of it."),
                cure: "Put M3 with an S word before this line; M5, M6 and the end of a program stop the spindle."
                    .to_owned(),
                ..evidence.over("spindle-still", Severity::Error, stretch)
            }
        })
        .collect()
}

fn cuts_nothing(evidence: &Evidence<'_>) -> Vec<Finding> {
    let job = evidence.job;
    let mut feeds: BTreeMap<(usize, u16), Stretch> = BTreeMap::new();
    for motion in evidence.motions().filter(|motion| !motion.rapid) {
        let program = job.program_of(motion.block);
        let new = Stretch { program, cutter: motion.cutter, first: motion.block, last: motion.block, blocks: 0 };
        let stretch = feeds.entry((program, motion.cutter)).or_insert(new);
        stretch.last = motion.block;
        stretch.blocks += 1;
    }
    let idle = |stretch: &&Stretch| {
        let own = |block: &u32| job.cutter_index(*block) == Some(stretch.cutter);
        (stretch.first..=stretch.last).filter(own).all(|block| evidence.carved.removed_by(block) == 0.0)
    };
    feeds
        .values()
        .filter(idle)
        .map(|stretch| Finding {
            text: format!(
                "Cutter {} makes {} feed moves in this program and takes nothing off.",
                evidence.cutter_number(stretch.cutter).unwrap_or_default(),
                stretch.blocks
            ),
            cure: "Check the zeros, the size of the blank and the order of the programs.".to_owned(),
            ..evidence.over("cuts-nothing", Severity::Warning, stretch)
        })
        .collect()
}
