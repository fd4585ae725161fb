//! From rays to pixels.
//!
//! A pixel covers a patch of the blank, and a ray stands for its cell: half a step to each side. Where cells are smaller
//! than pixels a measure is the mean over the patch, each ray weighted by how much of its cell lies in it, so that fine
//! detail fades evenly instead of flickering; where they are larger it is the nearest ray's, so that a cell stays a
//! plain block without a fringe of values that are not there. Program lines and categories are always the nearest
//! ray's, as a mean of names means nothing. A pixel is gone when it holds a quarter of a cell that is:
//! a hole of a single ray is seen.

use crate::map::{Map, Values};
use dryturn_geom::Side;

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
    shades: Vec<Shade>,
}

impl Skin {
    /// Resamples a map; `remaining` is the outermost solid radius of each ray.
    pub(super) fn new(map: &Map, remaining: &[f32], chuck: Side, width: usize, height: usize) -> Skin {
        let stations: Vec<Part> = (0..width).map(|x| Part::along(x, width, map.rows)).collect();
        let angles: Vec<Part> = (0..height).map(|y| Part::around(y, height, map.columns, chuck)).collect();
        let least_gone = 0.25 * covered(map.rows, width) * covered(map.columns, height);
        let patch = |station: &Part, angle: &Part| {
            let near = station.nearest * map.columns + angle.nearest % map.columns;
            let mut sums = Sums::default();
            for (row, along) in station.cells() {
                for (column, around) in angle.cells() {
                    let ray = row * map.columns + column % map.columns;
                    sums.add(map, remaining, ray, along * around);
                }
            }
            match map.values {
                _ if sums.gone >= least_gone => Shade::Gone,
                Values::Measures(_) if sums.solid > 0.0 => Shade::Measure((sums.measure / sums.solid) as f32),
                Values::Measures(_) => Shade::Gone,
                _ if is_gone(remaining[near]) => Shade::Gone,
                Values::Lines(lines) => Shade::Code(lines[near]),
                Values::Categories { codes, .. } => Shade::Code(i32::from(codes[near])),
            }
        };
        let mut shades = Vec::with_capacity(width * height);
        for station in &stations {
            shades.extend(angles.iter().map(|angle| patch(station, angle)));
        }
        Skin { width, height, shades }
    }

    /// What the pixel in a column and a row shows; gone outside.
    pub(super) fn shade(&self, x: usize, y: usize) -> Shade {
        if x < self.width && y < self.height { self.shades[x * self.height + y] } else { Shade::Gone }
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
#[derive(Default)]
struct Sums {
    gone: f64,
    solid: f64,
    measure: f64,
}

impl Sums {
    fn add(&mut self, map: &Map, remaining: &[f32], ray: usize, weight: f64) {
        if is_gone(remaining[ray]) {
            self.gone += weight;
            return;
        }
        if let Values::Measures(values) = map.values
            && values[ray].is_finite()
        {
            self.solid += weight;
            self.measure += weight * f64::from(values[ray]);
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

    /// Each cell with the length of it that is covered.
    fn cells(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let last = self.to.ceil() as usize;
        (self.from.floor() as usize..last).map(|cell| {
            let (start, end) = (cell as f64, (cell + 1) as f64);
            (cell, end.min(self.to) - start.max(self.from))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(values: &[f32], rows: usize, columns: usize) -> Map<'_> {
        Map {
            name: "test",
            title: "Test",
            unit: "mm",
            rows,
            columns,
            station_first: 0.5,
            station_step: 1.0,
            angle_step: 360.0 / columns as f64,
            values: Values::Measures(values),
        }
    }

    #[test]
    fn a_large_cell_stays_a_block_and_the_seam_is_shared() {
        let values = [1.0, 2.0, 3.0, 4.0];
        let skin = Skin::new(&map(&values, 1, 4), &values, Side::Minus, 3, 16);
        let column: Vec<_> = (0..16).map(|y| skin.shade(1, y)).collect();
        let expected = [1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 1, 1];
        assert_eq!(column, expected.map(|v| Shade::Measure(v as f32)));
        let turned = Skin::new(&map(&values, 1, 4), &values, Side::Plus, 3, 16);
        assert!((0..16).all(|y| turned.shade(1, y) == column[15 - y]));
    }

    #[test]
    fn many_small_cells_are_averaged() {
        let values: Vec<f32> = (0..64).map(|k| (k / 8) as f32 + 1.0).collect();
        let skin = Skin::new(&map(&values, 8, 8), &values, Side::Minus, 2, 2);
        assert_eq!(skin.shade(0, 0), Shade::Measure(2.5));
        assert_eq!(skin.shade(1, 1), Shade::Measure(6.5));
    }

    #[test]
    fn a_hole_of_one_ray_is_seen() {
        for ray in (0..10_000).step_by(37) {
            let mut values = vec![20.0; 10_000];
            values[ray] = 0.0;
            let skin = Skin::new(&map(&values, 100, 100), &values, Side::Minus, 23, 31);
            assert!(skin.shades.contains(&Shade::Gone), "ray {ray}");
        }
    }

    #[test]
    fn categories_are_never_mixed() {
        let codes: Vec<i16> = (0..100).map(|k| if k % 2 == 0 { 3 } else { 9 }).collect();
        let values = Values::Categories { codes: &codes, names: &[] };
        let skin = Skin::new(&Map { values, ..map(&[], 10, 10) }, &[1.0; 100], Side::Minus, 7, 7);
        assert!(skin.shades.iter().all(|shade| matches!(shade, Shade::Code(3 | 9))));
    }

    #[test]
    fn what_is_not_a_number_is_never_drawn() {
        let values = [f32::NAN, f32::INFINITY, 5.0, 0.0];
        let skin = Skin::new(&map(&values, 4, 1), &values, Side::Minus, 4, 4);
        let row: Vec<_> = (0..4).map(|x| skin.shade(x, 0)).collect();
        assert_eq!(row, [Shade::Gone, Shade::Gone, Shade::Measure(5.0), Shade::Gone]);
    }
}
