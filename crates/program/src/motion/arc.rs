//! Circles from their two written forms (NISTIR 6556 section 3.5.3), in one plane.

use std::f64::consts::{PI, TAU};

use dryturn_geom::angle;

use crate::program::{Arc, Plane};

/// Two points nearer than this are the same, mm: sums of decimal words differ by less.
const SAME: f64 = 1e-6;

/// A difference of radii, or of a chord and its circle, that no controller takes, mm.
const NEVER: f64 = 0.5;

/// The ends of an arc in its plane, first and second axis, mm, and its turn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ends {
    pub(super) plane: Plane,
    pub(super) start: [f64; 2],
    pub(super) end: [f64; 2],
    pub(super) clockwise: bool,
    /// Accepted difference of radii, mm.
    pub(super) slack: f64,
}

/// An arc by its centre.
pub(super) fn by_center(ends: Ends, offset: [f64; 2]) -> Result<Arc, String> {
    let center = [ends.start[0] + offset[0], ends.start[1] + offset[1]];
    let to_start = minus(ends.start, center);
    let to_end = minus(ends.end, center);
    let (radius, end_radius) = (length(to_start), length(to_end));
    if radius < SAME {
        return Err("the arc's centre is its start: the radius is zero".to_owned());
    }
    if !within_slack((end_radius - radius).abs(), radius, ends.slack) {
        return Err(format!("the arc starts {radius:.4} mm from its centre and ends {end_radius:.4} mm from it"));
    }
    let sweep =
        if length(minus(ends.end, ends.start)) < SAME { TAU } else { turn_between(to_start, to_end, ends.clockwise) };
    Ok(Arc {
        plane: ends.plane,
        center,
        from: angle::atan2(to_start[1], to_start[0]),
        sweep: if ends.clockwise { -sweep } else { sweep },
        radius,
    })
}

/// An arc by its radius: negative for the longer way round.
pub(super) fn by_radius(ends: Ends, radius: f64) -> Result<Arc, String> {
    let chord = minus(ends.end, ends.start);
    let distance = length(chord);
    if distance < SAME {
        return Err("an arc given by its radius cannot end where it starts".to_owned());
    }
    let half = distance / 2.0;
    let size = radius.abs();
    if size < half && !within_slack(half - size, size, ends.slack) {
        return Err(format!("the end is {distance:.4} mm away, further than twice the radius of {size:.4} mm"));
    }
    let size = size.max(half);
    let height = (size * size - half * half).max(0.0).sqrt();
    let short_sweep = 2.0 * angle::atan2(half, height);
    let sweep = if radius < 0.0 { TAU - short_sweep } else { short_sweep };
    // The centre lies to the right of the way for a short clockwise arc or a long counter-clockwise one.
    let right = ends.clockwise == (radius > 0.0);
    let side = if right { height } else { -height };
    let along = [chord[0] / distance, chord[1] / distance];
    let center = [ends.start[0] + chord[0] / 2.0 + side * along[1], ends.start[1] + chord[1] / 2.0 - side * along[0]];
    let to_start = minus(ends.start, center);
    Ok(Arc {
        plane: ends.plane,
        center,
        from: angle::atan2(to_start[1], to_start[0]),
        sweep: if ends.clockwise { -sweep } else { sweep },
        radius: size,
    })
}

fn within_slack(difference: f64, radius: f64, slack: f64) -> bool {
    difference <= NEVER && (difference <= slack || difference <= radius / 1000.0)
}

/// Angle from one direction to another in the sense given, over 0 and up to a full turn.
fn turn_between(one: [f64; 2], other: [f64; 2], clockwise: bool) -> f64 {
    let cross = one[0] * other[1] - one[1] * other[0];
    let dot = one[0] * other[0] + one[1] * other[1];
    let counter_clockwise = angle::atan2(cross, dot);
    let angle = if clockwise { -counter_clockwise } else { counter_clockwise };
    debug_assert!((-PI..=PI).contains(&angle));
    if angle > 0.0 { angle } else { angle + TAU }
}

fn minus(one: [f64; 2], other: [f64; 2]) -> [f64; 2] {
    [one[0] - other[0], one[1] - other[1]]
}

fn length(vector: [f64; 2]) -> f64 {
    angle::hypot(vector[0], vector[1])
}
