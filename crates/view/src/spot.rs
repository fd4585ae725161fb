//! A point of the piece, and measures between two of them.

use dryturn_geom::{Motion, Pose, angle};

/// A point of the piece.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// Station, mm.
    pub station: f64,
    /// Angle θ, radians, 0 … 2π.
    pub theta: f64,
    /// Distance from the axis, mm.
    pub radius: f64,
}

/// From one point to another, mm and degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// Along the axis.
    pub along: f64,
    /// Around the axis, degrees, the shorter way.
    pub turn_deg: f64,
    /// The same as a length on the mean of both radii.
    pub around: f64,
    /// Straight through.
    pub across: f64,
    /// How much nearer to the axis the second point lies.
    pub depth: f64,
}

/// From one look at a motion to the next, radians, and most looks.
const LOOK: f64 = 0.02;
const LOOKS: f64 = 50_000.0;

impl Spot {
    /// Where the tip stands as it comes nearest to this point of the piece.
    pub(crate) fn passed_by(&self, motion: &Motion) -> Pose {
        let off = |share: f64| {
            let pose = motion.at(share);
            // The point as it then stands in the room.
            let (sine, cosine) = angle::sin_cos(self.theta - pose.turn);
            let [x, y, z] = [pose.x - self.station, pose.y + self.radius * sine, pose.z - self.radius * cosine];
            x * x + y * y + z * z
        };
        let turned = (motion.to.turn - motion.from.turn).abs();
        let count = (turned / LOOK).ceil().clamp(64.0, LOOKS);
        let looks = (0..=count as u32).map(|look| f64::from(look) / count);
        let nearest = looks.min_by(|a, b| off(*a).total_cmp(&off(*b))).unwrap_or(1.0);
        let (mut from, mut to) = ((nearest - 1.0 / count).max(0.0), (nearest + 1.0 / count).min(1.0));
        for _ in 0..40 {
            let [a, b] = [1.0 / 3.0, 2.0 / 3.0].map(|share| from + share * (to - from));
            if off(a) < off(b) { to = b } else { from = a }
        }
        motion.at(0.5 * (from + to))
    }

    /// Whether this point lies on the same ray as another, to the last digit.
    pub(crate) fn is_over(&self, other: &Spot) -> bool {
        (self.station, self.theta) == (other.station, other.theta)
    }

    /// From this point to another.
    pub fn to(&self, other: &Spot) -> Measure {
        let turn = angle::signed(other.theta - self.theta);
        let along = other.station - self.station;
        let [a, b] = [self, other].map(|it| {
            let (sine, cosine) = angle::sin_cos(it.theta);
            [it.radius * sine, it.radius * cosine]
        });
        Measure {
            along,
            turn_deg: angle::degrees(turn),
            around: 0.5 * (self.radius + other.radius) * turn,
            across: (along * along + (b[0] - a[0]).powi(2) + (b[1] - a[1]).powi(2)).sqrt(),
            depth: self.radius - other.radius,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_are_those_of_a_corner() {
        let from = Spot { station: 10.0, theta: 0.1, radius: 20.0 };
        let to = Spot { station: 13.0, theta: 0.1 + std::f64::consts::PI, radius: 16.0 };
        let measure = from.to(&to);
        assert!((measure.across - 3.0f64.hypot(36.0)).abs() < 1e-9, "{measure:?}");
        assert_eq!((measure.along, measure.depth), (3.0, 4.0));
        assert!((measure.turn_deg.abs() - 180.0).abs() < 1e-9);
        assert!((measure.around.abs() - 18.0 * std::f64::consts::PI).abs() < 1e-9);
    }

    #[test]
    fn the_tip_passes_where_a_helix_comes_by() {
        let pose = |x: f64, turn: f64| Pose { x, y: 0.0, z: 20.0, turn };
        let (from, to) = (pose(3.0, 0.0), pose(57.0, 18.0 * std::f64::consts::PI));
        let motion = Motion { from, to, arc: None, block: 0, cutter: 0, rapid: false };
        // In the fourth turn, at θ = 1.
        let turn = 6.0 * std::f64::consts::PI + 1.0;
        let spot = Spot { station: 3.0 + 54.0 * turn / motion.to.turn, theta: 1.0, radius: 20.0 };
        let passed = spot.passed_by(&motion);
        assert!((passed.turn - turn).abs() < 1e-5 && (passed.x - spot.station).abs() < 1e-5, "{passed:?}");
    }

    #[test]
    fn around_goes_the_shorter_way() {
        let from = Spot { station: 0.0, theta: 0.1, radius: 10.0 };
        let to = Spot { theta: std::f64::consts::TAU - 0.1, ..from };
        assert!((from.to(&to).around + 2.0).abs() < 1e-9);
    }
}
