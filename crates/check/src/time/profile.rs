//! Speeds along a way: how long a stretch takes between two speeds, and how fast a corner may be taken.

/// One stretch of the way, in lengths of the way and seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg {
    pub(super) length: f64,
    /// Speed that is asked for and that no axis forbids.
    pub(super) cruise: f64,
    /// Greatest acceleration along the way; infinite where none is given.
    pub(super) acceleration: f64,
    /// Direction in which it begins, of length 1.
    pub(super) first: [f64; 4],
    /// Direction in which it ends, of length 1.
    pub(super) last: [f64; 4],
}

impl Leg {
    /// A leg, if it leads anywhere and can be gone.
    pub(super) fn new(length: f64, cruise: f64, acceleration: f64, first: [f64; 4], last: [f64; 4]) -> Option<Leg> {
        (length > 0.0 && cruise > 0.0).then_some(Leg { length, cruise, acceleration, first, last })
    }

    /// Whether it ends in the direction in which it begins.
    pub(super) fn is_straight(&self) -> bool {
        self.first == self.last
    }
}

/// Seconds from one speed to another over a length, at most at the speed `cruise`, speeding up and slowing down at a
/// constant rate. Neither speed is greater than `cruise`, and each can be reached from the other over the length.
pub(super) fn seconds(length: f64, entry: f64, cruise: f64, exit: f64, acceleration: f64) -> f64 {
    if acceleration.is_infinite() {
        return length / cruise;
    }
    let ramps = (2.0 * cruise * cruise - entry * entry - exit * exit) / (2.0 * acceleration);
    if ramps <= length {
        return (2.0 * cruise - entry - exit) / acceleration + (length - ramps) / cruise;
    }
    let peak = (acceleration * length + 0.5 * (entry * entry + exit * exit)).sqrt();
    (2.0 * peak - entry - exit) / acceleration
}

/// Greatest speed reached from another over a length, and no more than `most`.
pub(super) fn reached(from: f64, length: f64, acceleration: f64, most: f64) -> f64 {
    if acceleration.is_infinite() { most } else { root(from * from + 2.0 * acceleration * length, most) }
}

/// The square root, and no more than `most`. Most speeds are bounded, and roots take their time.
fn root(square: f64, most: f64) -> f64 {
    if square >= most * most { most } else { square.sqrt() }
}

/// Greatest speed at which one leg may pass into the next: as if the corner were rounded by a circle that touches both
/// and misses it by `deviation`. With θ the angle between the legs and s = sin(θ/2) its radius is R = deviation·s/(1 − s),
/// and the speed √(a·R) (S. K. Jeon, an article of 2011, from memory; the geometry is elementary).
pub(super) fn corner_speed(before: &Leg, after: &Leg, deviation: f64) -> f64 {
    let along: f64 = before.last.iter().zip(&after.first).map(|(a, b)| a * b).sum();
    // The legs lie at θ, so that along = −cos θ and s² = (1 − cos θ)/2 = (1 + along)/2.
    let s = (0.5 * (1.0 + along.clamp(-1.0, 1.0))).sqrt();
    let acceleration = before.acceleration.min(after.acceleration);
    let cruise = before.cruise.min(after.cruise);
    let is_straight = s >= 1.0 - 1e-12 || acceleration.is_infinite();
    if is_straight { cruise } else { root(acceleration * deviation * s / (1.0 - s), cruise) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn assert_near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
    }

    /// Times of a trapezoid are T = d/v + v/a, or 2√(d/a) where the speed is not reached; these agree with the library
    /// ruckig 0.19.4 without a bound on the jerk.
    #[test]
    fn a_trapezoid() {
        assert_near(seconds(100.0, 0.0, 50.0, 0.0, 500.0), 2.1, 1e-12);
        assert_near(seconds(2.0, 0.0, 50.0, 0.0, 500.0), 0.126_491_1, 1e-7);
        assert_near(seconds(30.0, 20.0, 50.0, 10.0, 500.0), 0.65, 1e-12);
        assert_near(seconds(1.5, 20.0, 50.0, 10.0, 500.0), 0.066_491_1, 1e-7);
        // Its peak is the speed reached over half the way.
        assert_near(reached(0.0, 1.0, 500.0, f64::INFINITY), 31.622_78, 1e-5);
        assert_near(reached(0.0, 1.0, 500.0, 31.0), 31.0, 0.0);
        assert_near(seconds(100.0, 50.0, 50.0, 50.0, f64::INFINITY), 2.0, 1e-12);
    }

    /// Random stretches against the library ruckig, made by `tests/data/motion_times.py`.
    #[test]
    fn stretches_between_two_speeds() {
        let table = include_str!("../../tests/data/motion_times.csv");
        let rows: Vec<Vec<f64>> = table
            .lines()
            .skip(2)
            .map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
            .collect();
        assert!(rows.len() >= 150, "only {} rows", rows.len());
        for row in rows {
            assert_near(seconds(row[0], row[1], row[2], row[3], row[4]), row[5], 2e-6);
        }
    }

    /// Corners of 90°, 135° and 170° rounded by 0.01 at an acceleration of 500, and of 60° by 0.02 at 1000, computed from the
    /// geometry by itself.
    #[test]
    fn a_corner() {
        let leg = |degrees: f64, acceleration: f64| {
            let (sine, cosine) = dryturn_geom::angle::sin_cos(degrees.to_radians());
            let direction = [cosine, sine, 0.0, 0.0];
            Leg { length: 10.0, cruise: 100.0, acceleration, first: direction, last: direction }
        };
        let speed = |between: f64, deviation, acceleration| {
            corner_speed(&leg(0.0, acceleration), &leg(180.0 - between, acceleration), deviation)
        };
        assert_near(speed(90.0, 0.01, 500.0), 3.474_344, 1e-6);
        assert_near(speed(135.0, 0.01, 500.0), 7.790_081, 1e-6);
        assert_near(speed(170.0, 0.01, 500.0), 36.179_50, 1e-5);
        assert_near(speed(60.0, 0.02, 1000.0), 4.472_136, 1e-6);
        assert_near(speed(180.0, 0.01, 500.0), 100.0, 1e-12);
        assert_near(speed(0.0, 0.01, 500.0), 0.0, 1e-6);
    }
}
