//! The way a program goes, leg by leg, and how fast each is gone.

use dryturn_geom::{Axis, Pose, angle};
use dryturn_program::{BlockFlags, EventKind, FeedReading, Rates};
use dryturn_scene::{FeedCounts, Job, ProgramRun};

use super::CORNER;
use super::bends::Bends;
use super::profile::{Leg, corner_speed, reached, seconds};

/// How far the chords that measure an arc may lie off it, mm.
const CHORD: f64 = 1e-3;

/// How one block is gone; of length 0 where it does not move or its time cannot be told. Two passes wait for memory
/// rather than for sums, so it is small: seven digits are as many as there are of a block's time.
#[derive(Clone, Copy, Default)]
pub(super) struct Pace {
    pub(super) length: f32,
    cruise: f32,
    acceleration: f32,
    /// Greatest speed at which it may begin.
    pub(super) entry: f32,
}

impl Pace {
    fn of(leg: &Leg, entry: f64) -> Pace {
        let [length, cruise, acceleration, entry] =
            [leg.length, leg.cruise, leg.acceleration, entry].map(|it| it as f32);
        Pace { length, cruise, acceleration, entry }
    }

    /// Length, cruising speed and acceleration.
    fn stretch(&self) -> [f64; 3] {
        [self.length, self.cruise, self.acceleration].map(f64::from)
    }
}

/// Lets every block begin no faster than it can still be slowed down to where the next may begin.
fn slow_down(paces: &mut [Pace]) {
    let mut next = 0.0;
    for pace in paces.iter_mut().rev().filter(|pace| pace.length > 0.0) {
        let [length, _, acceleration] = pace.stretch();
        next = reached(next, length, acceleration, f64::from(pace.cruise.min(pace.entry)));
        pace.entry = next as f32;
    }
}

/// A block at rapid, whose axes go each by itself: its place, and how far each goes, mm.
struct Rapid {
    at: usize,
    way: [f64; 4],
}

/// One program's way.
pub(super) struct Way<'a> {
    run: &'a ProgramRun,
    rates: Rates,
    reading: FeedReading,
    /// Radius at which turning counts as a length, mm.
    radius: f64,
    /// Rapid rates of X, Y, Z and of a point at that radius, mm/s.
    rapids: [f64; 4],
    /// One over the greatest acceleration of X, Y, Z and of a point at that radius, s²/mm; 0 where none is given.
    sluggishness: [f64; 4],
    /// After so many blocks it stands still, rising.
    stops: Vec<u32>,
}

