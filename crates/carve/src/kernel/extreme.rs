//! The lowest entry and the highest exit over a stretch in which the cutter never leaves the ray.

use dryturn_geom::ConvexPart;

use super::CLOSE_ENOUGH;
use super::chord::{Chord, Hit, chord};
use super::instant::{Instant, RayAt, dot};

/// Which end of the chord is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    /// The entry; its lowest value is sought.
    Lo,
    /// The exit; its highest value is sought.
    Hi,
}

/// What makes a search stop early.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Goal {
    /// Once the entry is at or below (the exit at or above) this radius, more changes nothing.
    pub(crate) enough: f64,
    /// If the entry stays at or above (the exit at or below) this radius, it changes nothing at all.
    pub(crate) idle: f64,
}

/// One evaluated instant, in the sense of a minimum: `value` falls as the passage grows.
#[derive(Clone, Copy)]
struct Sample {
    at: Instant,
    hit: Hit,
    value: f64,
    slope: f64,
}

/// Below this the rate of n · P along the ray is noise near grazing; only its sign is known.
const GRAZING: f64 = 1e-14;

/// More evaluations than any search was seen to need (12), so that none can hang.
const MOST_EVALUATIONS: usize = 48;

impl End {
    /// +1 where the least radius is sought, −1 where the greatest is.
    fn sign(self) -> f64 {
        match self {
            End::Lo => 1.0,
            End::Hi => -1.0,
        }
    }

    fn of(self, chord: &Chord) -> Hit {
        match self {
            End::Lo => chord.lo,
            End::Hi => chord.hi,
        }
    }

    /// n · ray direction with the sign that an entry (−) or an exit (+) must have.
    fn crossing(self, at: &Instant, hit: &Hit) -> f64 {
        match self {
            End::Lo => at.along(&hit.n).min(-GRAZING),
            End::Hi => at.along(&hit.n).max(GRAZING),
        }
    }

    fn sample(self, ray: &RayAt<'_>, at: Instant, chord: &Chord) -> Sample {
        let hit = self.of(chord);
        let slope = -dot(&hit.n, &ray.velocity(&at, hit.r)) / self.crossing(&at, &hit);
        Sample { at, hit, value: self.sign() * hit.r, slope: self.sign() * slope }
    }

    /// A bound on the value from an earlier hit to the instant `at`, from where the ray crosses the tangent plane there.
    ///
    /// As the ray turns, the radius at which it crosses a fixed plane may fall and then rise, never the other way about.
    /// If it has begun to rise by `at`, an entry may have been as low as the lowest point in between.
    fn bound(self, ray: &RayAt<'_>, sample: &Sample, at: &Instant) -> f64 {
        let Some(radius) = self.crossing_of(sample, at) else { return f64::NEG_INFINITY };
        if self == End::Hi {
            return -radius;
        }
        let n = &sample.hit.n;
        let slope = -dot(n, &ray.velocity(at, radius)) / at.along(n);
        if slope * (at.t - sample.at.t) <= 0.0 {
            return radius;
        }
        let turning = sample.at.t + (at.t - sample.at.t) * sample.slope / (sample.slope - slope);
        self.crossing_of(sample, &ray.at(turning)).unwrap_or(f64::NEG_INFINITY)
    }

    /// Where the ray crosses, at the instant `at`, the tangent plane of an earlier hit; `None` if it runs out of it.
    fn crossing_of(self, sample: &Sample, at: &Instant) -> Option<f64> {
        let n = &sample.hit.n;
        let rate = at.along(n);
        let rise = dot(n, &sample.at.point(sample.hit.r)) - dot(n, &at.point(0.0));
        (rate * self.sign() < -GRAZING).then_some(rise / rate)
    }
}

/// The least entry radius or the greatest exit radius between two instants whose chords share a radius.
///
/// Exact to [`CLOSE_ENOUGH`] unless the `goal` ends the search before.
pub(crate) fn extreme(
    end: End,
    part: &ConvexPart,
    ray: &RayAt<'_>,
    (first, first_chord): (Instant, &Chord),
    (last, last_chord): (Instant, &Chord),
    goal: Goal,
) -> f64 {
    let sign = end.sign();
    let (enough, idle) = (sign * goal.enough, sign * goal.idle);
    let mut a = end.sample(ray, first, first_chord);
    let mut b = end.sample(ray, last, last_chord);
    let mut best = a.value.min(b.value);
    for round in 0..MOST_EVALUATIONS {
        if best <= enough || b.at.t <= a.at.t {
            break;
        }
        // One minimum only: it lies at an end whose slope leads out of it, unless the values say otherwise.
        if a.slope >= 0.0 && a.value <= b.value || b.slope <= 0.0 && b.value <= a.value {
            break;
        }
        let meeting = tangents_meet(&a, &b);
        let there = ray.at(meeting);
        let bound = end.bound(ray, &a, &there).min(end.bound(ray, &b, &there));
        if bound >= best - CLOSE_ENOUGH || bound >= idle {
            break;
        }
        let next = if round % 2 == 0 { flat_point(&a, &b) } else { meeting };
        let at = if next == meeting { there } else { ray.at(next) };
        let Some(found) = chord(part, &at) else { break };
        let sample = end.sample(ray, at, &found);
        best = best.min(sample.value);
        if descends_from(&a, &sample) {
            a = sample;
        } else {
            b = sample;
        }
        if a.slope.abs().min(b.slope.abs()) * (b.at.t - a.at.t) < CLOSE_ENOUGH && round > 0 {
            break;
        }
    }
    sign * best
}

/// Whether the minimum lies beyond the new sample as seen from the first end of the bracket.
fn descends_from(a: &Sample, sample: &Sample) -> bool {
    sample.slope < 0.0 && sample.value <= a.value
}

/// Share of the bracket that a new instant keeps away from its ends.
const INSIDE: f64 = 0.01;

fn inside(a: &Sample, b: &Sample, t: f64) -> f64 {
    let margin = INSIDE * (b.at.t - a.at.t);
    if t.is_finite() { t.clamp(a.at.t + margin, b.at.t - margin) } else { 0.5 * (a.at.t + b.at.t) }
}

/// Where the tangents at the two ends meet: exact for a kink between two straight runs.
fn tangents_meet(a: &Sample, b: &Sample) -> f64 {
    let t = (b.value - a.value + a.slope * a.at.t - b.slope * b.at.t) / (a.slope - b.slope);
    inside(a, b, t)
}

/// Where the slope, run straight between the ends, is zero: exact for a smooth minimum.
fn flat_point(a: &Sample, b: &Sample) -> f64 {
    inside(a, b, a.at.t - a.slope * (b.at.t - a.at.t) / (b.slope - a.slope))
}
