//! What the times of the blocks come to: by program, by cutter, and for pieces one after another.

use std::collections::BTreeMap;

use dryturn_program::{Block, BlockFlags, EventKind};
use dryturn_scene::{Job, M6};

use super::profile::{reached, seconds};
use super::{Times, starts_with_another};
use crate::stretches::motions_of;

/// How long one program takes, seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ProgramTimes {
    /// Blocks at feed.
    pub cut_s: f64,
    /// Of these, what is fed through air.
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

/// How long one cutter works, seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CutterTimes {
    /// Its number.
    pub cutter: u32,
    /// Blocks at feed.
    pub cut_s: f64,
    /// Of these, what is fed through air.
    pub air_s: f64,
    /// Rapids.
    pub rapid_s: f64,
}

/// How long all programs take, and pieces one after another, seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct JobTimes {
    /// Blocks at feed.
    pub cut_s: f64,
    /// Of these, what is fed through air.
    pub air_s: f64,
    /// Rapids.
    pub rapid_s: f64,
    /// Dwells.
    pub dwell_s: f64,
    /// Cutter changes; `None` where there are any and the scene does not say how long one takes.
    pub change_s: Option<f64>,
    /// Cutter changes, how many.
    pub changes: u32,
    /// Share of the feed time in which no wood is taken, 0 … 1.
    pub air_share: f64,
    /// Turning the blank's axis back by rapid for the next piece, from the number that the controller shows after the last
    /// program, a zero set there included, to the one that the first program starts from. So it is 0 where the last program
    /// turns back itself, and only what is left where the axis was zeroed again on the way. A blank that a linear word turns
    /// is turned back to where it was. `None` where nothing moves.
    pub unwinding_s: Option<f64>,
    /// Taking a piece out and putting the next blank in; `None` where the scene does not say.
    pub loading_s: Option<f64>,
    /// A batch, where the scene asks for one.
    pub batch: Option<BatchTime>,
}

/// How long a batch takes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BatchTime {
    /// How many pieces.
    pub pieces: u32,
    /// All of it, seconds: for each piece its programs, loading and unwinding, and the cutter changes. A job with one cutter
    /// has its changes once; with several each piece has them, and each but the first begins with the change back to the
    /// first cutter. What the scene does not say how long it takes is not in it.
    pub total_s: f64,
}

impl JobTimes {
    /// Programs of one piece, cutter changes included where it is known how long one takes, seconds.
    pub fn programs_s(&self) -> f64 {
        self.moving_s() + self.change_s.unwrap_or(0.0)
    }

    fn moving_s(&self) -> f64 {
        self.cut_s + self.rapid_s + self.dwell_s
    }
}

