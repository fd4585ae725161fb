//! An upright column against a bar along x over a turned rectangle.

use super::{Column, Gap, gap};
use crate::contact::convex::root;
use crate::contact::solid::length;

/// A rectangle in the plane across the axis; coordinates are (y, z), mm.
pub(super) struct Rectangle {
    pub(super) center: [f64; 2],
    pub(super) along: [f64; 2],
    pub(super) half: [f64; 2],
}

/// Least distance of `column` from the bar over the stations `x`.
///
/// The cost of a point of the rectangle, (√(gx² + gy²) − r)₊² + gz² with its gaps to the column, is convex and least at
/// the column's own middle. If that lies outside the rectangle, the least is on an edge that faces it.
pub(super) fn distance(column: &Column, x: [f64; 2], rectangle: &Rectangle) -> Gap {
    let (gx, station) = gap(column.x, x);
    let middle = [0.5 * (column.y[0] + column.y[1]), 0.5 * (column.z[0] + column.z[1])];
    let offset = [middle[0] - rectangle.center[0], middle[1] - rectangle.center[1]];
    let across = [-rectangle.along[1], rectangle.along[0]];
    let out = offset[0] * rectangle.along[0] + offset[1] * rectangle.along[1];
    let aside = offset[0] * across[0] + offset[1] * across[1];
    let mut best: Option<Gap> = None;
    let sides = [(out, aside, rectangle.along, across, 0), (aside, out, across, rectangle.along, 1)];
    for (coordinate, start, normal, edge, own) in sides {
        if coordinate.abs() <= rectangle.half[own] {
            continue;
        }
        let far = rectangle.half[own] * coordinate.signum();
        let foot = [rectangle.center[0] + far * normal[0], rectangle.center[1] + far * normal[1]];
        let found = on_edge(column, (gx, station), foot, edge, (rectangle.half[1 - own], start));
        if best.is_none_or(|least| found.distance < least.distance) {
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| Gap::from_gaps([gx, 0.0, 0.0], column.radius, [station, middle[0], middle[1]]))
}

/// Least distance of the column from the edge through `foot` along the unit vector `edge`, `half` long to either side; the
/// column's middle stands over `start`.
fn on_edge(
    column: &Column,
    (gx, station): (f64, f64),
    foot: [f64; 2],
    edge: [f64; 2],
    (half, start): (f64, f64),
) -> Gap {
    let point = |u: f64| [foot[0] + u * edge[0], foot[1] + u * edge[1]];
    let gaps = |u: f64| {
        let [y, z] = point(u);
        (gap(column.y, [y; 2]).0, gap(column.z, [z; 2]).0)
    };
    // Half the slope of the squared distance, and its own slope.
    let slope = |u: f64| {
        let (gy, gz) = gaps(u);
        let level = length(gx, gy);
        let mut value = (gz * edge[1], if gz == 0.0 { 0.0 } else { edge[1] * edge[1] });
        if gy != 0.0 && level > column.radius {
            value.0 += (1.0 - column.radius / level) * gy * edge[0];
            value.1 += (1.0 - column.radius * gx * gx / (level * level * level)) * edge[0] * edge[0];
        }
        value
    };
    let u = if slope(-half).0 >= 0.0 {
        -half
    } else if slope(half).0 <= 0.0 {
        half
    } else {
        root([-half, half], start.clamp(-half, half), slope)
    };
    let ((gy, gz), [y, z]) = (gaps(u), point(u));
    Gap::from_gaps([gx, gy, gz], column.radius, [station, y, z])
}
