//! Which rays a piece of motion can touch at all: rows by the width of the cutter, columns by the angle under which
//! the rotary axis sees it.

use std::f64::consts::TAU;
use std::ops::Range;

use dryturn_geom::{ConvexPart, Primitive, angle};

use crate::grid::Grid;
use crate::kernel::{Aim, Piece};

/// Extremes of a piece: what every bound is made of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) x: (f64, f64),
    pub(crate) y: (f64, f64),
    pub(crate) z: (f64, f64),
    pub(crate) turn: (f64, f64),
}

fn ordered(start: f64, by: f64) -> (f64, f64) {
    (start.min(start + by), start.max(start + by))
}

impl Extent {
    pub(crate) fn of(piece: &Piece) -> Extent {
        Extent {
            x: ordered(piece.from.x, piece.by.x),
            y: ordered(piece.from.y, piece.by.y),
            z: ordered(piece.from.z, piece.by.z),
            turn: ordered(piece.from.turn, piece.by.turn),
        }
    }
}

/// Greatest radius of a part from its bottom up to a height over the tip, mm; `None` below the bottom.
///
/// A ball that only dips into the wood is much narrower there than higher up.
pub(crate) fn radius_below(part: &ConvexPart, height: f64) -> Option<f64> {
    part.primitives
        .iter()
        .filter_map(|primitive| match *primitive {
            Primitive::Cylinder { radius, from } => (height > from).then_some(radius),
            Primitive::Frustum { from, from_radius, to, to_radius } => (height > from).then(|| {
                let share = ((height - from) / (to - from)).min(1.0);
                from_radius.max(from_radius + (to_radius - from_radius) * share)
            }),
            Primitive::Sphere { radius, center } => bulge(radius, center, height),
            Primitive::RoundedDisc { disc, tube, center } => bulge(tube, center, height).map(|b| disc + b),
        })
        .reduce(f64::max)
}

fn bulge(radius: f64, center: f64, height: f64) -> Option<f64> {
    if height >= center {
        return Some(radius);
    }
    let below = center - height;
    (below < radius).then(|| (radius * radius - below * below).sqrt())
}

/// Rows whose station lies strictly between two stations, within the rows given.
pub(crate) fn rows_between(grid: &Grid, from: f64, to: f64, within: &Range<usize>) -> Range<usize> {
    let place = |station: f64| (station - grid.station_first) / grid.station_step;
    let first = (place(from) - 1e-9).ceil().max(0.0) as usize;
    let last = (place(to) + 1e-9).floor();
    let end = if last < 0.0 { 0 } else { last as usize + 1 };
    first.max(within.start)..end.min(within.end).max(first.max(within.start))
}

/// An arc of the blank, as its first angle θ and its width, radians; a width of a whole turn is everything.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sector {
    from: f64,
    width: f64,
}

/// A little more than rounding in an angle, radians.
const ANGLE_SLACK: f64 = 1e-9;

impl Sector {
    const WHOLE: Sector = Sector { from: 0.0, width: TAU };

    /// The angles θ that see some of the box |u| ≤ `half_width`, at or over the height `lowest` over the axis.
    pub(crate) fn seen(extent: &Extent, half_width: f64, lowest: f64) -> Sector {
        if lowest <= 0.0 {
            return Sector::WHOLE;
        }
        let sideways = |reach: f64| angle::atan2(reach, lowest);
        let from = sideways((-half_width - extent.y.1).min(0.0)) + extent.turn.0 - ANGLE_SLACK;
        let to = sideways((half_width - extent.y.0).max(0.0)) + extent.turn.1 + ANGLE_SLACK;
        Sector { from, width: (to - from).min(TAU) }
    }

    /// The columns of the sector, as up to two ranges within the columns given.
    pub(crate) fn columns(&self, grid: &Grid, within: &Range<usize>) -> [Range<usize>; 2] {
        let nothing = within.start..within.start;
        if self.width >= TAU - grid.angle_step {
            return [within.clone(), nothing];
        }
        let from = angle::wrapped(self.from);
        let first = (from / grid.angle_step).ceil() as usize;
        let end = ((from + self.width) / grid.angle_step).floor() as usize + 1;
        let clip = |range: Range<usize>| {
            let start = range.start.max(within.start);
            start..range.end.min(within.end).max(start)
        };
        let wrapped = end.saturating_sub(grid.angles);
        [clip(first..end.min(grid.angles)), clip(first.saturating_sub(grid.angles)..wrapped)]
    }
}

/// The greatest cosine of φ over a piece.
#[inline]
pub(crate) fn most_upright(aim: &Aim) -> f64 {
    let ((s0, c0), (s1, c1)) = (aim.start, aim.end);
    if s0 * s1 <= 0.0 && c0 > 0.0 { 1.0 } else { c0.max(c1) + 1e-12 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Pose, Stock};

    #[test]
    fn a_sector_wraps_round_the_turn() {
        let grid = Grid::over(&Stock::round(10.0, 10.0), 0.5);
        let all = 0..grid.angles;
        let sector = Sector { from: angle::radians(-10.0), width: angle::radians(20.0) };
        let [after, before] = sector.columns(&grid, &all);
        let count = after.len() + before.len();
        assert!((count as f64 - angle::radians(20.0) / grid.angle_step).abs() <= 1.0);
        assert_eq!(after.end, grid.angles);
        assert_eq!(before.start, 0);
    }

    #[test]
    fn every_ray_that_is_met_lies_in_the_sector() {
        let grid = Grid::over(&Stock::round(10.0, 10.0), 0.5);
        let from = Pose { x: 0.0, y: 1.5, z: 4.0, turn: 7.0 };
        let piece = Piece::new(&from, &Pose { y: 1.0, z: 5.0, turn: 7.01, ..from });
        let extent = Extent::of(&piece);
        let sector = Sector::seen(&extent, 3.0, 4.0);
        let [a, b] = sector.columns(&grid, &(0..grid.angles));
        for column in 0..grid.angles {
            let inside = a.contains(&column) || b.contains(&column);
            let ray = piece.ray(0.0, piece.aim(angle::sin_cos(grid.theta(column))));
            let met = (0..=10).any(|k| {
                let at = ray.at(f64::from(k) / 10.0);
                (1..=100).map(|m| 0.1 * f64::from(m)).any(|r| {
                    let [_, u, w] = at.point(r);
                    w >= 0.0 && u.abs() <= 3.0
                })
            });
            assert!(inside || !met, "column {column}");
        }
    }
}
