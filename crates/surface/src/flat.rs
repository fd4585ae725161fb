//! Levels that tell nothing new.
//!
//! A wall is crossed at levels a pitch apart, for something might have been cut into it between the rays. Where it turns
//! out to go on straight, the levels in between are given up again: the flat walls of a piece can be most of its mesh. Near
//! the edges of a wall they stay: the vertex of a cell that is much higher than those beside it, which the edge passes,
//! would lie beyond that edge as seen from some of them, and faces would fold over each other.

use rayon::prelude::*;
use smallvec::SmallVec;

use crate::climb::is_one_plane;
use crate::column::{Column, Side};
use crate::complex::{Complex, Crossings};
use crate::level::Levels;
use crate::ragged::Ragged;
use crate::rays::End;
use crate::skin::Sample;
use crate::strip::Knot;
use crate::wood::Wood;

/// So many columns on every side must be free of edges where a level is given up.
const NEAR: usize = 2;

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
        if levels.len() < 3 {
            return levels.to_vec();
        }
        let ends = self.ends_around(row, number);
        let is_telling = |k: &usize| {
            let Some([below, _, above]) = k.checked_sub(1).and_then(|first| levels.get(first..first + 3)) else {
                return true;
            };
            ends.iter().any(|end| (below..=above).contains(&end))
                || !self.goes_straight(row, number, &column, &levels[k - 1..k + 2])
        };
        (0..levels.len()).filter(is_telling).map(|k| levels[k]).collect()
    }

    /// The radii at which the rays of a column, and those near it, end.
    fn ends_around(&self, row: usize, number: usize) -> SmallVec<[f64; 64]> {
        let rays = self.rays;
        let rows = row.saturating_sub(NEAR)..(row + 2 + NEAR).min(rays.rows());
        let columns = || (0..2 + 2 * NEAR).map(|k| (number + rays.angles - NEAR + k) % rays.angles);
        let ends = rows.flat_map(|row| columns().flat_map(move |column| rays.ends(row, column)));
        ends.map(End::radius).collect()
    }

    /// Whether two sides of a column are crossed by one flat wall each at all three levels.
    fn goes_straight(&self, row: usize, number: usize, column: &Column<'_>, levels: &[f64]) -> bool {
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
