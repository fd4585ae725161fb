//! From rays to pixels.
//!
//! A pixel covers a patch of the blank, and a ray stands for its cell: half a step to each side. Where cells are smaller
//! than pixels a measure is the mean over the patch, each ray weighted by how much of its cell lies in it, so that fine
//! detail fades evenly instead of flickering; where they are larger it is the nearest ray's, so that a cell stays a
//! plain block without a fringe of values that are not there. Program lines and categories are always the nearest
//! ray's, as a mean of names means nothing; deviations show the farthest from zero, so that no fault fades. Wood without
//! a measure is raw where it is the greater part of a pixel. A pixel is gone when it holds a quarter of a cell that is: a
//! hole of a single ray is seen.

use crate::map::{Band, Kind, Map, UNTOUCHED, Values};
use dryturn_geom::Side;
use rayon::prelude::*;
use std::ops::Range;

/// What a pixel shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shade {
    /// Nothing is left there.
    Gone,
    /// A measure.
    Measure(f32),
    /// A program line or a category.
    Code(i32),
}

/// The skin as pixels, from the left column to the right, each from top to bottom.
pub(super) struct Skin {
    pub(super) width: usize,
    pub(super) height: usize,
    columns: usize,
    mix: Mix,
    /// The rows under each column of pixels.
    stations: Vec<Part>,
    /// The cells under each row of pixels, and the nearest.
    angles: Vec<Around>,
    least_gone: f64,
    shades: Vec<Shade>,
    /// Rows that were taken in.
    rows: usize,
    /// Sums of the column of pixels that still waits for rows; empty where none does.
    waiting: Vec<Sums>,
}

/// What a pixel shows where it covers several rays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mix {
    Mean,
    /// The number farthest from zero: a fault of a single ray is seen.
    Farthest,
    /// The nearest ray's.
    Nearest,
}

impl Mix {
    fn of(kind: Kind<'_>) -> Mix {
        match kind {
            Kind::Measures => Mix::Mean,
            Kind::Deviations { .. } => Mix::Farthest,
            Kind::Lines | Kind::Categories(_) => Mix::Nearest,
        }
    }
}

impl Skin {
    /// A skin that waits for the rows of a map.
    pub(super) fn new(map: &Map<'_>, chuck: Side, width: usize, height: usize) -> Skin {
        let around = |y| Around::of(&Part::around(y, height, map.columns, chuck), map.columns);
        Skin {
            width,
            height,
            columns: map.columns,
            mix: Mix::of(map.kind),
            stations: (0..width).map(|x| Part::along(x, width, map.rows)).collect(),
            angles: (0..height).map(around).collect(),
            least_gone: 0.25 * covered(map.rows, width) * covered(map.columns, height),
            shades: vec![Shade::Gone; width * height],
            rows: 0,
            waiting: Vec::new(),
        }
    }

    /// Takes in the rows that follow. Every sum is made in the order of the rows and along them, whatever portions they come
    /// in and however many threads there are.
    pub(super) fn add(&mut self, band: &Band<'_>) {
        let rows = self.rows..self.rows + band.remaining.len() / self.columns.max(1);
        let first = self.stations.partition_point(|station| station.range().end <= rows.start);
        let last = self.stations.partition_point(|station| station.range().start < rows.end).max(first);
        let mut shades = std::mem::take(&mut self.shades);
        let waiting = std::mem::take(&mut self.waiting);
        let columns = shades[first * self.height..last * self.height].par_chunks_mut(self.height);
        let waits: Vec<_> = columns
            .enumerate()
            .map(|(index, shades)| {
                let before = if index == 0 { waiting.as_slice() } else { &[] };
                self.column(&self.stations[first + index], band, &rows, before, shades)
            })
            .collect();
        // Of consecutive columns only the last can want rows that are yet to come.
        self.waiting = waits.into_iter().next_back().flatten().unwrap_or_default();
        (self.shades, self.rows) = (shades, rows.end);
    }

    /// Takes the rows of a band into a column of pixels; returns its sums if it wants more rows.
    fn column(
        &self,
        station: &Part,
        band: &Band<'_>,
        rows: &Range<usize>,
        before: &[Sums],
        shades: &mut [Shade],
    ) -> Option<Vec<Sums>> {
        let mut sums = if before.is_empty() { vec![Sums::default(); self.height] } else { before.to_vec() };
        for (row, along) in station.cells().filter(|(row, _)| rows.contains(row)) {
            let rays = (row - rows.start) * self.columns..(row - rows.start + 1) * self.columns;
            let remaining = &band.remaining[rays.clone()];
            match band.values {
                Values::Measures(values) => self.measure(&values[rays], remaining, along, &mut sums),
                Values::Lines(lines) if row == station.nearest => self.name(&lines[rays], remaining, shades),
                Values::Categories(codes) if row == station.nearest => self.name(&codes[rays], remaining, shades),
                Values::Lines(_) | Values::Categories(_) => {}
            }
            if self.mix == Mix::Nearest && remaining.iter().any(|radius| is_gone(*radius)) {
                self.holes(remaining, along, &mut sums);
            }
        }
        if station.range().end > rows.end {
            return Some(sums);
        }
        for (shade, sums) in shades.iter_mut().zip(&sums) {
            match self.mix {
                Mix::Mean | Mix::Nearest if sums.gone >= self.least_gone => *shade = Shade::Gone,
                Mix::Mean if sums.unmeasured > sums.solid => *shade = Shade::Code(UNTOUCHED),
                Mix::Mean | Mix::Farthest if sums.solid > 0.0 => {
                    *shade = Shade::Measure((sums.measure / sums.solid) as f32);
                }
                Mix::Mean | Mix::Farthest => *shade = Shade::Gone,
                Mix::Nearest => {}
            }
        }
        None
    }