impl<'a> Way<'a> {
    pub(super) fn new(job: &Job, run: &'a ProgramRun) -> Way<'a> {
        let (machine, radius) = (&job.scene.machine, job.scene.swept_radius());
        let turning = machine.accel.a.map(|degrees| angle::radians(degrees) * radius);
        let accelerations = [machine.accel.x, machine.accel.y, machine.accel.z, turning];
        let rapid = &machine.rapid;
        let rapids = [rapid.x, rapid.y, rapid.z, angle::radians(rapid.a) * radius].map(|a_minute| a_minute / 60.0);
        let sluggishness = accelerations.map(|acceleration| acceleration.map_or(0.0, f64::recip));
        let stands = |kind: &EventKind| !matches!(kind, EventKind::SpindleSpeed(_));
        let events = run.program.events.iter().filter(|event| stands(&event.kind));
        let stops = events.map(|event| event.after_blocks).collect();
        let (rates, reading) = (rates(job, run), reading(job));
        Way { run, rates, reading, radius, rapids, sluggishness, stops }
    }

    /// Whether a block moves, and how fast cannot be told.
    pub(super) fn is_untold(&self, at: usize) -> bool {
        let block = self.run.program.blocks.get(at);
        let moves = self.run.motion(at, self.run.first_block + at as u32).is_some();
        block.is_some_and(|block| block.is_unknown()) || (moves && self.asked(at).is_none())
    }

    /// Seconds a block takes at the speed it asks for.
    fn asked(&self, at: usize) -> Option<f64> {
        self.run.program.seconds(at, self.reading, &self.rates)
    }

    /// Seconds that each block takes; none where it does not move, or its time cannot be told. What each asks for is added
    /// to `asked`.
    pub(super) fn seconds(&self, asked: &mut Vec<f32>) -> Vec<f32> {
        let (mut paces, rapids) = self.paces(asked);
        slow_down(&mut paces);
        let mut taken = vec![0.0; paces.len()];
        let mut rapids = rapids.into_iter().peekable();
        let (mut speed, mut moving) = (0.0, (0..paces.len()).filter(|&at| paces[at].length > 0.0).peekable());
        while let Some(at) = moving.next() {
            let [length, cruise, acceleration] = paces[at].stretch();
            let next = moving.peek().map_or(0.0, |&next| f64::from(paces[next].entry));
            let exit = reached(speed, length, acceleration, next);
            let seconds = match rapids.next_if(|rapid| rapid.at == at) {
                Some(rapid) => self.at_rapid(&rapid.way, [speed, exit]),
                None => seconds(length, speed, cruise, exit, acceleration),
            };
            taken[at] = seconds.min(f64::from(f32::MAX)) as f32;
            speed = exit;
        }
        taken
    }

    /// The pace of each block, as fast from one into the next as the corner between them and the bend that they are part of let
    /// it go, and those at rapid.
    fn paces(&self, asked: &mut Vec<f32>) -> (Vec<Pace>, Vec<Rapid>) {
        let blocks = &self.run.program.blocks;
        let (mut paces, mut rapids): (Vec<Pace>, Vec<Rapid>) = (Vec::with_capacity(blocks.len()), Vec::new());
        // The leg before, and its place.
        let mut before: Option<(Leg, usize)> = None;
        let mut bends = Bends::default();
        let bound = |share: &[f64; 4]| self.bound(share);
        for (at, block) in blocks.iter().enumerate() {
            let seconds = self.asked(at);
            asked.push(seconds.map_or(f32::NAN, |seconds| seconds as f32));
            let Some(leg) = self.leg(at, seconds) else {
                before = before.filter(|_| !block.is_unknown());
                paces.push(Pace::default());
                continue;
            };
            let goes_on = before.filter(|(_, place)| !self.stands_between(*place, at));
            if goes_on.is_none() || !leg.is_straight() {
                bends.end(&mut paces, bound);
            }
            if leg.is_straight() {
                bends.go((at, &leg.first, leg.length), &mut paces, bound);
            }
            if leg.is_straight() && block.flags.has(BlockFlags::RAPID) {
                rapids.push(Rapid { at, way: leg.first.map(|part| (part * leg.length).abs()) });
            }
            paces.push(Pace::of(&leg, goes_on.map_or(0.0, |(before, _)| corner_speed(&before, &leg, CORNER))));
            before = Some((leg, at));
        }
        bends.end(&mut paces, bound);
        (paces, rapids)
    }

    /// Whether the program stands still after one block and before another.
    fn stands_between(&self, block: usize, later: usize) -> bool {
        let first = self.stops.partition_point(|after| *after as usize <= block);
        self.stops.get(first).is_some_and(|after| *after as usize <= later)
    }

    /// How a block that asks for so many seconds goes.
    fn leg(&self, at: usize, asked: Option<f64>) -> Option<Leg> {
        let asked = asked.filter(|seconds| *seconds > 0.0)?;
        let motion = &self.run.motion(at, self.run.first_block + at as u32)?;
        if motion.arc.is_none() {
            let way = self.between(&motion.from, &motion.to);
            let length = norm(way);
            let direction = way.map(|part| part * length.recip());
            return Leg::new(length, length / asked, self.bound(&direction.map(f64::abs)), direction, direction);
        }
        let mut chords = motion.chords(CHORD, self.radius).map(|(from, to)| self.between(&from, &to));
        let first = chords.next()?;
        let (length, last) = chords.fold((norm(first), first), |(length, _), chord| (length + norm(chord), chord));
        let (first, last) = (unit(first), unit(last));
        let mut share: [f64; 4] = std::array::from_fn(|axis| first[axis].abs().max(last[axis].abs()));
        let mut curve = f64::INFINITY;
        if let Some(arc) = &motion.arc {
            for (axis, reach) in arc.axes.into_iter().zip(arc.reach) {
                // Somewhere on a circle each of its axes goes all alone, or is near to it.
                share[place(axis)] = 1.0;
                curve = curve.min(reach.abs() * if axis == Axis::Turn { self.radius } else { 1.0 });
            }
        }
        let acceleration = self.bound(&share);
        let round = if acceleration.is_finite() { (acceleration * curve).sqrt() } else { f64::INFINITY };
        Leg::new(length, (length / asked).min(round), acceleration, first, last)
    }

    /// Seconds of a rapid that goes so far by each axis and begins and ends at these speeds along its way: each axis goes by
    /// itself, and the one that comes last counts.
    fn at_rapid(&self, way: &[f64; 4], ends: [f64; 2]) -> f64 {
        let whole = norm(*way);
        let by_itself = |axis: usize| {
            let [entry, exit] = ends.map(|speed| speed * way[axis] / whole);
            seconds(way[axis], entry, self.rapids[axis].max(entry).max(exit), exit, self.sluggishness[axis].recip())
        };
        (0..4).map(by_itself).fold(0.0, f64::max)
    }

    /// What the axes allow along a way of which they have these shares: as much as the one that allows least.
    fn bound(&self, share: &[f64; 4]) -> f64 {
        share.iter().zip(self.sluggishness).map(|(share, sluggish)| share * sluggish).fold(0.0, f64::max).recip()
    }

    fn between(&self, from: &Pose, to: &Pose) -> [f64; 4] {
        [to.x - from.x, to.y - from.y, to.z - from.z, (to.turn - from.turn) * self.radius]
    }
}

fn place(axis: Axis) -> usize {
    match axis {
        Axis::X => 0,
        Axis::Y => 1,
        Axis::Z => 2,
        Axis::Turn => 3,
    }
}

fn norm(way: [f64; 4]) -> f64 {
    way.iter().map(|part| part * part).sum::<f64>().sqrt()
}

pub(super) fn unit(way: [f64; 4]) -> [f64; 4] {
    let length = norm(way);
    if length > 0.0 { way.map(|part| part / length) } else { way }
}

fn reading(job: &Job) -> FeedReading {
    match job.scene.machine.feed_counts {
        FeedCounts::All => FeedReading::All,
        FeedCounts::Linear | FeedCounts::Each => FeedReading::Linear,
    }
}

/// The machine's rapid rates by program word, mm/min or degrees/min; a word that drives nothing has none.
pub(crate) fn rates(job: &Job, run: &ProgramRun) -> Rates {
    let rapid = &job.scene.machine.rapid;
    std::array::from_fn(|word| match run.frame.drive(word).map(|drive| (drive.axis, drive.scale)) {
        Some((Axis::X, _)) => rapid.x,
        Some((Axis::Y, _)) => rapid.y,
        Some((Axis::Z, _)) => rapid.z,
        // A word that turns the blank counts degrees, or the length that is wound on it.
        Some((Axis::Turn, scale)) => angle::radians(rapid.a) / scale.abs(),
        None => f64::INFINITY,
    })
}
