//! The radii at which a column is cut in two.
//!
//! A wall between two rays shows on neither of them: the surface leaves the one at its foot and reaches the other at
//! its top. A level half way up makes it cross the strip in between, where its place can be found. Of all the radii in
//! the middle half of such a way the level takes the coarsest binary fraction, so that neighbours mostly take the same
//! one.

use crate::rays::Rays;
use crate::skin::Skin;
use crate::strip::{Knot, Segment, Strip};
use crate::wood::Wood;

/// The levels of a column, ascending.
pub(crate) type Levels = Vec<f64>;

/// Ways between two ends of one ray that are longer than this are cut, mm.
const SAME_RAY: f64 = 0.02;
/// Ways between ends of two rays may be cut from this share of the pitch on.
pub(crate) const STEEP: f64 = 0.35;
/// Share of a way by which its two slopes may miss each other's ends on a surface without an edge.
const MISS: f64 = 0.25;

/// The levels of the column between two rows and two columns; ways of more than `most` mm are cut again.
pub(crate) fn levels(rays: &Rays, skin: &Skin<'_, impl Wood>, row: usize, column: usize, most: f64) -> Levels {
    let mut levels = Levels::new();
    let next = rays.after(column);
    let strips = [
        [(row, column), (row + 1, column)],
        [(row, next), (row + 1, next)],
        [(row, column), (row, next)],
        [(row + 1, column), (row + 1, next)],
    ];
    for [near, far] in strips {
        let strip = Strip { near: rays.ends(near.0, near.1), far: rays.ends(far.0, far.1) };
        strip.segments(&[], |segment| {
            if asks(rays, skin, near, far, &segment) {
                cut(&mut levels, segment.from, segment.to, most);
            }
        });
    }
    levels
}

/// Whether a way over a strip is to be cut.
fn asks(rays: &Rays, skin: &Skin<'_, impl Wood>, near: (usize, usize), far: (usize, usize), segment: &Segment) -> bool {
    let gap = segment.to - segment.from;
    let (lower, upper) = match (segment.lower, segment.upper) {
        (Knot::Near(one), Knot::Far(other)) => ((near, one), (far, other)),
        (Knot::Far(one), Knot::Near(other)) => ((far, one), (near, other)),
        _ => return gap > SAME_RAY,
    };
    let least = STEEP * rays.pitch();
    if gap <= least {
        return false;
    }
    if gap > rays.pitch() {
        return true;
    }
    let [foot, top] = [lower, upper].map(|((row, column), number)| skin.sample(row, column, number as usize));
    // Over the strip, from the lower end to the upper one, with the outward direction half way between.
    let across = top.point - foot.point;
    let outward = (rays.direction(near.1) + rays.direction(far.1)).normalize_or_zero();
    let level = across - outward * across.dot(outward);
    let width = level.length();
    let slope = |normal: glam::DVec3| -normal.dot(level) / width / normal.dot(outward);
    let rises = [slope(foot.normal) * width, slope(top.normal) * width];
    let rise = across.dot(outward);
    // The foot's tangent reaches the top's after this share of the way.
    let meet = (rise - rises[1]) / (rises[0] - rises[1]);
    let is_crease = meet > 0.0 && meet < 1.0;
    let most = MISS * least.max(0.1 * gap);
    let is_smooth = rises.iter().all(|it| (it - rise).abs() <= most);
    !is_crease && !is_smooth
}

/// Cuts a way into parts that are no longer than the most, mm.
fn cut(levels: &mut Levels, from: f64, to: f64, most: f64) {
    let gap = to - from;
    let is_central = |level: &&f64| **level > from + 0.2 * gap && **level < to - 0.2 * gap;
    let level = levels.iter().find(is_central).copied().unwrap_or_else(|| {
        let level = coarsest(from + 0.25 * gap, to - 0.25 * gap);
        let place = levels.partition_point(|it| *it < level);
        levels.insert(place, level);
        level
    });
    for (from, to) in [(from, level), (level, to)] {
        if to - from > most {
            cut(levels, from, to, most);
        }
    }
}

/// The coarsest binary fraction above nothing between two numbers.
fn coarsest(from: f64, to: f64) -> f64 {
    let mut step = 4096.0;
    loop {
        let candidate = (from / step).ceil().max(1.0) * step;
        if candidate <= to {
            return candidate;
        }
        step *= 0.5;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_coarsest_fraction_lies_between() {
        assert_eq!(coarsest(5.0, 15.0), 8.0);
        assert_eq!(coarsest(3.1, 3.9), 3.5);
        assert_eq!(coarsest(0.0, 0.3), 0.25);
        assert_eq!(coarsest(20.03, 20.04), 20.03125);
    }

    #[test]
    fn a_way_is_cut_until_no_part_is_longer_than_the_most() {
        let mut levels = Levels::new();
        cut(&mut levels, 0.0, 20.0, 0.25);
        let all: Vec<f64> = std::iter::once(0.0).chain(levels.iter().copied()).chain([20.0]).collect();
        assert!(all.windows(2).all(|pair| pair[1] > pair[0] && pair[1] - pair[0] <= 0.25));
        assert!(levels.len() < 200);
    }
}
