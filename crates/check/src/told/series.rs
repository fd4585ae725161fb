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
    /// Radius at which wood is cut, mean by volume, mm; `None` where none is.
    pub radius_mm: Option<f64>,
    /// Least distance of any two bodies, mm; as great as was looked for where they are farther apart, `None` where nothing
    /// moves or no two bodies are described.
    pub clearance_mm: Option<f64>,
    /// Greatest distance by which piece and cutter spring apart, mm.
    pub spring: Option<Ends>,
}

/// Slices under way.
pub(super) struct Slices<'a> {
    times: &'a Times<'a>,
    step_s: f64,
    moments: Vec<Moment>,
    /// Wood cut at known radii in each slice: volume, mm³, and volume times radius.
    cut: Vec<[f64; 2]>,
    /// The most that one stroke takes in each slice, mm³.
    most: Vec<f64>,
}

impl<'a> Slices<'a> {
    pub(super) fn new(times: &'a Times<'a>, points: u32) -> Slices<'a> {
        let step_s = step(times, points);
        let points = if step_s > 0.0 { points } else { 0 };
        let moment = |point: u32| {
            let time_s = step_s * f64::from(point);
            Moment { time_s, block: times.block_at(time_s), ..Moment::default() }
        };
        let moments: Vec<Moment> = (0..points).map(moment).collect();
        Slices { times, step_s, cut: vec![[0.0; 2]; moments.len()], most: vec![0.0; moments.len()], moments }
    }

    /// The slice in which a moment lies.
    fn slice(&self, seconds: f64) -> usize {
        ((seconds / self.step_s) as usize).min(self.moments.len().saturating_sub(1))
    }

    pub(super) fn take(&mut self, effort: &Effort) {
        if self.moments.is_empty() {
            return;
        }
        let (start, seconds) = (self.times.start(effort.block), self.times.seconds(effort.block));
        let (from, to) = (start + seconds * effort.share.0, start + seconds * effort.share.1);
        let (first, last) = (self.slice(from), self.slice(to));
        for at in first..=last {
            let slice = [self.moments[at].time_s, self.moments[at].time_s + self.step_s];
            let within = to.min(slice[1]) - from.max(slice[0]);
            // What takes no time falls into one slice whole.
            let share = if to > from && last > first { (within / (to - from)).clamp(0.0, 1.0) } else { 1.0 };
            if at > first && share <= 0.0 {
                continue;
            }
            self.add(at, effort, effort.volume_mm3 * share);
        }
    }

    fn add(&mut self, at: usize, effort: &Effort, volume: f64) {
        let (moment, cut) = (&mut self.moments[at], &mut self.cut[at]);
        moment.removal_mm3_s += volume / self.step_s;
        moment.power = greater(moment.power, effort.power);
        moment.force = greater(moment.force, effort.force);
        moment.torque = greater(moment.torque, effort.torque);
        moment.spring = greater(moment.spring, effort.spring);
        if volume > self.most[at] {
            (self.most[at], moment.engagement) = (volume, effort.engagement);
        }
        if let Some(radius) = effort.radius_mm.filter(|_| volume > 0.0) {
            *cut = [cut[0] + volume, cut[1] + volume * radius];
        }
    }

    pub(super) fn finish(self, clearances: Vec<Option<f64>>) -> Series {
        let Slices { times, step_s, mut moments, cut, .. } = self;
        let idle = idle(&moments);
        for (at, moment) in moments.iter_mut().enumerate() {
            moment.clearance_mm = clearances.get(at).copied().flatten();
            moment.radius_mm = (cut[at][0] > 0.0).then(|| cut[at][1] / cut[at][0]);
            if moment.removal_mm3_s <= 0.0 {
                moment.power = moment.power.or(idle.power);
                moment.force = moment.force.or(idle.force);
                moment.torque = moment.torque.or(idle.torque);
                moment.spring = moment.spring.or(idle.spring);
            }
        }
        Series { step_s, starts_s: times.starts(), moments }
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
fn idle(moments: &[Moment]) -> Moment {
    let none = |of: fn(&Moment) -> Option<Ends>| moments.iter().find_map(of).map(|_| [0.0; 2]);
    Moment {
        power: none(|moment| moment.power),
        force: none(|moment| moment.force),
        torque: none(|moment| moment.torque),
        spring: none(|moment| moment.spring),
        ..Moment::default()
    }
}

/// The block under way at a moment, and the share of it that is done.
fn place(times: &Times<'_>, seconds: f64) -> (u32, f64) {
    let block = times.block_at(seconds);
    let taken = times.seconds(block);
    let share = if taken > 0.0 { (seconds - times.start(block)) / taken } else { 0.0 };
    (block, share.clamp(0.0, 1.0))
}
