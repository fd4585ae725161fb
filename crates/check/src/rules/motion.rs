//! What the motion itself shows: `no-feed`, `out-of-reach`, `unknown-place`.

use dryturn_geom::{Motion, Motions, Pose, angle};
use dryturn_program::{Block, BlockFlags};

use crate::digits::{mm, short};
use crate::evidence::{Evidence, counted, plain, turning_points};
use crate::finding::{Finding, Severity};
use crate::stretches::{Event, Stretch, keep_worst, motions, motions_of, place, stretches};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let programs = 0..evidence.job.programs.len();
    let without_feed = programs.clone().filter_map(|program| no_feed(evidence, program));
    let lost = programs.filter_map(|program| unknown_place(evidence, program));
    without_feed.chain(lost).chain(out_of_reach(evidence)).collect()
}

/// Blocks that cannot be looked at although they are more than the way to the start or home: feed moves, and what stands
/// between them once the place was known.
pub(super) fn lost_blocks<'a>(evidence: &Evidence<'a>, program: usize) -> Vec<&'a Block> {
    let blocks = &evidence.job.programs[program].program.blocks;
    let is_rapid = |block: &Block| block.flags.has(BlockFlags::RAPID);
    let start = blocks.iter().position(|block| !block.is_unknown()).unwrap_or(blocks.len());
    let home = blocks.iter().rposition(|block| !is_rapid(block)).unwrap_or(0);
    let is_lost = |at: usize, block: &Block| block.is_unknown() && (!is_rapid(block) || (start..home).contains(&at));
    blocks.iter().enumerate().filter(|&(at, block)| is_lost(at, block)).map(|(_, block)| block).collect()
}

/// One a program: what is not looked at cannot be called clear.
fn unknown_place(evidence: &Evidence<'_>, program: usize) -> Option<Finding> {
    let lost = lost_blocks(evidence, program);
    let (first, last) = (lost.iter().map(|block| block.line).min()?, lost.iter().map(|block| block.line).max()?);
    let unknown = lost.iter().fold(0, |words, block| words | block.unknown());
    let words: Vec<&str> = ["X", "Y", "Z", "A", "B", "C"]
        .into_iter()
        .enumerate()
        .filter_map(|(bit, word)| (unknown >> bit & 1 != 0).then_some(word))
        .collect();
    let missing = match words.as_slice() {
        [] => "where they start from is not known".to_owned(),
        [word] => format!("where {word} stands is not known"),
        [some @ .., last] => format!("where {} and {last} stand is not known", some.join(", ")),
    };
    Some(Finding {
        program: Some(program),
        lines: Some((first, last)),
        blocks: lost.len() as u32,
        text: format!("{} neither carved nor checked: {missing}.", counted(lost.len() as u32, "move is", "moves are")),
        cure:
            "Say under [machine] where the machine stands at the start, as in start = { x = 0, y = 0, z = 80, a = 0 }, \
               or let the program move every word to a place of its own before the first cut."
                .to_owned(),
        ..plain("unknown-place", Severity::Warning)
    })
}

/// One a program, over all its cutters.
fn no_feed(evidence: &Evidence<'_>, program: usize) -> Option<Finding> {
    let job = evidence.job;
    let lacks = |motion: &Motion| !motion.rapid && job.feed(motion.block).is_none_or(|feed| feed <= 0.0);
    let mut without = motions_of(job, program).filter(lacks);
    let first = without.next()?;
    let mut stretch = Stretch::of_motion(job, &first, ());
    without.for_each(|motion| stretch.take(Event { block: motion.block, ..stretch.worst }));
    Some(Finding {
        place: evidence.tip_place(first.block, 1.0),
        text: format!("{} no feed in force.", counted(stretch.blocks, "cutting move has", "cutting moves have")),
        cure: "Put an F word on this line or before it; with G93 every line needs its own.".to_owned(),
        ..evidence.over("no-feed", Severity::Error, &stretch)
    })
}

/// One end of the travel along one axis.
struct Limit {
    axis: usize,
    /// +1 at the upper end, −1 at the lower.
    side: f64,
    travel: [f64; 2],
}

