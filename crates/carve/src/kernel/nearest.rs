//! How near a cutter comes to one point of the blank during a piece, and how its surface lies there.
//!
//! For a fixed r the point P(t, r) runs past the cutter on a nearly straight line. Its distance g from a convex body is
//! the greatest of its distances from the body's faces; it falls and then rises again, so the sign of dg/dt tells on which
//! side the least lies. On one face a secant of dg/dt leads there in a few steps; every other step halves, since where two
//! faces meet dg/dt leaps. Where that least lies on an edge of the cutter, two faces change places there, and the surface
//! that the edge sweeps stands on neither of them: its normal is the mean of theirs that the motion runs along.

use dryturn_geom::{ConvexPart, Primitive};

use super::instant::{RayAt, Vector, dot};

/// How a point stands to the surface that a cutter sweeps.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nearest {
    /// Least distance of the point from the cutter, mm; negative inside. It is exact near the surface and a bound on
    /// the true distance beyond an edge.
    pub(crate) distance: f64,
    /// Unit normal of the swept surface out of the cutter, in the directions of the ray: along the rotary axis, outward
    /// along the ray, and across it the way θ grows.
    pub(crate) normal: Vector,
}

/// The instant is known well enough within this share of the piece,
const NARROW: f64 = 1e-14;
/// or where dg/dt is no more than this share of its range.
const STILL: f64 = 1e-12;

struct Sample {
    t: f64,
    distance: f64,
    /// Unit normal of the nearest face in the directions of the ray, as above.
    normal: Vector,
    /// Rate of the distance, mm a piece.
    rate: f64,
}

/// The nearest that a part comes to the ray's point at the radius `r`.
pub(crate) fn nearest(part: &ConvexPart, ray: &RayAt<'_>, r: f64) -> Nearest {
    let sample = |t: f64| {
        let at = ray.at(t);
        let (distance, n) = facing(part, &at.point(r));
        let normal = [n[0], n[1] * at.s + n[2] * at.c, n[1] * at.c - n[2] * at.s];
        Sample { t, distance, normal, rate: dot(&n, &ray.velocity(&at, r)) }
    };
    let (mut a, mut b) = (sample(0.0), sample(1.0));
    let ends = [(a.rate >= 0.0).then_some(&a), (b.rate <= 0.0).then_some(&b)];
    if let Some(end) = ends.into_iter().flatten().min_by(|one, other| one.distance.total_cmp(&other.distance)) {
        return Nearest { distance: end.distance, normal: end.normal };
    }
    let still = STILL * (b.rate - a.rate);
    let mut halves = false;
    while b.t - a.t > NARROW {
        let share = if halves { 0.5 } else { a.rate / (a.rate - b.rate) };
        halves = !halves;
        let middle = sample(a.t + share * (b.t - a.t));
        if middle.rate.abs() <= still {
            return Nearest { distance: middle.distance, normal: middle.normal };
        }
        if middle.rate < 0.0 {
            a = middle;
        } else {
            b = middle;
        }
    }
    Nearest { distance: a.distance.min(b.distance), normal: along_the_motion(&a, &b) }
}

/// The mean of two normals on which the motion neither comes nearer nor goes away.
fn along_the_motion(a: &Sample, b: &Sample) -> Vector {
    let mixed: Vector = std::array::from_fn(|k| b.rate * a.normal[k] - a.rate * b.normal[k]);
    let length = dot(&mixed, &mixed).sqrt();
    if length > 0.0 { mixed.map(|part| part / length) } else { b.normal }
}

/// Distance of a point from a part, by the face it stands before, and the unit normal of that face.
fn facing(part: &ConvexPart, point: &Vector) -> (f64, Vector) {
    let (d, w) = ((point[0] * point[0] + point[1] * point[1]).sqrt(), point[2]);
    let caps = [(w - part.top, [0.0, 1.0]), (part.bottom - w, [0.0, -1.0])];
    let sides = part.primitives.iter().enumerate().filter_map(|(k, primitive)| {
        let growth = part.primitives.get(k + 1).map_or(0.0, side_growth);
        side(primitive, growth, d, w)
    });
    let most = |a: (f64, [f64; 2]), b: (f64, [f64; 2])| if b.0 > a.0 { b } else { a };
    let (distance, [level, up]) = caps.into_iter().chain(sides).fold((f64::NEG_INFINITY, [0.0; 2]), most);
    let share = if d > 0.0 { level / d } else { 0.0 };
    (distance, [share * point[0], share * point[1], up])
}

