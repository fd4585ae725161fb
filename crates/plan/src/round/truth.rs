//! How true the piece comes out.

use dryturn_carve::Carved;

use crate::error::PlanError;

/// What was measured on the proved piece.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Truth {
    /// Stations between which it was looked at, mm.
    pub span: [f64; 2],
    /// Rays that were looked at.
    pub rays: usize,
    /// How far the worst of them is off, mm.
    pub worst_mm: f64,
    /// Station of the worst.
    station_mm: f64,
}

/// What every ray must keep, mm: what the carve itself claims.
const CLAIM: f64 = 0.001;

/// Whether a station lies between two others, and not on a shoulder: a ray there belongs to either side.
fn is_inside(station: f64, [first, last]: [f64; 2]) -> bool {
    first + CLAIM < station && station < last - CLAIM
}

impl Truth {
    /// Every ray between two stations beside the radius meant at its angle (radians); rays of which nothing is meant are
    /// left out.
    pub(super) fn of(carved: &Carved, span: [f64; 2], meant: impl Fn(f64) -> Option<f64>) -> Truth {
        let grid = carved.grid();
        let meant: Vec<_> = (0..grid.angles).filter_map(|column| Some((column, meant(grid.theta(column))?))).collect();
        let mut truth = Truth { span, ..Truth::default() };
        for row in (0..grid.stations).filter(|&row| is_inside(grid.station(row), span)) {
            for &(column, radius) in &meant {
                let off = (f64::from(carved.radius(row, column)) - radius).abs();
                truth.rays += 1;
                if off > truth.worst_mm {
                    (truth.worst_mm, truth.station_mm) = (off, grid.station(row));
                }
            }
        }
        truth
    }

    /// Refuses a piece that is not as it was meant.
    pub(super) fn claimed(self) -> Result<Truth, PlanError> {
        if self.worst_mm <= CLAIM {
            Ok(self)
        } else {
            Err(PlanError::Untrue { worst_mm: self.worst_mm, station_mm: self.station_mm })
        }
    }
}