/// Rounding of inches and sums, mm or degrees.
const REACH_SLACK: f64 = 1e-6;
/// What each of the four has to do with the machine, and the unit it is told in.
const AXES: [(&str, &str); 4] = [
    ("The tip goes along the axis", "mm"),
    ("The tip goes across the axis", "mm"),
    ("The lower face of the holder goes", "mm"),
    ("The rotary axis turns", "°"),
];

fn out_of_reach(evidence: &Evidence<'_>) -> Vec<Finding> {
    let reach = &evidence.job.scene.machine.reach;
    let limits: Vec<Limit> = [reach.x, reach.y, reach.z, reach.a]
        .into_iter()
        .enumerate()
        .filter_map(|(axis, travel)| Some((axis, travel?)))
        .flat_map(|(axis, travel)| [-1.0, 1.0].map(|side| Limit { axis, side, travel }))
        .collect();
    if limits.is_empty() {
        return Vec::new();
    }
    let mut beyond: Vec<Vec<Event<f64>>> = limits.iter().map(|_| Vec::new()).collect();
    for motion in motions(evidence.job) {
        for share in turning_points(&motion) {
            let pose = motion.at(share);
            let reached = reached(evidence, &motion, &pose);
            for (limit, events) in limits.iter().zip(&mut beyond) {
                let value = limit.excess(&reached);
                if value > REACH_SLACK {
                    keep_worst(events, Event { block: motion.block, place: place(pose.x), value, volume: 0.0 });
                }
            }
        }
    }
    let told = limits.iter().zip(beyond).flat_map(|(limit, events)| {
        let tell = |stretch: &Stretch<f64>| limit.finding(evidence, stretch);
        stretches(evidence.job, events).iter().map(tell).collect::<Vec<_>>()
    });
    told.collect()
}

impl Limit {
    /// How far beyond the limit something is, mm or degrees; below zero within it, not a number where it is not known.
    fn excess(&self, reached: &[f64; 4]) -> f64 {
        let [least, most] = self.travel;
        if self.side < 0.0 { least - reached[self.axis] } else { reached[self.axis] - most }
    }

    /// Share of a motion at which it goes farthest beyond.
    fn worst_share(&self, evidence: &Evidence<'_>, motion: &Motion) -> f64 {
        let excess = |share: f64| self.excess(&reached(evidence, motion, &motion.at(share)));
        turning_points(motion).reduce(|a, b| if excess(b) > excess(a) { b } else { a }).unwrap_or(1.0)
    }

    fn finding(&self, evidence: &Evidence<'_>, stretch: &Stretch<f64>) -> Finding {
        let (block, excess) = (stretch.worst.block, stretch.worst.value);
        let share = evidence.job.motion(block).map_or(1.0, |motion| self.worst_share(evidence, &motion));
        let [least, most] = self.travel.map(short);
        let (what, unit) = AXES[self.axis];
        let by = if unit == "mm" { mm(excess) } else { format!("{excess:.2}°") };
        Finding {
            place: evidence.tip_place(block, share),
            value: Some(excess),
            unit: Some(unit),
            text: format!("{what} {by} beyond what the machine reaches, {least} to {most} {unit}."),
            cure: match self.axis {
                2 if self.side > 0.0 => "Retract less high, or let the cutter stick out less.".to_owned(),
                2 => "Let the cutter stick out further, or cut less deep.".to_owned(),
                3 => "Turn back, or zero the rotary word again at a whole turn, before the travel ends.".to_owned(),
                _ => "Move the blank and its zero, or shorten the program.".to_owned(),
            },
            ..evidence.over("out-of-reach", Severity::Error, stretch)
        }
    }
}

/// Tip to holder of the cutter in the spindle, mm; not a number where it is not described.
fn stickout(evidence: &Evidence<'_>, motion: &Motion) -> f64 {
    let cutter = evidence.job.scene.cutters.get(usize::from(motion.cutter));
    cutter.and_then(|cutter| cutter.stickout).unwrap_or(f64::NAN)
}

/// What `reach` bounds: station, y, height of the holder's lower face, θ on top in degrees.
fn reached(evidence: &Evidence<'_>, motion: &Motion, pose: &Pose) -> [f64; 4] {
    let job = evidence.job;
    let run = &job.programs[job.program_of(motion.block)];
    // The machine goes where it is sent, whatever the rotary axis leans.
    let sent = run.frame.lean.sent(pose);
    [sent.x, sent.y, sent.z + stickout(evidence, motion), angle::degrees(sent.turn)]
}