/// How fast the side of a primitive grows with the height, mm a mm.
fn side_growth(primitive: &Primitive) -> f64 {
    match *primitive {
        Primitive::Frustum { from, from_radius, to, to_radius } => (to_radius - from_radius) / (to - from),
        Primitive::Cylinder { .. } | Primitive::Sphere { .. } | Primitive::RoundedDisc { .. } => 0.0,
    }
}

/// Distance from the side of a primitive and its normal, in the half plane (distance from the axis, height); `None` where
/// a rounding has given way to the side above it, which grows by `above` mm a mm.
fn side(primitive: &Primitive, above: f64, d: f64, w: f64) -> Option<(f64, [f64; 2])> {
    let round = |disc: f64, tube: f64, center: f64| {
        let (level, up) = ((d - disc).max(0.0), w - center);
        let distance = (level * level + up * up).sqrt();
        (up < -above * level).then(|| (distance - tube, [level / distance, up / distance]))
    };
    match *primitive {
        Primitive::Cylinder { radius, .. } => Some((d - radius, [1.0, 0.0])),
        Primitive::Frustum { from, from_radius, .. } => {
            let growth = side_growth(primitive);
            let level = 1.0 / (1.0 + growth * growth).sqrt();
            Some((level * (d - from_radius - growth * (w - from)), [level, -growth * level]))
        }
        Primitive::Sphere { radius, center } => round(0.0, radius, center),
        Primitive::RoundedDisc { disc, tube, center } => round(disc, tube, center),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kernel::Piece;
    use crate::kernel::chord::chord;
    use dryturn_geom::{Flutes, Pose, Shape, angle};

    fn shapes() -> Vec<Flutes> {
        let form = vec![(0.0, 0.5), (0.4, 1.5), (2.0, 2.5), (6.0, 3.0), (9.0, 2.0)];
        let taper = Shape::Taper { half_angle: angle::radians(8.0), tip_radius: 0.8, ball: true };
        [
            Shape::Flat,
            Shape::Ball,
            Shape::Bull { corner: 0.7 },
            Shape::Vee { half_angle: angle::radians(35.0), tip_radius: 0.3 },
            taper,
            Shape::Form { profile: form },
        ]
        .map(|shape| Flutes::new(shape, 3.0, 12.0).unwrap())
        .into()
    }

    #[test]
    fn both_ends_of_every_chord_lie_on_the_face_that_the_chord_names() {
        for flutes in shapes() {
            for part in flutes.parts() {
                for k in 0..200u32 {
                    let share = |n: u32| f64::from(k * n % 199) / 199.0;
                    let pose = Pose { x: 2.9 * share(7), y: share(13) - 0.5, z: 11.0 * share(29), turn: 0.0 };
                    let piece = Piece::new(&pose, &pose);
                    let ray = piece.ray(0.0, piece.aim(angle::sin_cos(0.8 * (share(71) - 0.5))));
                    let at = ray.at(0.0);
                    let Some(chord) = chord(part, &at) else { continue };
                    for hit in [chord.lo, chord.hi] {
                        let (distance, n) = facing(part, &at.point(hit.r));
                        let length = dot(&hit.n, &hit.n).sqrt();
                        assert!(distance.abs() < 1e-9, "{part:?} {pose:?} {hit:?} {distance}");
                        assert!(dot(&n, &hit.n) > (1.0 - 1e-9) * length, "{part:?} {pose:?} {hit:?} {n:?}");
                    }
                }
            }
        }
    }

    /// The floor that a flat cutter leaves on its way up along the axis is cut by its rim: it rises as the way does.
    #[test]
    fn the_surface_under_a_rim_rises_with_the_motion() {
        let flutes = Flutes::new(Shape::Flat, 3.0, 12.0).unwrap();
        let from = Pose { x: 0.0, y: 0.0, z: 10.0, turn: 0.0 };
        let piece = Piece::new(&from, &Pose { x: 10.0, z: 15.0, ..from });
        let ray = piece.ray(5.0, piece.aim((0.0, 1.0)));
        // The rim's hindmost point passes x = 5 when the tip is at x = 8, z = 14; before that the bottom was lower, and
        // the lowest of all came first: the foremost point at x = 2, z = 11.
        let found = nearest(&flutes.parts()[0], &ray, 11.0);
        assert!(found.distance.abs() < 1e-12);
        let expected = [0.5 / 1.25f64.sqrt(), -1.0 / 1.25f64.sqrt(), 0.0];
        let off = (0..3).map(|k| (found.normal[k] - expected[k]).abs()).fold(0.0, f64::max);
        assert!(off < 1e-9, "{found:?}");
    }
}
