//! From a raw blank to a true cylinder, to a prism, or to a coupon that shows how far the zeros are off.
//!
//! # Theory
//!
//! A flat cutter of radius ρ that stands centred over the axis at the height h leaves, over one whole turn of the blank,
//! exactly the cylinder of radius h over the stations x ± ρ; advanced by less than 2ρ a turn, it leaves it all along. A
//! bull counts as far as it is flat. So the round is true however rough the blank, if only a full turn is made at rest at
//! both ends of each pass. The step down is spread over a turn at rest too: the cutter never drills.
//!
//! Passes go down evenly from the circle that the corners sweep, runout and bow included. The minutes of every turn follow
//! from the greatest radius that still stands, so the speed over the wood stays what was asked.
//!
//! # Practice
//!
//! [`draft`] takes a [`Request`]; it writes the program, proves it, and measures the piece that comes out.

mod coupon;
mod facing;
mod head;
mod held;
mod plan;
mod request;
mod truth;
mod turning;

pub use coupon::{Coupon, Slots};
pub use held::Held;
pub use plan::{Account, draft};
pub use request::{Request, Winding, Work};
pub use truth::Truth;
