//! A ray of a batch at an instant, and where it leaves a part of the cutter.

use super::real::Real;
use super::{CERTAIN, Underside};

/// A part of a cutter on its way: the tip at the start and what it moves by.
///
/// Radii and heights are counted from the height of the tip at the start, so that all that is left is about as large as the
/// cutter, and single precision is good to a nanometre; for the same reason a ray stands by sin φ and v = 1 − cos φ.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way<'a, R> {
    pub(super) underside: &'a Underside,
    /// Height of the tip over the axis at the start.
    pub(super) z: R,
    pub(super) y: R,
    pub(super) y_by: R,
    pub(super) z_by: R,
    pub(super) x_by: R,
    pub(super) turn_by: R,
}

#[derive(Clone, Copy)]
pub(super) struct Ray<R> {
    pub(super) xi: R,
    /// Its outer end.
    pub(super) outer: R,
    /// (sin φ, 1 − cos φ).
    pub(super) start: (R, R),
    pub(super) end: (R, R),
}

/// The ray at an instant.
#[derive(Clone, Copy)]
pub(super) struct Now<R> {
    pub(super) t: R,
    pub(super) xi: R,
    pub(super) y: R,
    /// Height of the tip.
    pub(super) rise: R,
    pub(super) s: R,
    pub(super) v: R,
}

impl<R: Real> Now<R> {
    #[inline(always)]
    pub(super) fn c(&self) -> R {
        R::of(1.0) - self.v
    }
}

/// Sine and 1 − cosine of an angle of at most a few degrees, by series, as long as the numbers are precise.
#[inline(always)]
fn small_sine_versine<R: Real>(a: R) -> (R, R) {
    let q = a * a;
    let n = R::of;
    if R::IS_SINGLE {
        return (a * (n(1.0) - q * n(1.0 / 6.0)), q * (n(0.5) - q * n(1.0 / 24.0)));
    }
    let sine = a * (n(1.0) - q * (n(1.0 / 6.0) - q * (n(1.0 / 120.0) - q * n(1.0 / 5040.0))));
    let versine = q * (n(0.5) - q * (n(1.0 / 24.0) - q * (n(1.0 / 720.0) - q * n(1.0 / 40320.0))));
    (sine, versine)
}

impl<R: Real> Ray<R> {
    #[inline(always)]
    pub(super) fn at(&self, way: &Way<'_, R>, t: R) -> Now<R> {
        let (sine, versine) = small_sine_versine(-way.turn_by * t);
        let (s, v) = self.start;
        let c = R::of(1.0) - v;
        Now {
            t,
            xi: self.xi - way.x_by * t,
            y: way.y + way.y_by * t,
            rise: way.z_by * t,
            s: s + c * sine - s * versine,
            v: v + c * versine + s * sine,
        }
    }

    /// At the start of the piece.
    #[inline(always)]
    pub(super) fn first(&self, way: &Way<'_, R>) -> Now<R> {
        Now { t: R::of(0.0), xi: self.xi, y: way.y, rise: R::of(0.0), s: self.start.0, v: self.start.1 }
    }

    /// At its end.
    #[inline(always)]
    pub(super) fn last(&self, way: &Way<'_, R>) -> Now<R> {
        let (s, v) = self.end;
        Now { t: R::of(1.0), xi: self.xi - way.x_by, y: way.y + way.y_by, rise: way.z_by, s, v }
    }

    /// The same ray, to be looked at more closely.
    #[inline(always)]
    fn wide(&self) -> Ray<f64> {
        let wide = |(s, v): (R, R)| (s.wide(), v.wide());
        Ray { xi: self.xi.wide(), outer: self.outer.wide(), start: wide(self.start), end: wide(self.end) }
    }
}

impl<R: Real> Way<'_, R> {
    /// The ray's point at a radius, as the cutter sees it.
    #[inline(always)]
    pub(super) fn point(&self, now: &Now<R>, r: R) -> (R, R, R) {
        let whole = self.z + r;
        (now.xi, now.y + whole * now.s, r - now.rise - whole * now.v)
    }

    /// Whether the wall of the part, from where it begins up to its top, holds the ray's point at a radius.
    #[inline(always)]
    pub(super) fn wall_holds(&self, now: &Now<R>, r: R) -> bool {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        let (xi, u, w) = self.point(now, r);
        (xi * xi + u * u <= R::of(wall * wall)) & (w >= R::of(wall_from)) & (w <= R::of(top))
    }
}

impl Way<'_, f64> {
    /// Where the ray leaves the part that it has entered at `lo` and the instant `t`, by its wall or its top; and whether it is
    /// proved that no instant has a higher exit.
    #[inline(always)]
    pub(super) fn exit<R: Real>(&self, ray: &Ray<R>, t: R, lo: R) -> (f64, bool) {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        // All of the turn is worked out from the start, so that what is compared differs by the turn alone.
        let ray = ray.wide();
        let now = ray.at(self, t.wide());
        let half_width = (wall * wall - now.xi * now.xi).sqrt();
        let side = if now.s >= 0.0 { half_width } else { -half_width };
        let by_wall = (side - now.y) / now.s - self.z;
        let by_top = (top + now.rise + self.z * now.v) / now.c();
        let is_wall = by_wall < by_top;
        let hi = if is_wall { by_wall } else { by_top };
        // The tangent plane at the exit: of the wall, its normal as long as the wall's radius, or of the top.
        let n = if is_wall { (now.xi, side, 0.0) } else { (0.0, 0.0, 1.0) };
        let offset = if is_wall { wall * wall } else { top };
        let is_on_part = {
            let (xi, u, w) = self.point(&now, hi);
            (w >= wall_from) & (is_wall | (xi * xi + u * u <= wall * wall))
        };
        let over = |at: &Now<f64>| {
            let (xi, u, w) = self.point(at, hi);
            n.0 * xi + n.1 * u + n.2 * w - offset
        };
        let leans = |at: &Now<f64>| n.1 * at.s + n.2 * at.c();
        let (first, last) = (ray.first(self), ray.at(self, 1.0));
        let over = least(over(&first), over(&last));
        let leans = least(leans(&first), leans(&last));
        (hi, (leans > 0.0) & (over >= -CERTAIN * leans) & is_on_part & (hi >= lo.wide()))
    }
}

#[inline(always)]
fn least(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// A share of the piece, whatever came out of a division.
#[inline(always)]
pub(super) fn share<R: Real>(t: R) -> R {
    let (start, end) = (R::of(0.0), R::of(1.0));
    let t = if t > start { t } else { start };
    if t < end { t } else { end }
}
