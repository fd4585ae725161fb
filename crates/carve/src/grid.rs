//! Where the rays stand.

use std::f64::consts::TAU;

use dryturn_geom::{Stock, angle};

use crate::kernel::LANES;

/// The rays of a radial dexel blank: `stations` rows of `angles` rays each, all from the rotary axis outward.
///
/// Row `i` stands at the station `station_first + i · station_step`, the middle of its cell; column `j` at the angle
/// θ = `j · angle_step`.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Number of rows.
    pub stations: usize,
    /// Number of columns, a multiple of 24.
    pub angles: usize,
    /// Station of row 0, mm.
    pub station_first: f64,
    /// Distance between rows, mm.
    pub station_step: f64,
    /// Angle between columns, radians.
    pub angle_step: f64,
}

/// Angles come in multiples of this many, so that halves, thirds, quarters and their like fall on rays.
const ANGLES_OF: usize = 24;

/// Bytes one ray takes while it holds a single span of solid.
pub const RAY_BYTES: usize = 20;

impl Grid {
    /// The grid of the given pitch (mm, along the axis and around the greatest swept radius) over a blank.
    ///
    /// A blank that is known on rays of its own of that pitch is looked at on just those.
    pub fn over(stock: &Stock, pitch: f64) -> Grid {
        if let Some(own) = stock.lattice().filter(|own| own.pitch == pitch) {
            return Grid {
                stations: own.stations,
                angles: own.angles,
                station_first: stock.start + own.first,
                station_step: own.step,
                angle_step: TAU / own.angles as f64,
            };
        }
        let stations = ((stock.length / pitch - 1e-9).ceil() as usize).max(1);
        let around = (TAU * stock.swept_radius() / pitch - 1e-9).ceil() as usize;
        let angles = around.div_ceil(ANGLES_OF).max(1) * ANGLES_OF;
        let station_step = stock.length / stations as f64;
        Grid {
            stations,
            angles,
            station_first: stock.start + 0.5 * station_step,
            station_step,
            angle_step: TAU / angles as f64,
        }
    }

    /// The grid whose cells are those of this one, each cut into `factor` × `factor`.
    pub fn finer(&self, factor: usize) -> Grid {
        let factor = factor.max(1);
        let station_step = self.station_step / factor as f64;
        Grid {
            stations: self.stations * factor,
            angles: self.angles * factor,
            station_first: self.station_first - 0.5 * self.station_step + 0.5 * station_step,
            station_step,
            angle_step: TAU / (self.angles * factor) as f64,
        }
    }

    /// Station of a row, mm.
    pub fn station(&self, row: usize) -> f64 {
        self.station_first + row as f64 * self.station_step
    }

    /// Angle θ of a column, radians.
    pub fn theta(&self, column: usize) -> f64 {
        column as f64 * self.angle_step
    }

    /// Number of rays.
    pub fn rays(&self) -> usize {
        self.stations * self.angles
    }

    /// Bytes the rays take while each holds a single span.
    pub fn bytes(&self) -> u64 {
        self.rays() as u64 * RAY_BYTES as u64
    }

    /// How every column stands.
    pub(crate) fn directions(&self) -> Directions {
        let all: Vec<(f64, f64)> = (0..self.angles).map(|column| angle::sin_cos(self.theta(column))).collect();
        let padded =
            |pick: fn(&(f64, f64)) -> f64| all.iter().map(pick).chain(std::iter::repeat_n(0.0, LANES)).collect();
        Directions { sines: padded(|it| it.0), cosines: padded(|it| it.1) }
    }
}

/// Sine and cosine of every column's angle, with a few idle ones behind the last.
pub(crate) struct Directions {
    sines: Vec<f64>,
    cosines: Vec<f64>,
}

impl Directions {
    /// Sine and cosine of one column.
    pub(crate) fn of(&self, column: usize) -> (f64, f64) {
        (self.sines[column], self.cosines[column])
    }

    /// The sines and the cosines of a chunk of columns from one on.
    #[inline]
    pub(crate) fn chunk(&self, first: usize) -> (&[f64; LANES], &[f64; LANES]) {
        (chunk(&self.sines, first), chunk(&self.cosines, first))
    }
}

/// The values of a chunk of columns from one on.
#[inline]
pub(crate) fn chunk(values: &[f64], first: usize) -> &[f64; LANES] {
    values[first..].first_chunk().expect("as many idle columns stand at the end")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_cover_the_length_and_columns_the_turn() {
        let mut stock = Stock::round(30.0, 200.0);
        stock.start = -15.0;
        let grid = Grid::over(&stock, 0.25);
        assert_eq!((grid.stations, grid.angles), (800, 768));
        assert_eq!(grid.station(0), -15.0 + 0.125);
        assert!((grid.station(799) - (185.0 - 0.125)).abs() < 1e-9);
        assert!((grid.theta(192) - TAU / 4.0).abs() < 1e-12);
    }
}
