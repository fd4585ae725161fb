//! Places by station, angle and radius, and the same as points.

use dryturn_geom::angle;
use glam::DVec3;

/// A place in the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    /// Station, mm.
    pub(crate) station: f64,
    /// Angle θ, radians.
    pub(crate) theta: f64,
    /// Distance from the rotary axis, mm.
    pub(crate) radius: f64,
}

impl Place {
    /// The place of a point of the blank frame with the ray θ = 0 upright.
    pub(crate) fn of(point: DVec3) -> Place {
        Place { station: point.x, theta: angle::atan2(-point.y, point.z), radius: angle::hypot(point.y, point.z) }
    }

    /// The point.
    pub(crate) fn point(&self) -> DVec3 {
        DVec3::X * self.station + outward(self.theta) * self.radius
    }
}

/// The direction of a ray.
pub(crate) fn outward(theta: f64) -> DVec3 {
    let (sine, cosine) = angle::sin_cos(theta);
    DVec3::new(0.0, -sine, cosine)
}

/// The direction in which θ grows, across a ray.
pub(crate) fn around(theta: f64) -> DVec3 {
    let (sine, cosine) = angle::sin_cos(theta);
    DVec3::new(0.0, -cosine, -sine)
}
