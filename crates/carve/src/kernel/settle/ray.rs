//! A ray of a batch at an instant, and where it leaves a part of the cutter.

use super::super::instant::small_sin_cos;
use super::{CERTAIN, Contact, Underside};

#[derive(Clone, Copy)]
pub(super) struct Ray {
    pub(super) xi: f64,
    pub(super) outer: f64,
    pub(super) start: (f64, f64),
    pub(super) end: (f64, f64),
}

/// The ray at an instant; z is the height of the tip.
#[derive(Clone, Copy)]
pub(super) struct Now {
    pub(super) xi: f64,
    pub(super) y: f64,
    pub(super) z: f64,
    pub(super) s: f64,
    pub(super) c: f64,
}

impl Now {
    /// This instant if it is chosen, the other if not.
    #[inline(always)]
    pub(super) fn or(&self, other: &Now, is_chosen: bool) -> Now {
        let choose = |a: f64, b: f64| if is_chosen { a } else { b };
        Now {
            xi: choose(self.xi, other.xi),
            y: choose(self.y, other.y),
            z: choose(self.z, other.z),
            s: choose(self.s, other.s),
            c: choose(self.c, other.c),
        }
    }

    /// The ray's point at a radius, as the cutter sees it.
    #[inline(always)]
    pub(super) fn point(&self, r: f64) -> (f64, f64, f64) {
        (self.xi, self.y + r * self.s, r * self.c - self.z)
    }
}

impl Ray {
    /// At the start of the piece.
    #[inline(always)]
    pub(super) fn first(&self, contact: &Contact<'_>) -> Now {
        Now { xi: self.xi, y: contact.y, z: contact.z, s: self.start.0, c: self.start.1 }
    }

    /// At its end.
    #[inline(always)]
    pub(super) fn last(&self, contact: &Contact<'_>) -> Now {
        Now {
            xi: self.xi - contact.x_by,
            y: contact.y + contact.y_by,
            z: contact.z + contact.z_by,
            s: self.end.0,
            c: self.end.1,
        }
    }

    #[inline(always)]
    pub(super) fn at(&self, contact: &Contact<'_>, t: f64) -> Now {
        let (sine, cosine) = small_sin_cos(-contact.turn_by * t);
        Now {
            xi: self.xi - contact.x_by * t,
            y: contact.y + contact.y_by * t,
            z: contact.z + contact.z_by * t,
            s: self.start.0 * cosine + self.start.1 * sine,
            c: self.start.1 * cosine - self.start.0 * sine,
        }
    }
}

impl Contact<'_> {
    /// Whether the wall of the part, from where it begins up to its top, holds the ray's point at a radius.
    #[inline(always)]
    pub(super) fn wall_holds(&self, now: &Now, r: f64) -> bool {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        let (xi, u, w) = now.point(r);
        (xi * xi + u * u <= wall * wall) & (w >= wall_from) & (w <= top)
    }

    /// Where the ray leaves the part that it has entered at `lo`, by its wall or its top; and whether it is proved that no
    /// instant has a higher exit.
    #[inline(always)]
    pub(super) fn exit(&self, ray: &Ray, now: &Now, lo: f64) -> (f64, bool) {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        let half_width = (wall * wall - now.xi * now.xi).sqrt();
        let side = if now.s >= 0.0 { half_width } else { -half_width };
        let (by_wall, by_top) = ((side - now.y) / now.s, (top + now.z) / now.c);
        let is_wall = by_wall < by_top;
        let hi = if is_wall { by_wall } else { by_top };
        // The tangent plane at the exit: of the wall, its normal as long as the wall's radius, or of the top.
        let n = if is_wall { (now.xi, side, 0.0) } else { (0.0, 0.0, 1.0) };
        let offset = if is_wall { wall * wall } else { top };
        let is_on_part = {
            let (xi, u, w) = now.point(hi);
            (w >= wall_from) & (is_wall | (xi * xi + u * u <= wall * wall))
        };
        let over = |at: &Now| {
            let (xi, u, w) = at.point(hi);
            n.0 * xi + n.1 * u + n.2 * w - offset
        };
        let leans = |at: &Now| n.1 * at.s + n.2 * at.c;
        let (first, last) = (ray.first(self), ray.last(self));
        let over = least(over(&first), over(&last));
        let leans = least(leans(&first), leans(&last));
        (hi, (leans > 0.0) & (over >= -CERTAIN * leans) & is_on_part & (hi >= lo))
    }
}

#[inline(always)]
fn least(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// A share of the piece, whatever came out of a division.
#[inline(always)]
pub(super) fn share(t: f64) -> f64 {
    let t = if t > 0.0 { t } else { 0.0 };
    if t < 1.0 { t } else { 1.0 }
}
