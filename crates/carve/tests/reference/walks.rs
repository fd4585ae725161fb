//! Random cutters, motions and rays that are worth comparing, the same ones every time.
//!
//! A case is made from its family and its number alone, so a failure is named by the two. A ray is drawn through a point
//! chosen in, on, or just beside the cutter at some moment of the motion: most rays are hit, and a good share of them
//! near an edge. [`cut`] ends a ray inside a passage, or a hair from its end, as worn-down wood does.

use dryturn_geom::{Flutes, Pose, Shape};
use std::f64::consts::TAU;

/// A family of cutters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Family {
    Flat,
    Ball,
    Bull,
    Vee,
    Drill,
    BallTaper,
    FlatTaper,
    /// Round-over, step and chamfer forms whose body is convex or not, but never narrows upward.
    Form,
    /// Forms that narrow upward somewhere: dovetails, keyhole cutters, discs on a neck.
    Undercut,
}

/// Every family, in the order of their declaration.
pub(crate) const FAMILIES: [Family; 9] = [
    Family::Flat,
    Family::Ball,
    Family::Bull,
    Family::Vee,
    Family::Drill,
    Family::BallTaper,
    Family::FlatTaper,
    Family::Form,
    Family::Undercut,
];

/// A kind of motion; the cases of a family take them by turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Regime {
    /// What most blocks of a relief or a turning are: a degree or so under a tip well above the axis, met near the tip.
    Relief,
    /// A small block: less than a millimetre and a few degrees.
    Short,
    /// All four coordinates over millimetres and tens of degrees.
    Combined,
    /// Up to six turns.
    Helix,
    /// The blank stands still.
    Straight,
    /// Only the blank moves.
    Turn,
    /// Only the height changes.
    Plunge,
    /// The tip passes near the axis, on either side.
    NearAxis,
    /// The tip is below the axis, the top of the flutes mostly above.
    BelowAxis,
    /// All of the flutes below the axis.
    WholeBelow,
    /// A slender cutter near the axis that meets the ray low at one moment and high at another: often two passages.
    Slender,
    /// Several turns with the tip near or below the axis.
    LongLow,
    /// Everything on round numbers, and the ray often exactly where the cutter stands or exactly at its edge.
    Round,
}

/// The cases of a family take the regimes in this order, over and over.
pub(crate) const ROTA: [Regime; 20] = [
    Regime::Relief,
    Regime::Short,
    Regime::NearAxis,
    Regime::Relief,
    Regime::Combined,
    Regime::Slender,
    Regime::Helix,
    Regime::Relief,
    Regime::BelowAxis,
    Regime::Straight,
    Regime::Relief,
    Regime::Turn,
    Regime::NearAxis,
    Regime::WholeBelow,
    Regime::Relief,
    Regime::Slender,
    Regime::Plunge,
    Regime::LongLow,
    Regime::Relief,
    Regime::Round,
];

/// The number of the case `k` of a seed: no two seeds share any.
pub(crate) fn number(seed: u16, k: u32) -> u64 {
    u64::from(seed) << 32 | u64::from(k)
}

/// One question to the reference and to the kernel.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) regime: Regime,
    pub(crate) flutes: Flutes,
    pub(crate) from: Pose,
    pub(crate) to: Pose,
    /// Station of the ray, mm.
    pub(crate) station: f64,
    /// Angle of the ray in the blank, radians.
    pub(crate) theta: f64,
    /// Length of the ray, mm.
    pub(crate) outer: f64,
}

/// The case of a family with a number, below 2⁴⁸.
pub(crate) fn case(family: Family, number: u64) -> Case {
    let mut dice = Dice { state: (family as u64) << 48 | number };
    let regime = ROTA[(number % (1 << 32) % ROTA.len() as u64) as usize];
    let flutes = flutes(family, regime == Regime::Slender, &mut dice);
    match regime {
        Regime::Slender => return met_twice(flutes, &mut dice),
        Regime::Round => return round(flutes, &mut dice),
        _ => {}
    }
    let (from, to) = motion(regime, flutes.length(), &mut dice);
    let pose = from.toward(&to, dice.unit());
    let highest = if regime == Regime::Relief { 4.0 } else { f64::INFINITY };
    let (across, upward, along) = point_near(&flutes, highest, &mut dice);
    let (y, z) = (pose.y + across, pose.z + upward);
    let theta = (-y).atan2(z) + pose.turn;
    let beyond = if dice.chance(0.3) { dice.within(0.0, 2.0) } else { dice.within(2.0, 40.0) };
    Case { regime, flutes, from, to, station: pose.x + along, theta, outer: y.hypot(z) + beyond }
}

