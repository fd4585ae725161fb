//! `feed-reading`: the ways to read F give very different times.

use dryturn_program::{Block, BlockFlags, FeedReading, Program, Rates};
use dryturn_scene::FeedCounts;

use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::time::rates;

/// Times whose ratio lies under this do not differ much.
const MUCH: f64 = 2.0;

/// Places nearer than this are the same, mm or degrees.
const SAME: f64 = 1e-9;

/// A rotary word asked for more than so many times its rapid is a reading gone wrong, not a machine that lags.
const BEYOND_RAPID: f64 = 10.0;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    (0..evidence.job.programs.len()).filter_map(|program| feed_reading(evidence, program)).collect()
}

fn feed_reading(evidence: &Evidence<'_>, index: usize) -> Option<Finding> {
    let scene = &evidence.job.scene;
    let run = &evidence.job.programs[index];
    let program = &run.program;
    let mixed: Vec<usize> = (0..program.blocks.len()).filter(|&block| is_mixed(program, block)).collect();
    let (&first, &last) = (mixed.first()?, mixed.last()?);
    let rates = rates(evidence.job, run);
    let [linear, all, inverse] = [FeedReading::Linear, FeedReading::All, FeedReading::InverseTime]
        .map(|reading| program.total_seconds(reading, &rates) / 60.0);
    let very_different = (all / linear).max(linear / all) > MUCH;
    let reading = if scene.machine.feed_counts == FeedCounts::All { FeedReading::All } else { FeedReading::Linear };
    let too_fast = mixed.iter().filter(|&&block| beyond_rapid(program, block, reading, &rates)).count();
    if !very_different && too_fast == 0 {
        return None;
    }
    let stated = !scene.assumed.iter().any(|assumed| assumed.key == "machine.feed_counts");
    let severity = if stated && too_fast == 0 { Severity::Note } else { Severity::Warning };
    let asked = match too_fast {
        0 => String::new(),
        count => format!(" As read here, {count} of its blocks ask the rotary axis for over ten times its rapid."),
    };
    Some(Finding {
        program: Some(index),
        lines: Some((program.blocks[first].line, program.blocks[last].line)),
        blocks: mixed.len() as u32,
        text: format!(
            "The program takes {} with F along the linear axes, {} with F over all words alike, {} with F as inverse \
             time.{asked}",
            minutes(linear),
            minutes(all),
            minutes(inverse)
        ),
        cure: match (stated, too_fast) {
            (true, 0) => "Nothing to do if this controller counts as the scene says.",
            (true, _) => {
                "Lower F in the blocks that turn the blank, or write the program with G93, which all read alike."
            }
            (false, _) => {
                "Say under [machine] how this controller counts: feed_counts = \"linear\", \"all\" or \"each\"; or write \
                 the program with G93, which all read alike."
            }
        }
        .to_owned(),
        ..plain("feed-reading", severity)
    })
}

/// A block fed by G94 in which linear and rotary words move: the readings differ.
fn is_mixed(program: &Program, index: usize) -> bool {
    let Some(block) = program.blocks.get(index) else {
        return false;
    };
    let fed = !block.flags.has(BlockFlags::RAPID) && !block.flags.has(BlockFlags::INVERSE_TIME);
    let from = program.start_of(index);
    let stands = |word: usize| from[word].is_some_and(|from| (block.to[word] - from).abs() <= SAME);
    let moves = |words: std::ops::Range<usize>| words.into_iter().any(|word| !stands(word));
    fed && block.feed > 0.0 && moves(0..3) && moves(3..6)
}

/// Whether a block asks a rotary word for more than it could ever be meant to do.
fn beyond_rapid(program: &Program, index: usize, reading: FeedReading, rates: &Rates) -> bool {
    let (Some(minutes), Some(block)) = (program.minutes_asked(index, reading), program.blocks.get(index)) else {
        return false;
    };
    let turned = |block: &Block, word: usize| program.start_of(index)[word].map(|from| (block.to[word] - from).abs());
    (3..6).any(|word| turned(block, word).is_some_and(|way| way > BEYOND_RAPID * rates[word] * minutes))
}

/// Minutes as a person reads them.
fn minutes(minutes: f64) -> String {
    match minutes {
        _ if minutes < 1.0 => format!("{:.0} s", minutes * 60.0),
        _ if minutes < 100.0 => format!("{minutes:.1} min"),
        _ if minutes < 180.0 => format!("{minutes:.0} min"),
        _ => format!("{:.1} h", minutes / 60.0),
    }
}
