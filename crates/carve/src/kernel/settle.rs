//! The everyday case, in closed form and many rays at a time: the outer end of a ray goes into the cutter, and the cutter
//! goes deepest on its flat bottom or on the ball of its tip.
//!
//! # Why one plane proves the answer
//!
//! Let the ray enter the cutter at the radius lo at some instant, with the outward normal n there, and follow the ray's
//! point at that *fixed* radius. Its height over the tangent plane, n · P(t, lo), is a linear function of t plus
//! lo · n · e(t), with e the ray's direction; an entry has n · e < 0, and n · e is a multiple of a cosine, so the height is
//! convex as long as n · e stays negative. If its rate n · V is zero at that instant (or leads outward, at an end of the
//! piece) the point therefore never gets below the plane; a point of the ray nearer to the axis lies farther out still,
//! for −e leads out of the plane. The cutter lies below its own tangent plane. So **no instant of the piece has a lower
//! entry**, whatever turns and moves together, and no search is needed. With a rate that is merely small, γ, no instant
//! has one lower by more than |γ| · Δt / |n · e|.
//!
//! If the outer end lies inside the cutter at that instant, all between lo and the outer end does, the cutter being
//! convex: the ray loses exactly lo … outer. Everything else is left to the search of [`sweep`](fn@super::sweep).

use dryturn_geom::{ConvexPart, Primitive};
use smallvec::SmallVec;

use super::instant::Piece;
use super::lanes::{BATCH, Batch};

/// Most an entry may be off, mm.
const CERTAIN: f64 = 5e-6;

/// Least steepness, as a sine, at which a ray crosses the surface: over a piece a ray turns by far less, so n · e keeps its
/// sign and half its size.
const STEEP: f64 = 0.1;

/// Where a part touches the wood first when it stands over it.
#[derive(Clone, Debug)]
pub(crate) struct Contact {
    surfaces: SmallVec<[Surface; 3]>,
    /// The tip at the start and its way.
    y: f64,
    y_by: f64,
    z: f64,
    z_by: f64,
    x_by: f64,
    turn_by: f64,
    /// Height over the tip at which the part ends.
    top: f64,
    /// Radius of its wall and the height at which it begins.
    wall: f64,
    wall_from: f64,
}

/// A stretch of the underside of a part; heights are over the tip.
#[derive(Clone, Copy, Debug)]
enum Surface {
    /// A flat face.
    Face { height: f64, radius: f64 },
    /// The underside of a ball, up to a height.
    Ball { radius: f64, center: f64, up_to: f64 },
    /// The side of a cone between two heights: outward · distance − down · height = offset.
    Cone { outward: f64, down: f64, offset: f64, from: f64, to: f64 },
    /// The rounding between a flat face and a wall.
    Rounding { disc: f64, tube: f64, center: f64 },
}

/// For each ray of a batch the lowest entry, mm, and whether it is proved that the ray loses all from there to its outer end
/// and no more; nothing, if the entry lies beyond.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settled {
    pub(crate) lo: [f64; BATCH],
    pub(crate) is_proved: [bool; BATCH],
}

impl Contact {
    pub(crate) fn new(part: &ConvexPart, piece: &Piece) -> Contact {
        // Over its underside lies nothing but the part, as long as it narrows nowhere; one that does is left to the search.
        let narrows = |primitive: &Primitive| matches!(*primitive, Primitive::Frustum { from_radius, to_radius, .. } if to_radius < from_radius);
        let widening: &[Primitive] = if part.primitives.iter().any(narrows) { &[] } else { &part.primitives };
        let surfaces = widening.iter().enumerate().flat_map(|(index, primitive)| {
            let next = part.primitives.get(index + 1).map_or(part.top, lowest_of);
            undersides(primitive, index == 0, next.min(part.top))
        });
        let wall = match part.primitives.last() {
            Some(Primitive::Cylinder { radius, from }) => (*radius, *from),
            _ => (0.0, part.top),
        };
        let (from, by) = (&piece.from, &piece.by);
        Contact {
            surfaces: surfaces.collect(),
            y: from.y,
            y_by: by.y,
            z: from.z,
            z_by: by.z,
            x_by: by.x,
            turn_by: by.turn,
            top: part.top,
            wall: wall.0,
            wall_from: wall.1,
        }
    }
}

