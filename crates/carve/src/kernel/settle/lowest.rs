//! The lowest entries of rays, surface by surface.

use super::ray::{Now, Ray, share};
use super::{BATCH, Batch, CERTAIN, Contact, Entries, STEEP, bits};

/// Whether a rate at an instant proves that nothing lies lower than [`CERTAIN`]: it leads outward at an end, or it is
/// nothing to speak of. In the sense of a radius: positive grows.
#[inline(always)]
fn is_lowest(t: f64, rate: f64) -> bool {
    let longest = if t > 0.5 { t } else { 1.0 - t };
    leads_out(t, rate) | (2.0 * rate.abs() * longest <= CERTAIN)
}

/// How the entry on a flat face goes at an instant: its radius, and its rate times c, for the face rises and the ray leans.
#[inline(always)]
fn on_plane(contact: &Contact<'_>, height: f64, now: &Now) -> (f64, f64) {
    let lo = (now.z + height) / now.c;
    (lo, contact.z_by - contact.turn_by * lo * now.s)
}

#[inline(always)]
pub(super) fn on_face(contact: &Contact<'_>, (height, radius): (f64, f64), rays: &Batch, open: u32) -> Entries {
    let mut between = [0u32; BATCH];
    let mut guesses = [0.0; BATCH];
    let mut steps = [0.0; BATCH];
    let ends = Entries::of(|lane| {
        let ray = rays.ray(lane);
        let (first, last) = (ray.first(contact), ray.last(contact));
        let ((lo0, rate0), (lo1, rate1)) = (on_plane(contact, height, &first), on_plane(contact, height, &last));
        let (is_start, is_end) = (rate0 >= 0.0, (rate0 < 0.0) & (rate1 <= 0.0));
        // A face that stays at its height: where the ray is nearest to the spindle axis.
        let is_level = (rate0 == 0.0) & (rate1 == 0.0);
        let along = (last.xi - first.xi, last.point(lo1).1 - first.point(lo0).1);
        let level = -(first.xi * along.0 + first.point(lo0).1 * along.1) / (along.0 * along.0 + along.1 * along.1);
        guesses[lane] = share(if is_level { level } else { rate0 / (rate0 - rate1) });
        steps[lane] = if is_level { 0.0 } else { 1.0 / (rate1 - rate0) };
        between[lane] = u32::from(is_level | !(is_start | is_end));
        let now = last.or(&first, is_end);
        let lo = if is_end { lo1 } else { lo0 };
        (
            lo,
            now,
            (is_start | is_end) & face_holds(contact, radius, &now, lo),
            face_holds(contact, radius, &now, ray.outer),
        )
    });
    let between = bits(&between);
    if between & open == 0 {
        return ends;
    }
    Entries::of(|lane| {
        let ray = rays.ray(lane);
        // One step of Newton's method.
        let (_, rate) = on_plane(contact, height, &ray.at(contact, guesses[lane]));
        let t = share(guesses[lane] - rate * steps[lane]);
        let now = ray.at(contact, t);
        let (lo, rate) = on_plane(contact, height, &now);
        let is_between = between >> lane & 1 != 0;
        let now = now.or(&ends.now(lane), is_between);
        let lo = if is_between { lo } else { ends.lo[lane] };
        let is_lowest = is_lowest(t, rate / now.c) | !is_between;
        (lo, now, is_lowest & face_holds(contact, radius, &now, lo), face_holds(contact, radius, &now, ray.outer))
    })
}

/// Whether the part holds the ray's point over its flat face, which the ray crosses steeply.
#[inline(always)]
fn face_holds(contact: &Contact<'_>, radius: f64, now: &Now, r: f64) -> bool {
    let (xi, u, w) = now.point(r);
    (xi * xi + u * u <= radius * radius) & (w <= contact.underside.top) & (now.c >= STEEP) & (r >= 0.0)
}

#[inline(always)]
pub(super) fn on_ball(
    contact: &Contact<'_>,
    (radius, center, up_to): (f64, f64, f64),
    ray: &Ray,
) -> (f64, Now, bool, bool) {
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
    let is_outer_inside = (ray.outer <= m + root) & (ray.outer * now.c - now.z <= contact.underside.top);
    (lo, now, is_lowest(t, rate) & is_on_ball & (lo >= 0.0), is_outer_inside)
}

