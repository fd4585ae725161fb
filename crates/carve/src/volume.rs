//! Volumes without the error of the grid.
//!
//! A sum over rays is exact to the second order in the pitch where the surface is smooth, and to the first or worse where
//! walls pass between rays. Both are put right here, cell by cell, for f = ½ Σ r², the volume of a ray for each
//! millimetre along the axis and each radian around it:
//!
//! - In a smooth cell the integral is f at the middle and a 24th of its second differences along and around
//!   (Abramowitz and Stegun, *Handbook of Mathematical Functions*, 25.4.2, the midpoint rule with its error term); they come
//!   from the neighbouring rays, and nothing is replayed.
//! - Elsewhere f is replayed and integrated by Simpson's rule on halves, first around and then along, each stretch halved
//!   until the rule and its half agree (Lyness, *Notes on the adaptive Simpson quadrature routine*, J. ACM 16, 1969).
//!
//! A cell counts as smooth if it and its eight neighbours hold as many spans, and their second differences are small: less
//! so where all the ends belong to one owner, for then they tell of a curve and not of a bend between two surfaces.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::carved::Carved;
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::plan::{is_cancelled, prepared};
use crate::replay::Replay;
use crate::tile::{Span, Spans};

/// What there was of a blank and what is left of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Volumes {
    /// Before the first block, bore and dimple taken out, mm³.
    pub blank_mm3: f64,
    /// After the last block, mm³.
    pub left_mm3: f64,
}

impl Volumes {
    /// What the blocks removed, mm³.
    pub fn removed_mm3(&self) -> f64 {
        self.blank_mm3 - self.left_mm3
    }
}

/// Height by which the integral of a smooth cell may be off, averaged over the cell, mm.
const SMOOTH: f64 = 1e-4;
/// Share of a second difference that a cell may be off by where all belongs to one owner: that left by the next term.
const CURVED: f64 = 0.01;
/// The same where a bend may pass.
const BENT: f64 = 1.0 / 12.0;
/// Height by which an integral over a replayed cell may be off, mm: what the kernel's own searches leave.
const REPLAYED: f64 = 2e-5;
/// Halvings down to a millionth of a micrometre of any cell.
const DEEPEST: u32 = 28;
/// Halvings that are made in any case, so that no wall hides from the first few points.
const AT_LEAST: u32 = 2;

impl Replay<'_> {
    /// The volumes of the blank and of what is left, free of the error that the pitch of a carved grid has: cells in which
    /// walls pass are replayed. `carved` must come from the same job.
    ///
    /// The sums are made in a fixed order, so their bits do not depend on the number of threads.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] if no thread could be started.
    pub fn volumes(&self, carved: &Carved, options: &RunOptions<'_>) -> Result<Volumes, CarveError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let none: Vec<dryturn_geom::Motion> = Vec::new();
        let uncut = Replay::new(&Job { motions: &none, ..*self.job() }, options)?;
        let grid = carved.grid();
        let blank_ray = |row: usize, column: usize| prepared(self.job(), grid.station(row), grid.theta(column));
        let left_ray = |row: usize, column: usize| carved.spans(row, column).collect();
        pool.install(|| {
            let blank = Field { grid, replay: &uncut, ray: &blank_ray, options };
            let left = Field { grid, replay: self, ray: &left_ray, options };
            Ok(Volumes { blank_mm3: blank.volume(0.0)?, left_mm3: left.volume(0.5)? })
        })
    }
}

struct Field<'a> {
    grid: &'a Grid,
    replay: &'a Replay<'a>,
    /// Solid of the ray in a row and a column.
    ray: &'a (dyn Fn(usize, usize) -> Spans + Sync),
    options: &'a RunOptions<'a>,
}

/// The rays of a row.
type Line = Vec<Spans>;

impl Field<'_> {
    /// `done` is the share of all the work that was done before.
    fn volume(&self, done: f64) -> Result<f64, CarveError> {
        let finished = AtomicUsize::new(0);
        let rows = (0..self.grid.stations).into_par_iter().map(|row| {
            let volume = self.row(row)?;
            if let Some(progress) = self.options.progress {
                let now = finished.fetch_add(1, Ordering::Relaxed) + 1;
                progress(done + 0.5 * now as f64 / self.grid.stations as f64);
            }
            Ok(volume)
        });
        Ok(rows.collect::<Result<Vec<f64>, CarveError>>()?.iter().sum())
    }

    fn row(&self, row: usize) -> Result<f64, CarveError> {
        // The first and the last row take the second differences of their neighbours.
        let middle = row.min(self.grid.stations.saturating_sub(2)).max(1);
        let has_neighbours = self.grid.stations >= 3;
        let line = |row: usize| -> Line { (0..self.grid.angles).map(|column| (self.ray)(row, column)).collect() };
        let lines = if has_neighbours { [middle - 1, middle, middle + 1].map(line) } else { Default::default() };
        let place = row + 1 - middle;
        let mut sum = 0.0;
        for column in 0..self.grid.angles {
            if is_cancelled(self.options.cancel) {
                return Err(CarveError::Cancelled);
            }
            let smooth = if has_neighbours { smooth_cell(&lines, place, column) } else { None };
            sum += match smooth {
                Some(half_squares) => half_squares * self.grid.station_step * self.grid.angle_step,
                None => self.replayed_cell(row, column),
            };
        }
        Ok(sum)
    }

    /// The integral over a cell in which walls may pass.
    fn replayed_cell(&self, row: usize, column: usize) -> f64 {
        let stock = self.replay.job().stock;
        let (station, theta) = (self.grid.station(row), self.grid.theta(column));
        let (long, wide) = (0.5 * self.grid.station_step, 0.5 * self.grid.angle_step);
        let along = ((station - long).max(stock.start), (station + long).min(stock.end()));
        let around = (theta - wide, theta + wide);
        let enough = REPLAYED * stock.swept_radius() * self.grid.angle_step;
        // What the inner integral leaves must not keep the outer one busy.
        let section = |x: f64| simpson(around, 0.1 * enough, &|angle: f64| self.replay.ray(x, angle).half_squares());
        simpson(along, enough * self.grid.station_step, &section)
    }
}