fn lowest_of(primitive: &Primitive) -> f64 {
    match *primitive {
        Primitive::Cylinder { from, .. } | Primitive::Frustum { from, .. } => from,
        Primitive::Sphere { radius, center } => center - radius,
        Primitive::RoundedDisc { tube, center, .. } => center - tube,
    }
}

/// What looks down of a primitive that ends, for the part, at the height `next`.
fn undersides(primitive: &Primitive, is_tip: bool, next: f64) -> SmallVec<[Surface; 2]> {
    let mut surfaces = SmallVec::new();
    let mut face = |height, radius| {
        if is_tip && radius > 0.0 {
            surfaces.push(Surface::Face { height, radius });
        }
    };
    match *primitive {
        Primitive::Cylinder { radius, from } => face(from, radius),
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            face(from, from_radius);
            let slope = (to_radius - from_radius) / (to - from);
            if slope > 0.0 {
                let outward = 1.0 / (1.0 + slope * slope).sqrt();
                let down = slope * outward;
                let offset = outward * from_radius - down * from;
                surfaces.push(Surface::Cone { outward, down, offset, from, to: to.min(next) });
            }
        }
        Primitive::Sphere { radius, center } => {
            surfaces.push(Surface::Ball { radius, center, up_to: center.min(next) });
        }
        Primitive::RoundedDisc { disc, tube, center } => {
            face(center - tube, disc);
            surfaces.push(Surface::Rounding { disc, tube, center });
        }
    }
    surfaces
}

/// Settles what can be settled of a batch of rays.
#[inline(always)]
pub(crate) fn settle(contact: &Contact, batch: &Batch) -> Settled {
    if batch.count > BATCH / 2 {
        settle_first::<BATCH>(contact, batch)
    } else {
        settle_first::<{ BATCH / 2 }>(contact, batch)
    }
}

/// As [`settle`], for the first few rays.
#[inline(always)]
fn settle_first<const COUNT: usize>(contact: &Contact, batch: &Batch) -> Settled {
    let mut settled = Settled { lo: [0.0; BATCH], is_proved: [false; BATCH] };
    for surface in &contact.surfaces {
        let mut lo = [0.0; BATCH];
        let mut is_proved = [false; BATCH];
        match *surface {
            Surface::Face { height, radius } => {
                for lane in 0..COUNT {
                    (lo[lane], is_proved[lane]) = on_face(contact, (height, radius), &Ray::of(batch, lane));
                }
            }
            Surface::Ball { radius, center, up_to } => {
                for lane in 0..COUNT {
                    (lo[lane], is_proved[lane]) = on_ball(contact, (radius, center, up_to), &Ray::of(batch, lane));
                }
            }
            Surface::Cone { outward, down, offset, from, to } => {
                for lane in 0..COUNT {
                    let cone = |now: &Now, r: f64| at_cone(now, r, (outward, down, offset), (from, to));
                    (lo[lane], is_proved[lane]) = on_slope::<CONE_STEPS>(contact, from, &cone, &Ray::of(batch, lane));
                }
            }
            Surface::Rounding { disc, tube, center } => {
                for lane in 0..COUNT {
                    let rounding = |now: &Now, r: f64| at_rounding(now, r, (disc, tube, center));
                    (lo[lane], is_proved[lane]) =
                        on_slope::<ROUNDING_STEPS>(contact, center - tube, &rounding, &Ray::of(batch, lane));
                }
            }
        }
        for lane in 0..COUNT {
            settled.lo[lane] = if settled.is_proved[lane] { settled.lo[lane] } else { lo[lane] };
            settled.is_proved[lane] |= is_proved[lane];
        }
        if settled.is_proved[..COUNT] == [true; COUNT] {
            break;
        }
    }
    settled
}

