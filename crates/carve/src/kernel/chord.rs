//! The chord a convex cutter takes from a ray at one instant, in closed form.

use dryturn_geom::{ConvexPart, Primitive};

use super::instant::{Instant, Vector};

/// Where the ray meets the cutter's surface.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hit {
    pub(crate) r: f64,
    /// Outward normal there, any length.
    pub(crate) n: Vector,
    /// How the normal changes from there.
    pub(crate) bend: Bend,
}

/// How fast the normal of a surface changes along it: per mm outward from the spindle axis, around it, and upward.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bend {
    outward: f64,
    around: f64,
    upward: f64,
}

impl Bend {
    const NONE: Bend = Bend { outward: 0.0, around: 0.0, upward: 0.0 };
    const WALL: Bend = Bend { outward: 1.0, around: 1.0, upward: 0.0 };
    const BALL: Bend = Bend { outward: 1.0, around: 1.0, upward: 1.0 };

    /// v · dn for a point of the surface that moves with the velocity v.
    pub(crate) fn along(&self, point: &Vector, v: &Vector) -> f64 {
        let square = point[0] * point[0] + point[1] * point[1];
        let level = v[0] * v[0] + v[1] * v[1];
        let outward = point[0] * v[0] + point[1] * v[1];
        let outward = if square > 0.0 { outward * outward / square } else { level };
        self.outward * outward + self.around * (level - outward) + self.upward * v[2] * v[2]
    }
}

/// The solid of the cutter along the ray, from `lo` out to `hi`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chord {
    pub(crate) lo: Hit,
    pub(crate) hi: Hit,
}

/// A ray that passes this close (mm) inside the outermost wall only slides along it and is not cut; the slit it would
/// open is hair-thin, and a turning blank would drag it along the ray in a hundred thousand steps.
const GRAZE: f64 = 1e-9;

/// Directions closer to a right angle than this are taken to be that far off it, so that quotients stay finite.
const NEARLY_SQUARE: f64 = 1e-12;

/// The chord of a part, on the whole line through the ray; `None` where the line misses.
#[inline]
pub(crate) fn chord(part: &ConvexPart, at: &Instant) -> Option<Chord> {
    let mut hull: Option<Chord> = None;
    for primitive in &part.primitives {
        let Some(found) = primitive_chord(part, primitive, at) else { continue };
        hull = Some(match hull {
            None => found,
            Some(old) => Chord {
                lo: if found.lo.r < old.lo.r { found.lo } else { old.lo },
                hi: if found.hi.r > old.hi.r { found.hi } else { old.hi },
            },
        });
    }
    let chord = clip(hull?, below(at, part.top))?;
    (chord.hi.r > 0.0).then_some(chord)
}

#[inline]
fn primitive_chord(part: &ConvexPart, primitive: &Primitive, at: &Instant) -> Option<Chord> {
    let bottom = |height: f64| if height > part.bottom { joint(above(at, height)) } else { above(at, height) };
    let top = |height: f64| if height < part.top { joint(below(at, height)) } else { below(at, height) };
    match *primitive {
        Primitive::Cylinder { radius, from } => clip(wall(at, radius)?, bottom(from)),
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            let slope = (to_radius - from_radius) / (to - from);
            let slab = clip(line(), bottom(from)).and_then(|c| clip(c, top(to)))?;
            if slope == 0.0 {
                return meet(slab, wall(at, from_radius)?);
            }
            cone(at, slab, from, from_radius, slope)
        }
        Primitive::Sphere { radius, center } => sphere(at, radius, center),
        Primitive::RoundedDisc { disc, tube, center } => rounded_disc(at, disc, tube, center),
    }
}

fn line() -> Chord {
    let end = |r| Hit { r, n: [0.0; 3], bend: Bend::NONE };
    Chord { lo: end(f64::NEG_INFINITY), hi: end(f64::INFINITY) }
}

/// A half line r ≤ or ≥ a bound.
enum HalfLine {
    From(Hit),
    To(Hit),
}

/// The face at which one primitive goes over into another is inside the part: it supports nothing, and so has no normal.
#[inline]
fn joint(half: HalfLine) -> HalfLine {
    let without = |hit: Hit| Hit { n: [0.0; 3], ..hit };
    match half {
        HalfLine::From(hit) => HalfLine::From(without(hit)),
        HalfLine::To(hit) => HalfLine::To(without(hit)),
    }
}

#[inline]
fn square_off(value: f64) -> f64 {
    if value.abs() >= NEARLY_SQUARE { value } else { NEARLY_SQUARE.copysign(value) }
}

/// Radii at or over a height.
#[inline]
fn above(at: &Instant, height: f64) -> HalfLine {
    let c = square_off(at.c);
    let hit = Hit { r: (at.z + height) / c, n: [0.0, 0.0, -1.0], bend: Bend::NONE };
    if c > 0.0 { HalfLine::From(hit) } else { HalfLine::To(hit) }
}

/// Radii at or under a height.
#[inline]
fn below(at: &Instant, height: f64) -> HalfLine {
    let c = square_off(at.c);
    let hit = Hit { r: (at.z + height) / c, n: [0.0, 0.0, 1.0], bend: Bend::NONE };
    if c > 0.0 { HalfLine::To(hit) } else { HalfLine::From(hit) }
}

#[inline]
fn clip(chord: Chord, half: HalfLine) -> Option<Chord> {
    let Chord { mut lo, mut hi } = chord;
    match half {
        HalfLine::From(hit) if hit.r > lo.r => lo = hit,
        HalfLine::To(hit) if hit.r < hi.r => hi = hit,
        _ => {}
    }
    (lo.r < hi.r).then_some(Chord { lo, hi })
}

