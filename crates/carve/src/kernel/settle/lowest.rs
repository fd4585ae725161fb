//! The lowest entries of rays, surface by surface.

use super::ray::{Now, Ray, Way, share};
use super::real::Real;
use super::{BATCH, CERTAIN, Entries, STEEP, bits};

/// How long the piece goes on from an instant, forward or back.
#[inline(always)]
fn longest<R: Real>(t: R) -> R {
    if t > R::of(0.5) { t } else { R::of(1.0) - t }
}

/// Whether a rate at an instant, times a positive number, proves that nothing lies lower than [`CERTAIN`]: it leads outward
/// at an end, or it is nothing to speak of. In the sense of a radius: positive grows.
#[inline(always)]
fn is_lowest<R: Real>(t: R, (rate, times): (R, R)) -> bool {
    leads_out(t, rate) | (R::of(2.0) * rate.abs() * longest(t) <= R::of(CERTAIN) * times)
}

/// Whether an end of the piece has been reached where the rate leads outward.
#[inline(always)]
fn leads_out<R: Real>(t: R, rate: R) -> bool {
    let (none, start, end) = (R::of(0.0), R::of(0.0), R::of(1.0));
    ((t == start) & (rate >= none)) | ((t == end) & (rate <= none))
}

/// How the entry on a flat face goes at an instant: its radius, and its rate times c, for the face rises and the ray leans.
#[inline(always)]
fn on_plane<R: Real>(way: &Way<'_, R>, height: R, now: &Now<R>) -> (R, R) {
    let lo = (now.rise + height + way.z * now.v) / now.c();
    (lo, way.z_by - way.turn_by * (way.z + lo) * now.s)
}

#[inline(always)]
pub(super) fn on_face<R: Real>(
    way: &Way<'_, R>,
    (height, radius): (R, R),
    ray: impl Fn(usize) -> Ray<R>,
    open: u32,
) -> Entries<R> {
    let (zero, one) = (R::of(0.0), R::of(1.0));
    let mut between = [0u32; BATCH];
    let (mut guesses, mut steps) = ([zero; BATCH], [zero; BATCH]);
    let ends = Entries::of(|lane| {
        let ray = ray(lane);
        let (first, last) = (ray.first(way), ray.last(way));
        let ((lo0, rate0), (lo1, rate1)) = (on_plane(way, height, &first), on_plane(way, height, &last));
        let (is_start, is_end) = (rate0 >= zero, (rate0 < zero) & (rate1 <= zero));
        // A face that stays at its height: where the ray is nearest to the spindle axis.
        let is_level = (rate0 == zero) & (rate1 == zero);
        let (u0, u1) = (way.point(&first, lo0).1, way.point(&last, lo1).1);
        let along = (last.xi - first.xi, u1 - u0);
        let level = -(first.xi * along.0 + u0 * along.1) / (along.0 * along.0 + along.1 * along.1);
        guesses[lane] = share(if is_level { level } else { rate0 / (rate0 - rate1) });
        steps[lane] = if is_level { zero } else { one / (rate1 - rate0) };
        between[lane] = u32::from(is_level | !(is_start | is_end));
        let now = if is_end { last } else { first };
        let lo = if is_end { lo1 } else { lo0 };
        let is_proved = (is_start | is_end) & face_holds(way, radius, &now, lo);
        (lo, now.t, is_proved, face_holds(way, radius, &now, ray.outer))
    });
    let between = bits(&between);
    if between & open == 0 {
        return ends;
    }
    Entries::of(|lane| {
        let ray = ray(lane);
        // One step of Newton's method.
        let (_, rate) = on_plane(way, height, &ray.at(way, guesses[lane]));
        let is_between = between >> lane & 1 != 0;
        let t = if is_between { share(guesses[lane] - rate * steps[lane]) } else { ends.t[lane] };
        let now = ray.at(way, t);
        let (lo, rate) = on_plane(way, height, &now);
        let lo = if is_between { lo } else { ends.lo[lane] };
        let is_lowest = is_lowest(t, (rate, now.c())) | !is_between;
        let is_proved = is_lowest & face_holds(way, radius, &now, lo);
        (lo, t, is_proved, face_holds(way, radius, &now, ray.outer))
    })
}

/// Whether the part holds the ray's point over its flat face, which the ray crosses steeply.
#[inline(always)]
fn face_holds<R: Real>(way: &Way<'_, R>, radius: R, now: &Now<R>, r: R) -> bool {
    let (xi, u, w) = way.point(now, r);
    let is_on_part = (xi * xi + u * u <= radius * radius) & (w <= R::of(way.underside.top));
    is_on_part & (now.c() >= R::of(STEEP)) & (way.z + r >= R::of(0.0))
}

