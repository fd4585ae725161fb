//! The cutter with what is above it, upright with its tip at the origin.

use dryturn_geom::angle;
use dryturn_render::live::Shape;
use dryturn_scene::{Cutter, Cylinder, Scene};

use super::corner;

/// Sides of what is round.
const SIDES: usize = 40;
/// Steps in which the profile of flutes is followed.
const STEPS: usize = 24;
/// How long a shank is shown where nobody says how far the cutter sticks out, mm.
const SHANK: f64 = 30.0;

/// The flutes, and the bodies above them.
pub(crate) fn tool(scene: &Scene, cutter: &Cutter) -> [Shape; 2] {
    let flutes = &cutter.flutes;
    let radius = |step: usize| {
        let height = flutes.length() * step as f64 / STEPS as f64;
        [height, flutes.radius_at(height.min(flutes.length() * (1.0 - 1e-9)))]
    };
    let profile: Vec<[f64; 2]> = (0..=STEPS).map(radius).collect();
    let mut above = Shape::default();
    let shank = cutter.shank_cylinders();
    let plain = [Cylinder { diameter: 1.6 * flutes.radius(), length: SHANK }];
    let shank = if shank.is_empty() { &plain[..] } else { &shank };
    let mut top = stack(&mut above, shank, flutes.length());
    if let Some(stickout) = cutter.stickout.filter(|_| !cutter.holder.is_empty()) {
        top = stack(&mut above, &cutter.holder, stickout);
        stack(&mut above, &scene.machine.spindle, top);
    }
    let _ = top;
    [turned(&profile), above]
}

/// Cylinders one above the other; gives the height of the last one's top.
fn stack(shape: &mut Shape, cylinders: &[Cylinder], mut foot: f64) -> f64 {
    for cylinder in cylinders {
        let radius = 0.5 * cylinder.diameter;
        let body = turned(&[[foot, radius], [foot + cylinder.length, radius]]);
        super::add(shape, body);
        foot += cylinder.length;
    }
    foot
}

/// A body turned about the upright, from its heights and radii; closed at both ends.
fn turned(profile: &[[f64; 2]]) -> Shape {
    let mut shape = Shape::default();
    let (Some(first), Some(last)) = (profile.first(), profile.last()) else { return shape };
    let ends = [[first[0], 0.0], *first, *last, [last[0], 0.0]];
    let pairs = profile.windows(2).map(|pair| [pair[0], pair[1]]);
    for [low, high] in pairs.chain([[ends[0], ends[1]], [ends[2], ends[3]]]) {
        band(&mut shape, low, high);
    }
    shape
}

/// The side between two circles, given by height and radius.
fn band(shape: &mut Shape, low: [f64; 2], high: [f64; 2]) {
    let slope = [high[0] - low[0], low[1] - high[1]];
    let base = shape.corners.len() as u32;
    for side in 0..=SIDES {
        let (sine, cosine) = angle::sin_cos(std::f64::consts::TAU * side as f64 / SIDES as f64);
        for [height, radius] in [low, high] {
            let normal = [slope[0] * cosine, slope[0] * sine, slope[1]];
            shape.corners.push(corner([radius * cosine, radius * sine, height], normal, [0, 0, 0, 255]));
        }
    }
    for side in 0..SIDES as u32 {
        let [a, b, c, d] = [0, 1, 2, 3].map(|it| base + 2 * side + it);
        shape.indices.extend([a, c, b, b, c, d]);
    }
}

/// A vector across a triangle, out of the side from which it goes counterclockwise.
pub(super) fn normal_of(a: [f64; 3], b: [f64; 3], c: [f64; 3]) -> [f64; 3] {
    let [u, v] = [b, c].map(|it| [it[0] - a[0], it[1] - a[1], it[2] - a[2]]);
    [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
}
