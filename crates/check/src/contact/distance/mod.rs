//! Least distance between a moving part and a fixed body, exact, for a tip that is a point or a box.
//!
//! The distance from an upright disc swept over a box to a convex body splits into a level and an upright share: with
//! the level distance h from the box and the upright gap v, it is √((h − radius)₊² + v²). For a box those gaps are at
//! hand; a cylinder leaves the place along its arc to be found, a bar a place along one of its edges, and a cone is a
//! family of flat cylinders, as a part that is no cylinder is a family of discs.

mod bar;
mod cylinder;
#[cfg(test)]
mod tests;

use super::convex::valley;
use super::discs::Discs;
use super::shape::MovingPart;
use super::solid::{Solid, length};

/// Bodies closer than this touch, mm: nearer, the direction between them is lost in rounding.
const TOUCH: f64 = 1e-11;

/// The box a tip may be in, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TipBox {
    pub(crate) x: [f64; 2],
    pub(crate) y: [f64; 2],
    pub(crate) z: [f64; 2],
}

impl TipBox {
    /// The origin alone.
    pub(crate) const ORIGIN: TipBox = TipBox { x: [0.0; 2], y: [0.0; 2], z: [0.0; 2] };

    /// All sums of a point of this box and one of the other.
    pub(crate) fn plus(&self, other: &TipBox) -> TipBox {
        let sum = |a: [f64; 2], b: [f64; 2]| [a[0] + b[0], a[1] + b[1]];
        TipBox { x: sum(self.x, other.x), y: sum(self.y, other.y), z: sum(self.z, other.z) }
    }
}

/// How far two bodies are apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gap {
    /// Least distance, mm; 0 where they meet.
    pub(crate) distance: f64,
    /// Unit vector from the moving to the fixed body; zero where they meet.
    pub(crate) toward: [f64; 3],
    /// The nearest point of the fixed body (one of them).
    pub(crate) point: [f64; 3],
}

impl Gap {
    pub(crate) fn touches(&self) -> bool {
        self.distance <= 0.0
    }

    /// From the signed gaps between the box of a disc's axis and a point of the fixed body.
    fn from_gaps(gaps: [f64; 3], radius: f64, point: [f64; 3]) -> Gap {
        let [gx, gy, gz] = gaps;
        let level = length(gx, gy);
        let left = (level - radius).max(0.0);
        let distance = length(left, gz);
        if distance < TOUCH {
            return Gap { distance: 0.0, toward: [0.0; 3], point };
        }
        let share = if left > 0.0 { left / (level * distance) } else { 0.0 };
        Gap { distance, toward: [gx * share, gy * share, gz / distance], point }
    }

    fn less(self, rounding: f64) -> Gap {
        let distance = self.distance - rounding;
        if distance < TOUCH {
            return Gap { distance: 0.0, toward: [0.0; 3], point: self.point };
        }
        Gap { distance, ..self }
    }
}

/// An upright cylinder whose axis may be anywhere in a box.
#[derive(Clone, Copy, Debug)]
struct Column {
    x: [f64; 2],
    y: [f64; 2],
    z: [f64; 2],
    radius: f64,
}

/// Signed gap from range `a` to range `b`, 0 where they overlap, and the coordinate of `b` nearest to `a`.
fn gap(a: [f64; 2], b: [f64; 2]) -> (f64, f64) {
    if b[0] > a[1] {
        (b[0] - a[1], b[0])
    } else if b[1] < a[0] {
        (b[1] - a[0], b[1])
    } else {
        (0.0, 0.5 * (a[0].max(b[0]) + a[1].min(b[1])))
    }
}

/// Least distance between `part`, its tip anywhere in `tip`, and `solid`.
pub(crate) fn distance(part: &MovingPart, tip: &TipBox, solid: &Solid) -> Gap {
    let found = match (part, Discs::whole(part)) {
        (_, Some(discs)) => over_discs(&discs, tip, solid),
        (&MovingPart::Cylinder { radius, from, to, rounding }, None) => {
            let z = [tip.z[0] + from + rounding, tip.z[1] + to - rounding];
            column(&Column { x: tip.x, y: tip.y, z, radius: radius - rounding }, solid).less(rounding)
        }
        // Only cylinders are not made of discs.
        (_, None) => Gap { distance: f64::INFINITY, toward: [0.0; 3], point: [0.0; 3] },
    };
    debug_assert!(certified(part, tip, solid, &found), "{part:?} {tip:?} {solid:?} {found:?}");
    found
}

/// A cheap lower bound of [`distance`]: that of the cylinder around the part.
pub(crate) fn rough_distance(part: &MovingPart, tip: &TipBox, solid: &Solid) -> f64 {
    let [low, high] = part.heights();
    let z = [tip.z[0] + low, tip.z[1] + high];
    column(&Column { x: tip.x, y: tip.y, z, radius: part.widest() }, solid).distance
}

