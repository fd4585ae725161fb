//! A fixed body as it stands at one moment: turned, and ready to be measured against.

use super::shape::{FixedBody, FixedShape};
use dryturn_geom::angle;

/// A convex body at a moment. Lengths in mm, blank frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Solid {
    /// A cylinder along x.
    Cylinder { x: [f64; 2], y: f64, z: f64, radius: f64 },
    /// A cone about the rotary axis: `slope` is radius per station from the apex at `x[0]` to the base at `x[1]`.
    Cone { x: [f64; 2], slope: f64 },
    /// A box along the axes.
    Box { x: [f64; 2], y: [f64; 2], z: [f64; 2] },
    /// A prism along x over a rectangle; `along` is the unit direction (y, z) of its first side.
    Bar { x: [f64; 2], center: [f64; 2], along: [f64; 2], half: [f64; 2] },
    /// All below a height.
    Below { height: f64 },
}

/// A fixed body prepared for many questions.
#[derive(Clone, Debug)]
pub(crate) struct Fixed {
    pub(crate) which: u32,
    shape: FixedShape,
    /// The body itself where it stands still; where it turns, its ring: the cylinder about the axis that holds it at
    /// every angle.
    pub(crate) hull: Solid,
    /// Distance of its farthest point from the rotary axis, mm, where it turns.
    pub(crate) reach: Option<f64>,
}

impl Fixed {
    pub(crate) fn new(body: &FixedBody) -> Self {
        let shape = body.shape;
        let ring =
            |x: [f64; 2], reach: f64| (Solid::Cylinder { x: ordered(x), y: 0.0, z: 0.0, radius: reach }, Some(reach));
        let (hull, reach) = match shape {
            FixedShape::Screw { from, to, radius, offset, .. } => ring([from, to], offset.abs() + radius),
            FixedShape::Jaw { x, inner, outer, width, .. } => {
                ring(x, angle::hypot(inner.abs().max(outer.abs()), 0.5 * width))
            }
            FixedShape::CylinderX { from, to, radius } => {
                (Solid::Cylinder { x: ordered([from, to]), y: 0.0, z: 0.0, radius }, None)
            }
            FixedShape::ConeX { apex, half_angle, radius } => {
                let slope = angle::tan(half_angle);
                (Solid::Cone { x: [apex, apex + radius / slope], slope }, None)
            }
            FixedShape::Box { x, y, z } => (Solid::Box { x: ordered(x), y: ordered(y), z: ordered(z) }, None),
            FixedShape::Below { height } => (Solid::Below { height }, None),
        };
        Fixed { which: body.which, shape, hull, reach }
    }

    /// The body while the ray θ = `turn` stands on top.
    pub(crate) fn at(&self, turn: f64) -> Solid {
        // The direction (y, z) of the ray at `angle`.
        let ray = |angle: f64| {
            let (sine, cosine) = angle::sin_cos(angle - turn);
            [-sine, cosine]
        };
        match self.shape {
            FixedShape::Screw { from, to, radius, offset, angle } => {
                let [y, z] = ray(angle);
                Solid::Cylinder { x: ordered([from, to]), y: offset * y, z: offset * z, radius }
            }
            FixedShape::Jaw { x, inner, outer, width, angle } => {
                let along = ray(angle);
                let middle = 0.5 * (inner + outer);
                Solid::Bar {
                    x: ordered(x),
                    center: [middle * along[0], middle * along[1]],
                    along,
                    half: [0.5 * (outer - inner).abs(), 0.5 * width],
                }
            }
            _ => self.hull,
        }
    }
}

fn ordered(pair: [f64; 2]) -> [f64; 2] {
    [pair[0].min(pair[1]), pair[0].max(pair[1])]
}

impl Solid {
    /// The least of `normal` · point over the body: how far it comes down along the unit vector `normal`.
    pub(crate) fn least_along(&self, normal: [f64; 3]) -> f64 {
        let [nx, ny, nz] = normal;
        let least = |n: f64, range: [f64; 2]| (n * range[0]).min(n * range[1]);
        match *self {
            Solid::Cylinder { x, y, z, radius } => least(nx, x) + ny * y + nz * z - radius * length(ny, nz),
            Solid::Cone { x, slope } => {
                let base = nx * x[1] - (x[1] - x[0]) * slope * length(ny, nz);
                (nx * x[0]).min(base)
            }
            Solid::Box { x, y, z } => least(nx, x) + least(ny, y) + least(nz, z),
            Solid::Bar { x, center, along, half } => {
                let out = ny * along[0] + nz * along[1];
                let across = ny * along[1] - nz * along[0];
                least(nx, x) + ny * center[0] + nz * center[1] - half[0] * out.abs() - half[1] * across.abs()
            }
            Solid::Below { .. } if nz > 0.0 || nx != 0.0 || ny != 0.0 => f64::NEG_INFINITY,
            Solid::Below { height } => nz * height,
        }
    }

    /// The body seen in a level mirror at the height of the axis; nothing for one without a lower end.
    pub(crate) fn mirrored(&self) -> Option<Solid> {
        match *self {
            Solid::Cylinder { x, y, z, radius } => Some(Solid::Cylinder { x, y, z: -z, radius }),
            Solid::Cone { .. } => Some(*self),
            Solid::Box { x, y, z } => Some(Solid::Box { x, y, z: [-z[1], -z[0]] }),
            Solid::Bar { x, center, along, half } => {
                Some(Solid::Bar { x, center: [center[0], -center[1]], along: [along[0], -along[1]], half })
            }
            Solid::Below { .. } => None,
        }
    }
}

/// Length of a plane vector; the square root is exact to the last bit on every system.
pub(crate) fn length(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}