#[inline(always)]
pub(super) fn on_ball<R: Real>(
    way: &Way<'_, R>,
    (radius, center, up_to): (R, R, R),
    ray: &Ray<R>,
) -> (R, R, bool, bool) {
    let zero = R::of(0.0);
    // (p, m): how far the centre is from the line of the ray, across it and along it.
    let across = |y: R, over: R, (s, v): (R, R)| {
        let z = way.z + over;
        (y * (R::of(1.0) - v) + z * s, over - z * v - y * s)
    };
    let (p0, m0) = across(way.y, center, ray.start);
    let (p1, m1) = across(way.y + way.y_by, center + way.z_by, ray.end);
    let (by_xi, by_p, by_m) = (-way.x_by, p1 - p0, m1 - m0);
    let span = by_xi * by_xi + by_p * by_p;
    let closest = -(ray.xi * by_xi + p0 * by_p) / span;
    let (xi, p) = (ray.xi + closest * by_xi, p0 + closest * by_p);
    let deepest = radius * radius - xi * xi - p * p;
    // The lowest point of m − √(deepest − span (t − closest)²), were the way straight.
    let guess = share(closest - by_m * (deepest / (span * (span + by_m * by_m))).sqrt());
    let found = |t: R| {
        let now = ray.at(way, t);
        let over = now.rise + center;
        let (p, m) = across(now.y, over, (now.s, now.v));
        let square = radius * radius - now.xi * now.xi - p * p;
        let root = square.sqrt();
        let lo = m - root;
        let whole = way.z + lo;
        let (u, w) = (now.y + whole * now.s, lo - over - whole * now.v);
        // n · V, with n from the centre to the entry; over −n · e, which is the root, it is the rate.
        let leaving = u * (way.y_by - way.turn_by * whole * now.c())
            - w * (way.z_by - way.turn_by * whole * now.s)
            - now.xi * way.x_by;
        (now, lo, (square, root), m, w, leaving)
    };
    // One step of Newton's method, with the curvature of the straight way and of the turn; an end whose rate leads outward
    // is the place already.
    let (_, _, (square, root), _, _, leaving) = found(guess);
    let turned = (way.z + center) * way.turn_by * way.turn_by;
    let step = leaving * square / (span * deepest - turned * square * root);
    let t = if leads_out(guess, leaving) { guess } else { share(guess - step) };
    let (now, lo, (_, root), m, w, leaving) = found(t);
    let is_on_ball = (w + center <= up_to) & (root >= R::of(STEEP) * radius);
    let over_tip = way.point(&now, ray.outer).2;
    let is_outer_inside = (ray.outer <= m + root) & (over_tip <= R::of(way.underside.top));
    let is_proved = is_lowest(t, (leaving, root)) & is_on_ball & (way.z + lo >= zero);
    (lo, t, is_proved, is_outer_inside)
}

/// A sloping surface near a point of the ray.
#[derive(Clone, Copy)]
pub(super) struct Near<R> {
    /// How far the point is outside.
    away: R,
    /// Outward normal (ξ, u, w), of length 1.
    n: (R, R, R),
    /// How fast the normal changes outward from the spindle axis, around it, and upward, per mm.
    bend: (R, R, R),
    /// One over the distance from the spindle axis.
    per_distance: R,
    /// Whether the nearest point of the part is on this surface, and the point below its upper end.
    is_on: bool,
    is_under_end: bool,
}

/// Keeps a distance from being exactly zero.
const TINY: f64 = 1e-12;

#[inline(always)]
pub(super) fn at_cone<R: Real>(
    way: &Way<'_, R>,
    now: &Now<R>,
    r: R,
    (outward, down, offset): (R, R, R),
    (from, to): (R, R),
) -> Near<R> {
    let (xi, u, w) = way.point(now, r);
    let d = (xi * xi + u * u).sqrt() + R::of(TINY);
    let per_distance = R::of(1.0) / d;
    let level = outward * per_distance;
    Near {
        away: outward * d - down * w - offset,
        n: (level * xi, level * u, -down),
        bend: (R::of(0.0), level, R::of(0.0)),
        per_distance,
        is_on: (w >= from) & (w <= to),
        is_under_end: w <= to,
    }
}