/// A sloping surface near a point of the ray.
#[derive(Clone, Copy)]
pub(super) struct Near {
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
pub(super) fn at_cone(now: &Now, r: f64, (outward, down, offset): (f64, f64, f64), (from, to): (f64, f64)) -> Near {
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
pub(super) fn at_rounding(now: &Now, r: f64, (disc, tube, center): (f64, f64, f64)) -> Near {
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

/// A guess at the lowest entry on a sloping surface.
#[derive(Clone, Copy)]
struct Guess {
    t: f64,
    r: f64,
    now: Now,
    at: Near,
}

/// Newton's method in time and radius together: three steps prove all but a few rays on a cone; a rounding takes one more.
#[inline(always)]
pub(super) fn on_slope<const IS_ROUNDING: bool>(
    contact: &Contact<'_>,
    bottom: f64,
    near: &impl Fn(&Now, f64) -> Near,
    ray: &Ray,
) -> (f64, Now, bool, bool) {
    // Begin where the outer end is nearest to the spindle axis, at the height of the bottom: outside, from where Newton's
    // method cannot overshoot along the ray.
    let (u0, u1) = (contact.y + ray.outer * ray.start.0, contact.y + contact.y_by + ray.outer * ray.end.0);
    let span = contact.x_by * contact.x_by + (u1 - u0) * (u1 - u0);
    let t = share((ray.xi * contact.x_by - u0 * (u1 - u0)) / span);
    let now = ray.at(contact, t);
    let r = (now.z + bottom) / now.c;
    let guess = Guess { t, r, now, at: near(&now, r) };
    let guess = closer(contact, near, ray, &guess);
    let guess = closer(contact, near, ray, &guess);
    let guess = closer(contact, near, ray, &guess);
    let Guess { t, r: lo, now, at } = if IS_ROUNDING { closer(contact, near, ray, &guess) } else { guess };
    let (steepness, rate, _) = rates(contact, &Guess { t, r: lo, now, at });
    let end = near(&now, ray.outer);
    let longest = if t > 0.5 { t } else { 1.0 - t };
    let drift = if leads_out(t, rate) { 0.0 } else { rate.abs() * longest };
    let is_outer_inside = (end.away <= 0.0) & end.is_under_end & (ray.outer * now.c - now.z <= contact.underside.top);
    let is_proved =
        (steepness <= -STEEP) & (2.0 * (at.away.abs() + drift) <= -CERTAIN * steepness) & at.is_on & (lo >= 0.0);
    (lo, now, is_proved, is_outer_inside)
}

/// Whether an end of the piece has been reached where the rate leads outward.
#[inline(always)]
fn leads_out(t: f64, rate: f64) -> bool {
    ((t == 0.0) & (rate >= 0.0)) | ((t == 1.0) & (rate <= 0.0))
}

/// How steeply the ray crosses the surface, how fast its point leaves it, and how that rate grows, along the surface's
/// normal.
#[inline(always)]
fn rates(contact: &Contact<'_>, guess: &Guess) -> (f64, f64, f64) {
    let Guess { r, now, at, .. } = guess;
    let steepness = at.n.1 * now.s + at.n.2 * now.c;
    let v = (-contact.x_by, contact.y_by - contact.turn_by * r * now.c, contact.turn_by * r * now.s - contact.z_by);
    let rate = at.n.0 * v.0 + at.n.1 * v.1 + at.n.2 * v.2;
    let u = now.y + r * now.s;
    let level = v.0 * v.0 + v.1 * v.1;
    let outward = now.xi * v.0 + u * v.1;
    let outward = outward * outward / (now.xi * now.xi + u * u + TINY);
    let bend = at.bend.0 * outward + at.bend.1 * (level - outward) + at.bend.2 * v.2 * v.2
        - r * contact.turn_by * contact.turn_by * steepness;
    (steepness, rate, bend)
}

/// One step of Newton's method.
#[inline(always)]
fn closer(contact: &Contact<'_>, near: &impl Fn(&Now, f64) -> Near, ray: &Ray, guess: &Guess) -> Guess {
    let (steepness, rate, bend) = rates(contact, guess);
    let moved = share(guess.t - rate / bend);
    let t = if leads_out(guess.t, rate) { guess.t } else { moved };
    // Along the tangent plane to the new instant, and down to the surface.
    let r = guess.r - (guess.at.away + rate * (t - guess.t)) / steepness;
    let now = ray.at(contact, t);
    Guess { t, r, now, at: near(&now, r) }
}
