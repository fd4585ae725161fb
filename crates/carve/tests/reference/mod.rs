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
//! Both verdicts are proofs up to the rounding of `f64` (about 1e-13 mm, 1e-11 mm ten metres from the origin, met with a slack of 1e-10 mm), whatever the
//! motion does. What is never decided is a run of open pieces about each span end, halved until it is no longer than
//! [`TOLERANCE`]; the end given is its middle, so it is wrong by at most half of that, 5 nm. [`Removed::bracket`] is
//! the longest open run; it exceeds [`TOLERANCE`] only where the search gave up, on a ray along which the cutter's
//! surface lies. Passages and gaps shorter than [`TOLERANCE`] are not seen.
//!
//! # Grazing
//!
//! Where a ray touches a wall, the exact answer jumps under a change of a nanometre, and no two methods need agree.
//! [`removed`] therefore asks three times: of the cutter, and of the cutter with its surface shrunk and grown all over by
//! [`GROWTH`]. (This covers a change of the radius and of the flute length by as much: neither moves any point of the
//! surface farther.) The three answers are nested. A ray is [`Removed::grazing`] if they differ by more than
//! [`GRAZING_CHANGE`]; an answer to a grazing ray can still be held against the outer two by [`Removed::strays`]. Who
//! agrees with the exact answer needs no such excuse: [`exact`] asks once.
//!
//! # Use
//!
//! [`removed`] answers for one ray; [`worst_difference`] compares two answers; [`walks::case`] makes random rays worth
//! asking about; [`compare::compared`] puts one of them to the kernel, [`carved::batch`] many of them to a whole carve.

// Each test binary that compiles this module uses a part of it.
#![allow(dead_code)]

pub(crate) mod carved;
pub(crate) mod compare;
mod profile;
mod search;
pub(crate) mod vectors;
pub(crate) mod walks;

use dryturn_geom::{Flutes, Pose};
use profile::Profile;
pub(crate) use search::Found;
use search::Search;

/// Longest stretch of the ray about a span end that is left undecided, mm.
pub(crate) const TOLERANCE: f64 = 1e-5;
/// By how much the surface of the cutter is moved to see whether an answer is well defined, mm.
pub(crate) const GROWTH: f64 = 5e-6;
/// Change of the answer from which on it is not, mm.
pub(crate) const GRAZING_CHANGE: f64 = 5e-4;

/// Bounds evaluated before a search gives up: twenty times what a ray mostly needs that does not lie in the surface,
const BUDGET: usize = 40_000;
/// and what it may take where a cutter grown by a hair just reaches such a ray, here at one moment and there at another.
const GRAZING_BUDGET: usize = 2_000_000;

/// What a motion takes from a ray. Spans are (low, high) radii in mm: sorted, disjoint, within the length asked for.
#[derive(Clone, Debug)]
pub(crate) struct Removed {
    /// Taken by the cutter.
    pub(crate) spans: Vec<(f64, f64)>,
    /// Taken by the cutter shrunk by [`GROWTH`].
    pub(crate) least: Vec<(f64, f64)>,
    /// Taken by the cutter grown by [`GROWTH`].
    pub(crate) most: Vec<(f64, f64)>,
    /// Whether these differ so much that a few nanometres decide the answer.
    pub(crate) grazing: bool,
    /// Longest stretch of the ray that is neither proved inside nor proved outside, mm; each span end lies in one.
    pub(crate) bracket: f64,
    /// The same of [`Removed::least`] and [`Removed::most`].
    pub(crate) outer_bracket: f64,
}

impl Removed {
    fn new(exact: Found, least: Found, most: Found) -> Removed {
        let change = worst_difference(&exact.spans, &least.spans).max(worst_difference(&exact.spans, &most.spans));
        Removed {
            grazing: change > GRAZING_CHANGE,
            bracket: exact.bracket,
            outer_bracket: least.bracket.max(most.bracket),
            spans: exact.spans,
            least: least.spans,
            most: most.spans,
        }
    }

    /// By how much an answer takes more than the grown cutter or less than the shrunk one, mm. Small for every right
    /// answer, grazing or not.
    pub(crate) fn strays(&self, spans: &[(f64, f64)]) -> f64 {
        excess(spans, &self.most).max(excess(&self.least, spans))
    }
}

/// The radii in 0 … `outer` (mm) of the ray at `station` (mm) and `theta` (radians, blank frame) that are inside the
/// cutter at some moment of the straight motion between two poses.
pub(crate) fn removed(flutes: &Flutes, from: &Pose, to: &Pose, station: f64, theta: f64, outer: f64) -> Removed {
    let [exact, least, most] =
        [0.0, -GROWTH, GROWTH].map(|growth| searched(flutes, growth, from, to, station, theta, outer));
    Removed::new(exact, least, most)
}

/// The same of the cutter as it is only.
pub(crate) fn exact(flutes: &Flutes, from: &Pose, to: &Pose, station: f64, theta: f64, outer: f64) -> Found {
    searched(flutes, 0.0, from, to, station, theta, outer)
}

fn searched(flutes: &Flutes, growth: f64, from: &Pose, to: &Pose, station: f64, theta: f64, outer: f64) -> Found {
    let budget = if growth == 0.0 { BUDGET } else { GRAZING_BUDGET };
    Search::new(&Profile::new(flutes, growth), from, to, (station, theta), budget).spans(outer, TOLERANCE)
}

/// Length of the longest stretch that belongs to one of two answers only, mm: how far an end is off, or how long a lost
/// passage, a lost gap, an invented one. Each answer must be sorted and disjoint.
pub(crate) fn worst_difference(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    excess(a, b).max(excess(b, a))
}

/// Length of the longest stretch of `a` that is free of `b`, mm.
fn excess(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let mut worst = 0.0f64;
    for &(low, high) in a {
        let mut free_from = low;
        for &(start, end) in b.iter().filter(|span| span.1 > low && span.0 < high) {
            worst = worst.max(start - free_from);
            free_from = end;
        }
        worst = worst.max(high - free_from);
    }
    worst
}
