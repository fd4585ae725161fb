//! How long the programs take at the machine.
//!
//! # Theory
//!
//! A block asks for a time: its feed, as this controller counts it (`dryturn_program`), or for a rapid the slowest of its
//! words; no word goes faster than its rapid. Without accelerations that is all. With them each block is a stretch of a
//! way in four dimensions, X, Y, Z and the arc of A at the blank's greatest radius, and speeds up and slows down at the
//! greatest rate that no axis forbids. A rapid need not keep to its way: each of its axes goes by its own rapid and acceleration, and
//! the block takes as long as the one that comes last. From one block into the next it goes as fast as if the corner were rounded by
//! [`CORNER`]; through an arc no faster than its curve allows, whether it is written as one or in short lines. It stands still where the program does: at a dwell, a stop, a
//! cutter change, its end. Such speeds are found in two passes, from the last block to the first what can still be slowed
//! down, and on from the first what has been reached.
//!
//! A controller that looks ahead less, or rounds corners otherwise, takes longer or shorter; what is told is an estimate.
//!
//! # Practice
//!
//! [`Times`] is made once for a job and is asked by its blocks; [`BlockTimes`], [`ProgramTimes`], [`CutterTimes`] and [`JobTimes`] are what
//! they come to.

mod bends;
mod blocks;
mod profile;
mod totals;
mod way;

use dryturn_geom::Motions;
use dryturn_program::EventKind;
use dryturn_scene::{Job, M6, ProgramRun};

use way::Way;

pub use blocks::{BlockTime, BlockTimes};
pub use totals::{BatchTime, CutterTimes, JobTimes, ProgramTimes};
pub(crate) use way::rates;

/// How far a corner is missed as it is rounded, mm (common practice, no source).
pub const CORNER: f64 = 0.01;

/// Blocks from one mark of the clock to the next.
const MARK: usize = 16;

/// When each block of a job comes, and how long it takes.
///
/// The clock starts with the first program and runs through all of them: blocks, dwells, and cutter changes where the scene
/// says how long one takes.
pub struct Times<'a> {
    job: &'a Job,
    ways: Vec<Way<'a>>,
    /// What each block takes, seconds; 0 where it does not move or its time cannot be told.
    taken: Vec<f32>,
    /// The same with no regard to acceleration; not a number where that cannot be told.
    asked: Vec<f32>,
    /// Seconds of the blocks before every [`MARK`]-th.
    marks: Vec<f64>,
    /// Where the programs pause: the block before which they do, rising, and the seconds of all pauses until then.
    pauses: Vec<(u32, f64)>,
    /// Seconds of all pauses of the programs before each.
    paused_before: Vec<f64>,
}

impl<'a> Times<'a> {
    /// The times of a job.
    pub fn of(job: &'a Job) -> Times<'a> {
        let ways: Vec<Way<'a>> = job.programs.iter().map(|run| Way::new(job, run)).collect();
        let room = || Vec::with_capacity(job.count() as usize);
        let (mut taken, mut asked): (Vec<f32>, Vec<f32>) = (room(), room());
        ways.iter().for_each(|way| taken.extend(way.seconds(&mut asked)));
        let mut before = 0.0;
        let mark = |blocks: &[f32]| {
            let now = before;
            before += sum(blocks);
            now
        };
        let marks = taken.chunks(MARK).map(mark).collect();
        let (pauses, paused_before) = pauses(job);
        Times { job, ways, taken, asked, marks, pauses, paused_before }
    }

    /// How many blocks there are.
    pub fn count(&self) -> u32 {
        self.taken.len() as u32
    }

    /// Seconds a block asks for, with no regard to acceleration: by its feed, no word faster than its rapid. `None` where no
    /// feed is in force or a place is unknown.
    pub fn asked(&self, block: u32) -> Option<f64> {
        self.asked.get(block as usize).copied().map(f64::from).filter(|seconds| seconds.is_finite())
    }

    /// Seconds a block takes, speeding up and slowing down; 0 where it does not move or its time cannot be told.
    pub fn seconds(&self, block: u32) -> f64 {
        self.taken.get(block as usize).copied().map_or(0.0, f64::from)
    }

    /// When a block begins, seconds from the start of the first program; past the last block when all ends.
    pub fn start(&self, block: u32) -> f64 {
        self.moved(block) + self.paused(|before| before <= block)
    }

    /// Seconds of all blocks before one.
    fn moved(&self, block: u32) -> f64 {
        let at = (block as usize).min(self.taken.len());
        let mark = (at / MARK).min(self.marks.len().saturating_sub(1));
        self.marks.get(mark).copied().unwrap_or(0.0) + sum(&self.taken[mark * MARK..at])
    }

    /// Seconds of all pauses before the first block of which this does not hold.
    fn paused(&self, is_over: impl Fn(u32) -> bool) -> f64 {
        let paused = self.pauses.partition_point(|(before, _)| is_over(*before));
        paused.checked_sub(1).map_or(0.0, |last| self.pauses[last].1)
    }

    /// When each program begins, with a change of the cutter for it, seconds from the start of the first.
    pub fn starts(&self) -> Vec<f64> {
        let begins = |(run, paused): (&ProgramRun, &f64)| self.moved(run.first_block) + paused;
        self.job.programs.iter().zip(&self.paused_before).map(begins).collect()
    }

    /// When the last program ends, seconds from the start of the first.
    pub fn end(&self) -> f64 {
        self.start(u32::MAX)
    }

    /// The block under way at a moment, or the one after the pause in which it falls; the last one when all has ended.
    pub fn block_at(&self, seconds: f64) -> u32 {
        let (mut low, mut high) = (0, self.taken.len() as u32);
        let ended_before = |block: u32| self.moved(block) + self.paused(|before| before < block);
        while low + 1 < high {
            let middle = low + (high - low) / 2;
            if ended_before(middle) <= seconds {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// The seconds of some blocks, in their order.
fn sum(blocks: &[f32]) -> f64 {
    blocks.iter().copied().map(f64::from).sum()
}

/// The pauses of all programs, and the seconds of those before each, as [`Times`] keeps them.
fn pauses(job: &Job) -> (Vec<(u32, f64)>, Vec<f64>) {
    let change = job.scene.machine.change_seconds.unwrap_or(0.0);
    let mut pauses: Vec<(u32, f64)> = Vec::new();
    let mut before = Vec::new();
    let until = |pauses: &[(u32, f64)]| pauses.last().map_or(0.0, |(_, until)| *until);
    for (index, run) in job.programs.iter().enumerate() {
        before.push(until(&pauses));
        let mut pause = |block: u32, seconds: f64| {
            if seconds > 0.0 {
                pauses.push((block, until(&pauses) + seconds));
            }
        };
        if starts_with_another(job, index) {
            pause(run.first_block, change);
        }
        for event in &run.program.events {
            let block = run.first_block + event.after_blocks;
            match event.kind {
                EventKind::Dwell(seconds) => pause(block, seconds),
                EventKind::CutterChange(_) if job.scene.controller.m6 != M6::Ignored => pause(block, change),
                _ => {}
            }
        }
    }
    (pauses, before)
}

/// Whether the cutter is changed by hand before a program: it starts with another than the one before ended with.
fn starts_with_another(job: &Job, index: usize) -> bool {
    let last = |run: &ProgramRun| run.program.blocks.last().map(|block| u32::from(block.cutter));
    let before = index.checked_sub(1).and_then(|before| last(&job.programs[before]));
    let given = job.scene.programs.get(index).and_then(|entry| entry.cutter);
    before.zip(given).is_some_and(|(before, given)| before != given)
}
