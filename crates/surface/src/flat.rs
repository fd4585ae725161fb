//! Levels that tell nothing new.
//!
//! A wall is crossed at levels a pitch apart, for something might have been cut into it between the rays. Where it turns
//! out to go on straight, the levels in between are given up again: the flat walls of a piece can be most of its mesh.

use rayon::prelude::*;

use crate::column::{Column, Side};
use crate::complex::{Complex, Crossings};
use crate::level::Levels;
use crate::ragged::Ragged;
use crate::skin::Sample;
use crate::strip::Knot;
use crate::wood::Wood;

/// Most that the crossings of a flat wall may lie off its plane, mm, and the least product of its unit normals.
const FLAT: f64 = 1e-6;
const STRAIGHT: f64 = 1.0 - 1e-10;

impl<W: Wood> Complex<'_, W> {
    /// Gives up the levels between two others over which the wall goes on straight, whoever made it.
    pub(crate) fn without_flat_levels(mut self) -> Self {
        let angles = self.rays.angles;
        let telling = |row: usize| (0..angles).map(|column| self.telling(row, column)).collect();
        let levels: Vec<Ragged<f64>> = (0..self.levels.len()).into_par_iter().map(telling).collect();
        let has = |row: Option<usize>, column: usize, level: &f64| {
            let levels = row.and_then(|row| levels.get(row));
            levels.is_some_and(|levels| levels.of(column).binary_search_by(|it| it.total_cmp(level)).is_ok())
        };
        let before = |column| self.rays.before(column);
        let along = self.along.par_iter().enumerate().map(|(row, crossings)| {
            let row = Some(row);
            crossings.with(angles, |column, level| has(row, column, level) || has(row, before(column), level))
        });
        let around = self.around.par_iter().enumerate().map(|(row, crossings)| {
            let beyond = row.checked_sub(1);
            crossings.with(angles, |column, level| has(Some(row), column, level) || has(beyond, column, level))
        });
        (self.along, self.around) = (along.collect(), around.collect());
        self.levels = levels;
        self
    }

    /// The levels of a column but those that tell nothing.
    fn telling(&self, row: usize, number: usize) -> Levels {
        let column = self.column(row, number);
        let levels = column.levels;
        let is_telling = |k: &usize| {
            *k == 0 || k + 1 == levels.len() || !self.goes_straight(row, number, &column, &levels[k - 1..k + 2])
        };
        (0..levels.len()).filter(is_telling).map(|k| levels[k]).collect()
    }

    /// Whether two sides of a column are crossed by one flat wall each at all three levels, and no ray ends there.
    fn goes_straight(&self, row: usize, number: usize, column: &Column<'_>, levels: &[f64]) -> bool {
        let (below, above) = (levels[0], levels[2]);
        let ends = || column.rays.iter().flat_map(|ends| ends.iter());
        if ends().any(|end| (below..=above).contains(&end.radius())) {
            return false;
        }
        let mut crossed = 0;
        let mut is_flat = true;
        for side in Side::ALL {
            let at = |level: &f64| {
                let knot = column.crossings[side as usize].binary_search_by(|it| it.total_cmp(level)).ok()?;
                Some(self.knot(row, number, side, Knot::Level(knot as u32)))
            };
            let [Some(one), Some(here), Some(other)] = [0, 1, 2].map(|k| at(&levels[k])) else { continue };
            crossed += 1;
            is_flat &= is_one_plane(&here, &one) && is_one_plane(&here, &other);
        }
        is_flat && crossed == 2
    }
}

impl Crossings {
    /// Those that are to be kept, by column and level.
    fn with(&self, angles: usize, is_kept: impl Fn(usize, &f64) -> bool) -> Crossings {
        let mut kept = Crossings { levels: Ragged::new(), samples: Vec::new() };
        for column in 0..angles {
            let start = self.levels.start(column);
            let all = self.levels.of(column).iter().zip(&self.samples[start..]);
            let (levels, samples): (Vec<f64>, Vec<Sample>) = all.filter(|(level, _)| is_kept(column, level)).unzip();
            kept.levels.push(levels);
            kept.samples.extend(samples);
        }
        kept
    }
}

fn is_one_plane(one: &Sample, other: &Sample) -> bool {
    let is_off = one.normal.dot(other.point - one.point).abs() > FLAT;
    one.by == other.by && one.normal.dot(other.normal) >= STRAIGHT && !is_off
}