#[inline]
fn meet(a: Chord, b: Chord) -> Option<Chord> {
    clip(a, HalfLine::From(b.lo)).and_then(|c| clip(c, HalfLine::To(b.hi)))
}

/// The endless upright cylinder: |u| ≤ √(R² − ξ²).
#[inline]
fn wall(at: &Instant, radius: f64) -> Option<Chord> {
    let square = radius * radius - at.xi * at.xi;
    if square <= 2.0 * radius * GRAZE {
        return None;
    }
    let b = square.sqrt();
    let s = square_off(at.s);
    let left = Hit { r: (-b - at.y) / s, n: [at.xi, -b, 0.0], bend: Bend::WALL };
    let right = Hit { r: (b - at.y) / s, n: [at.xi, b, 0.0], bend: Bend::WALL };
    Some(if s > 0.0 { Chord { lo: left, hi: right } } else { Chord { lo: right, hi: left } })
}

/// D is formed from the distance of the ray to the centre, so that no large terms cancel.
#[inline]
fn sphere(at: &Instant, radius: f64, center: f64) -> Option<Chord> {
    let z = at.z + center;
    let p = at.y * at.c + z * at.s;
    let m = z * at.c - at.y * at.s;
    let square = radius * radius - at.xi * at.xi - p * p;
    if square <= 0.0 {
        return None;
    }
    let root = square.sqrt();
    let hit = |r: f64| Hit { r, n: [at.xi, at.y + r * at.s, r * at.c - z], bend: Bend::BALL };
    Some(Chord { lo: hit(m - root), hi: hit(m + root) })
}

/// The cone of the radius k(w) = k₀ + slope·(w − from), between the heights of the slab.
///
/// With a = s² − T²c² the ray crosses the surface at a r² + 2 β r + γ = 0. For a > 0 the cone lies between the roots;
/// for a < 0 the ray is steeper than the side and stays inside on the nappe whose radius grows.
#[inline]
fn cone(at: &Instant, slab: Chord, from: f64, from_radius: f64, slope: f64) -> Option<Chord> {
    let k = from_radius - slope * (at.z + from);
    let a = square_off(at.s * at.s - slope * slope * at.c * at.c);
    let beta = at.y * at.s - slope * at.c * k;
    let gamma = at.xi * at.xi + at.y * at.y - k * k;
    let skew = at.s * k - slope * at.c * at.y;
    let square = skew * skew - a * at.xi * at.xi;
    if square < 0.0 {
        return None;
    }
    let q = -(beta + square.sqrt().copysign(beta));
    let (one, two) = if q == 0.0 { (0.0, 0.0) } else { (q / a, gamma / q) };
    let (first, second) = if one < two { (one, two) } else { (two, one) };
    let hit = |r: f64| {
        let radius = k + slope * r * at.c;
        let n = [at.xi, at.y + r * at.s, -slope * radius];
        if radius.abs() < APEX {
            // Many planes support the point of a cone, but rounding would choose one that does not.
            return Hit { r, n: [0.0, 0.0, -slope.signum()], bend: Bend::NONE };
        }
        Hit { r, n, bend: Bend { upward: -slope * slope, ..Bend::WALL } }
    };
    if a > 0.0 {
        meet(slab, Chord { lo: hit(first), hi: hit(second) })
    } else if slope * at.c > 0.0 {
        clip(slab, HalfLine::From(hit(second)))
    } else {
        clip(slab, HalfLine::To(hit(first)))
    }
}

/// A cone this slender, mm, is its point.
const APEX: f64 = 1e-9;

/// Newton steps that a convex function needs at the most from the ends of a bounding chord.
const NEWTON_STEPS: usize = 60;

/// The distance to the disc is convex along the ray, so Newton's method from outside closes in on each end without
/// ever passing it.
#[inline]
fn rounded_disc(at: &Instant, disc: f64, tube: f64, center: f64) -> Option<Chord> {
    let bounds =
        clip(wall(at, disc + tube)?, above(at, center - tube)).and_then(|c| clip(c, below(at, center + tube)))?;
    let lo = newton(at, disc, tube, center, bounds.lo.r, 1.0)?;
    let hi = newton(at, disc, tube, center, bounds.hi.r, -1.0)?;
    (lo.r < hi.r).then_some(Chord { lo, hi })
}

/// From the radius `r` outside the body toward it; `inward` is the sign of the steps.
fn newton(at: &Instant, disc: f64, tube: f64, center: f64, mut r: f64, inward: f64) -> Option<Hit> {
    for _ in 0..NEWTON_STEPS {
        let [xi, u, w] = at.point(r);
        let d = (xi * xi + u * u).sqrt();
        let (out, up) = ((d - disc).max(0.0), w - center);
        let distance = (out * out + up * up).sqrt();
        let radial = if d > 0.0 { out / d } else { 0.0 };
        let n = [radial * xi, radial * u, up];
        let bend = if out > 0.0 { Bend { around: radial, ..Bend::BALL } } else { Bend { upward: 1.0, ..Bend::NONE } };
        let excess = distance - tube;
        let slope = at.along(&n) / distance.max(f64::MIN_POSITIVE);
        if excess <= 1e-12 {
            return Some(Hit { r, n, bend });
        }
        if slope * inward >= 0.0 {
            return None;
        }
        let step = -excess / slope;
        r += step;
        if step.abs() < 1e-12 {
            return Some(Hit { r, n, bend });
        }
    }
    None
}
