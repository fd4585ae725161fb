//! How long the programs take at the machine.
//!
//! # Theory
//!
//! A block asks for a time: its feed, as this controller counts it (`dryturn_program`), or for a rapid the slowest of its
//! words; no word goes faster than its rapid. Without accelerations that is all. With them each block is a stretch of a
//! way in four dimensions, X, Y, Z and the arc of A at the blank's greatest radius, and speeds up and slows down at the
//! greatest rate that no axis forbids. From one block into the next it goes as fast as if the corner were rounded by
//! [`CORNER`]; through an arc no faster than its curve allows. It stands still where the program does: at a dwell, a stop, a
//! cutter change, its end. Such speeds are found in two passes, from the last block to the first what can still be slowed
//! down, and on from the first what has been reached.
//!
//! A controller that looks ahead less, or rounds corners otherwise, takes longer or shorter; what is told is an estimate.

mod profile;
mod way;

use dryturn_program::EventKind;
use dryturn_scene::{Job, M6};

use way::Way;

pub(crate) use way::rates;

/// How far a corner is missed as it is rounded, mm (common practice, no source).
pub const CORNER: f64 = 0.01;

/// How long one program takes, seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ProgramTimes {
    /// Blocks at feed.
    pub cut_s: f64,
    /// Of these, blocks that take no wood.
    pub air_s: f64,
    /// Rapids.
    pub rapid_s: f64,
    /// Dwells.
    pub dwell_s: f64,
    /// Cutter changes, the one before its first block included; `None` where the scene does not say how long one takes.
    pub change_s: Option<f64>,
    /// Cutter changes, how many.
    pub changes: u32,
    /// Blocks that move and whose time cannot be told: no feed is in force, or a place is unknown.
    pub untold: u32,
}

/// The times of one program of a job, by its index; `removes` tells whether a block (of the job) takes wood.
pub(crate) fn of_program(job: &Job, index: usize, removes: impl Fn(u32) -> bool) -> ProgramTimes {
    let Some(run) = job.programs.get(index) else { return ProgramTimes::default() };
    let way = Way::new(job, run);
    let mut times = ProgramTimes::default();
    for (at, seconds) in way.seconds().into_iter().enumerate() {
        let (block, seconds) = (run.first_block + at as u32, f64::from(seconds));
        if job.is_rapid(block) {
            times.rapid_s += seconds;
        } else {
            times.cut_s += seconds;
            times.air_s += if removes(block) { 0.0 } else { seconds };
        }
        times.untold += u32::from(seconds == 0.0 && way.is_untold(at));
    }
    let dwell = |kind| if let EventKind::Dwell(seconds) = kind { seconds } else { 0.0 };
    times.dwell_s = run.program.events.iter().map(|event| dwell(event.kind)).sum();
    times.changes = changes(job, index);
    times.change_s = match (times.changes, job.scene.machine.change_seconds) {
        (0, _) => Some(0.0),
        (changes, seconds) => seconds.map(|seconds| seconds * f64::from(changes)),
    };
    times
}

/// How often the cutter is changed for a program: where it starts with another than the program before ended with, and
/// within it.
fn changes(job: &Job, index: usize) -> u32 {
    let within = |index: usize| {
        let events = job.programs[index].program.events.iter();
        events.filter(|event| matches!(event.kind, EventKind::CutterChange(_))).count() as u32
    };
    let cutter = |block: Option<&dryturn_program::Block>| block.map(|block| block.cutter);
    let before = index.checked_sub(1).and_then(|before| cutter(job.programs[before].program.blocks.last()));
    let given = job.scene.programs.get(index).and_then(|entry| entry.cutter);
    let is_other = before.zip(given).is_some_and(|(before, given)| u32::from(before) != given);
    let by_hand = if job.scene.controller.m6 == M6::Ignored { 0 } else { within(index) };
    by_hand + u32::from(is_other)
}
