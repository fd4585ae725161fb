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
//! convex: the ray loses exactly lo … outer. Everything else is left to the search of [`sweep`](super::sweep).

use dryturn_geom::{ConvexPart, Primitive};

use super::instant::Piece;
use super::lanes::{BATCH, Batch};

/// Most an entry may be off, mm.
const CERTAIN: f64 = 5e-6;

/// Least steepness, as a sine, at which a ray crosses the surface: over a piece a ray turns by far less, so n · e keeps its
/// sign and half its size.
const STEEP: f64 = 0.1;

/// Where a part touches the wood first when it stands over it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Contact {
    kind: ContactKind,
    /// The tip at the start and its way.
    y: f64,
    y_by: f64,
    z: f64,
    z_by: f64,
    x_by: f64,
    turn_by: f64,
    /// Heights over the tip at which the part ends, and its wall begins, and its radius.
    top: f64,
    wall_from: f64,
    radius: f64,
}

#[derive(Clone, Copy, Debug)]
enum ContactKind {
    /// A flat face at a height over the tip.
    Face { height: f64 },
    /// A ball whose surface is the part's up to a height.
    Ball { radius: f64, center: f64, up_to: f64 },
}

/// For each ray of a batch the lowest entry, mm, and whether it is proved that the ray loses all from there to its outer end
/// and no more; nothing, if the entry lies beyond.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settled {
    pub(crate) lo: [f64; BATCH],
    pub(crate) is_proved: [bool; BATCH],
}

impl Contact {
    /// `None` where the part has neither a flat wall-to-wall bottom nor a ball at its tip.
    pub(crate) fn new(part: &ConvexPart, piece: &Piece) -> Option<Contact> {
        let (kind, wall) = match part.primitives[..] {
            [Primitive::Cylinder { radius, from }] => (ContactKind::Face { height: from }, (radius, from)),
            [Primitive::Sphere { radius, center }, ref above @ ..] => match *above {
                [] => (ContactKind::Ball { radius, center, up_to: part.top.min(center) }, (0.0, part.top)),
                [Primitive::Cylinder { radius: wall, from }] => {
                    (ContactKind::Ball { radius, center, up_to: part.top.min(from) }, (wall, from))
                }
                [Primitive::Frustum { from, .. }, ..] => {
                    (ContactKind::Ball { radius, center, up_to: part.top.min(from) }, (0.0, part.top))
                }
                _ => return None,
            },
            _ => return None,
        };
        let (from, by) = (&piece.from, &piece.by);
        Some(Contact {
            kind,
            y: from.y,
            y_by: by.y,
            z: from.z,
            z_by: by.z,
            x_by: by.x,
            turn_by: by.turn,
            top: part.top,
            wall_from: wall.1,
            radius: wall.0,
        })
    }
}

/// Settles what can be settled of a batch of rays.
#[inline(always)]
pub(crate) fn settle(contact: &Contact, batch: &Batch) -> Settled {
    let mut settled = Settled { lo: [0.0; BATCH], is_proved: [false; BATCH] };
    match contact.kind {
        ContactKind::Face { height } => {
            for lane in 0..BATCH {
                let (lo, is_proved) = on_face(contact, height, &Ray::of(batch, lane));
                settled.lo[lane] = lo;
                settled.is_proved[lane] = is_proved;
            }
        }
        ContactKind::Ball { radius, center, up_to } => {
            for lane in 0..BATCH {
                let (lo, is_proved) = on_ball(contact, (radius, center, up_to), &Ray::of(batch, lane));
                settled.lo[lane] = lo;
                settled.is_proved[lane] = is_proved;
            }
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
        (now.xi * now.xi + u * u <= self.radius * self.radius) & (w >= self.wall_from) & (w <= self.top)
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
fn on_face(contact: &Contact, height: f64, ray: &Ray) -> (f64, bool) {
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
    let is_on_face = now.xi * now.xi + u * u <= contact.radius * contact.radius;
    let is_proved = is_lowest(t, rate(&now, lo))
        & (now.c >= STEEP)
        & is_on_face
        & (contact.wall_holds(&now, ray.outer) | (lo >= ray.outer))
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
