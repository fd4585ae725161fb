//! How much piece and target differ, by volume alone.

use dryturn_carve::{Carved, Span};
use dryturn_geom::angle;
use rayon::prelude::*;

use super::patches::Kind;
use super::row::differences;
use super::surface::Surface;

/// Volume that lies in one of piece and target and not in the other between two stations (mm), mm³. What the blank never
/// held does not count.
pub fn mismatch(carved: &Carved, surface: &Surface, span: [f64; 2]) -> f64 {
    let grid = carved.grid();
    let directions: Vec<(f64, f64)> = (0..grid.angles).map(|column| angle::sin_cos(grid.theta(column))).collect();
    let rows = (0..grid.stations).filter(|&row| (span[0]..=span[1]).contains(&grid.station(row)));
    let rows: Vec<usize> = rows.collect();
    let of_row = |row: usize| -> f64 {
        let insides = surface.row(grid.station(row), &directions);
        let of_ray = |(column, inside): (usize, &_)| -> f64 {
            let spans: Vec<Span> = carved.spans(row, column).collect();
            let found = differences(&spans, inside, carved.cut_by(row, column));
            let between = found.iter().filter(|found| found.kind != Kind::Short);
            between.map(|found| 0.5 * (found.to - found.from) * (found.to + found.from)).sum()
        };
        insides.iter().enumerate().map(of_ray).sum()
    };
    // Summed in the order of the rows, whatever the threads.
    let sums: Vec<f64> = rows.into_par_iter().map(of_row).collect();
    sums.iter().sum::<f64>() * grid.station_step * grid.angle_step
}
