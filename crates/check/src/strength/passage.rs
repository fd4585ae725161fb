//! Where the cutter passes during a stroke.

use std::ops::Range;

use dryturn_carve::Stroke;
use dryturn_geom::{Flutes, Motions, Pose};
use dryturn_scene::Job;

use super::held::Held;
use crate::load::reach_below;

/// The way of the cutter during a stroke, from end to end.
pub(super) struct Passage<'a> {
    flutes: &'a Flutes,
    ends: [Pose; 2],
}

impl<'a> Passage<'a> {
    /// `None` where nobody knows where the cutter is, or which.
    pub(super) fn of(job: &'a Job, stroke: &Stroke) -> Option<Passage<'a>> {
        let (first, last) = (job.motion(stroke.block)?, job.motion(stroke.last)?);
        let flutes = &job.scene.cutters.get(usize::from(first.cutter))?.flutes;
        Some(Passage { flutes, ends: [first.at(stroke.share.0), last.at(stroke.share.1)] })
    }

    /// The sections that the cutter passes over with what it has up to a height over its tip, mm.
    pub(super) fn sections(&self, held: &Held<'_>, height: f64) -> Range<usize> {
        // A row stands for half a step on either side.
        held.within(self.ends.map(|end| end.x), reach_below(self.flutes, height) + 0.5 * held.step())
    }

    /// The shares of the way, without its ends, at which the wood has turned by a whole number of steps (radians).
    pub(super) fn turns(&self, step: f64) -> impl Iterator<Item = f64> {
        let [from, to] = self.ends.map(|end| end.turn);
        let (first, last) = ((from.min(to) / step).floor() as i64 + 1, (from.max(to) / step).ceil() as i64);
        (first..last).map(move |k| (k as f64 * step - from) / (to - from)).filter(is_within)
    }

    /// The shares at which so much of the cutter's rim as is a whole number of equal chords lies beyond a station (mm), up to
    /// all of it. The rim is that up to a height over the tip, mm.
    pub(super) fn chords(&self, station: f64, height: f64, count: u32) -> impl Iterator<Item = f64> {
        let [from, to] = self.ends.map(|end| end.x);
        let radius = reach_below(self.flutes, height);
        let before = move |k: u32| radius * (1.0 - (f64::from(k) / f64::from(count)).powi(2)).sqrt();
        let apart = (0..=count).map(before).flat_map(|apart| [-apart, apart]);
        apart.map(move |apart| (station + apart - from) / (to - from)).filter(is_within)
    }
}

fn is_within(share: &f64) -> bool {
    *share > 0.0 && *share < 1.0
}