/// A shorter length for the ray of a case, given the passages as two parties know them: inside a passage, a little above
/// its start, or at, or within a tenth of a micrometre of, one of its ends.
pub(crate) fn cut(family: Family, number: u64, outer: f64, one: &[(f64, f64)], two: &[(f64, f64)]) -> f64 {
    let mut dice = Dice { state: !((family as u64) << 48 | number) };
    let spans = if dice.chance(0.5) { one } else { two };
    if spans.is_empty() {
        return outer * dice.unit();
    }
    let (low, high) = spans[dice.below(spans.len() as u64) as usize];
    let end = if dice.chance(0.5) { low } else { high };
    let near = 10f64.powf(-dice.within(4.0, 10.0));
    let cut = match dice.below(5) {
        0 | 1 => dice.within(low, high),
        2 => low + 10f64.powf(-dice.within(0.0, 4.0)),
        3 => end,
        _ => end + if dice.chance(0.5) { near } else { -near },
    };
    cut.clamp(0.0, outer)
}

/// Radius of the round blank on which the cases from a number on are carved, mm; as `f32` it is the same.
pub(crate) fn radius_of_blank(first: u64) -> f64 {
    let mut dice = Dice { state: first ^ 0x0b1a_0c00_0000_0000 };
    (64.0 * dice.within(4.0, 75.0)).round() / 64.0
}

/// The case of a family with a number, moved to a ray of a round blank. A relief block comes as deep under its skin as such
/// blocks do; the others stay at their height.
pub(crate) fn on_blank(family: Family, number: u64, radius: f64, station: f64, theta: f64) -> Case {
    let drawn = case(family, number);
    let mut dice = Dice { state: !((family as u64) << 48 | number) };
    let depth = if dice.chance(0.3) { 10f64.powf(-dice.within(1.0, 5.0)) } else { dice.within(-0.1, 3.0) };
    let upward = if drawn.regime == Regime::Relief { radius - depth - drawn.from.z } else { 0.0 };
    let moved = |pose: Pose| Pose {
        x: pose.x + (station - drawn.station),
        z: pose.z + upward,
        turn: pose.turn + (theta - drawn.theta),
        ..pose
    };
    Case { from: moved(drawn.from), to: moved(drawn.to), station, theta, outer: radius, ..drawn }
}

/// A motion and a ray on round numbers.
fn round(flutes: Flutes, dice: &mut Dice) -> Case {
    let mut halves = |low: i32, high: i32| 0.5 * dice.within(f64::from(low), f64::from(high)).round();
    let from = Pose { x: halves(-60, 60), y: halves(-4, 4), z: halves(-20, 60), turn: 10.0 * halves(-40, 40) };
    let by = Pose { x: halves(-8, 8), y: halves(-4, 4), z: halves(-8, 8), turn: 2.0 * halves(-30, 30) };
    let mut some = |by: f64| if dice.chance(0.5) { 0.0 } else { by };
    let by = Pose { x: some(by.x), y: some(by.y), z: some(by.z), turn: some(by.turn) };
    let turned = |by: f64| (from.turn + by).to_radians();
    let to = Pose { x: from.x + by.x, y: from.y + by.y, z: from.z + by.z, turn: turned(by.turn) };
    let share = dice.one_of(&[0.0, 0.5, 1.0]);
    let aside = dice.one_of(&[0.0, 0.25, 0.5 * flutes.radius(), flutes.radius(), -flutes.radius()]);
    let tilt = dice.one_of(&[0.0, 0.0, 0.0, 1.0, -5.0, 30.0, -90.0, 180.0]);
    let (station, theta) = (from.x + share * by.x + aside, turned(share * by.turn + tilt));
    let outer = 5.0 * dice.within(1.0, 15.0).round();
    let from = Pose { turn: turned(0.0), ..from };
    Case { regime: Regime::Round, flutes, from, to, station, theta, outer }
}

