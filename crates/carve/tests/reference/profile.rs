//! The outline of a cutter as its radius over the height above the tip, from the definition of each shape.

use dryturn_geom::{Flutes, Shape};

/// Stands for "nothing of the cutter here": less than any distance from the axis, grown or not.
const NO_SECTION: f64 = -1.0;

/// Radii that differ by less meet in a kink, not in a step, mm.
const SAME: f64 = 1e-9;

/// A place seen from the cutter, mm: along X and across from the spindle axis, and the height over the tip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point {
    pub(super) along: f64,
    pub(super) across: f64,
    pub(super) height: f64,
}

impl Point {
    /// From the spindle axis. (`hypot` would save from overflow, at four times the price.)
    fn distance(&self) -> f64 {
        (self.along * self.along + self.across * self.across).sqrt()
    }
}

/// A plane with a body of revolution on one side: all of it has outward · distance + upward · height ≤ offset, for the
/// distance in any level direction. The factors are a unit vector, the outward one never negative.
struct Plane {
    outward: f64,
    upward: f64,
    offset: f64,
}

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

    /// A plane beside the body under the curve, facing a place (distance, height) if it can.
    fn plane(&self, (distance, height): (f64, f64)) -> Plane {
        match *self {
            Curve::Line(low, high) => {
                let (up, out) = (high.0 - low.0, high.1 - low.1);
                let length = (up * up + out * out).sqrt();
                let (outward, upward) = (up / length, -out / length);
                Plane { outward, upward, offset: outward * low.1 + upward * low.0 }
            }
            Curve::Arc { center, radius } => {
                let (out, up) = ((distance - center.1).max(0.0), (height - center.0).min(0.0));
                let length = (up * up + out * out).sqrt();
                let (outward, upward) = if length > 0.0 { (out / length, up / length) } else { (1.0, 0.0) };
                Plane { outward, upward, offset: outward * center.1 + upward * center.0 + radius }
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

    /// Whether the straight line between two points lies inside the cutter. (No sure "no" across a joint.)
    ///
    /// Over one curve the radius is a concave function of the height and the distance from the axis is convex along the
    /// line: with both ends inside, all of it is. Across joints the distance is held against the narrowest radius.
    pub(super) fn covers(&self, a: Point, b: Point) -> bool {
        let (low, high) = if a.height <= b.height { (a, b) } else { (b, a) };
        if low.height < self.joints[0] || high.height > self.joints[self.curves.len()] {
            return false;
        }
        let (near, far) = (low.distance(), high.distance());
        let widest = near.max(far);
        let mut narrowest = f64::INFINITY;
        for (curve, from, to) in self.between(low.height, high.height) {
            let (below, above) = (curve.radius(from) + self.growth, curve.radius(to) + self.growth);
            if from == low.height && to == high.height && near <= below && far <= above {
                return true;
            }
            narrowest = narrowest.min(below).min(above);
        }
        widest <= narrowest
    }

    /// A lower bound of the distance from the cutter to anything within `slack` (mm) of a mean of the given points;
    /// it may be negative, and then says nothing.
    ///
    /// Each curve is kept off by a plane with all of its body on one side: by a level one under or over it, by the plane
    /// that leans like the curve, or by an upright one at its widest radius over the heights in question.
    pub(super) fn clearance(&self, corners: &[Point; 4], slack: f64) -> f64 {
        let heights = corners.map(|corner| corner.height);
        let low = least_of(heights) - slack;
        let high = -least_of(heights.map(|height| -height)) + slack;
        let (level, middle) = toward(corners);
        let aside = corners.map(|corner| level.0 * corner.along + level.1 * corner.across);
        let least_aside = least_of(aside) - slack;
        let mut least = f64::INFINITY;
        for (curve, joints) in self.curves.iter().zip(self.joints.windows(2)) {
            let apart = (joints[0] - high).max(low - joints[1]);
            if apart >= least {
                continue;
            }
            if apart > 0.0 {
                least = apart;
                continue;
            }
            let widest = curve.radius(low.max(joints[0])).max(curve.radius(high.min(joints[1]))) + self.growth;
            if widest < 0.0 {
                continue;
            }
            let plane = curve.plane(middle);
            let leaning = [0, 1, 2, 3].map(|k| plane.outward * (aside[k] - self.growth) + plane.upward * heights[k]);
            let leaning = least_of(leaning) - plane.offset - slack;
            least = least.min(apart.max(least_aside - widest).max(leaning));
        }
        least
    }

    /// The curves that hold at any height between two, each with the heights between at which it does.
    fn between(&self, low: f64, high: f64) -> impl Iterator<Item = (&Curve, f64, f64)> {
        let clipped = self.curves.iter().zip(self.joints.windows(2));
        clipped
            .map(move |(curve, joints)| (curve, low.max(joints[0]), high.min(joints[1])))
            .filter(|(_, from, to)| from <= to)
    }
}

fn least_of(values: [f64; 4]) -> f64 {
    values[0].min(values[1]).min(values[2].min(values[3]))
}

/// The level direction (along, across) from the spindle axis to the place nearest to it on the line that halves a patch
/// from its first two corners to its last two, and that place as (distance, height).
fn toward(corners: &[Point; 4]) -> ((f64, f64), (f64, f64)) {
    let mean = |a: Point, b: Point| Point {
        along: 0.5 * (a.along + b.along),
        across: 0.5 * (a.across + b.across),
        height: 0.5 * (a.height + b.height),
    };
    let (start, end) = (mean(corners[0], corners[1]), mean(corners[2], corners[3]));
    let way = (end.along - start.along, end.across - start.across);
    let square = way.0 * way.0 + way.1 * way.1;
    let share = -(start.along * way.0 + start.across * way.1) / square;
    let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.5 };
    let nearest = Point {
        along: start.along + share * way.0,
        across: start.across + share * way.1,
        height: start.height + share * (end.height - start.height),
    };
    let distance = nearest.distance();
    let level = if distance > 0.0 { (nearest.along / distance, nearest.across / distance) } else { (1.0, 0.0) };
    (level, (distance, nearest.height))
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
