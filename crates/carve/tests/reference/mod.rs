//! A slow, self-certifying answer to "what does one motion take from one ray?", to hold the carve kernel against.
//!
//! # What is asked
//!
//! A ray of the blank stands at a station and an angle θ. While the cutter goes straight from one pose to another (all
//! four coordinates in proportion to a share t of the way, 0 … 1), the cutter covers pieces of the ray; [`removed`]
//! gives the union of these over all t. In the cutter's own frame a point of the ray at the radius r is
//!
//! ```text
//! φ = θ − turn(t)    d = √((station − X(t))² + (−r sin φ − Y(t))²)    w = r cos φ − Z(t)
//! ```
//!
//! d from the spindle axis and w over the tip. It is inside where w lies on the flutes and d is at most the radius of
//! the [`profile`] at the height w.
//!
//! # How it is answered
//!
//! By bisection with interval bounds, and nothing else: no derivative, no extreme, no equation of a surface is solved.
//! The ray is halved again and again; each piece of it carries the stretches of t at which the cutter might still reach
//! it. A piece is
//!
//! - **inside** when at one sampled t the whole piece is inside the cutter,
//! - **outside** when every stretch of t has been shown not to reach it: over a stretch the point's path is within a
//!   known sagitta of its chord, which bounds d from below and w on both sides, and the widest radius of the profile
//!   between these heights is less than that d,
//! - **open** otherwise, and then halved, with stretches of t that are halved along.
//!
//! # Why it certifies itself, and its error
//!
//! Both verdicts are proofs up to the rounding of `f64` (about 1e-13 mm, met with a slack of 1e-11 mm), whatever the
//! motion does. What is never decided is a run of open pieces about each span end, halved until it is no longer than
//! [`TOLERANCE`]; the end given is its middle, so it is wrong by at most half of that, 0.01 µm. [`Removed::bracket`] is
//! the longest open run; it exceeds [`TOLERANCE`] only where the search gave up, on a ray along which the cutter's
//! surface lies. Passages and gaps shorter than [`TOLERANCE`] are not seen.
//!
//! # Grazing
//!
//! Where a ray touches a wall, the exact answer jumps under a change of a nanometre, and no two methods need agree.
//! A ray is [`Removed::grazing`] if the answer changes by more than [`GRAZING_CHANGE`] when the surface of the cutter
//! is grown or shrunk all over by [`GRAZING_GROWTH`]. (This covers a change of the radius and of the flute length by as
//! much: neither moves any point of the surface farther than that.)
//!
//! # Use
//!
//! `removed(&flutes, &from, &to, station, theta, outer)` for one ray, [`worst_difference`] to compare two answers,
//! [`walks::case`] for random rays that are worth comparing. Answers are sorted, disjoint, and within 0 … `outer`.

// Each test binary that compiles this module uses a part of it.
#![allow(dead_code)]

mod profile;
mod search;
pub(crate) mod walks;

use dryturn_geom::{Flutes, Pose};
use profile::Profile;
use search::Search;

/// Longest stretch of the ray about a span end that is left undecided, mm.
pub(crate) const TOLERANCE: f64 = 2e-5;
/// By how much the surface is moved to see whether an answer is well defined, mm.
pub(crate) const GRAZING_GROWTH: f64 = 5e-6;
/// Change of the answer from which on it is not, mm.
pub(crate) const GRAZING_CHANGE: f64 = 5e-4;

/// What a motion takes from a ray.
#[derive(Clone, Debug)]
pub(crate) struct Removed {
    /// Radii taken, mm: sorted, disjoint, within 0 … the outer end asked for.
    pub(crate) spans: Vec<(f64, f64)>,
    /// Whether a few nanometres decide the answer.
    pub(crate) grazing: bool,
    /// Longest stretch of the ray that is neither proved inside nor proved outside, mm; each span end lies in one.
    pub(crate) bracket: f64,
}

/// The radii in 0 … `outer` (mm) of the ray at `station` (mm) and `theta` (radians, blank frame) that are inside the
/// cutter at some moment of the straight motion between two poses.
pub(crate) fn removed(flutes: &Flutes, from: &Pose, to: &Pose, station: f64, theta: f64, outer: f64) -> Removed {
    let answer = |growth: f64, tolerance: f64| {
        let profile = Profile::new(flutes, growth);
        Search::new(&profile, from, to, station, theta).spans(outer, tolerance)
    };
    let exact = answer(0.0, TOLERANCE);
    let changes = |growth: f64| {
        let moved = answer(growth, 0.2 * GRAZING_CHANGE);
        worst_difference(&exact.spans, &moved.spans) > GRAZING_CHANGE
    };
    let grazing = changes(GRAZING_GROWTH) || changes(-GRAZING_GROWTH);
    Removed { spans: exact.spans, grazing, bracket: exact.bracket }
}

/// Length of the longest connected stretch that belongs to one of two answers only, mm: how far an end is off, or how
/// long a lost passage, a lost gap, an invented one. Each answer must be sorted and disjoint.
pub(crate) fn worst_difference(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let mut ends: Vec<f64> = a.iter().chain(b).flat_map(|&(low, high)| [low, high]).collect();
    ends.sort_by(f64::total_cmp);
    let holds = |spans: &[(f64, f64)], r: f64| spans.iter().any(|&(low, high)| low <= r && r <= high);
    let (mut worst, mut length) = (0.0f64, 0.0);
    for pair in ends.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        length = if holds(a, middle) == holds(b, middle) { 0.0 } else { length + pair[1] - pair[0] };
        worst = worst.max(length);
    }
    worst
}
