//! A point of the piece, and measures between two of them.

use dryturn_geom::angle;

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

impl Spot {
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
    fn around_goes_the_shorter_way() {
        let from = Spot { station: 0.0, theta: 0.1, radius: 10.0 };
        let to = Spot { theta: std::f64::consts::TAU - 0.1, ..from };
        assert!((from.to(&to).around + 2.0).abs() < 1e-9);
    }
}
