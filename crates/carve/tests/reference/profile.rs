//! The outline of a cutter as its radius over the height above the tip, from the definition of each shape.

use dryturn_geom::{Flutes, Shape};

/// Stands for "nothing of the cutter here": less than any distance from the axis, grown or not.
const NO_SECTION: f64 = -1.0;

/// Radii that differ by less meet in a kink, not in a step, mm.
const SAME: f64 = 1e-9;

/// A stretch of the outline over which the radius only grows or only shrinks with the height.
#[derive(Clone, Copy, Debug)]
enum Curve {
    /// Straight through two points (height, radius).
    Line((f64, f64), (f64, f64)),
    /// The lower half of a circle about the point (height, radius).
    Arc { center: (f64, f64), radius: f64 },
}

impl Curve {
    fn radius(&self, height: f64) -> f64 {
        match *self {
            Curve::Line(low, high) => low.1 + (high.1 - low.1) * ((height - low.0) / (high.0 - low.0)),
            Curve::Arc { center, radius } => {
                let below = height - center.0;
                center.1 + (radius * radius - below * below).max(0.0).sqrt()
            }
        }
    }

    fn wall(radius: f64) -> Curve {
        Curve::Line((0.0, radius), (1.0, radius))
    }
}

/// The radius of a cutter as a function of the height over its tip; at a step both radii hold.
#[derive(Clone, Debug)]
pub(super) struct Profile {
    /// Heights between which the curves hold, one more than curves.
    joints: Vec<f64>,
    curves: Vec<Curve>,
    /// Added to every radius, mm.
    growth: f64,
}

impl Profile {
    /// The outline of `flutes`, its surface moved outward by `growth` mm (inward if negative) along the radius and, at
    /// the bottom, the top and the shelves between, along the height.
    pub(super) fn new(flutes: &Flutes, growth: f64) -> Profile {
        let (starts, curves) = outline(flutes);
        let mut joints: Vec<f64> = starts;
        let within = joints.iter().take_while(|&&start| start < flutes.length()).count();
        joints.truncate(within);
        joints.push(flutes.length());
        let curves = curves[..within].to_vec();
        let moved = (0..joints.len()).map(|k| {
            let below = if k == 0 { NO_SECTION } else { curves[k - 1].radius(joints[k]) };
            let above = curves.get(k).map_or(NO_SECTION, |curve| curve.radius(joints[k]));
            // A shelf that looks up rises when the surface grows, one that looks down sinks; a kink stays.
            let step = below - above;
            if step.abs() < SAME { joints[k] } else { joints[k] + growth * step.signum() }
        });
        Profile { joints: moved.collect(), curves, growth }
    }

    /// Greatest radius at any height between two, mm; below any distance where the cutter has no section there.
    pub(super) fn widest(&self, low: f64, high: f64) -> f64 {
        self.radii(low, high).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Least radius at the heights between two, mm; below any distance where the cutter does not reach over all of them.
    pub(super) fn narrowest(&self, low: f64, high: f64) -> f64 {
        if low < self.joints[0] || high > self.joints[self.curves.len()] {
            return f64::NEG_INFINITY;
        }
        self.radii(low, high).fold(f64::INFINITY, f64::min)
    }

    /// Radii at both ends of every curve between two heights; as curves are monotone, the extremes are among them.
    fn radii(&self, low: f64, high: f64) -> impl Iterator<Item = f64> {
        self.curves.iter().zip(self.joints.windows(2)).flat_map(move |(curve, joints)| {
            let (from, to) = (low.max(joints[0]), high.min(joints[1]));
            let reached = from <= to;
            [from, to].into_iter().filter(move |_| reached).map(|height| curve.radius(height) + self.growth)
        })
    }
}

/// Where each curve of the outline starts, and the curves, from the tip up; the last one goes on without end.
fn outline(flutes: &Flutes) -> (Vec<f64>, Vec<Curve>) {
    let radius = flutes.radius();
    match *flutes.shape() {
        Shape::Flat => (vec![0.0], vec![Curve::wall(radius)]),
        Shape::Ball => (vec![0.0, radius], vec![Curve::Arc { center: (radius, 0.0), radius }, Curve::wall(radius)]),
        Shape::Bull { corner } => {
            let rounding = Curve::Arc { center: (corner, radius - corner), radius: corner };
            (vec![0.0, corner], vec![rounding, Curve::wall(radius)])
        }
        Shape::Vee { half_angle, tip_radius } | Shape::Taper { half_angle, tip_radius, ball: false } => {
            side_and_wall((0.0, tip_radius), half_angle, radius)
        }
        Shape::Drill { half_angle } => side_and_wall((0.0, 0.0), half_angle, radius),
        Shape::Taper { half_angle, tip_radius, ball: true } => {
            // The ball ends where its normal is the normal of the side.
            let tangent = (tip_radius - tip_radius * half_angle.sin(), tip_radius * half_angle.cos());
            let (mut starts, mut curves) = side_and_wall(tangent, half_angle, radius);
            starts.insert(0, 0.0);
            curves.insert(0, Curve::Arc { center: (tip_radius, 0.0), radius: tip_radius });
            (starts, curves)
        }
        Shape::Form { ref profile } => form(profile),
    }
}

/// A side that leans by `half_angle` from the point (height, radius) out to the cutter's radius, and the wall above.
fn side_and_wall(start: (f64, f64), half_angle: f64, radius: f64) -> (Vec<f64>, Vec<Curve>) {
    let top = start.0 + (radius - start.1) / half_angle.tan();
    if top <= start.0 {
        return (vec![start.0], vec![Curve::wall(radius)]);
    }
    (vec![start.0, top], vec![Curve::Line(start, (top, radius)), Curve::wall(radius)])
}

/// Straight lines through the rows of a profile, and the last radius from there on.
fn form(profile: &[(f64, f64)]) -> (Vec<f64>, Vec<Curve>) {
    let mut rows = profile.to_vec();
    let (height, radius) = rows[rows.len() - 1];
    rows.push((height + 1.0, radius));
    let lines = rows.windows(2).filter(|pair| pair[1].0 > pair[0].0).map(|pair| {
        let nothing = pair[0].1 == 0.0 && pair[1].1 == 0.0;
        (pair[0].0, if nothing { Curve::wall(NO_SECTION) } else { Curve::Line(pair[0], pair[1]) })
    });
    lines.unzip()
}
