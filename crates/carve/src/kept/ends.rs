//! Where the wood of a piece ends.

use crate::carved::Carved;
use crate::job::CarveError;
use crate::replay::Replay;

/// The end of the wood is found to this, mm.
const CLOSE: f64 = 1e-4;

/// Rows of a grid that hold wood, and the stations between which it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wood {
    pub(super) rows: [usize; 2],
    pub(super) stations: [f64; 2],
}

/// Where a carved piece has wood; `None` where it has none.
pub(super) fn of(
    carved: &Carved,
    replay: &Replay<'_>,
    go_on: &dyn Fn() -> Result<(), CarveError>,
) -> Result<Option<Wood>, CarveError> {
    let (mut first, mut last) = (None, 0);
    for band in carved.bands() {
        go_on()?;
        let band = carved.band(band);
        for row in band.rows() {
            if band.row(row).any(|ray| ray.radius() > 0.0) {
                first.get_or_insert(row);
                last = row;
            }
        }
    }
    let Some(first) = first else { return Ok(None) };
    let (grid, stock) = (carved.grid(), replay.job().stock);
    let columns = grid.angles;
    let is_wood = |station: f64| (0..columns).any(|column| !replay.ray(station, grid.theta(column)).solid.is_empty());
    let end = |row: usize, blank: f64, step: f64| {
        let inside = grid.station(row);
        let outside = inside + step;
        let is_whole = (blank - outside) * step <= 0.0 && is_wood(blank);
        if is_whole {
            blank
        } else {
            bisect(inside, if (blank - outside) * step < 0.0 { blank } else { outside }, is_wood)
        }
    };
    let stations = [end(first, stock.start, -grid.station_step), end(last, stock.end(), grid.station_step)];
    Ok(Some(Wood { rows: [first, last], stations }))
}

/// The place between one with wood and one without at which it ends.
fn bisect(mut inside: f64, mut outside: f64, is_wood: impl Fn(f64) -> bool) -> f64 {
    while (outside - inside).abs() > CLOSE {
        let middle = 0.5 * (inside + outside);
        if is_wood(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    0.5 * (inside + outside)
}
