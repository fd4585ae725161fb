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
//! so where all the ends belong to one owner, for then they tell of a curve and not of a bend between two surfaces. Where
//! they are so large that there may be a step, or the spans are not as many, a wall may cut off a corner of the cell
//! between the points at which it is first looked at; such cells are divided further in any case.

use std::ops::Range;
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

/// Share of a second difference by which a cell may be off where all belongs to one owner: that left by the next term.
const CURVED: f64 = 0.01;
/// The same where a bend may pass.
const BENT: f64 = 1.0 / 12.0;
/// Share of the accuracy that the integral over a replayed cell may take, and share of that for each line within it: what
/// the inner integral leaves must not keep the outer one busy.
const REPLAYED: f64 = 0.2;
const INNER: f64 = 0.2;
/// Second differences over this share of the distance of two rows may be steps.
const STEEP: f64 = 0.25;
/// Halvings of every cell that a wall may pass through, so that none hides in a corner of it.
const AT_A_WALL: u32 = 2;
/// Halvings down to a millionth of a micrometre of any cell.
const DEEPEST: u32 = 28;

impl Replay<'_> {
    /// The volumes of the blank and of what is left, free of the error that the pitch of a carved grid has: cells in which
    /// walls pass are replayed. `carved` must come from the same job.
    ///
    /// `accuracy` is the height in mm by which the surface of any one cell may be off in the mean: with 1e-4 the volumes of
    /// walls and floors come out to a millionth and better. Where cusps cover the piece, most cells are replayed, and that
    /// takes long; and a whole skin may be off by `accuracy` to one side. A feature under a sixteenth of a cell wide
    /// may be overlooked.
    ///
    /// The sums are made in a fixed order, so their bits do not depend on the number of threads.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] if no thread could be started.
    pub fn volumes(&self, carved: &Carved, accuracy: f64, options: &RunOptions<'_>) -> Result<Volumes, CarveError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let none: Vec<dryturn_geom::Motion> = Vec::new();
        let uncut = Replay::new(&Job { motions: &none, ..*self.job() }, options)?;
        let grid = carved.grid();
        let blank_lines = |rows: Range<usize>| {
            let ray = |row, column| {
                let solid = prepared(self.job(), grid.station(row), grid.theta(column));
                solid.iter().map(Span::from).collect()
            };
            rows.map(|row| (0..grid.angles).map(|column| ray(row, column)).collect()).collect()
        };
        let left_lines = |rows: Range<usize>| {
            let band = carved.band(rows.clone());
            rows.map(|row| band.row(row).map(|dexel| dexel.spans().collect()).collect()).collect()
        };
        pool.install(|| {
            let blank = Field { grid, replay: &uncut, lines: &blank_lines, accuracy, options };
            let left = Field { grid, replay: self, lines: &left_lines, accuracy, options };
            Ok(Volumes { blank_mm3: blank.volume(0.0)?, left_mm3: left.volume(0.5)? })
        })
    }
}

/// Rows that are looked at in one go, with those beside them.
const PORTION: usize = 4;

struct Field<'a> {
    grid: &'a Grid,
    replay: &'a Replay<'a>,
    /// Solid of the rays of some rows.
    lines: &'a (dyn Fn(Range<usize>) -> Vec<Line> + Sync),
    accuracy: f64,
    options: &'a RunOptions<'a>,
}

/// The rays of a row.
type Line = Vec<Spans>;