/// A motion that has a low point of the ray in the cutter after a fifth of its way and a high one after four fifths.
fn met_twice(flutes: Flutes, dice: &mut Dice) -> Case {
    let (station, theta) = (dice.within(-60.0, 60.0), dice.within(0.0, TAU));
    let high = dice.within(8.0, 8.0f64.max(flutes.length() - 8.0));
    let tilt = (dice.within(-8.0, 8.0) / high).asin();
    let tip = dice.within(-8.0, 2.0);
    let (low, turned, sunk) = (dice.within(0.0, 6.0), dice.within(-0.5, 0.5), dice.within(-2.0, 2.0));
    let mut pose = |r: f64, tilt: f64, tip: f64| {
        let z = tip.min(r * tilt.cos());
        let reach = dice.unit() * flutes.radius_at(r * tilt.cos() - z);
        let direction = dice.within(0.0, TAU);
        let (along, across) = (reach * direction.cos(), reach * direction.sin());
        Pose { x: station + along, y: across - r * tilt.sin(), z, turn: theta - tilt }
    };
    let (at_high, at_low) = (pose(high, tilt, tip), pose(low, tilt + turned, tip + sunk));
    let (from, to) = (at_low.toward(&at_high, -1.0 / 3.0), at_low.toward(&at_high, 4.0 / 3.0));
    Case { regime: Regime::Slender, flutes, from, to, station, theta, outer: high + dice.within(0.0, 40.0) }
}

/// A point in, on or just beside the cutter no higher than `highest`, as its offsets along Y, over the tip, along X.
fn point_near(flutes: &Flutes, highest: f64, dice: &mut Dice) -> (f64, f64, f64) {
    let edge = 10f64.powf(-dice.within(1.0, 5.0));
    let share = match dice.below(10) {
        0..6 => dice.unit(),
        6..9 => 1.0 - edge,
        _ => 1.0 + edge,
    };
    let height = flutes.length().min(highest)
        * match dice.below(10) {
            0..7 => dice.unit(),
            7 => edge,
            8 => 1.0 - edge,
            _ => 0.2 * dice.unit(),
        };
    let (distance, direction) = (share * flutes.radius_at(height), dice.within(0.0, TAU));
    (distance * direction.sin(), height, distance * direction.cos())
}

fn motion(regime: Regime, length: f64, dice: &mut Dice) -> (Pose, Pose) {
    let height = match regime {
        Regime::Relief => dice.within(3.0, 72.0),
        Regime::NearAxis => dice.within(-3.0, 3.0),
        Regime::LongLow => dice.within(-15.0, 3.0),
        Regime::BelowAxis => dice.within(-12.0, 0.0),
        Regime::WholeBelow => -length - dice.within(0.5, 20.0),
        _ => dice.within(0.0, 35.0),
    };
    let y = if dice.chance(if regime == Regime::Relief { 0.8 } else { 0.4 }) { 0.0 } else { dice.within(-8.0, 8.0) };
    let from = Pose { x: dice.within(-60.0, 60.0), y, z: height, turn: dice.within(-8.0, 8.0) };
    if regime == Regime::Relief {
        return (from, relief(&from, dice));
    }
    let mut by = |x: f64, y: f64, z: f64, degrees: f64| Pose {
        x: from.x + dice.within(-x, x),
        y: if dice.chance(0.4) { from.y } else { (from.y + dice.within(-y, y)).clamp(-8.0, 8.0) },
        z: from.z + dice.within(-z, z),
        turn: from.turn + dice.within(-degrees, degrees).to_radians(),
    };
    let to = match regime {
        Regime::Short => by(0.7, 0.5, 0.3, 3.0),
        Regime::Combined => by(8.0, 6.0, 6.0, 50.0),
        Regime::Helix => by(15.0, 4.0, 3.0, 2160.0),
        Regime::Straight => by(12.0, 6.0, 8.0, 0.0),
        Regime::Turn => by(0.0, 0.0, 0.0, 500.0),
        Regime::Plunge => by(0.0, 0.0, 25.0, 0.0),
        Regime::NearAxis => by(6.0, 4.0, 2.0, 60.0),
        Regime::BelowAxis => by(6.0, 5.0, 4.0, 60.0),
        Regime::WholeBelow => by(6.0, 6.0, 0.4, 120.0),
        Regime::LongLow => by(10.0, 4.0, 4.0, 1440.0),
        Regime::Relief | Regime::Slender | Regime::Round => unreachable!("made by rules of their own"),
    };
    if dice.chance(0.5) { (from, to) } else { (to, from) }
}

/// Where a block of a relief or a turning goes: some of the coordinates stay, the turn hardly ever.
fn relief(from: &Pose, dice: &mut Dice) -> Pose {
    let mut some = |share: f64, by: f64| if dice.chance(share) { dice.within(-by, by) } else { 0.0 };
    let (x, y, z) = (some(0.6, 0.3), some(0.1, 0.1), some(0.7, 0.15));
    let degrees = if dice.chance(0.95) { dice.within(0.3, 2.0) } else { 0.0 };
    let turn = if dice.chance(0.5) { degrees } else { -degrees };
    Pose { x: from.x + x, y: from.y + y, z: from.z + z, turn: from.turn + turn.to_radians() }
}