#[derive(Clone, Copy)]
struct Ray {
    xi: f64,
    outer: f64,
    start: (f64, f64),
    end: (f64, f64),
}

/// The ray at an instant; z is the height of the tip.
#[derive(Clone, Copy)]
struct Now {
    xi: f64,
    y: f64,
    z: f64,
    s: f64,
    c: f64,
}

impl Ray {
    #[inline(always)]
    fn of(batch: &Batch, lane: usize) -> Ray {
        Ray {
            xi: batch.xi[lane],
            outer: batch.outer[lane],
            start: (batch.s0[lane], batch.c0[lane]),
            end: (batch.s1[lane], batch.c1[lane]),
        }
    }

    #[inline(always)]
    fn at(&self, contact: &Contact, t: f64) -> Now {
        let (sine, cosine) = super::instant::small_sin_cos(-contact.turn_by * t);
        Now {
            xi: self.xi - contact.x_by * t,
            y: contact.y + contact.y_by * t,
            z: contact.z + contact.z_by * t,
            s: self.start.0 * cosine + self.start.1 * sine,
            c: self.start.1 * cosine - self.start.0 * sine,
        }
    }
}

impl Contact {
    /// Whether the wall of the part, from where it begins up to its top, holds the ray's point at a radius.
    #[inline(always)]
    fn wall_holds(&self, now: &Now, r: f64) -> bool {
        let (u, w) = (now.y + r * now.s, r * now.c - now.z);
        (now.xi * now.xi + u * u <= self.wall * self.wall) & (w >= self.wall_from) & (w <= self.top)
    }
}

/// A share of the piece, whatever came out of a division.
#[inline(always)]
fn share(t: f64) -> f64 {
    let t = if t > 0.0 { t } else { 0.0 };
    if t < 1.0 { t } else { 1.0 }
}

/// Whether a rate at an instant proves that nothing lies lower than [`CERTAIN`]: it leads outward at an end, or it is
/// nothing to speak of. In the sense of a radius: positive grows.
#[inline(always)]
fn is_lowest(t: f64, rate: f64) -> bool {
    let longest = if t > 0.5 { t } else { 1.0 - t };
    ((t == 0.0) & (rate >= 0.0)) | ((t == 1.0) & (rate <= 0.0)) | (2.0 * rate.abs() * longest <= CERTAIN)
}

#[inline(always)]
fn on_face(contact: &Contact, (height, radius): (f64, f64), ray: &Ray) -> (f64, bool) {
    let entry = |now: &Now| (now.z + height) / now.c;
    // Rate of the entry: the height of the face grows, and the ray leans.
    let rate = |now: &Now, r: f64| (contact.z_by - contact.turn_by * r * now.s) / now.c;
    let first = Now { xi: ray.xi, y: contact.y, z: contact.z, s: ray.start.0, c: ray.start.1 };
    let last = Now {
        xi: ray.xi - contact.x_by,
        y: contact.y + contact.y_by,
        z: contact.z + contact.z_by,
        s: ray.end.0,
        c: ray.end.1,
    };
    let (rate0, rate1) = (rate(&first, entry(&first)), rate(&last, entry(&last)));
    let guess = if rate0 >= 0.0 {
        0.0
    } else if rate1 <= 0.0 {
        1.0
    } else {
        share(rate0 / (rate0 - rate1))
    };
    let near = ray.at(contact, guess);
    // One step of Newton's method; at an end it stays there.
    let step = rate(&near, entry(&near)) / (rate1 - rate0);
    let t = if (guess == 0.0) | (guess == 1.0) { guess } else { share(guess - step) };
    let now = ray.at(contact, t);
    let lo = entry(&now);
    let u = now.y + lo * now.s;
    let is_on_face = now.xi * now.xi + u * u <= radius * radius;
    let end = now.y + ray.outer * now.s;
    let is_over_face = (now.xi * now.xi + end * end <= radius * radius) & (ray.outer * now.c - now.z <= contact.top);
    let is_proved = is_lowest(t, rate(&now, lo))
        & (now.c >= STEEP)
        & is_on_face
        & (is_over_face | contact.wall_holds(&now, ray.outer) | (lo >= ray.outer))
        & (lo >= 0.0);
    (lo, is_proved)
}