/// The mean of ½ Σ r² over a cell from the rays around it, in row `place` of three; `None` where it is not smooth.
fn smooth_cell(lines: &[Line; 3], place: usize, column: usize) -> Option<f64> {
    let columns = lines[1].len();
    let around = [(column + columns - 1) % columns, column, (column + 1) % columns];
    let here = &lines[place][column];
    let alike = lines.iter().flat_map(|line| around.map(|column| &line[column]));
    let mut is_of_one = true;
    for spans in alike {
        if spans.len() != here.len() {
            return None;
        }
        is_of_one &= spans.iter().zip(here).all(|(a, b)| (a.inner_by, a.outer_by) == (b.inner_by, b.outer_by));
    }
    let along = [&lines[0][column], &lines[1][column], &lines[2][column]];
    let across = around.map(|column| &lines[place][column]);
    let share = if is_of_one { CURVED } else { BENT };
    let limit = SMOOTH / share;
    let mut mean = half_squares(here);
    for three in [along, across] {
        if three[1].iter().enumerate().any(|(k, _)| bend(three, k) > limit) {
            return None;
        }
        let [a, b, c] = three.map(half_squares);
        mean += (a - 2.0 * b + c) / 24.0;
    }
    Some(mean)
}

/// The greater second difference of the two ends of the span `k` over three rays, mm.
fn bend(three: [&Spans; 3], k: usize) -> f64 {
    let of = |end: fn(&Span) -> f32| {
        let [a, b, c] = three.map(|spans| f64::from(end(&spans[k])));
        (a - 2.0 * b + c).abs()
    };
    of(|span| span.inner).max(of(|span| span.outer))
}

fn half_squares(spans: &Spans) -> f64 {
    let square = |r: f32| f64::from(r) * f64::from(r);
    spans.iter().map(|span| 0.5 * (square(span.outer) - square(span.inner))).sum()
}

/// A stretch and the values at its ends and its middle.
#[derive(Clone, Copy)]
struct Part {
    from: f64,
    to: f64,
    values: [f64; 3],
}

impl Part {
    fn middle(&self) -> f64 {
        0.5 * (self.from + self.to)
    }

    fn rule(&self) -> f64 {
        let [a, b, c] = self.values;
        (self.to - self.from) * (a + 4.0 * b + c) / 6.0
    }

    fn halves(&self, f: &impl Fn(f64) -> f64) -> [Part; 2] {
        let [a, b, c] = self.values;
        let (from, middle, to) = (self.from, self.middle(), self.to);
        let left = Part { from, to: middle, values: [a, f(0.5 * (from + middle)), b] };
        [left, Part { from: middle, to, values: [b, f(0.5 * (middle + to)), c] }]
    }

    fn integral(&self, enough: f64, depth: u32, f: &impl Fn(f64) -> f64) -> f64 {
        let halves = self.halves(f);
        let fine = halves[0].rule() + halves[1].rule();
        let gain = fine - self.rule();
        if depth >= DEEPEST || depth >= AT_LEAST && gain.abs() <= enough {
            return fine + gain / 15.0;
        }
        halves.iter().map(|half| half.integral(enough, depth + 1, f)).sum()
    }
}

fn simpson((from, to): (f64, f64), enough: f64, f: &impl Fn(f64) -> f64) -> f64 {
    let part = Part { from, to, values: [f(from), f(0.5 * (from + to)), f(to)] };
    part.integral(enough, 0, f)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn simpson_finds_steps_roots_and_bends() {
        let step = simpson((0.0, 1.0), 1e-9, &|x: f64| if x < 0.317 { 2.0 } else { 5.0 });
        assert!((step - (2.0 * 0.317 + 5.0 * 0.683)).abs() < 1e-8, "{step}");
        let root = simpson((0.0, 1.0), 1e-9, &|x: f64| (x - 0.2).max(0.0).sqrt());
        assert!((root - 0.8f64.powf(1.5) / 1.5).abs() < 1e-7, "{root}");
        let bend = simpson((-1.0, 1.0), 1e-9, &|x: f64| (x - 0.123).abs());
        assert!((bend - (1.123f64.powi(2) + 0.877f64.powi(2)) / 2.0).abs() < 1e-7, "{bend}");
    }
}