fn over_discs(discs: &Discs, tip: &TipBox, solid: &Solid) -> Gap {
    let at = |s: f64| {
        let disc = discs.at(s);
        let z = [tip.z[0] + disc.height, tip.z[1] + disc.height];
        (column(&Column { x: tip.x, y: tip.y, z, radius: disc.radius }, solid), disc)
    };
    let place = valley(discs.range(), |s| {
        let (gap, disc) = at(s);
        let [nx, ny, nz] = gap.toward;
        // The disc's nearest point moves with its height and out with its radius; the distance falls by what of that
        // is toward the fixed body.
        (!gap.touches()).then(|| -(nz * disc.height_slope + length(nx, ny) * disc.radius_slope))
    });
    at(place).0
}

fn column(column: &Column, solid: &Solid) -> Gap {
    match *solid {
        Solid::Cylinder { x, y, z, radius } => cylinder::distance(column, x, [y, z], radius),
        Solid::Cone { x, slope } => cone(column, x, slope),
        Solid::Box { x, y, z } => {
            let ((gx, px), (gy, py), (gz, pz)) = (gap(column.x, x), gap(column.y, y), gap(column.z, z));
            Gap::from_gaps([gx, gy, gz], column.radius, [px, py, pz])
        }
        Solid::Bar { x, center, along, half } => bar::distance(column, x, &bar::Rectangle { center, along, half }),
        Solid::Below { height } => {
            let middle = |range: [f64; 2]| 0.5 * (range[0] + range[1]);
            let (gz, _) = gap(column.z, [f64::NEG_INFINITY, height]);
            Gap::from_gaps([0.0, 0.0, gz], column.radius, [middle(column.x), middle(column.y), height])
        }
    }
}

/// A cone is a family of flat discs across its axis; the distance to one is convex in its station.
fn cone(column: &Column, x: [f64; 2], slope: f64) -> Gap {
    let at = |station: f64| cylinder::distance(column, [station; 2], [0.0; 2], (station - x[0]) * slope);
    let place = valley(x, |station| {
        let gap = at(station);
        let [nx, ny, nz] = gap.toward;
        (!gap.touches()).then(|| nx - slope * length(ny, nz))
    });
    at(place)
}

/// Height of the moving part over the plane through the tip across `normal`: the greatest normal · point.
fn greatest_along(part: &MovingPart, tip: &TipBox, normal: [f64; 3]) -> f64 {
    let [nx, ny, nz] = normal;
    let greatest = |n: f64, range: [f64; 2]| (n * range[0]).max(n * range[1]);
    let level = length(nx, ny);
    let own = match *part {
        MovingPart::Cylinder { radius, from, to, rounding } => {
            greatest(nz, [from + rounding, to - rounding]) + level * (radius - rounding) + rounding * length(level, nz)
        }
        MovingPart::Frustum { from, from_radius, to, to_radius } => {
            (nz * from + level * from_radius).max(nz * to + level * to_radius)
        }
        MovingPart::Bowl { disc, tube, center, top } => {
            let rim = super::shape::half_chord(tube, center - top);
            // Straight out if that direction leaves the ball below the cut, else at the upper edge.
            let ball = if -nz * tube >= (center - top) * length(level, nz) {
                tube * length(level, nz)
            } else {
                level * rim + nz * (top - center)
            };
            disc * level + nz * center + ball
        }
    };
    greatest(nx, tip.x) + greatest(ny, tip.y) + greatest(nz, tip.z) + own
}

/// How far apart two planes across the unit vector `normal` are that touch the moving part from before and the fixed
/// body from behind: whatever the vector, never more than the least distance.
pub(crate) fn plane_gap(part: &MovingPart, tip: &TipBox, solid: &Solid, normal: [f64; 3]) -> f64 {
    solid.least_along(normal) - greatest_along(part, tip, normal)
}

/// The planes across the direction found must be as far apart as the distance found: no search can err unnoticed.
fn certified(part: &MovingPart, tip: &TipBox, solid: &Solid, found: &Gap) -> bool {
    if found.touches() || !found.distance.is_finite() {
        return true;
    }
    // The direction is a difference of coordinates over the distance, so its error grows as the distance falls.
    let places = [tip.x, tip.y, tip.z, [part.widest(), part.heights()[1]], [found.distance, 100.0]];
    let size = places.as_flattened().iter().fold(0.0, |size: f64, place| size.max(place.abs()));
    let allowed = 1e-9 * size + 1e-12 * size * size / found.distance;
    let apart = plane_gap(part, tip, solid, found.toward);
    (found.distance - apart).abs() <= allowed
}