#[inline(always)]
fn on_ball(contact: &Contact, (radius, center, up_to): (f64, f64, f64), ray: &Ray) -> (f64, bool) {
    // (p, m): how far the centre is from the line of the ray, across it and along it.
    let across = |y: f64, z: f64, (s, c): (f64, f64)| (y * c + z * s, z * c - y * s);
    let z = contact.z + center;
    let (p0, m0) = across(contact.y, z, ray.start);
    let (p1, m1) = across(contact.y + contact.y_by, z + contact.z_by, ray.end);
    let (by_xi, by_p, by_m) = (-contact.x_by, p1 - p0, m1 - m0);
    let span = by_xi * by_xi + by_p * by_p;
    let closest = -(ray.xi * by_xi + p0 * by_p) / span;
    let (xi, p) = (ray.xi + closest * by_xi, p0 + closest * by_p);
    let deepest = radius * radius - xi * xi - p * p;
    // The lowest point of m − √(deepest − span (t − closest)²), were the way straight.
    let guess = share(closest - by_m * (deepest / (span * (span + by_m * by_m))).sqrt());
    let found = |t: f64| {
        let now = ray.at(contact, t);
        let z = now.z + center;
        let (p, m) = across(now.y, z, (now.s, now.c));
        let root = (radius * radius - now.xi * now.xi - p * p).sqrt();
        let lo = m - root;
        let (u, w) = (now.y + lo * now.s, lo * now.c - z);
        // n · V over −n · e, with n from the centre to the entry.
        let leaving = u * (contact.y_by - contact.turn_by * lo * now.c)
            - w * (contact.z_by - contact.turn_by * lo * now.s)
            - now.xi * contact.x_by;
        (now, lo, root, m, w, leaving / root)
    };
    // One step of Newton's method, with the curvature of the straight way and of the turn; an end whose rate leads outward
    // is the place already.
    let (_, _, root, _, _, rate) = found(guess);
    let stays = ((guess == 0.0) & (rate >= 0.0)) | ((guess == 1.0) & (rate <= 0.0));
    let bend = span * deepest / (root * root * root) - z * contact.turn_by * contact.turn_by;
    let t = if stays { guess } else { share(guess - rate / bend) };
    let (now, lo, root, m, w, rate) = found(t);
    let is_on_ball = (w + center <= up_to) & (root >= STEEP * radius);
    let holds_outer = ((ray.outer <= m + root) & (ray.outer * now.c - now.z <= contact.top))
        | contact.wall_holds(&now, ray.outer)
        | (lo >= ray.outer);
    let is_proved = is_lowest(t, rate) & is_on_ball & holds_outer & (lo >= 0.0);
    (lo, is_proved)
}

/// A sloping surface near a point of the ray.
#[derive(Clone, Copy)]
struct Near {
    /// How far the point is outside.
    away: f64,
    /// Outward normal (ξ, u, w), of length 1.
    n: (f64, f64, f64),
    /// How fast the normal changes outward from the spindle axis, around it, and upward, per mm.
    bend: (f64, f64, f64),
    /// Whether the nearest point of the part is on this surface, and the point below its upper end.
    is_on: bool,
    is_under_end: bool,
}

/// Keeps a distance from being exactly zero.
const TINY: f64 = 1e-12;

#[inline(always)]
fn at_cone(now: &Now, r: f64, (outward, down, offset): (f64, f64, f64), (from, to): (f64, f64)) -> Near {
    let (u, w) = (now.y + r * now.s, r * now.c - now.z);
    let d = (now.xi * now.xi + u * u).sqrt() + TINY;
    Near {
        away: outward * d - down * w - offset,
        n: (outward * now.xi / d, outward * u / d, -down),
        bend: (0.0, outward / d, 0.0),
        is_on: (w >= from) & (w <= to),
        is_under_end: w <= to,
    }
}

