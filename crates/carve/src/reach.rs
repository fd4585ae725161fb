//! Which rays a piece of motion can touch at all: rows by the width of the cutter, columns by the angle under which
//! the rotary axis sees it.

use std::f64::consts::TAU;
use std::ops::Range;

use dryturn_geom::{ConvexPart, Motion, Pose, Primitive, angle};

use crate::grid::Grid;
use crate::kernel::{Aim, Piece};

/// The least range that holds two.
pub(crate) fn hull(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// Extremes of a piece: what every bound is made of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) x: (f64, f64),
    pub(crate) y: (f64, f64),
    pub(crate) z: (f64, f64),
    pub(crate) turn: (f64, f64),
}

impl Extent {
    /// Of the straight way between two poses.
    pub(crate) fn between(a: &Pose, b: &Pose) -> Extent {
        let ordered = |a: f64, b: f64| (a.min(b), a.max(b));
        Extent { x: ordered(a.x, b.x), y: ordered(a.y, b.y), z: ordered(a.z, b.z), turn: ordered(a.turn, b.turn) }
    }

    /// Of both together.
    pub(crate) fn join(&self, other: &Extent) -> Extent {
        let (x, y, z) = (hull(self.x, other.x), hull(self.y, other.y), hull(self.z, other.z));
        Extent { x, y, z, turn: hull(self.turn, other.turn) }
    }

    pub(crate) fn of_piece(piece: &Piece) -> Extent {
        Extent::between(&piece.from, &piece.to())
    }

    pub(crate) fn of_motion(motion: &Motion) -> Extent {
        if motion.arc.is_none() {
            return Extent::between(&motion.from, &motion.to);
        }
        let (low, high) = motion.bounds();
        Extent::between(&low, &high)
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

/// The greatest whole number that is not greater, without the call that older processors need for it.
#[inline]
fn floor(value: f64) -> i64 {
    let whole = value as i64;
    whole - i64::from(whole as f64 > value)
}

/// Rows whose station lies strictly between two stations, within the rows given.
pub(crate) fn rows_between(grid: &Grid, from: f64, to: f64, within: &Range<usize>) -> Range<usize> {
    let place = |station: f64| (station - grid.station_first) / grid.station_step;
    let first = (-floor(-(place(from) - 1e-9))).max(0) as usize;
    let end = (floor(place(to) + 1e-9) + 1).max(0) as usize;
    first.max(within.start)..end.min(within.end).max(first.max(within.start))
}

/// An arc of the blank between two angles θ, unwrapped, radians; a whole turn is everything.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sector {
    from: f64,
    to: f64,
}

/// An angle that is at least that of the direction `across` to the side and `up` above, both positive, radians; it grows
/// with their quotient. For small ones the series of the arc tangent serves, cut off after a positive term.
fn at_most_sideways(across: f64, up: f64) -> f64 {
    let series = |q: f64| q * (1.0 - q * q * (1.0 / 3.0 - 0.2 * q * q));
    let q = across / up;
    if q > 0.5 { angle::atan2(across, up).max(series(0.5)) } else { series(q) }
}

/// A little more than rounding in an angle, radians.
const ANGLE_SLACK: f64 = 1e-9;

impl Sector {
    const WHOLE: Sector = Sector { from: 0.0, to: TAU };

    /// The angles θ that see some of the box |u| ≤ `half_width`, at or over the height `lowest` over the axis.
    pub(crate) fn seen(extent: &Extent, half_width: f64, lowest: f64) -> Sector {
        if lowest <= 0.0 {
            return Sector::WHOLE;
        }
        let before = at_most_sideways((half_width + extent.y.1).max(0.0), lowest);
        let is_centred = extent.y.0 == -extent.y.1;
        let after = if is_centred { before } else { at_most_sideways((half_width - extent.y.0).max(0.0), lowest) };
        Sector { from: extent.turn.0 - before - ANGLE_SLACK, to: extent.turn.1 + after + ANGLE_SLACK }
    }

    /// The two angles.
    pub(crate) fn ends(&self) -> (f64, f64) {
        (self.from, self.to)
    }
}

/// A piece among the columns of the grid, ready to be asked which of them see a sector.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Columns {
    /// Angles per radian.
    per_radian: f64,
    /// Columns of a whole turn.
    count: usize,
    /// Whole turns, in radians, that bring the piece into the first one.
    turns: f64,
}

impl Columns {
    pub(crate) fn new(extent: &Extent, grid: &Grid) -> Columns {
        let turns = TAU * floor(extent.turn.0 / TAU) as f64;
        Columns { per_radian: 1.0 / grid.angle_step, count: grid.angles, turns }
    }

    /// The columns within those given that see a sector of the piece, as up to two ranges.
    #[inline]
    pub(crate) fn seen(&self, sector: Sector, within: &Range<usize>) -> [Range<usize>; 2] {
        let nothing = within.start..within.start;
        if sector.to - sector.from >= TAU - 1.0 / self.per_radian {
            return [within.clone(), nothing];
        }
        let first = -floor(-(sector.from - self.turns) * self.per_radian);
        let end = floor((sector.to - self.turns) * self.per_radian) + 1;
        let count = self.count as i64;
        if first >= 0 && end <= count {
            let start = first.max(within.start as i64);
            let end = end.min(within.end as i64).max(start);
            return [start as usize..end as usize, nothing];
        }
        let mut ranges = [nothing.clone(), nothing];
        let mut found = 0;
        for shift in [-count, 0, count] {
            let start = (first + shift).max(within.start as i64);
            let end = (end + shift).min(within.end as i64);
            if start < end && found < 2 {
                ranges[found] = start as usize..end as usize;
                found += 1;
            }
        }
        ranges
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
    use dryturn_geom::Stock;

    #[test]
    fn a_sector_wraps_round_the_turn() {
        let grid = Grid::over(&Stock::round(10.0, 10.0), 0.5);
        let all = 0..grid.angles;
        let sector = Sector { from: angle::radians(3590.0), to: angle::radians(3610.0) };
        let pose = Pose { x: 0.0, y: 0.0, z: 0.0, turn: angle::radians(3600.0) };
        let [before, after] = Columns::new(&Extent::between(&pose, &pose), &grid).seen(sector, &all);
        let count = after.len() + before.len();
        assert!((count as f64 - angle::radians(20.0) / grid.angle_step).abs() <= 1.0);
        assert_eq!(before.start, 0);
        assert_eq!(after.end, grid.angles);
    }

    #[test]
    fn the_bound_of_an_angle_grows_and_holds() {
        let angles: Vec<f64> = (0..400).map(|k| at_most_sideways(0.005 * f64::from(k), 1.0)).collect();
        assert!(angles.is_sorted());
        assert!((0..400).all(|k| angles[k as usize] >= angle::atan2(0.005 * f64::from(k), 1.0)));
        assert!(angles[399] < angle::atan2(1.995, 1.0) + 1e-12);
    }

    #[test]
    fn every_ray_that_is_met_lies_in_the_sector() {
        let grid = Grid::over(&Stock::round(10.0, 10.0), 0.5);
        let from = Pose { x: 0.0, y: 1.5, z: 4.0, turn: 7.0 };
        let to = Pose { y: 1.0, z: 5.0, turn: 7.01, ..from };
        let (piece, extent) = (Piece::new(&from, &to), Extent::between(&from, &to));
        let sector = Sector::seen(&extent, 3.0, 4.0);
        let [a, b] = Columns::new(&extent, &grid).seen(sector, &(0..grid.angles));
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
