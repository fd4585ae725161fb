//! An upright disc or column against a cylinder along x.

use super::{Column, Gap, gap};
use crate::contact::convex::root;
use crate::contact::solid::length;

/// Least distance of `column` from the cylinder over the stations `x` about `axis` (y, z).
///
/// A point of the cylinder is told by w, how far it lies from the axis toward the column, and has the height
/// √(radius² − w²) toward it. The squared distance is
///
/// ```text
/// (√(gx² + (yc − w)₊²) − r)₊² + (zc − √(radius² − w²))₊²
/// ```
///
/// with gx, yc, zc the column's gaps to the stations and to the axis. It falls until the upright gap opens, rises
/// once the level one has closed, and is convex between.
pub(super) fn distance(column: &Column, x: [f64; 2], axis: [f64; 2], radius: f64) -> Gap {
    let (gx, station) = gap(column.x, x);
    let (y_signed, y_mid) = gap(column.y, [axis[0]; 2]);
    let (z_signed, z_mid) = gap(column.z, [axis[1]; 2]);
    // From the axis toward the column.
    let (y_sign, z_sign) = (-y_signed.signum(), -z_signed.signum());
    let (yc, zc) = (y_signed.abs(), z_signed.abs());
    let w = nearest(gx.abs(), yc, zc, column.radius, radius);
    let s = (radius * radius - w * w).max(0.0).sqrt().min(zc);
    let gaps = [gx, -y_sign * (yc - w).max(0.0), -z_sign * (zc - s).max(0.0)];
    let point_y = if yc > 0.0 { axis[0] + y_sign * w.min(yc) } else { y_mid };
    let point_z = if zc > 0.0 { axis[1] + z_sign * s } else { z_mid };
    Gap::from_gaps(gaps, column.radius, [station, point_y, point_z])
}

/// The offset w of the nearest point; all lengths at or above zero.
fn nearest(gx: f64, yc: f64, zc: f64, r: f64, radius: f64) -> f64 {
    if zc == 0.0 {
        return yc.min(radius);
    }
    if gx == 0.0 {
        // In the plane of the column's own section: straight from its edge to the axis.
        let out = (yc - r).max(0.0);
        return out * radius / length(out, zc).max(radius);
    }
    let low = if zc < radius { (radius * radius - zc * zc).sqrt() } else { 0.0 };
    let closed = if gx < r { yc - (r * r - gx * gx).sqrt() } else { yc };
    let high = closed.clamp(0.0, radius);
    if high <= low {
        return low;
    }
    // Half the slope of the squared distance, and its own slope.
    let slope = |w: f64| {
        let (h, s) = (length(gx, yc - w), (radius * radius - w * w).sqrt());
        let value = -(1.0 - r / h) * (yc - w) + (zc / s - 1.0) * w;
        (value, zc * radius * radius / (s * s * s) - r * gx * gx / (h * h * h))
    };
    root([low, high], 0.5 * (low + high), slope)
}
