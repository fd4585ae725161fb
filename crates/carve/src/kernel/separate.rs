//! Planes that keep a patch of instants and radii clear of the cutter.

use dryturn_geom::{ConvexPart, Primitive};

use super::chord::{Chord, Hit};
use super::instant::{Instant, RayAt, Vector, dot};
use super::sweep::Range;

/// Rounding allowed where a patch touches its own plane, mm.
const ROUNDING: f64 = 1e-9;

/// A patch may dip this deep into the cutter and still count as outside, mm: a ray that slides along a wall or past a rim
/// is not cut, on whichever side rounding puts it.
const GRAZE: f64 = 1e-6;

fn length(n: &Vector) -> f64 {
    dot(n, n).sqrt()
}

/// Square roots round the same way everywhere; the platform's own `hypot` need not.
fn plane_length(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// Whether, going from the instant of a chord to another instant, the ray meets nothing outside that chord.
///
/// The tangent planes at the chord's two ends are tried: if the radii below and above it stay outside them, a passage
/// beyond the chord would have to cross the plane. The chord then is all that this stretch adds.
pub(crate) fn closes(ray: &RayAt<'_>, now: &Instant, chord: &Chord, other: &Instant, range: Range) -> bool {
    let slack = |r: f64| 4.0 * ray.sagitta(r, (other.t - now.t).abs());
    let below = Range { inner: range.inner, outer: chord.lo.r.min(range.outer) };
    let above = Range { inner: chord.hi.r.max(range.inner), outer: range.outer };
    (below.is_empty() || now.along(&chord.lo.n) < 0.0 && stays_outside(now, &chord.lo, other, below, slack))
        && (above.is_empty() || now.along(&chord.hi.n) > 0.0 && stays_outside(now, &chord.hi, other, above, slack))
}

fn stays_outside(now: &Instant, hit: &Hit, other: &Instant, range: Range, slack: impl Fn(f64) -> f64) -> bool {
    let n = &hit.n;
    let plane = dot(n, &now.point(hit.r));
    let is_outside = |r: f64| dot(n, &other.point(r)) >= plane + length(n) * (slack(r) - ROUNDING);
    is_outside(range.inner) && is_outside(range.outer)
}

/// Whether the ray, between two instants, certainly stays outside the part over the whole range of radii.
pub(crate) fn apart(part: &ConvexPart, ray: &RayAt<'_>, first: &Instant, last: &Instant, range: Range) -> bool {
    let within = over_the_bottom(part, first, last, range).and_then(|range| under_the_top(part, first, last, range));
    let Some(range) = within else { return true };
    let outside = |n: &Vector| {
        let (plane, length) = (support(part, n), length(n));
        // The sagitta grows with the radius as the rest does, so the corners still speak for the whole patch. On the axis
        // there is none: a ray that starts in the face of a cutter which stands on the axis needs no finer stretches.
        [range.inner, range.outer].into_iter().all(|r| {
            let plane = plane + length * (ray.sagitta(r, last.t - first.t) - GRAZE);
            [first, last].iter().all(|at| dot(n, &at.point(r)) > plane)
        })
    };
    let middle = ray.at(0.5 * (first.t + last.t));
    outside(&sideways(&middle, range)) || any_toward_nearest(part, &middle, range, outside)
}

/// The radii at which the ray can be over the lowest point of the part at all.
fn over_the_bottom(part: &ConvexPart, first: &Instant, last: &Instant, range: Range) -> Option<Range> {
    let lowest = first.z.min(last.z) + part.bottom;
    if lowest <= 0.0 {
        return Some(range);
    }
    let upright = if first.s * last.s <= 0.0 && first.c > 0.0 { 1.0 } else { first.c.max(last.c) };
    if upright <= 0.0 {
        return None;
    }
    let inner = range.inner.max(lowest / upright * (1.0 - 1e-12));
    (inner < range.outer).then_some(Range { inner, outer: range.outer })
}

/// The radii at which the ray can be below the top of the part and within its width at all. Far out a ray sweeps much for
/// a small turn, and no plane would serve for all of it.
fn under_the_top(part: &ConvexPart, first: &Instant, last: &Instant, range: Range) -> Option<Range> {
    let mut outer = range.outer;
    let upright = first.c.min(last.c);
    if upright > 0.0 {
        let highest = (first.z.max(last.z) + part.top).max(0.0);
        outer = outer.min(highest / upright * (1.0 + 1e-12));
    }
    if first.s * last.s > 0.0 {
        let widest = part.radius + first.y.abs().max(last.y.abs());
        outer = outer.min(widest / first.s.abs().min(last.s.abs()) * (1.0 + 1e-12));
    }
    (range.inner < outer).then_some(Range { inner: range.inner, outer })
}

/// The level direction from the spindle axis to the nearest point of the ray, seen from above.
fn sideways(at: &Instant, range: Range) -> Vector {
    let (one, two) = (at.y + range.inner * at.s, at.y + range.outer * at.s);
    let u = if one * two <= 0.0 {
        0.0
    } else if one.abs() < two.abs() {
        one
    } else {
        two
    };
    [at.xi, u, 0.0]
}

/// Halvings that find the nearest point of a ray to about 1e-9 of its length.
const HALVINGS: usize = 30;
/// A direction need not be that exact to serve, so it is tried every few halvings.
const TRY_EVERY: usize = 5;

/// Whether a direction from the part toward the nearest point of the ray passes a test; not if the ray meets the part.
fn any_toward_nearest(part: &ConvexPart, at: &Instant, range: Range, passes: impl Fn(&Vector) -> bool) -> bool {
    let (mut inner, mut outer) = (range.inner, range.outer);
    for halving in 1..=HALVINGS {
        let r = 0.5 * (inner + outer);
        let Some(n) = outward(part, &at.point(r)) else { return false };
        if halving % TRY_EVERY == 0 && passes(&n) {
            return true;
        }
        if at.along(&n) > 0.0 {
            outer = r;
        } else {
            inner = r;
        }
    }
    false
}

/// How far the part reaches in the direction n (times the length of n).
fn support(part: &ConvexPart, n: &Vector) -> f64 {
    let level = plane_length(n[0], n[1]);
    let up = n[2];
    let rim = |radius: f64, height: f64| level * radius + up * height;
    let round = |disc: f64, tube: f64, center: f64| {
        if center + tube * up / length(n) <= part.top {
            rim(disc, center) + tube * length(n)
        } else {
            rim(disc + half_chord(tube, part.top - center), part.top)
        }
    };
    part.primitives
        .iter()
        .map(|primitive| match *primitive {
            Primitive::Cylinder { radius, from } => rim(radius, from).max(rim(radius, part.top)),
            Primitive::Frustum { from, from_radius, to, to_radius } => {
                let [radius, height] = cut_off([from_radius, from], [to_radius, to], part.top);
                rim(from_radius, from).max(rim(radius, height))
            }
            Primitive::Sphere { radius, center } => round(0.0, radius, center),
            Primitive::RoundedDisc { disc, tube, center } => round(disc, tube, center),
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

fn half_chord(radius: f64, offset: f64) -> f64 {
    (radius * radius - offset * offset).max(0.0).sqrt()
}

/// The upper end (radius, height) of a frustum that is cut off flat at a height.
fn cut_off(low: [f64; 2], high: [f64; 2], top: f64) -> [f64; 2] {
    if high[1] <= top {
        return high;
    }
    [low[0] + (high[0] - low[0]) * ((top - low[1]) / (high[1] - low[1])), top]
}

/// Direction from the nearest point of the part to a point outside it; `None` inside.
fn outward(part: &ConvexPart, point: &Vector) -> Option<Vector> {
    let d = plane_length(point[0], point[1]);
    let w = point[2];
    let mut least = (f64::INFINITY, [0.0, 0.0]);
    for primitive in &part.primitives {
        let away = away_from(primitive, part.top, d, w);
        let distance = plane_length(away[0], away[1]);
        if distance < least.0 {
            least = (distance, away);
        }
    }
    let (distance, [level, up]) = least;
    if distance <= 0.0 {
        return None;
    }
    let share = if d > 0.0 { level / d } else { 0.0 };
    Some([share * point[0], share * point[1], up])
}

/// Vector from the nearest point of a primitive to a point, in the half plane (distance from the axis, height).
fn away_from(primitive: &Primitive, top: f64, d: f64, w: f64) -> [f64; 2] {
    match *primitive {
        Primitive::Cylinder { radius, from } => [(d - radius).max(0.0), outside(w, from, top)],
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            let low = [from_radius, from];
            away_from_frustum(low, cut_off(low, [to_radius, to], top), d, w)
        }
        Primitive::Sphere { radius, center } => away_from_ball([0.0, center], radius, top, d, w),
        Primitive::RoundedDisc { disc, tube, center } => away_from_ball([d.min(disc), center], tube, top, d, w),
    }
}

/// Signed excess of a value over an interval.
fn outside(value: f64, from: f64, to: f64) -> f64 {
    if value < from {
        value - from
    } else if value > to {
        value - to
    } else {
        0.0
    }
}

fn away_from_ball(center: [f64; 2], radius: f64, top: f64, d: f64, w: f64) -> [f64; 2] {
    if w > top {
        return [(d - center[0] - half_chord(radius, top - center[1])).max(0.0), w - top];
    }
    let (level, up) = (d - center[0], w - center[1]);
    let distance = plane_length(level, up);
    if distance <= radius {
        return [0.0, 0.0];
    }
    if center[1] + up * (radius / distance) > top {
        // The ball's own nearest point has been cut off with its top: the rim of the cut is nearest.
        return [d - center[0] - half_chord(radius, top - center[1]), w - top];
    }
    [level * (1.0 - radius / distance), up * (1.0 - radius / distance)]
}

fn away_from_frustum(low: [f64; 2], high: [f64; 2], d: f64, w: f64) -> [f64; 2] {
    let within = (low[1]..=high[1]).contains(&w);
    let side = low[0] + (high[0] - low[0]) * ((w - low[1]) / (high[1] - low[1]));
    if within && d <= side {
        return [0.0, 0.0];
    }
    let edges = [([0.0, low[1]], low), (low, high), ([0.0, high[1]], high)];
    let mut least = [f64::INFINITY, f64::INFINITY];
    for (from, to) in edges {
        let along = [to[0] - from[0], to[1] - from[1]];
        let square = along[0] * along[0] + along[1] * along[1];
        let share = if square > 0.0 { ((d - from[0]) * along[0] + (w - from[1]) * along[1]) / square } else { 0.0 };
        let share = share.clamp(0.0, 1.0);
        let away = [d - from[0] - share * along[0], w - from[1] - share * along[1]];
        if plane_length(away[0], away[1]) < plane_length(least[0], least[1]) {
            least = away;
        }
    }
    least
}

/// How deep a point lies inside a part, mm: the least distance out through the bottom or the side, at the least.
///
/// Where two primitives meet inside the cutter their common face counts as a way out, so close above the tip of a ball
/// the depth may be understated, never overstated. The flat cap on top does not count: nothing enters there.
pub(crate) fn depth_inside(part: &ConvexPart, point: &Vector) -> f64 {
    let d = plane_length(point[0], point[1]);
    let w = point[2];
    if w > part.top {
        return f64::NEG_INFINITY;
    }
    part.primitives
        .iter()
        .map(|primitive| match *primitive {
            Primitive::Cylinder { radius, from } => (radius - d).min(w - from),
            Primitive::Frustum { from, from_radius, to, to_radius } => {
                let slope = (to_radius - from_radius) / (to - from);
                let side = from_radius + slope * (w - from) - d;
                (side / (1.0 + slope * slope).sqrt()).min(w - from)
            }
            Primitive::Sphere { radius, center } => radius - plane_length(d, w - center),
            Primitive::RoundedDisc { disc, tube, center } => tube - plane_length((d - disc).max(0.0), w - center),
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use dryturn_geom::{Flutes, Pose, Shape, angle};

    use super::super::Piece;
    use super::*;

    /// A turn of 1° that ends a little below the level face of a cutter on the axis: there the ray begins in the face itself.
    #[test]
    fn a_ray_under_a_face_on_the_axis_is_apart_at_once() {
        let flutes = Flutes::new(Shape::Flat, 6.0, 24.0).expect("a plain cutter");
        let at = |degrees: f64| Pose { x: 0.0, y: 0.0, z: 0.0, turn: angle::radians(degrees) };
        let piece = Piece::new(&at(0.0), &at(1.0));
        let range = Range { inner: 0.0, outer: 30.0 };
        for (theta, is_apart) in [(91.1, true), (91.01, true), (90.5, false)] {
            let ray = piece.ray(1.0, piece.aim(angle::sin_cos(angle::radians(theta))));
            assert_eq!(apart(&flutes.parts()[0], &ray, &ray.at(0.0), &ray.at(1.0), range), is_apart, "{theta}");
        }
    }
}