fn flutes(family: Family, slender: bool, dice: &mut Dice) -> Flutes {
    let radius = dice.one_of(if slender { &[0.5, 1.0, 1.5, 3.0] } else { &[0.5, 1.5, 3.0, 3.175, 6.0] });
    let length = dice.one_of(if slender { &[20.0, 40.0, 80.0] } else { &[3.0, 8.0, 12.0, 20.0, 40.0, 80.0] });
    let shape = match family {
        Family::Flat => Shape::Flat,
        Family::Ball => Shape::Ball,
        Family::Bull => Shape::Bull { corner: radius * dice.one_of(&[0.1, 0.3, 0.6, 1.0]) },
        Family::Vee => Shape::Vee {
            half_angle: dice.one_of(&[15.0f64, 30.0, 45.0, 60.0, 75.0]).to_radians(),
            tip_radius: radius * dice.one_of(&[0.0, 0.0, 0.1, 0.5]),
        },
        Family::Drill => Shape::Drill { half_angle: dice.one_of(&[45.0f64, 59.0, 67.5, 80.0]).to_radians() },
        Family::BallTaper | Family::FlatTaper => Shape::Taper {
            half_angle: dice.one_of(&[1.0f64, 3.0, 5.0, 7.5]).to_radians(),
            tip_radius: radius * dice.one_of(&[0.15, 0.3, 0.5]),
            ball: family == Family::BallTaper,
        },
        Family::Form => Shape::Form { profile: widening_profile(radius, dice) },
        Family::Undercut => Shape::Form { profile: undercut_profile(radius, dice) },
    };
    Flutes::new(shape, radius, length).expect("every row above is a cutter")
}

/// Rows (height, radius) of a form whose radius never falls.
fn widening_profile(radius: f64, dice: &mut Dice) -> Vec<(f64, f64)> {
    let r = |share: f64| share * radius;
    match dice.below(5) {
        // A point, then a steeper and a steeper side.
        0 => vec![(0.0, 0.0), (r(0.2), r(0.5)), (r(0.6), r(0.8)), (r(1.5), r(1.0))],
        // A concave flare: a pin that widens faster and faster (a cove bit).
        1 => vec![(0.0, r(0.3)), (r(0.6), r(0.35)), (r(0.9), r(0.6)), (r(1.0), r(1.0))],
        // Two steps.
        2 => vec![(0.0, 0.0), (0.0, r(0.4)), (r(0.7), r(0.4)), (r(0.7), r(0.7)), (r(1.4), r(0.7)), (r(1.4), r(1.0))],
        // An ogee of twelve facets.
        3 => (0..=12u8)
            .map(f64::from)
            .map(|k| (r(k / 8.0), r(0.2 + 0.8 * (k / 12.0) * (k / 12.0) * (3.0 - k / 6.0))))
            .collect(),
        // A flat with a chamfer under a wall.
        _ => vec![(0.0, r(0.8)), (r(0.2), r(1.0)), (r(2.0), r(1.0))],
    }
}

/// Rows (height, radius) of a form that narrows somewhere.
fn undercut_profile(radius: f64, dice: &mut Dice) -> Vec<(f64, f64)> {
    let r = |share: f64| share * radius;
    match dice.below(4) {
        // A dovetail under its neck.
        0 => vec![(0.0, r(1.0)), (r(1.3), r(0.5)), (r(2.0), r(0.5))],
        // A keyhole cutter: a disc under a neck.
        1 => vec![(0.0, 0.0), (0.0, r(1.0)), (r(0.7), r(1.0)), (r(0.7), r(0.4)), (r(2.5), r(0.4))],
        // Two discs on a neck.
        2 => vec![
            (0.0, r(0.4)),
            (r(0.3), r(0.4)),
            (r(0.3), r(1.0)),
            (r(0.6), r(1.0)),
            (r(0.6), r(0.4)),
            (r(1.2), r(0.4)),
            (r(1.2), r(0.8)),
            (r(1.5), r(0.8)),
            (r(1.7), r(0.3)),
        ],
        // A double cone on a neck.
        _ => vec![(0.0, r(0.2)), (r(0.8), r(1.0)), (r(1.6), r(0.3)), (r(2.4), r(0.6))],
    }
}

/// Random numbers by the SplitMix64 generator (Steele, Lea and Flood, 2014; constants from memory).
struct Dice {
    state: u64,
}

impl Dice {
    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.state ^ (self.state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 up to, without, 1.
    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    fn one_of(&mut self, values: &[f64]) -> f64 {
        values[self.below(values.len() as u64) as usize]
    }
}
