//! The lowest entry and the highest exit over a stretch in which the cutter never leaves the ray.

use dryturn_geom::ConvexPart;

use super::chord::{Chord, Hit, chord};
use super::instant::{Instant, RayAt, dot};
use super::{CLOSE_ENOUGH, STANDSTILL};

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

/// More evaluations than any search was seen to need, so that none can hang.
const MOST_EVALUATIONS: u32 = 400;

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

    /// The value at the instant `at` where the ray crosses the tangent plane of an earlier hit: no less can be true of the
    /// cutter there. −∞ where the ray runs out of the plane.
    fn bound(self, sample: &Sample, at: &Instant) -> f64 {
        let n = &sample.hit.n;
        let rate = at.along(n);
        if rate * self.sign() >= -GRAZING {
            return f64::NEG_INFINITY;
        }
        let rise = dot(n, &sample.at.point(sample.hit.r)) - dot(n, &at.point(0.0));
        self.sign() * rise / rate
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
    let a = end.sample(ray, first, first_chord);
    let b = end.sample(ray, last, last_chord);
    let mut search = Search {
        end,
        part,
        ray,
        enough: sign * goal.enough,
        idle: sign * goal.idle,
        best: a.value.min(b.value),
        evaluations: 0,
    };
    search.cover(&a, &b);
    sign * search.best
}

/// Divides until the planes at the ends of every stretch prove that nothing better lies within.
///
/// Were the motion truly bilinear, one half of each division would always be free of better values; the turn bends
/// the path by a sagitta, and so both are looked at, the more promising first. The other half mostly falls to its planes.
struct Search<'a> {
    end: End,
    part: &'a ConvexPart,
    ray: &'a RayAt<'a>,
    enough: f64,
    idle: f64,
    best: f64,
    evaluations: u32,
}

impl Search<'_> {
    fn cover(&mut self, a: &Sample, b: &Sample) {
        if self.best <= self.enough || self.evaluations >= MOST_EVALUATIONS {
            return;
        }
        let floor = self.floor(a, b);
        if floor >= self.best - CLOSE_ENOUGH || floor >= self.idle {
            return;
        }
        let radius = a.hit.r.abs().max(b.hit.r.abs());
        if self.ray.travel(radius, b.at.t - a.at.t) < STANDSTILL {
            return;
        }
        let at = self.ray.at(self.division(a, b));
        let Some(found) = chord(self.part, &at) else { return };
        let middle = self.end.sample(self.ray, at, &found);
        self.evaluations += 1;
        self.best = self.best.min(middle.value);
        if middle.slope < 0.0 {
            self.cover(&middle, b);
            self.cover(a, &middle);
        } else {
            self.cover(a, &middle);
            self.cover(&middle, b);
        }
    }

    /// A value that nothing between two samples falls below.
    ///
    /// The value where the ray crosses a fixed plane bends one way only over a short turn, so between two instants it is
    /// nowhere lower than at one of them, or else nowhere lower than its tangents.
    fn floor(&self, a: &Sample, b: &Sample) -> f64 {
        if a.slope >= 0.0 && a.value <= b.value {
            return a.value.min(self.end.bound(a, &b.at));
        }
        if b.slope <= 0.0 && b.value <= a.value {
            return b.value.min(self.end.bound(b, &a.at));
        }
        if a.slope >= 0.0 || b.slope <= 0.0 {
            return f64::NEG_INFINITY;
        }
        let meeting = tangents_meet(a, b);
        if !(a.at.t..=b.at.t).contains(&meeting) {
            return f64::NEG_INFINITY;
        }
        let tangents = a.value + a.slope * (meeting - a.at.t);
        let there = self.ray.at(meeting);
        tangents.min(self.end.bound(a, &there)).min(self.end.bound(b, &there))
    }

    /// Where to divide: by turns where a smooth minimum would lie, where two straight runs would meet, and midway, for
    /// either of the first two alone may creep up from one side.
    fn division(&self, a: &Sample, b: &Sample) -> f64 {
        let midway = 0.5 * (a.at.t + b.at.t);
        let guess = match self.evaluations % 3 {
            _ if a.slope >= 0.0 || b.slope <= 0.0 => midway,
            0 => flat_point(a, b),
            1 => tangents_meet(a, b),
            _ => midway,
        };
        let margin = INSIDE * (b.at.t - a.at.t);
        if guess.is_finite() { guess.clamp(a.at.t + margin, b.at.t - margin) } else { midway }
    }
}

/// Share of a stretch that a division keeps away from its ends.
const INSIDE: f64 = 0.01;

/// Where the tangents at the two ends meet: exact for a kink between two straight runs.
fn tangents_meet(a: &Sample, b: &Sample) -> f64 {
    (b.value - a.value + a.slope * a.at.t - b.slope * b.at.t) / (a.slope - b.slope)
}

/// Where the slope, run straight between the ends, is zero: exact for a smooth minimum.
fn flat_point(a: &Sample, b: &Sample) -> f64 {
    a.at.t - a.slope * (b.at.t - a.at.t) / (b.slope - a.slope)
}
