//! A coupon: two flats and two slots at 0 and 180 degrees that caliper sizes read the zeros from.
//!
//! Where the tip stands over the axis while the controller shows Z0, both flats come out by as much farther from it: flat
//! to flat is the nominal size and twice that. Where Y0 stands to one side of the axis, both slots move to that side of
//! the machine, and so, cut from opposite sides, apart or together on the piece: the slots' step, from middle to middle, is the
//! nominal one and twice that. The step is what stands between the slots and the width of one: the cutter's own size drops
//! out. (A shift of a profile between two sides of the work, taken for a measurement.)
//!
//! Both slots go a little past the axis and out at the free end, so that the jaws of a caliper reach both from there.

use super::facing::{self, half_width};
use super::plan::Passes;
use super::request::Request;
use crate::blank::Blank;
use crate::error::PlanError;
use crate::path::{Path, Place, layers};

/// How far the slots go past the axis, mm: the jaws of a caliper are some 3 mm thick.
const PAST: f64 = 2.0;
/// Least wood left under a slot, and beside it, mm.
const WALL: f64 = 2.0;
/// Longest that a slot need be, mm.
const REACH: f64 = 20.0;
/// How far outside the wood the cutter goes down, mm.
const OUTSIDE: f64 = 1.0;

/// Sizes of a coupon as it should come out, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupon {
    /// Flat to flat.
    pub flats: f64,
    /// From the middle of one slot to that of the other.
    pub step: f64,
    /// The slots.
    pub slots: Slots,
}

/// Where the slots lie, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slots {
    /// Y of the tip.
    pub y: f64,
    /// Station of the tip at the inner end.
    pub from: f64,
    /// Height of the floor: past the axis.
    pub floor: f64,
}

impl Coupon {
    /// The coupon that fits a blank.
    pub(super) fn of(request: &Request, passes: &Passes) -> Result<Coupon, PlanError> {
        let (to, diameter) = (request.work.to(), 2.0 * passes.tool.radius);
        let least = 2.0 * (PAST + WALL);
        if to < least {
            return Err(PlanError::Thin { asked: request.told(to), least: request.told(least) });
        }
        let width = half_width(least_radius(&request.blank), to / 2.0) * 2.0;
        // A slot is a diameter off the middle, so as much wood as that stands between them.
        let needed = 2.0 * (diameter + passes.tool.radius + WALL);
        if width < needed {
            let way_out = "take a thicker blank, a slimmer cutter or a smaller --to";
            return Err(PlanError::Slim { width: request.told(width), needed: request.told(needed), way_out });
        }
        let [near, far] = passes.ends;
        let slots = Slots { y: diameter, from: near.max(far - REACH), floor: -PAST };
        Ok(Coupon { flats: to, step: 2.0 * slots.y, slots })
    }

    /// How far the tip stood over the axis at Z0, by the size found from flat to flat, mm.
    pub fn height_error(&self, flats: f64) -> f64 {
        (flats - self.flats) / 2.0
    }

    /// How far Y0 stood to the side of greater Y, by the wood found between the slots and the width of one, mm.
    pub fn side_error(&self, between: f64, slot: f64) -> f64 {
        (between + slot - self.step) / 2.0
    }
}

fn least_radius(blank: &Blank) -> f64 {
    blank.clean() / 2.0
}

/// Cuts both flats, then both slots.
pub(super) fn cut(path: &mut Path, passes: &Passes, coupon: &Coupon, (end, depth): (f64, f64)) {
    for a in [0.0, 180.0] {
        path.say(format!("flat at {a}"));
        facing::cut(path, passes, a);
    }
    let out = end + passes.tool.radius + OUTSIDE;
    for a in [0.0, 180.0] {
        path.say(format!("slot at {a}"));
        for z in layers(coupon.flats / 2.0, coupon.slots.floor, depth) {
            path.rapid(Place { x: out, y: coupon.slots.y, z: passes.safe, a });
            for x in [out, coupon.slots.from, out] {
                path.feed(Place { x, y: coupon.slots.y, z, a }, 0.0);
            }
            path.lift(passes.safe);
        }
    }
}