impl Times<'_> {
    /// The times of one program, by its index; `air` tells the share of a block's way on which it takes no wood.
    pub fn program(&self, index: usize, air: impl Fn(u32) -> f64) -> ProgramTimes {
        let (Some(run), Some(way)) = (self.job.programs.get(index), self.ways.get(index)) else {
            return ProgramTimes::default();
        };
        let mut times = ProgramTimes::default();
        for (at, (number, block)) in (run.first_block..).zip(&run.program.blocks).enumerate() {
            let [cut, through_air, rapid] = self.parts(number, block, &air);
            times.cut_s += cut;
            times.air_s += through_air;
            times.rapid_s += rapid;
            times.untold += u32::from(cut + rapid == 0.0 && way.is_untold(at));
        }
        let dwell = |kind| if let EventKind::Dwell(seconds) = kind { seconds } else { 0.0 };
        times.dwell_s = run.program.events.iter().map(|event| dwell(event.kind)).sum();
        times.changes = changes(self.job, index);
        times.change_s = self.changing(times.changes);
        times
    }

    /// Seconds of a block at feed, of these through air, and at rapid.
    fn parts(&self, number: u32, block: &Block, air: impl Fn(u32) -> f64) -> [f64; 3] {
        let seconds = self.seconds(number);
        let is_rapid = block.flags.has(BlockFlags::RAPID);
        if is_rapid { [0.0, 0.0, seconds] } else { [seconds, seconds * air(number), 0.0] }
    }

    /// The times of each cutter that moves, by its number; `air` as for [`Times::program`].
    pub fn cutters(&self, air: impl Fn(u32) -> f64) -> Vec<CutterTimes> {
        let mut cutters: BTreeMap<u32, CutterTimes> = BTreeMap::new();
        for (first, blocks) in stints(self.job) {
            let cutter = self.job.cutter_index(first).and_then(|at| self.job.scene.cutters.get(usize::from(at)));
            let moves = || (first..).zip(blocks).any(|(number, _)| self.seconds(number) > 0.0);
            let Some(cutter) = cutter.filter(|_| moves()).map(|cutter| cutter.number) else { continue };
            let times = cutters.entry(cutter).or_insert(CutterTimes { cutter, ..CutterTimes::default() });
            for (number, block) in (first..).zip(blocks) {
                let [cut, through_air, rapid] = self.parts(number, block, &air);
                times.cut_s += cut;
                times.air_s += through_air;
                times.rapid_s += rapid;
            }
        }
        cutters.into_values().collect()
    }

    /// What the programs come to, with the batch that the scene asks for.
    pub fn whole(&self, programs: &[ProgramTimes]) -> JobTimes {
        let sum = |of: fn(&ProgramTimes) -> f64| programs.iter().map(of).sum::<f64>();
        let changes = programs.iter().map(|times| times.changes).sum();
        let batch = self.job.scene.batch;
        let (cut_s, air_s) = (sum(|times| times.cut_s), sum(|times| times.air_s));
        let mut whole = JobTimes {
            cut_s,
            air_s,
            rapid_s: sum(|times| times.rapid_s),
            dwell_s: sum(|times| times.dwell_s),
            change_s: self.changing(changes),
            changes,
            air_share: if cut_s > 0.0 { air_s / cut_s } else { 0.0 },
            unwinding_s: self.unwinding(),
            loading_s: batch.and_then(|batch| batch.loading_seconds),
            batch: None,
        };
        whole.batch = batch.map(|batch| self.batch(&whole, batch.pieces));
        whole
    }

    fn batch(&self, whole: &JobTimes, pieces: u32) -> BatchTime {
        let each = whole.moving_s() + whole.loading_s.unwrap_or(0.0) + whole.unwinding_s.unwrap_or(0.0);
        let changes = match changes_a_piece(self.job, whole.changes) {
            Some((each, back)) => f64::from(pieces) * f64::from(each) + f64::from(pieces.saturating_sub(1) * back),
            None => f64::from(whole.changes),
        };
        let change = self.job.scene.machine.change_seconds.unwrap_or(0.0);
        BatchTime { pieces, total_s: f64::from(pieces) * each + changes * change }
    }

    fn changing(&self, changes: u32) -> Option<f64> {
        match changes {
            0 => Some(0.0),
            changes => self.job.scene.machine.change_seconds.map(|seconds| seconds * f64::from(changes)),
        }
    }

    /// As [`JobTimes::unwinding_s`].
    fn unwinding(&self) -> Option<f64> {
        let count = self.job.programs.len();
        let first = (0..count).find_map(|program| motions_of(self.job, program).next())?;
        let last = (0..count).rev().find_map(|program| motions_of(self.job, program).next_back())?;
        let [start, end] =
            [self.job.wound(first.block, &first.from)?, self.job.wound_at_the_end(last.block, &last.to)?];
        let way = (end - start).abs();
        let machine = &self.job.scene.machine;
        // Degrees and seconds.
        let (rapid, acceleration) = (machine.rapid.a / 60.0, machine.accel.a.unwrap_or(f64::INFINITY));
        let peak = reached(0.0, 0.5 * way, acceleration, rapid);
        Some(if way > ROUNDING && peak > 0.0 { seconds(way, 0.0, peak, 0.0, acceleration) } else { 0.0 })
    }
}

/// Words that are worked out from poses differ by less where they are the same, degrees.
const ROUNDING: f64 = 1e-9;

/// Blocks in a row with one cutter in the spindle, and the number of the first.
fn stints(job: &Job) -> impl Iterator<Item = (u32, &[Block])> {
    job.programs.iter().flat_map(|run| {
        let mut next = run.first_block;
        run.program.blocks.chunk_by(|one, other| one.cutter == other.cutter).map(move |blocks| {
            let first = next;
            next += blocks.len() as u32;
            (first, blocks)
        })
    })
}

/// How often the cutter is changed for a program: where it starts with another than the program before ended with, and
/// within it.
fn changes(job: &Job, index: usize) -> u32 {
    let events = job.programs[index].program.events.iter();
    let within = events.filter(|event| matches!(event.kind, EventKind::CutterChange(_))).count() as u32;
    let by_program = if job.scene.controller.m6 == M6::Ignored { 0 } else { within };
    by_program + u32::from(starts_with_another(job, index))
}

/// Of a job with several cutters how often each piece changes them, and whether (1 or 0) the next one begins with a change
/// back that its programs do not make themselves; `None` with one cutter.
fn changes_a_piece(job: &Job, changes: u32) -> Option<(u32, u32)> {
    let blocks = || job.programs.iter().flat_map(|run| &run.program.blocks).map(|block| block.cutter);
    let first = blocks().next()?;
    if blocks().all(|cutter| cutter == first) {
        return None;
    }
    let last = job.programs.iter().rev().find_map(|run| run.program.blocks.last()).map(|block| block.cutter);
    let calls = |run: &dryturn_scene::ProgramRun| {
        let mut before = run.program.events.iter().take_while(|event| event.after_blocks == 0);
        before.any(|event| matches!(event.kind, EventKind::CutterChange(_)))
    };
    let itself = job.scene.controller.m6 != M6::Ignored && job.programs.first().is_some_and(calls);
    Some((changes, u32::from(last != Some(first) && !itself)))
}