#[inline(always)]
fn at_rounding(now: &Now, r: f64, (disc, tube, center): (f64, f64, f64)) -> Near {
    let (u, w) = (now.y + r * now.s, r * now.c - now.z);
    let d = (now.xi * now.xi + u * u).sqrt() + TINY;
    let over = if d > disc { d - disc } else { 0.0 };
    let up = w - center;
    let length = (over * over + up * up).sqrt() + TINY;
    let level = over / (length * d);
    Near {
        away: length - tube,
        n: (level * now.xi, level * u, up / length),
        bend: (1.0 / length, level, 1.0 / length),
        is_on: (d >= disc) & (up <= 0.0),
        is_under_end: up <= 0.0,
    }
}

/// Steps of Newton's method in time and radius together after which all but a few rays are proved.
const CONE_STEPS: usize = 3;
const ROUNDING_STEPS: usize = 4;

#[inline(always)]
fn on_slope<const STEPS: usize>(
    contact: &Contact,
    bottom: f64,
    near: &impl Fn(&Now, f64) -> Near,
    ray: &Ray,
) -> (f64, bool) {
    // Begin where the outer end is nearest to the spindle axis, at the height of the bottom: outside, from where Newton's
    // method cannot overshoot along the ray.
    let (u0, u1) = (contact.y + ray.outer * ray.start.0, contact.y + contact.y_by + ray.outer * ray.end.0);
    let span = contact.x_by * contact.x_by + (u1 - u0) * (u1 - u0);
    let mut t = share((ray.xi * contact.x_by - u0 * (u1 - u0)) / span);
    let mut now = ray.at(contact, t);
    let mut r = (now.z + bottom) / now.c;
    let mut at = near(&now, r);
    let mut rate = 0.0;
    let mut steepness = 0.0;
    for step in 0..=STEPS {
        steepness = at.n.1 * now.s + at.n.2 * now.c;
        let v = (-contact.x_by, contact.y_by - contact.turn_by * r * now.c, contact.turn_by * r * now.s - contact.z_by);
        rate = at.n.0 * v.0 + at.n.1 * v.1 + at.n.2 * v.2;
        if step == STEPS {
            break;
        }
        let stays = ((t == 0.0) & (rate >= 0.0)) | ((t == 1.0) & (rate <= 0.0));
        let u = now.y + r * now.s;
        let level = v.0 * v.0 + v.1 * v.1;
        let outward = now.xi * v.0 + u * v.1;
        let outward = outward * outward / (now.xi * now.xi + u * u + TINY);
        let bend = at.bend.0 * outward + at.bend.1 * (level - outward) + at.bend.2 * v.2 * v.2
            - r * contact.turn_by * contact.turn_by * steepness;
        let next = if stays { t } else { share(t - rate / bend) };
        // Along the tangent plane to the new instant, and down to the surface.
        r -= (at.away + rate * (next - t)) / steepness;
        t = next;
        now = ray.at(contact, t);
        at = near(&now, r);
    }
    let end = near(&now, ray.outer);
    let longest = if t > 0.5 { t } else { 1.0 - t };
    let leads_out = ((t == 0.0) & (rate >= 0.0)) | ((t == 1.0) & (rate <= 0.0));
    let drift = if leads_out { 0.0 } else { rate.abs() * longest };
    let holds_outer = ((end.away <= 0.0) & end.is_under_end & (ray.outer * now.c - now.z <= contact.top))
        | contact.wall_holds(&now, ray.outer)
        | (r >= ray.outer);
    let is_proved = (steepness <= -STEEP)
        & (2.0 * (at.away.abs() + drift) <= -CERTAIN * steepness)
        & at.is_on
        & holds_outer
        & (r >= 0.0);
    (r, is_proved)
}
