//! Where the tip goes, and how long it takes, before any controller is thought of.

use dryturn_geom::angle;

/// Where the tip stands: station, across and height over the axis in mm, the angle on top in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) z: f64,
    pub(crate) a: f64,
}

/// One thing a program does.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Step {
    /// A remark for whoever reads it; plain letters, no brackets.
    Say(String),
    /// Rapid straight up to this height, wherever the tip is.
    Lift(f64),
    /// Rapid there, over everything.
    Rapid(Place),
    /// Feed there in so many minutes.
    Feed(Place, f64),
}

/// How fast the cutter may go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pace {
    /// Over the wood, mm/min.
    pub(crate) speed: f64,
    /// Most that the blank may be turned, degrees/min.
    pub(crate) turning: f64,
}

/// A way over the blank.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub(crate) steps: Vec<Step>,
    pub(crate) at: Place,
    pace: Pace,
    /// Greatest rate at which the blank is turned, degrees/min.
    pub(crate) fastest: f64,
    /// Slowest that the cutter goes over the wood at feed, mm/min.
    pub(crate) slowest: f64,
}

impl Path {
    /// Begins above everything, at the height of `at`.
    pub(crate) fn from(at: Place, pace: Pace) -> Path {
        Path { steps: vec![Step::Lift(at.z), Step::Rapid(at)], at, pace, fastest: 0.0, slowest: f64::INFINITY }
    }

    pub(crate) fn say(&mut self, text: String) {
        self.steps.push(Step::Say(text));
    }

    /// Straight up.
    pub(crate) fn lift(&mut self, height: f64) {
        self.at.z = height;
        self.steps.push(Step::Lift(height));
    }

    /// By rapid; above everything.
    pub(crate) fn rapid(&mut self, to: Place) {
        self.at = to;
        self.steps.push(Step::Rapid(to));
    }

    /// At feed, where `radius` mm is the greatest that still stands. The minutes are such that the tip goes at its speed
    /// along that radius, or that the blank is turned as fast as it may be.
    pub(crate) fn feed(&mut self, to: Place, radius: f64) {
        let turned = (to.a - self.at.a).abs();
        let along = angle::hypot(to.x - self.at.x, angle::hypot(to.y - self.at.y, to.z - self.at.z));
        let over_wood = angle::hypot(along, radius * angle::radians(turned));
        if over_wood == 0.0 {
            return;
        }
        let minutes = (over_wood / self.pace.speed).max(turned / self.pace.turning);
        self.fastest = self.fastest.max(turned / minutes);
        self.slowest = self.slowest.min(over_wood / minutes);
        self.at = to;
        self.steps.push(Step::Feed(to, minutes));
    }
}

/// The heights of passes from a radius down to another, evenly, none deeper than `depth`; mm.
pub(crate) fn layers(from: f64, to: f64, depth: f64) -> Vec<f64> {
    let count = ((from - to) / depth - 1e-9).ceil().max(1.0);
    (1..=count as usize).map(|pass| from + (to - from) * pass as f64 / count).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    const START: Place = Place { x: 0.0, y: 0.0, z: 30.0, a: 0.0 };

    #[test]
    fn layers_are_even_and_none_is_too_deep() {
        assert_eq!(layers(30.0, 20.0, 2.5), [27.5, 25.0, 22.5, 20.0]);
        assert_eq!(layers(30.0, 20.0, 4.0).len(), 3);
        assert_eq!(layers(20.0, 20.0, 4.0), [20.0]);
    }

    #[test]
    fn a_turn_takes_as_long_as_its_way_along_the_wood() {
        let mut path = Path::from(START, Pace { speed: 100.0 * PI, turning: 1e9 });
        path.feed(Place { a: 360.0, ..START }, 25.0);
        let Some(Step::Feed(_, minutes)) = path.steps.last() else { panic!("no feed") };
        assert!((minutes - 0.5).abs() < 1e-12 && (path.fastest - 720.0).abs() < 1e-9);
    }

    #[test]
    fn the_axis_is_never_asked_for_more_than_it_can() {
        let mut path = Path::from(START, Pace { speed: 1e6, turning: 3600.0 });
        path.feed(Place { x: 3.0, a: -360.0, ..START }, 25.0);
        assert_eq!(path.steps.last(), Some(&Step::Feed(Place { x: 3.0, a: -360.0, ..START }, 0.1)));
    }
}
