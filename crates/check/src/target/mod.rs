//! The piece beside its target: gouges, wood left over, and where.
//!
//! # Theory
//!
//! A shoulder that stands a fiftieth of a millimetre off reads as many millimetres along a ray, and so depth is the
//! **shortest distance** to the target's surface. Every end of solid on every ray is judged by it, and, where the piece has
//! a step between two rays, the face of the step at its true place, found by replay: between rays nothing depends on the
//! pitch. Where a whole stretch of a ray is missing or too much and no end of the piece lies in it (a wall cut away, a bore
//! not drilled), the stretch itself is looked at, a pitch apart.
//!
//! What is beyond its tolerance is joined to patches over the skin. A patch of wood left over is held against what the
//! job's cutters can reach at all.
//!
//! # Practice
//!
//! [`compare()`] takes a carve with its target and gives a [`Comparison`].

mod compare;
mod mismatch;
mod outline;
mod patches;
mod reach;
mod row;
mod steps;
mod surface;

pub use compare::{Comparison, Limits, Wanted, compare};
pub use mismatch::mismatch;
pub use patches::{Fault, Kind, Patch};
pub use surface::{Surface, point_at};
