//! The course of a run: equal slices of its time.

use super::{Effort, Ends, greater};
use crate::contact::Span;
use crate::load::Engagement;
use crate::time::Times;

/// How many slices a run is told in unless more or fewer are asked for.
pub const SERIES_POINTS: u32 = 400;

/// The course of a run over the time of its programs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// How long a slice is, seconds.
    pub step_s: f64,
    /// When each program begins, seconds.
    pub starts_s: Vec<f64>,
    /// The slices in order; none where nothing takes any time.
    pub moments: Vec<Moment>,
}

/// One slice. What is not known is `None`; the greatest of a load is 0 where no wood is cut and it is known elsewhere.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moment {
    /// When it begins, seconds from the start of the first program.
    pub time_s: f64,
    /// Block under way then.
    pub block: u32,
    /// Wood taken, mean over the slice, mm³/s.
    pub removal_mm3_s: f64,
    /// How the cutter stands in the wood in the stroke that takes the most in the slice; `None` where none is taken.
    pub engagement: Option<Engagement>,
    /// Greatest power at the spindle, W.
    pub power: Option<Ends>,
    /// Greatest main cutting force, N.
    pub force: Option<Ends>,
    /// Greatest torque about the rotary axis, N·mm.
    pub torque: Option<Ends>,
    /// Greatest push on the wood along the axis, toward the center or off the chuck, N.
    pub axial: Option<Ends>,
    /// Radius at which wood is cut, mean by volume, mm; `None` where none is.
    pub radius_mm: Option<f64>,
    /// Least distance of any two bodies, mm; as great as was looked for where they are farther apart, `None` where nothing
    /// moves or no two bodies are described.
    pub clearance_mm: Option<f64>,
    /// Greatest distance by which piece and cutter spring apart, mm.
    pub spring: Option<Ends>,
}

/// Slices under way, of all of a run or of some blocks in a row.
#[derive(Clone, Debug)]
pub(super) struct Slices {
    step_s: f64,
    /// How many there are in the whole run.
    points: u32,
    /// The first of those that anything is known of, and all until the last.
    first: usize,
    slices: Vec<Slice>,
}

/// What is done in a slice, as yet.
#[derive(Clone, Copy, Debug, Default)]
struct Slice {
    /// Wood taken, mm³.
    volume: f64,
    /// Wood cut at a known radius, mm³, and that times the radius.
    cut: [f64; 2],
    /// The most that one stroke takes, mm³, and how the cutter stands in it.
    most: f64,
    engagement: Option<Engagement>,
    power: Option<Ends>,
    force: Option<Ends>,
    torque: Option<Ends>,
    axial: Option<Ends>,
    spring: Option<Ends>,
}

impl Slice {
    /// Of a stroke that takes so much of its wood in it, mm³.
    fn of(effort: &Effort, volume: f64) -> Slice {
        let radius = effort.radius_mm.filter(|_| volume > 0.0);
        Slice {
            volume,
            cut: radius.map_or([0.0; 2], |radius| [volume, volume * radius]),
            most: volume,
            engagement: effort.engagement,
            power: effort.power,
            force: effort.force,
            torque: effort.torque,
            axial: effort.axial,
            spring: effort.spring,
        }
    }

    /// Takes in what else is done in it, later.
    fn add(&mut self, more: &Slice) {
        self.volume += more.volume;
        self.cut = [self.cut[0] + more.cut[0], self.cut[1] + more.cut[1]];
        if more.most > self.most {
            (self.most, self.engagement) = (more.most, more.engagement);
        }
        self.power = greater(self.power, more.power);
        self.force = greater(self.force, more.force);
        self.torque = greater(self.torque, more.torque);
        self.axial = greater(self.axial, more.axial);
        self.spring = greater(self.spring, more.spring);
    }
}

impl Slices {
    pub(super) fn new(times: &Times<'_>, points: u32) -> Slices {
        let step_s = step(times, points);
        Slices { step_s, points: if step_s > 0.0 { points } else { 0 }, first: 0, slices: Vec::new() }
    }