    fn measure(&self, values: &[f32], remaining: &[f32], along: f64, sums: &mut [Sums]) {
        for (sums, angle) in sums.iter_mut().zip(&self.angles) {
            for &(column, around) in &angle.cells {
                match self.mix {
                    Mix::Farthest => sums.reach(values[column]),
                    Mix::Mean | Mix::Nearest => sums.add(values[column], remaining[column], along * around),
                }
            }
        }
    }

    fn holes(&self, remaining: &[f32], along: f64, sums: &mut [Sums]) {
        for (sums, angle) in sums.iter_mut().zip(&self.angles) {
            for (_, around) in angle.cells.iter().filter(|(column, _)| is_gone(remaining[*column])) {
                sums.gone += along * around;
            }
        }
    }

    fn name<T: Copy + Into<i32>>(&self, codes: &[T], remaining: &[f32], shades: &mut [Shade]) {
        for (shade, Around { nearest, .. }) in shades.iter_mut().zip(&self.angles) {
            *shade = if is_gone(remaining[*nearest]) { Shade::Gone } else { Shade::Code(codes[*nearest].into()) };
        }
    }

    /// What the pixel in a column and a row shows; gone outside.
    pub(super) fn shade(&self, x: usize, y: usize) -> Shade {
        if x < self.width && y < self.height { self.shades[x * self.height + y] } else { Shade::Gone }
    }
}

/// The cells under a row of pixels.
struct Around {
    /// Columns of the map, with the length of the cell that is covered.
    cells: Vec<(usize, f64)>,
    nearest: usize,
}

impl Around {
    fn of(part: &Part, columns: usize) -> Around {
        let cells = part.cells().map(|(cell, around)| (cell % columns, around)).collect();
        Around { cells, nearest: part.nearest % columns }
    }
}

/// Whether a ray has nothing left.
pub(super) fn is_gone(remaining: f32) -> bool {
    // A radius that is not a number counts as nothing left.
    !(remaining > 0.0 && remaining.is_finite())
}

/// How much of one cell a pixel covers at most.
fn covered(cells: usize, pixels: usize) -> f64 {
    (cells as f64 / pixels as f64).min(1.0)
}

/// Weighted sums over a patch.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    gone: f64,
    /// Of what is there: with a measure, and without.
    solid: f64,
    unmeasured: f64,
    measure: f64,
}

impl Sums {
    /// Keeps the value farthest from zero, of equals the one below it.
    fn reach(&mut self, value: f32) {
        let value = f64::from(value);
        let farther = value.abs() > self.measure.abs() || (value.abs() == self.measure.abs() && value < self.measure);
        if value.is_finite() && (self.solid == 0.0 || farther) {
            (self.solid, self.measure) = (1.0, value);
        }
    }

    fn add(&mut self, value: f32, remaining: f32, weight: f64) {
        if is_gone(remaining) {
            self.gone += weight;
        } else if value.is_finite() {
            self.solid += weight;
            self.measure += weight * f64::from(value);
        } else {
            self.unmeasured += weight;
        }
    }
}

/// The run of cells a row or column of pixels covers, in cells; cell k covers k … k + 1.
struct Part {
    from: f64,
    to: f64,
    nearest: usize,
}

impl Part {
    fn new(from: f64, to: f64) -> Part {
        let nearest = (0.5 * (from + to)).floor();
        // A pixel narrower than a cell belongs to one cell whole.
        let (from, to) = if to - from > 1.0 { (from, to) } else { (nearest, nearest + (to - from)) };
        Part { from, to, nearest: nearest as usize }
    }

    fn along(x: usize, width: usize, rows: usize) -> Part {
        let cell = |edge: usize| edge as f64 * rows as f64 / width as f64;
        Part::new(cell(x), cell(x + 1).min(rows as f64))
    }

    /// θ = 0 is the edge of the skin and the middle of cell 0, so cells are counted from half a cell before it; the
    /// last half cell is cell 0 again.
    fn around(y: usize, height: usize, columns: usize, chuck: Side) -> Part {
        let step = match chuck {
            Side::Minus => y,
            Side::Plus => height - 1 - y,
        };
        let cell = |edge: usize| edge as f64 * columns as f64 / height as f64 + 0.5;
        Part::new(cell(step), cell(step + 1))
    }

