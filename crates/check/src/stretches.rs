//! Which blocks of something wrong belong together.
//!
//! A fault is met again and again: once a turn of a helix, once a row of a raster. Blocks that follow on from each
//! other belong together, and so do those of one program and cutter that meet the same place along the axis, however
//! many blocks lie between. Otherwise one shoulder that is too high would be told once a turn.

use std::collections::BTreeMap;

use dryturn_geom::{Motion, Motions};
use dryturn_scene::Job;

/// One block's part in something wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Event<V> {
    pub(crate) block: u32,
    /// Where it happens: the same number and those next to it are one place.
    pub(crate) place: i64,
    /// How bad it is; the greatest is the worst.
    pub(crate) value: V,
    /// Wood it takes, mm³.
    pub(crate) volume: f64,
}

/// Blocks of one program and one cutter that belong together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch<V> {
    pub(crate) program: usize,
    pub(crate) cutter: u16,
    pub(crate) first: u32,
    pub(crate) last: u32,
    /// How many blocks took part.
    pub(crate) blocks: u32,
    /// Of the worst the first.
    pub(crate) worst: Event<V>,
    /// Wood all of them take, mm³.
    pub(crate) volume: f64,
}

/// Length along the axis that is one place, mm.
const PLACE: f64 = 5.0;

/// The place of a station (mm).
pub(crate) fn place(station: f64) -> i64 {
    (station / PLACE).floor() as i64
}

impl<V: PartialOrd> Stretch<V> {
    pub(crate) fn of_motion(job: &Job, motion: &Motion, value: V) -> Stretch<V> {
        let worst = Event { block: motion.block, place: place(motion.to.x), value, volume: 0.0 };
        Stretch::new(job.program_of(motion.block), motion.cutter, worst)
    }

    fn new(program: usize, cutter: u16, worst: Event<V>) -> Stretch<V> {
        let (first, volume) = (worst.block, worst.volume);
        Stretch { program, cutter, first, last: first, blocks: 1, worst, volume }
    }

    pub(crate) fn take(&mut self, event: Event<V>) {
        self.last = event.block;
        self.blocks += 1;
        self.volume += event.volume;
        if event.value > self.worst.value {
            self.worst = event;
        }
    }
}

/// Adds an event to those of the blocks before; of one block the worst is kept, of equals the first.
pub(crate) fn keep_worst<V: PartialOrd>(events: &mut Vec<Event<V>>, event: Event<V>) {
    match events.last_mut().filter(|last| last.block == event.block) {
        Some(last) if event.value > last.value => *last = event,
        Some(_) => {}
        None => events.push(event),
    }
}

/// Joins events, given in the order of their blocks, into stretches; these come in the order of their first blocks.
pub(crate) fn stretches<V: PartialOrd>(job: &Job, events: impl IntoIterator<Item = Event<V>>) -> Vec<Stretch<V>> {
    let mut stretches: Vec<Stretch<V>> = Vec::new();
    let mut known: BTreeMap<(usize, u16, i64), usize> = BTreeMap::new();
    let mut latest: Option<usize> = None;
    for event in events {
        let (program, cutter) = (job.program_of(event.block), job.cutter_index(event.block).unwrap_or(u16::MAX));
        let (block, place) = (event.block, event.place);
        let follows = latest.filter(|&at| {
            let before: &Stretch<V> = &stretches[at];
            (before.program, before.cutter, before.last + 1) == (program, cutter, block)
        });
        let around = [place.saturating_sub(1), place.saturating_add(1)].map(|place| (program, cutter, place));
        let met = || known.range(around[0]..=around[1]).next().map(|(_, &at)| at);
        let at = match follows.or_else(met) {
            Some(at) => {
                stretches[at].take(event);
                at
            }
            None => {
                stretches.push(Stretch::new(program, cutter, event));
                stretches.len() - 1
            }
        };
        known.insert((program, cutter, place), at);
        latest = Some(at);
    }
    stretches
}

/// The motions of one program.
pub(crate) fn motions_of(job: &Job, program: usize) -> impl DoubleEndedIterator<Item = Motion> {
    job.blocks_of(program).filter_map(move |block| job.motion(block))
}

/// The motions of all programs.
pub(crate) fn motions(job: &Job) -> impl Iterator<Item = Motion> {
    (0..job.count()).filter_map(move |block| job.motion(block))
}

/// The blocks of a job up to one of them.
pub struct Until<'a> {
    /// All blocks.
    pub motions: &'a dyn Motions,
    /// How many of them count.
    pub count: u32,
}

impl Motions for Until<'_> {
    fn count(&self) -> u32 {
        self.count
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        if index < self.count { self.motions.motion(index) } else { None }
    }
}
