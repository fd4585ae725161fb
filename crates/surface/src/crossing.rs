//! Where the surface crosses from one ray to the next at a level.
//!
//! Whoever took the wood on the way between two rays is asked for its surface; the way is then
//! narrowed down to a micrometre around that place, or halved where it lies elsewhere, by asking whether the wood is
//! still there. The last owner's surface gives the place.

use dryturn_carve::UNTOUCHED;
use glam::DVec3;

use crate::place::{Place, around};
use crate::skin::Sample;
use crate::wood::{State, Wood};

/// Length of the bracket that halving ends with, mm.
const BRACKET: f64 = 1e-3;
/// How far on both sides of an owner's surface is looked, in brackets.
const CLOSE: f64 = 0.45;
/// Steps toward the owner's surface, and the one that ends them, mm: what is left after it goes with its square.
const STEPS: usize = 6;
const SHORT: f64 = 1e-5;
/// How many brackets the steps may lead away before they are not believed.
const ASTRAY: f64 = 4.0;

/// Who is likely to have made a crossing, and at which share of the way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Likely {
    pub(crate) by: u32,
    pub(crate) share: f64,
}

/// The crossing on a way out of the wood. Where somebody is likely to have made it, his surface is tried first.
pub(crate) fn crossing(wood: &impl Wood, way: &Way, likely: Option<Likely>) -> Sample {
    let mut bracket = Bracket { wood, way, low: (0.0, None), high: (1.0, None) };
    let (mut tried, mut guess) = (None, None);
    if let Some(Likely { by, share }) = likely {
        (tried, guess) = (Some(by), bracket.ask_around(by, share));
    }
    if bracket.high.1.is_none() {
        bracket.high.1 = wood.at(way.at(bracket.high.0)).by;
    }
    if bracket.by().is_none() {
        bracket.low.1 = wood.at(way.at(bracket.low.0)).by;
    }
    while bracket.length() > BRACKET {
        if bracket.by() != tried {
            tried = bracket.by();
            guess = tried.and_then(|by| bracket.ask_around(by, bracket.middle()));
        } else {
            bracket.ask(bracket.middle());
        }
    }
    let (by, middle) = (bracket.by(), bracket.middle());
    let unsettled = Sample { point: way.at(middle).point(), normal: way.direction, by: by.unwrap_or(UNTOUCHED) };
    let is_settled =
        |(share, it): &(f64, Sample)| Some(it.by) == by && (bracket.low.0..=bracket.high.0).contains(share);
    let settle = || by.and_then(|by| settled(wood, by, way, middle, ASTRAY * BRACKET));
    let found = guess.filter(is_settled).or_else(settle);
    found.map_or(unsettled, |(_, sample)| sample)
}

/// The crossing of the face at an end of the blank: that face itself, where the wood reaches up to it.
pub(crate) fn at_the_face(wood: &impl Wood, way: &Way) -> Sample {
    let from_face = 1e-9 * (way.from.station - way.to.station).signum();
    let face = settled(wood, UNTOUCHED, way, 0.5, way.length).map(|(_, face)| face);
    let face = face.filter(|face| face.normal.x.abs() > 0.5);
    let reaches = |face: &Sample| wood.at(Place { station: face.point.x + from_face, ..way.from }).is_solid;
    face.filter(reaches).unwrap_or_else(|| crossing(wood, way, None))
}

/// The stretch of a way that the crossing is known to lie in.
struct Bracket<'a, W> {
    wood: &'a W,
    way: &'a Way,
    /// Share of the way up to which there is wood, and whose surface ends it if it ends there.
    low: (f64, Option<u32>),
    /// The same of where there is none.
    high: (f64, Option<u32>),
}

impl<W: Wood> Bracket<'_, W> {
    /// Length of the stretch, mm.
    fn length(&self) -> f64 {
        (self.high.0 - self.low.0) * self.way.length
    }

    fn middle(&self) -> f64 {
        0.5 * (self.low.0 + self.high.0)
    }

    /// Whose surface is in between.
    fn by(&self) -> Option<u32> {
        self.high.1.or(self.low.1)
    }

    /// Looks closely on both sides of where an owner's surface crosses the way, sought from a share on, and gives that
    /// place.
    fn ask_around(&mut self, owner: u32, from: f64) -> Option<(f64, Sample)> {
        let found = settled(self.wood, owner, self.way, from, self.way.length)?;
        let aside = CLOSE * BRACKET / self.way.length;
        self.ask(found.0 + aside);
        self.ask(found.0 - aside);
        Some(found)
    }

    /// Looks whether there is wood at a share of the way.
    fn ask(&mut self, share: f64) {
        if share <= self.low.0 || share >= self.high.0 {
            return;
        }
        let State { is_solid, by } = self.wood.at(self.way.at(share));
        *(if is_solid { &mut self.low } else { &mut self.high }) = (share, by);
    }
}

/// A way from a place in the wood to one where it is gone; both differ in their station or in their angle.
pub(crate) struct Way {
    from: Place,
    to: Place,
    /// Length, mm.
    length: f64,
    /// At its middle.
    direction: DVec3,
}

impl Way {
    pub(crate) fn new(from: Place, to: Place) -> Way {
        let turn = to.theta - from.theta;
        let along = DVec3::X * (to.station - from.station);
        let across = around(0.5 * (from.theta + to.theta)) * (turn * from.radius);
        Way { from, to, length: (along + across).length(), direction: (along + across).normalize_or_zero() }
    }

    /// The place at a share of it.
    pub(crate) fn at(&self, share: f64) -> Place {
        let mix = |from: f64, to: f64| from + (to - from) * share;
        Place {
            station: mix(self.from.station, self.to.station),
            theta: mix(self.from.theta, self.to.theta),
            radius: self.from.radius,
        }
    }

    /// Its direction at one of its places.
    fn along(&self, place: Place) -> DVec3 {
        if self.is_straight() {
            self.direction
        } else {
            around(place.theta) * (self.to.theta - self.from.theta).signum()
        }
    }

    fn is_straight(&self) -> bool {
        self.from.theta == self.to.theta
    }

    /// The share of it at which it goes through the plane of a sample; `None` if it does not.
    pub(crate) fn meeting(&self, plane: &Sample) -> Option<f64> {
        /// A way around the axis bends so little that each step leaves the square of what it mends.
        const TURNS: usize = 3;
        let mut at = 0.5;
        for _ in 0..if self.is_straight() { 1 } else { TURNS } {
            let place = self.at(at);
            let gap = plane.normal.dot(plane.point - place.point());
            at += gap / (plane.normal.dot(self.along(place)) * self.length);
        }
        (0.0..=1.0).contains(&at).then_some(at)
    }
}

/// The point of the way that lies on the surface of an owner, and its share of the way; sought from a share on and no
/// farther than `reach` mm from there.
fn settled(wood: &impl Wood, by: u32, way: &Way, from: f64, reach: f64) -> Option<(f64, Sample)> {
    let mut at = from;
    for _ in 0..STEPS {
        let place = way.at(at);
        let found = wood.surface(by, place)?;
        let step = -found.height / found.normal.dot(way.along(place));
        at += step / way.length;
        let is_near = (at - from).abs() * way.length <= reach && (0.0..=1.0).contains(&at);
        if !step.is_finite() || !is_near {
            return None;
        }
        if step.abs() <= SHORT {
            return Some((at, Sample { point: way.at(at).point(), normal: found.normal, by }));
        }
    }
    None
}