    /// The slice in which a moment lies.
    fn slice(&self, seconds: f64) -> usize {
        ((seconds / self.step_s) as usize).min((self.points as usize).saturating_sub(1))
    }

    pub(super) fn take(&mut self, times: &Times<'_>, effort: &Effort) {
        if self.points == 0 {
            return;
        }
        let during = |block: u32, share: f64| times.start(block) + share * times.seconds(block);
        let (from, to) = (during(effort.block, effort.share.0), during(effort.last, effort.share.1));
        let (first, last) = (self.slice(from), self.slice(to));
        for at in first..=last {
            let start = self.step_s * at as f64;
            let within = to.min(start + self.step_s) - from.max(start);
            // What takes no time falls into one slice whole.
            let share = if to > from && last > first { (within / (to - from)).clamp(0.0, 1.0) } else { 1.0 };
            if at > first && share <= 0.0 {
                continue;
            }
            self.add(at, &Slice::of(effort, effort.volume_mm3 * share));
        }
    }

    fn add(&mut self, at: usize, more: &Slice) {
        if self.slices.is_empty() {
            self.first = at;
        }
        // Efforts come in the order of their time.
        let at = at.saturating_sub(self.first);
        if at >= self.slices.len() {
            self.slices.resize(at + 1, Slice::default());
        }
        self.slices[at].add(more);
    }

    /// Takes in the slices of the blocks that follow.
    pub(super) fn join(&mut self, later: &Slices) {
        later.slices.iter().enumerate().for_each(|(at, slice)| self.add(later.first + at, slice));
    }

    pub(super) fn finish(self, times: &Times<'_>, clearances: &[Option<f64>]) -> Series {
        let idle = idle(&self.slices);
        let moment = |point: u32| {
            let at = (point as usize).checked_sub(self.first).and_then(|at| self.slices.get(at)).copied();
            let slice = at.filter(|slice| slice.volume > 0.0).unwrap_or(idle);
            let time_s = self.step_s * f64::from(point);
            Moment {
                time_s,
                block: times.block_at(time_s),
                removal_mm3_s: slice.volume / self.step_s,
                engagement: slice.engagement,
                power: slice.power,
                force: slice.force,
                torque: slice.torque,
                axial: slice.axial,
                radius_mm: (slice.cut[0] > 0.0).then(|| slice.cut[1] / slice.cut[0]),
                clearance_mm: clearances.get(point as usize).copied().flatten(),
                spring: slice.spring,
            }
        };
        Series { step_s: self.step_s, starts_s: times.starts(), moments: (0..self.points).map(moment).collect() }
    }
}

/// What of the run lies in each of so many slices.
pub(crate) fn spans(times: &Times<'_>, points: u32) -> Vec<Span> {
    let step = step(times, points);
    let at = |point: u32| place(times, step * f64::from(point));
    let count = if step > 0.0 { points } else { 0 };
    (0..count).map(|point| Span { from: at(point), to: at(point + 1) }).collect()
}

/// How long a slice is, seconds; 0 where nothing takes any time.
fn step(times: &Times<'_>, points: u32) -> f64 {
    if points > 0 { times.end() / f64::from(points) } else { 0.0 }
}

/// The loads where no wood is cut: none, where they are known anywhere.
fn idle(slices: &[Slice]) -> Slice {
    let none = |of: fn(&Slice) -> Option<Ends>| slices.iter().find_map(of).map(|_| [0.0; 2]);
    Slice {
        power: none(|slice| slice.power),
        force: none(|slice| slice.force),
        torque: none(|slice| slice.torque),
        axial: none(|slice| slice.axial),
        spring: none(|slice| slice.spring),
        ..Slice::default()
    }
}

/// The block under way at a moment, and the share of it that is done.
fn place(times: &Times<'_>, seconds: f64) -> (u32, f64) {
    let block = times.block_at(seconds);
    let taken = times.seconds(block);
    let share = if taken > 0.0 { (seconds - times.start(block)) / taken } else { 0.0 };
    (block, share.clamp(0.0, 1.0))
}
