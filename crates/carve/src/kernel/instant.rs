//! A piece of motion, a ray, and how the one sees the other at an instant.

use dryturn_geom::{Pose, angle};

/// A straight move that turns the blank by at most [`super::LARGEST_TURN`], or not at all.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) from: Pose,
    /// Change of station, y, z (mm) and turn (rad) over the piece.
    pub(crate) by: Pose,
    /// Sine and cosine of the turn at the start, and of its change.
    pub(crate) start: (f64, f64),
    pub(crate) change: (f64, f64),
    /// Length of the tip's way, mm.
    pub(crate) way: f64,
}

impl Piece {
    pub(crate) fn new(from: &Pose, to: &Pose) -> Piece {
        let by = Pose { x: to.x - from.x, y: to.y - from.y, z: to.z - from.z, turn: to.turn - from.turn };
        let way = (by.x * by.x + by.y * by.y + by.z * by.z).sqrt();
        Piece { from: *from, by, start: angle::sin_cos(from.turn), change: small_sin_cos(by.turn), way }
    }

    /// Where it ends.
    pub(crate) fn to(&self) -> Pose {
        let (from, by) = (&self.from, &self.by);
        Pose { x: from.x + by.x, y: from.y + by.y, z: from.z + by.z, turn: from.turn + by.turn }
    }

    /// The part of the piece between two shares of it.
    pub(crate) fn part(&self, from: f64, to: f64) -> Piece {
        let at = |t: f64| Pose {
            x: self.from.x + self.by.x * t,
            y: self.from.y + self.by.y * t,
            z: self.from.z + self.by.z * t,
            turn: self.from.turn + self.by.turn * t,
        };
        Piece::new(&at(from), &at(to))
    }

    /// How the rays whose angle has the given sine and cosine stand at the two ends of the piece.
    #[inline(always)]
    pub(crate) fn aim(&self, direction: (f64, f64)) -> Aim {
        let back = |(s, c): (f64, f64), (sine, cosine): (f64, f64)| (s * cosine - c * sine, c * cosine + s * sine);
        let start = back(direction, self.start);
        Aim { start, end: back(start, self.change) }
    }

    /// The ray at a station, aimed by [`Piece::aim`].
    #[inline]
    pub(crate) fn ray(&self, station: f64, aim: Aim) -> RayAt<'_> {
        RayAt { piece: self, xi: station - self.from.x, aim }
    }
}

/// One ray under one piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RayAt<'a> {
    pub(crate) piece: &'a Piece,
    /// ξ at the start.
    pub(crate) xi: f64,
    pub(crate) aim: Aim,
}

/// (sin φ, cos φ) of a ray at the two ends of a piece; the same for all rays of one angle.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Aim {
    pub(crate) start: (f64, f64),
    pub(crate) end: (f64, f64),
}

/// The ray at one instant.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Instant {
    pub(crate) t: f64,
    pub(crate) xi: f64,
    pub(crate) y: f64,
    pub(crate) z: f64,
    pub(crate) s: f64,
    pub(crate) c: f64,
}

/// A direction or a point in the cutter's frame (ξ, u, w).
pub(crate) type Vector = [f64; 3];

#[inline]
pub(crate) fn dot(a: &Vector, b: &Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl RayAt<'_> {
    /// The ray at the share `t` of the piece.
    #[inline]
    pub(crate) fn at(&self, t: f64) -> Instant {
        let p = self.piece;
        let (s, c) = if t == 0.0 || p.by.turn == 0.0 {
            self.aim.start
        } else if t == 1.0 {
            self.aim.end
        } else {
            turned(self.aim.start, -p.by.turn * t)
        };
        Instant { t, xi: self.xi - p.by.x * t, y: p.from.y + p.by.y * t, z: p.from.z + p.by.z * t, s, c }
    }

    /// Most the path of the ray's point at radius `r` leaves a straight line between two instants `span` apart, mm.
    #[inline]
    pub(crate) fn sagitta(&self, r: f64, span: f64) -> f64 {
        let turn = self.piece.by.turn * span;
        0.125 * r * turn * turn
    }

    /// A bound on how far the ray's points up to the radius `r` move over the share `span` of the piece, mm.
    #[inline]
    pub(crate) fn travel(&self, r: f64, span: f64) -> f64 {
        (self.piece.way + r * self.piece.by.turn.abs()) * span
    }

    /// Velocity of P for a fixed r, mm a piece.
    #[inline]
    pub(crate) fn velocity(&self, now: &Instant, r: f64) -> Vector {
        let p = self.piece;
        let spin = -p.by.turn;
        [-p.by.x, p.by.y + r * now.c * spin, -p.by.z - r * now.s * spin]
    }
}

impl Instant {
    /// The ray's point at radius `r`.
    #[inline]
    pub(crate) fn point(&self, r: f64) -> Vector {
        [self.xi, self.y + r * self.s, r * self.c - self.z]
    }

    /// Rate at which n · P grows with r.
    #[inline]
    pub(crate) fn along(&self, n: &Vector) -> f64 {
        n[1] * self.s + n[2] * self.c
    }
}

/// (sin, cos) of an angle that has been turned on by a small one.
#[inline]
fn turned((s, c): (f64, f64), by: f64) -> (f64, f64) {
    let (sine, cosine) = small_sin_cos(by);
    (s * cosine + c * sine, c * cosine - s * sine)
}

/// Sine and cosine of an angle of at most a few degrees, by series; the first terms left out are under 1e-17 at 1°.
#[inline(always)]
pub(super) fn small_sin_cos(a: f64) -> (f64, f64) {
    let q = a * a;
    let sine = a * (1.0 - q * (1.0 / 6.0 - q * (1.0 / 120.0 - q * (1.0 / 5040.0))));
    let cosine = 1.0 - q * (0.5 - q * (1.0 / 24.0 - q * (1.0 / 720.0 - q * (1.0 / 40320.0))));
    (sine, cosine)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_agree_with_the_library() {
        for k in -100..=100 {
            let a = f64::from(k) * 2e-4;
            let (s, c) = small_sin_cos(a);
            let (sine, cosine) = angle::sin_cos(a);
            assert!((s - sine).abs() < 1e-16 && (c - cosine).abs() < 2e-16, "{a}");
        }
    }

    #[test]
    fn velocities_are_the_derivatives_of_points() {
        let from = Pose { x: 1.0, y: 2.0, z: 20.0, turn: 0.3 };
        let to = Pose { x: 1.5, y: 1.0, z: 21.0, turn: 0.315 };
        let piece = Piece::new(&from, &to);
        let ray = piece.ray(2.0, piece.aim(angle::sin_cos(0.5)));
        let (a, b, now) = (ray.at(0.5 - 1e-4), ray.at(0.5 + 1e-4), ray.at(0.5));
        let velocity = ray.velocity(&now, 22.0);
        for (k, rate) in velocity.into_iter().enumerate() {
            let slope = (b.point(22.0)[k] - a.point(22.0)[k]) / 2e-4;
            assert!((slope - rate).abs() < 1e-6);
        }
    }
}
