//! What one cutter removes from one ray while it makes one short straight move.
//!
//! # Symbols
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | t | share of the piece, 0 … 1 | |
//! | r | distance along the ray from the rotary axis | mm |
//! | X, Y, Z | the tip in the blank frame, linear in t | mm |
//! | φ | angle of the ray against the vertical, θ − turn, linear in t | rad |
//! | s, c | sin φ, cos φ | |
//! | ξ = x − X | along the axis, from the spindle axis to the ray | mm |
//! | u = Y + r s | across, from the ray's point to the spindle axis | mm |
//! | w = r c − Z | height of the ray's point over the tip | mm |
//! | P(t, r) = (ξ, u, w) | the ray's point as the cutter sees it | mm |
//! | n | outward normal of the cutter at a hit, any length | |
//!
//! # Theory
//!
//! At one instant a convex cutter K takes one **chord** lo … hi from the ray, in closed form ([`chord`]). Over a piece the
//! ray loses the union of all chords. Four facts make that union cheap and certain. Let the motion first be *bilinear*:
//! for a fixed r the point P runs on a straight line.
//!
//! 1. For a fixed r the instants at which P lies in K form one interval, K being convex. So if the chords of two
//!    instants share any r, the cutter stays on that r between them, the chords in between form **one passage**, and
//!    over that stretch lo has no local minimum but one, hi no local maximum but one ([`extreme`]).
//! 2. The tangent plane at a hit has all of K on one side. The radius at which the moving ray crosses that *fixed*
//!    plane therefore bounds lo from below (hi from above) at every other instant: a stopping test that proves itself.
//! 3. A patch of instants × radii whose four corners lie outside one supporting plane of K lies outside K altogether
//!    ([`separate`]): no passage is overlooked where the ends of a piece miss, or hit and leave.
//!
//! 4. The tangent plane at a *stationary* entry proves that no instant has a lower one, and the plane at an exit, if its
//!    point is not below it at either end of the piece, that none has a higher one; both for the true motion, turn and all
//!    ([`settle`] tells why). No search is needed then, and many rays are settled at a time ([`lanes`]) after those that
//!    are clear of the cutter have been left out ([`filter`]).
//!
//! The true path for a fixed r is a circular arc; it leaves its chord by at most r·Δφ²/8. Pieces turn by at most two
//! degrees and are searched one degree at a time, every patch is certified with that sagitta as slack and halved until it
//! holds, and the search for an extreme looks at both sides of each division until the planes rule a side out.
//!
//! The sweep of a union is the union of the sweeps, so a cutter that is not convex is swept part by part.

mod chord;
mod extreme;
mod filter;
mod instant;
mod integrals;
mod lanes;
mod lost;
mod meet;
mod nearest;
mod separate;
mod settle;
mod sweep;
mod volume;

pub(crate) use filter::Bars;
pub(crate) use instant::{Aim, Piece, RayAt};
pub(crate) use integrals::{Cell, Integrals, Scale, Sums, SumsByLane, Weights, brought_together};
pub use lanes::Instructions;
pub(crate) use lanes::{AimChunk, LANES, Wood, greatest};
pub(crate) use lost::{Heading, Lost, Side};
pub(crate) use meet::{Field, Row};
pub(crate) use nearest::{Nearest, nearest};
pub(crate) use separate::depth_inside;
pub(crate) use settle::{Chunk, Contact, Gathered, Underside};
pub use sweep::Passages;
pub(crate) use sweep::{Range, join, sweep};
pub(crate) use volume::{UNITS, units};

/// Largest turn of a piece, radians.
pub(crate) const LARGEST_TURN: f64 = std::f64::consts::PI / 90.0;

/// Largest turn of a stretch of a piece that is searched at once, radians.
const SEARCHED_TURN: f64 = std::f64::consts::PI / 180.0;

/// An end closer than this to the one already there is the same end (mm): a pass repeated at the same height must not
/// take over the names of the first by the last bit.
pub(crate) const SAME_END: f32 = 5e-5;

/// A search stops when at most this much is left to gain, mm.
const CLOSE_ENOUGH: f64 = 2e-5;

/// Between two instants in which the ray moves by less than this, mm, nothing is looked for. A cutter that only grazes the
/// ray may reach far along it in little time, so this is much less than what is claimed of an end.
const STANDSTILL: f64 = 2e-6;

/// Into how many pieces a turn (radians) must be cut.
pub(crate) fn piece_count(turn: f64) -> u32 {
    ((turn.abs() / LARGEST_TURN - 1e-9).ceil() as u32).max(1)
}
