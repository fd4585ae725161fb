//! Cutter profiles, motions, frames and units: the vocabulary the other crates speak.
//!
//! # Theory
//!
//! A blank turns about a fixed axis while a cutter whose own axis stays vertical moves over it. Everything after the
//! scene has been read happens in one frame, the **blank frame**: `x` is the station, the distance along the rotary
//! axis from the jaw face; `y` lies across the bed; `z` is the height over the axis; `turn` is the angle θ of the ray
//! of the blank that points straight up. Angles are right-hand about the machine's +X. A point of the ray θ at the
//! radius r is at
//!
//! ```text
//! φ = θ − turn,   (x, y, z) = (x, −r sin φ, r cos φ)
//! ```
//!
//! Lengths are millimetres, angles radians, numbers `f64`. All sines and cosines come from one portable library
//! ([`angle`]), so that the same job gives the same bits on every system.
//!
//! # Practice
//!
//! [`Flutes`] says what a cutter removes; [`Stock`] what is there to be removed; [`Motion`] how the one passes over
//! the other; [`Frame`] turns what a controller calls X, Y, Z and A into the blank frame; [`units`] reads lengths as
//! people write them.
//!
//! ```
//! use dryturn_geom::{Flutes, Shape, Stock};
//!
//! let cutter = Flutes::new(Shape::Ball, 3.0, 18.0)?;
//! assert_eq!(cutter.height_at(0.0), 0.0);
//! assert_eq!(cutter.height_at(3.0), 3.0);
//!
//! let blank = Stock::round(25.0, 100.0);
//! let spans = blank.spans(50.0, 1.0);
//! assert_eq!(spans.as_slice(), &[(0.0, 25.0)]);
//! # Ok::<(), dryturn_geom::FlutesError>(())
//! ```

#![forbid(unsafe_code)]

pub mod angle;
mod cutter;
mod frame;
mod motion;
mod stock;
pub mod units;

pub use cutter::{ConvexPart, Flutes, FlutesError, Primitive, Shape};
pub use frame::{Along, Drive, Frame, Side, Turns, Wrap, piece_from_blank};
pub use motion::{Arc, Axis, Lean, Motion, Motions, Pose};
pub use stock::{AnySolid, Bow, Facets, Lattice, Made, Maker, Offset, Section, Solid, Spans, Stock, disc_span};
