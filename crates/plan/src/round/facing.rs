//! Faces: the blank at rest under the cutter.
//!
//! Each level begins with two cuts across the grain, one at either end, which part the fibres before the rows along the
//! grain come up to them. The cutter goes down outside of the wood only.

use std::f64::consts::TAU;

use dryturn_geom::angle;

use super::plan::Passes;
use crate::path::{Path, Place};

/// How far outside the wood the cutter goes down and turns about, mm.
const OUTSIDE: f64 = 1.0;

/// Cuts one face, level by level, with the angle `a` (degrees) on top; ends at the safe height.
pub(super) fn cut(path: &mut Path, passes: &Passes, a: f64) {
    for &height in &passes.heights {
        level(path, passes, a, height);
        path.lift(passes.safe);
    }
}

fn level(path: &mut Path, passes: &Passes, a: f64, z: f64) {
    let [near, far] = passes.ends;
    let half = half_width(passes.swept, z);
    let outside = half + passes.tool.radius + OUTSIDE;
    path.rapid(Place { x: near, y: -outside, z: passes.safe, a });
    let mut to = |x: f64, y: f64| path.feed(Place { x, y, z, a }, 0.0);
    to(near, -outside);
    to(near, outside);
    to(far, outside);
    to(far, -outside);
    let mut ends = [near, far];
    for y in rows(half, passes) {
        to(ends[1], y);
        to(ends[0], y);
        ends.swap(0, 1);
    }
}

/// Half the width of the wood at a height, mm.
pub(super) fn half_width(swept: f64, height: f64) -> f64 {
    (swept * swept - height * height).max(0.0).sqrt()
}

/// Where rows must run so that the flat under the cutter passes over all of a width, mm.
fn rows(half: f64, passes: &Passes) -> impl Iterator<Item = f64> {
    let first = -half - passes.tool.flat;
    let count = (2.0 * half / passes.advance - 1e-9).ceil().max(1.0);
    (1..=count as usize).map(move |row| first + 2.0 * half * row as f64 / count)
}

/// How far a ray at θ lies aside from the middle of its face, the first face being at angle 0; radians.
pub(super) fn aside(faces: u32, theta: f64) -> f64 {
    let step = TAU / f64::from(faces);
    angle::signed(theta - (theta / step).round() * step)
}

#[cfg(test)]
mod tests {
    use super::super::request::Tool;
    use super::*;

    #[test]
    fn rows_pass_over_all_of_a_face() {
        for (half, advance, flat) in [(14.0, 3.0, 3.0), (0.5, 5.0, 6.0), (30.0, 7.99, 4.0)] {
            let passes = Passes { advance, tool: Tool { radius: flat + 1.0, flat, flute: 20.0 }, ..Passes::default() };
            let rows: Vec<f64> = rows(half, &passes).collect();
            assert!(rows.windows(2).all(|pair| pair[1] - pair[0] <= advance + 1e-9));
            assert!(rows[0] - flat <= -half && (rows[rows.len() - 1] + flat - half).abs() < 1e-9);
        }
    }

    #[test]
    fn rays_lie_aside_from_their_own_face() {
        for (theta, degrees) in [(0.0, 0.0), (44.0, 44.0), (46.0, -44.0), (359.0, -1.0), (180.0, 0.0)] {
            assert!((aside(4, angle::radians(theta)) - angle::radians(degrees)).abs() < 1e-12);
        }
    }
}