impl Field<'_> {
    /// `done` is the share of all the work that was done before.
    fn volume(&self, done: f64) -> Result<f64, CarveError> {
        let finished = AtomicUsize::new(0);
        let stations = self.grid.stations;
        let portions = (0..stations.div_ceil(PORTION)).into_par_iter().map(|portion| {
            let rows = portion * PORTION..((portion + 1) * PORTION).min(stations);
            let first = rows.start.saturating_sub(2);
            let lines = (self.lines)(first..(rows.end + 2).min(stations));
            let volumes = rows.map(|row| {
                let volume = self.row(row, first, &lines)?;
                if let Some(progress) = self.options.progress {
                    let now = finished.fetch_add(1, Ordering::Relaxed) + 1;
                    progress(done + 0.5 * now as f64 / stations as f64);
                }
                Ok(volume)
            });
            volumes.collect::<Result<Vec<f64>, CarveError>>()
        });
        Ok(portions.collect::<Result<Vec<_>, CarveError>>()?.into_iter().flatten().sum())
    }

    /// The integral over a row; `lines` holds it and its neighbours, from the row `first` on.
    fn row(&self, row: usize, first: usize, lines: &[Line]) -> Result<f64, CarveError> {
        // The first and the last row take the second differences of their neighbours.
        let middle = row.min(self.grid.stations.saturating_sub(2)).max(1);
        let lines = lines.get(middle - 1 - first.min(middle - 1)..).and_then(|lines| lines.first_chunk());
        let place = row + 1 - middle;
        let mut sum = 0.0;
        for column in 0..self.grid.angles {
            if is_cancelled(self.options.cancel) {
                return Err(CarveError::Cancelled);
            }
            let steep = STEEP * self.grid.station_step;
            let cell = lines.map_or(Cell::Walled, |lines| Cell::judge(lines, place, column, self.accuracy, steep));
            sum += match cell {
                Cell::Smooth(half_squares) => half_squares * self.grid.station_step * self.grid.angle_step,
                Cell::Bent => self.replayed_cell(row, column, 0),
                Cell::Walled => self.replayed_cell(row, column, AT_A_WALL),
            };
        }
        Ok(sum)
    }

    /// The integral over a cell that is not smooth, halved at least so many times each way.
    fn replayed_cell(&self, row: usize, column: usize, at_least: u32) -> f64 {
        let stock = self.replay.job().stock;
        let (station, theta) = (self.grid.station(row), self.grid.theta(column));
        let (long, wide) = (0.5 * self.grid.station_step, 0.5 * self.grid.angle_step);
        let along = ((station - long).max(stock.start), (station + long).min(stock.end()));
        let around = (theta - wide, theta + wide);
        let enough = REPLAYED * self.accuracy * stock.swept_radius() * self.grid.angle_step;
        let rule = Rule { enough: INNER * enough, at_least };
        let section = |x: f64| rule.integral(around, &|angle: f64| self.replay.ray(x, angle).half_squares());
        Rule { enough: enough * self.grid.station_step, at_least }.integral(along, &section)
    }
}

/// What passes through a cell, as far as the rays around it tell.
enum Cell {
    /// One smooth surface, or several that go on smoothly into each other; with the mean of ½ Σ r².
    Smooth(f64),
    /// Surfaces that bend, but without a step.
    Bent,
    /// Perhaps a wall.
    Walled,
}

impl Cell {
    /// Judges the cell of a column in the row `place` of three.
    fn judge(lines: &[Line; 3], place: usize, column: usize, accuracy: f64, steep: f64) -> Cell {
        let columns = lines[1].len();
        let around = [(column + columns - 1) % columns, column, (column + 1) % columns];
        let here = &lines[place][column];
        let mut is_of_one = true;
        for spans in lines.iter().flat_map(|line| around.map(|column| &line[column])) {
            if spans.len() != here.len() {
                return Cell::Walled;
            }
            is_of_one &= spans.iter().zip(here).all(|(a, b)| (a.inner_by, a.outer_by) == (b.inner_by, b.outer_by));
        }
        let along = lines.each_ref().map(|line| &line[column]);
        let across = around.map(|column| &lines[place][column]);
        let bend = greatest_bend(along).max(greatest_bend(across));
        if bend > steep {
            return Cell::Walled;
        }
        if bend * if is_of_one { CURVED } else { BENT } > accuracy {
            return Cell::Bent;
        }
        let second = [along, across].map(|three| {
            let [a, b, c] = three.map(half_squares);
            a - 2.0 * b + c
        });
        Cell::Smooth(half_squares(here) + (second[0] + second[1]) / 24.0)
    }
}

/// The greatest second difference of any end over three rays with as many spans, mm.
fn greatest_bend(three: [&Spans; 3]) -> f64 {
    let of = |k: usize, end: fn(&Span) -> f32| {
        let [a, b, c] = three.map(|spans| f64::from(end(&spans[k])));
        (a - 2.0 * b + c).abs()
    };
    (0..three[1].len()).map(|k| of(k, |span| span.inner).max(of(k, |span| span.outer))).fold(0.0, f64::max)
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
}

/// Simpson's rule, halved as often as it takes.
#[derive(Clone, Copy)]
struct Rule {
    /// Two estimates that differ by no more agree.
    enough: f64,
    /// Halvings that are made in any case.
    at_least: u32,
}

impl Rule {
    fn integral(&self, (from, to): (f64, f64), f: &impl Fn(f64) -> f64) -> f64 {
        self.refined(&Part { from, to, values: [f(from), f(0.5 * (from + to)), f(to)] }, 0, f)
    }

    fn refined(&self, part: &Part, depth: u32, f: &impl Fn(f64) -> f64) -> f64 {
        let halves = part.halves(f);
        let fine = halves[0].rule() + halves[1].rule();
        let gain = fine - part.rule();
        if depth >= DEEPEST || depth >= self.at_least && gain.abs() <= self.enough {
            return fine + gain / 15.0;
        }
        halves.iter().map(|half| self.refined(half, depth + 1, f)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn simpson(range: (f64, f64), enough: f64, f: &impl Fn(f64) -> f64) -> f64 {
        Rule { enough, at_least: 0 }.integral(range, f)
    }

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