    /// The cells it covers, some only in part.
    fn range(&self) -> Range<usize> {
        self.from.floor() as usize..self.to.ceil() as usize
    }

    /// Each cell with the length of it that is covered.
    fn cells(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.range().map(|cell| {
            let (start, end) = (cell as f64, (cell + 1) as f64);
            (cell, end.min(self.to) - start.max(self.from))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The skin of a map of so many rows, which come one by one; on every ray so much is left as it measures.
    fn skin(values: &[f32], rows: usize, chuck: Side, width: usize, height: usize) -> Skin {
        let bands = |row: &[f32]| (row.to_vec(), row.to_vec());
        let list = values.chunks(values.len() / rows).map(bands).collect::<Vec<_>>();
        let bands = list.iter().map(|(values, remaining)| Band { values: Values::Measures(values), remaining });
        filled(Kind::Measures, rows, values.len() / rows, bands, chuck, [width, height])
    }

    fn filled<'a>(
        kind: Kind<'_>,
        rows: usize,
        columns: usize,
        bands: impl Iterator<Item = Band<'a>>,
        chuck: Side,
        [width, height]: [usize; 2],
    ) -> Skin {
        let (name, title, unit, angle_step) = ("test", "Test", "mm", 360.0 / columns as f64);
        let map = Map { name, title, unit, rows, columns, station_first: 0.5, station_step: 1.0, angle_step, kind };
        let mut skin = Skin::new(&map, chuck, width, height);
        bands.for_each(|band| skin.add(&band));
        skin
    }

    #[test]
    fn a_large_cell_stays_a_block_and_the_seam_is_shared() {
        let values = [1.0, 2.0, 3.0, 4.0];
        let skin = skin(&values, 1, Side::Minus, 3, 16);
        let column: Vec<_> = (0..16).map(|y| skin.shade(1, y)).collect();
        let expected = [1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 1, 1];
        assert_eq!(column, expected.map(|v| Shade::Measure(v as f32)));
        let turned = super::tests::skin(&values, 1, Side::Plus, 3, 16);
        assert!((0..16).all(|y| turned.shade(1, y) == column[15 - y]));
    }

    #[test]
    fn many_small_cells_are_averaged() {
        let values: Vec<f32> = (0..64).map(|k| (k / 8) as f32 + 1.0).collect();
        let skin = skin(&values, 8, Side::Minus, 2, 2);
        assert_eq!(skin.shade(0, 0), Shade::Measure(2.5));
        assert_eq!(skin.shade(1, 1), Shade::Measure(6.5));
    }

    #[test]
    fn a_hole_of_one_ray_is_seen() {
        for ray in (0..10_000).step_by(37) {
            let mut values = vec![20.0; 10_000];
            values[ray] = 0.0;
            let skin = skin(&values, 100, Side::Minus, 23, 31);
            assert!(skin.shades.contains(&Shade::Gone), "ray {ray}");
        }
    }

    #[test]
    fn categories_are_never_mixed() {
        let codes: Vec<i16> = (0..100).map(|k| if k % 2 == 0 { 3 } else { 9 }).collect();
        let band = Band { values: Values::Categories(&codes), remaining: &[1.0; 100] };
        let skin = filled(Kind::Categories(&[]), 10, 10, [band].into_iter(), Side::Minus, [7, 7]);
        assert!(skin.shades.iter().all(|shade| matches!(shade, Shade::Code(3 | 9))));
    }

    #[test]
    fn wood_without_a_measure_is_raw_where_it_is_the_greater_part() {
        let measures = [f32::NAN, 2.0, 4.0, f32::NAN, f32::NAN, 6.0, f32::NAN, f32::NAN];
        let band = || Band { values: Values::Measures(&measures), remaining: &[10.0; 8] };
        let row = |width| {
            let skin = filled(Kind::Measures, 8, 1, [band()].into_iter(), Side::Minus, [width, 1]);
            (0..width).map(|x| skin.shade(x, 0)).collect::<Vec<_>>()
        };
        let raw = Shade::Code(UNTOUCHED);
        assert_eq!(row(4), [Shade::Measure(2.0), Shade::Measure(4.0), Shade::Measure(6.0), raw]);
        assert_eq!(row(2), [Shade::Measure(3.0), raw]);
        assert_eq!(row(8)[..4], [raw, Shade::Measure(2.0), Shade::Measure(4.0), raw]);
    }

    #[test]
    fn what_is_not_a_number_is_never_drawn() {
        let values = [f32::NAN, f32::INFINITY, 5.0, 0.0];
        let skin = skin(&values, 4, Side::Minus, 4, 4);
        let row: Vec<_> = (0..4).map(|x| skin.shade(x, 0)).collect();
        assert_eq!(row, [Shade::Gone, Shade::Gone, Shade::Measure(5.0), Shade::Gone]);
    }
}