#[inline(always)]
pub(super) fn at_rounding<R: Real>(way: &Way<'_, R>, now: &Now<R>, r: R, (disc, tube, center): (R, R, R)) -> Near<R> {
    let (xi, u, w) = way.point(now, r);
    let d = (xi * xi + u * u).sqrt() + R::of(TINY);
    let over = if d > disc { d - disc } else { R::of(0.0) };
    let up = w - center;
    let length = (over * over + up * up).sqrt() + R::of(TINY);
    let (per_distance, per_length) = (R::of(1.0) / d, R::of(1.0) / length);
    let level = over * per_length * per_distance;
    Near {
        away: length - tube,
        n: (level * xi, level * u, up * per_length),
        bend: (per_length, level, per_length),
        per_distance,
        is_on: (d >= disc) & (up <= R::of(0.0)),
        is_under_end: up <= R::of(0.0),
    }
}

/// A guess at the lowest entry on a sloping surface.
#[derive(Clone, Copy)]
struct Guess<R> {
    t: R,
    r: R,
    now: Now<R>,
    at: Near<R>,
}

/// Newton's method in time and radius together: two steps prove all but a few rays on a cone; a rounding takes four.
#[inline(always)]
pub(super) fn on_slope<const IS_ROUNDING: bool, R: Real>(
    way: &Way<'_, R>,
    bottom: R,
    near: &impl Fn(&Now<R>, R) -> Near<R>,
    ray: &Ray<R>,
) -> (R, R, bool, bool) {
    let zero = R::of(0.0);
    // Begin where the ray is nearest to the spindle axis: its tip on a cone, its outer end, which is nearer to the place, on
    // a rounding; at the height of the bottom: outside, from where Newton's method cannot overshoot along the ray.
    let whole = way.z + if IS_ROUNDING { ray.outer } else { bottom };
    let (u0, u1) = (way.y + whole * ray.start.0, way.y + way.y_by + whole * ray.end.0);
    let span = way.x_by * way.x_by + (u1 - u0) * (u1 - u0);
    let t = share((ray.xi * way.x_by - u0 * (u1 - u0)) / span);
    let now = ray.at(way, t);
    let (r, _) = on_plane(way, bottom, &now);
    let closer = |guess: Guess<R>| closer(way, near, ray, &guess);
    let guess = closer(closer(Guess { t, r, now, at: near(&now, r) }));
    let guess = if IS_ROUNDING { closer(closer(guess)) } else { guess };
    let (steepness, rate, _) = rates(way, &guess);
    let Guess { t, r: lo, now, at } = guess;
    let end = near(&now, ray.outer);
    let drift = if leads_out(t, rate) { zero } else { rate.abs() * longest(t) };
    let over_tip = way.point(&now, ray.outer).2;
    let is_outer_inside = (end.away <= zero) & end.is_under_end & (over_tip <= R::of(way.underside.top));
    let is_close = R::of(2.0) * (at.away.abs() + drift) <= -R::of(CERTAIN) * steepness;
    let is_proved = (steepness <= -R::of(STEEP)) & is_close & at.is_on & (way.z + lo >= zero);
    (lo, t, is_proved, is_outer_inside)
}

/// How steeply the ray crosses the surface, how fast its point leaves it, and how that rate grows, along the surface's
/// normal.
#[inline(always)]
fn rates<R: Real>(way: &Way<'_, R>, guess: &Guess<R>) -> (R, R, R) {
    let Guess { r, now, at, .. } = guess;
    let steepness = at.n.1 * now.s + at.n.2 * now.c();
    let whole = way.z + *r;
    let turned = way.turn_by * whole;
    let v = (-way.x_by, way.y_by - turned * now.c(), turned * now.s - way.z_by);
    let rate = at.n.0 * v.0 + at.n.1 * v.1 + at.n.2 * v.2;
    let u = now.y + whole * now.s;
    let level = v.0 * v.0 + v.1 * v.1;
    let outward = (now.xi * v.0 + u * v.1) * at.per_distance;
    let outward = outward * outward;
    let bend =
        at.bend.0 * outward + at.bend.1 * (level - outward) + at.bend.2 * v.2 * v.2 - turned * way.turn_by * steepness;
    (steepness, rate, bend)
}

/// One step of Newton's method.
#[inline(always)]
fn closer<R: Real>(
    way: &Way<'_, R>,
    near: &impl Fn(&Now<R>, R) -> Near<R>,
    ray: &Ray<R>,
    guess: &Guess<R>,
) -> Guess<R> {
    let (steepness, rate, bend) = rates(way, guess);
    let moved = share(guess.t - rate / bend);
    let t = if leads_out(guess.t, rate) { guess.t } else { moved };
    // Along the tangent plane to the new instant, and down to the surface.
    let r = guess.r - (guess.at.away + rate * (t - guess.t)) / steepness;
    let now = ray.at(way, t);
    Guess { t, r, now, at: near(&now, r) }
}
