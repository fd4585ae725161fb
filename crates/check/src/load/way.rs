//! The way a cutter goes over the wood.

use dryturn_geom::{Motion, Pose, angle};

/// The most of an arc, in radians of its sweep, that counts as straight; its length is then right to 0.2 %.
const STRAIGHT: f64 = 0.2;

/// The way over the wood during a stretch of a block. The wood turns under the cutter, so it depends on how far from the
/// rotary axis it is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Way {
    /// The tip in the middle of the stretch.
    pub(super) middle: Pose,
    /// Stations of the tip at its beginning and at its end, mm.
    pub(super) ends: [f64; 2],
    /// Height over the rotary axis of the middle of the cut, mm.
    pub(super) height: f64,
    /// Length over the wood, mm.
    pub(super) length: f64,
    /// Direction over the wood in the middle, of length 1: along the axis, across the bed, up; zeros where nothing moves.
    pub(super) direction: [f64; 3],
}

impl Way {
    /// The way between two shares of a motion that cuts so deep, mm.
    pub(super) fn of(motion: &Motion, (first, last): (f64, f64), depth: f64) -> Way {
        let sweep = motion.arc.map_or(0.0, |arc| arc.sweep.abs()) * (last - first);
        // An odd number, for one to lie in the middle.
        let parts = (sweep / STRAIGHT).ceil().clamp(1.0, 63.0) as u32 | 1;
        let share = |k: u32| first + (last - first) * f64::from(k) / f64::from(parts);
        let step = |k: u32| over_wood(motion, share(k), share(k + 1), depth);
        let middle = motion.at(0.5 * (first + last));
        let ahead = step(parts / 2);
        let whole = norm(ahead);
        // Nearly all ways are straight, and that one part need not be measured twice.
        let length = if parts == 1 { whole } else { (0..parts).map(|k| norm(step(k))).sum() };
        let direction = if whole > 0.0 { ahead.map(|part| part / whole) } else { [0.0; 3] };
        let ends = [first, last].map(|share| motion.at(share).x);
        Way { middle, ends, height: middle.z + 0.5 * depth, length, direction }
    }

    /// Distance from the rotary axis at which the cut is made, mm.
    pub(super) fn radius(&self) -> f64 {
        angle::diagonal(self.middle.y, self.height)
    }

    /// Whether it goes along the axis rather than across it or up or down.
    pub(super) fn is_along(&self) -> bool {
        let [along, across, up] = self.direction.map(f64::abs);
        along > across && along > up
    }

    /// Whether it goes down rather than along or across.
    pub(super) fn is_plunge(&self) -> bool {
        let [along, across, up] = self.direction;
        up < 0.0 && up * up >= along * along + across * across
    }
}

/// What a cutter goes over the wood between two shares of a motion: along the axis, across the bed and up, mm. At the
/// height h over the axis the wood goes toward +Y by h for every radian it turns, and down by y.
fn over_wood(motion: &Motion, first: f64, last: f64, depth: f64) -> [f64; 3] {
    let [from, middle, to] = [first, 0.5 * (first + last), last].map(|share| motion.at(share));
    let (turned, height) = (to.turn - from.turn, middle.z + 0.5 * depth);
    [to.x - from.x, to.y - from.y - height * turned, to.z - from.z + middle.y * turned]
}

fn norm(way: [f64; 3]) -> f64 {
    way.iter().map(|part| part * part).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Arc, Axis, Lean};
    use std::f64::consts::{FRAC_PI_2, TAU};

    fn straight(to: Pose) -> Motion {
        let from = Pose { x: 0.0, y: 0.0, z: 25.0, turn: 0.0 };
        Motion { from, to, arc: None, block: 0, cutter: 0, rapid: false }
    }

    /// A helix is as long as the hypotenuse of its circumference and its lead.
    #[test]
    fn a_turn_at_a_radius() {
        let way = Way::of(&straight(Pose { x: 3.0, y: 0.0, z: 25.0, turn: TAU }), (0.0, 1.0), 0.0);
        assert!((way.length - 157.108_278).abs() < 1e-6, "{}", way.length);
        assert!(way.direction[1] < -0.999 && way.direction[0] > 0.0 && !way.is_plunge());
        let half = Way::of(&straight(Pose { x: 3.0, y: 0.0, z: 25.0, turn: TAU }), (0.25, 0.75), 0.0);
        assert!((half.length - 0.5 * way.length).abs() < 1e-9 && half.middle.x == 1.5);
        // Cut 2 mm deep, its middle lies 1 mm further out.
        assert_eq!(Way::of(&straight(Pose { x: 3.0, y: 0.0, z: 25.0, turn: TAU }), (0.0, 1.0), 2.0).radius(), 26.0);
    }

    /// 720 degrees a minute at a radius of 25 mm with 100 mm/min along the axis: √(314.159² + 100²).
    #[test]
    fn the_feed_at_the_surface() {
        let way = Way::of(&straight(Pose { x: 100.0, y: 0.0, z: 25.0, turn: 2.0 * TAU }), (0.0, 1.0), 0.0);
        assert!((way.length - 329.691).abs() < 5e-4, "{}", way.length);
    }

    #[test]
    fn beside_the_axis_the_wood_comes_up_as_well() {
        let from = Pose { x: 0.0, y: 3.0, z: 4.0, turn: 0.0 };
        let motion = Motion { from, to: Pose { turn: 0.1, ..from }, ..straight(from) };
        let way = Way::of(&motion, (0.0, 1.0), 0.0);
        assert!((way.length - 0.5).abs() < 1e-12 && (way.radius() - 5.0).abs() < 1e-12);
        assert!((way.direction[1] + 0.8).abs() < 1e-12 && (way.direction[2] - 0.6).abs() < 1e-12);
    }

    #[test]
    fn an_arc_is_as_long_as_it_is() {
        let quarter = Arc {
            axes: [Axis::X, Axis::Z],
            center: [0.0, 15.0],
            reach: [10.0, 10.0],
            start: FRAC_PI_2,
            sweep: -FRAC_PI_2,
            lean: Lean::default(),
        };
        let motion = Motion { arc: Some(quarter), ..straight(Pose { x: 10.0, y: 0.0, z: 15.0, turn: 0.0 }) };
        let way = Way::of(&motion, (0.0, 1.0), 1.0);
        assert!((way.length / (10.0 * FRAC_PI_2) - 1.0).abs() < 2e-3, "{}", way.length);
        assert!((way.direction[0] - 0.5f64.sqrt()).abs() < 1e-9 && way.direction[2] < 0.0);
    }

    #[test]
    fn what_goes_down_is_a_plunge() {
        let down = |x: f64| Way::of(&straight(Pose { x, y: 0.0, z: 20.0, turn: 0.0 }), (0.0, 1.0), 1.0).is_plunge();
        assert!(down(0.0) && down(4.9) && !down(5.1));
        assert!(!Way::of(&straight(Pose { x: 0.0, y: 0.0, z: 30.0, turn: 0.0 }), (0.0, 1.0), 1.0).is_plunge());
        assert!(
            !Way::of(&straight(straight(Pose { x: 0.0, y: 0.0, z: 0.0, turn: 0.0 }).from), (0.0, 1.0), 1.0).is_plunge()
        );
    }
}
