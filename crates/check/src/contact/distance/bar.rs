//! An upright column against a bar along x over a turned rectangle.

use super::{Column, Gap, gap};
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
    let sides = [(out, rectangle.along, across, 0, 1), (aside, across, rectangle.along, 1, 0)];
    for (coordinate, normal, edge, own, other) in sides {
        if coordinate.abs() <= rectangle.half[own] {
            continue;
        }
        let far = rectangle.half[own] * coordinate.signum();
        let foot = [rectangle.center[0] + far * normal[0], rectangle.center[1] + far * normal[1]];
        let found = on_edge(column, (gx, station), foot, edge, rectangle.half[other]);
        if best.is_none_or(|least| found.distance < least.distance) {
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| Gap::from_gaps([gx, 0.0, 0.0], column.radius, [station, middle[0], middle[1]]))
}

/// Least distance of the column from the edge through `foot` along the unit vector `edge`, `half` long to either side.
fn on_edge(column: &Column, (gx, station): (f64, f64), foot: [f64; 2], edge: [f64; 2], half: f64) -> Gap {
    let point = |u: f64| [foot[0] + u * edge[0], foot[1] + u * edge[1]];
    let gaps = |u: f64| {
        let [y, z] = point(u);
        (gap(column.y, [y; 2]).0, gap(column.z, [z; 2]).0)
    };
    // Half the slope of the squared distance.
    let slope = |u: f64| {
        let (gy, gz) = gaps(u);
        let level = length(gx, gy);
        let left = if level > column.radius { 1.0 - column.radius / level } else { 0.0 };
        left * gy * edge[0] + gz * edge[1]
    };
    let u = crate::contact::convex::valley([-half, half], |u| Some(slope(u)));
    let ((gy, gz), [y, z]) = (gaps(u), point(u));
    Gap::from_gaps([gx, gy, gz], column.radius, [station, y, z])
}
