//! A turned shape: distances in the half-plane of station and radius.

use dryturn_geom::angle;
use dryturn_scene::{Inside, Near, Point};

/// The outline of a turned shape, closed by the axis.
pub struct Outline {
    /// (station, radius), the stations never falling; the ends are closed down to the axis.
    rows: Vec<[f64; 2]>,
}

impl Outline {
    /// The outline through rows of (station, radius), the stations never falling.
    pub(super) fn new(rows: &[[f64; 2]]) -> Outline {
        let foot = |row: Option<&[f64; 2]>| row.map(|row| [row[0], 0.0]);
        let ends = [foot(rows.first()), foot(rows.last())];
        let rows = ends[0].into_iter().chain(rows.iter().copied()).chain(ends[1]).collect();
        Outline { rows }
    }

    pub(super) fn nearest(&self, [station, y, z]: Point) -> Near {
        let radius = angle::hypot(y, z);
        let at = self.rows.partition_point(|row| row[0] < station);
        let mut best = (f64::INFINITY, [station, radius]);
        let mut look = |pair: &[[f64; 2]]| {
            // What lies on the axis is no surface.
            if pair[0][1] > 0.0 || pair[1][1] > 0.0 {
                let foot = nearest_of_segment([station, radius], pair[0], pair[1]);
                let distance = angle::hypot(foot[0] - station, foot[1] - radius);
                if distance < best.0 {
                    best = (distance, foot);
                }
            }
            best.0
        };
        // Segments lie in the order of their stations: whoever is too far along the axis ends the search on that side.
        for pair in self.rows[at.saturating_sub(1)..].windows(2) {
            if pair[0][0] - station > look(pair) {
                break;
            }
        }
        for pair in self.rows[..(at + 1).min(self.rows.len())].windows(2).rev() {
            if station - pair[1][0] > look(pair) {
                break;
            }
        }
        let (distance, foot) = best;
        let out = if radius > 0.0 { [y / radius, z / radius] } else { [0.0, 1.0] };
        Near { distance, point: [foot[0], foot[1] * out[0], foot[1] * out[1]], chord: 0.0 }
    }

    pub(super) fn inside(&self, station: f64) -> Inside {
        match self.radius_at(station) {
            Some(radius) if radius > 0.0 => vec![(0.0, radius)],
            _ => Vec::new(),
        }
    }

    fn radius_at(&self, station: f64) -> Option<f64> {
        let at = self.rows.partition_point(|row| row[0] <= station);
        let (before, after) = (self.rows.get(at.checked_sub(1)?)?, self.rows.get(at)?);
        let share = (station - before[0]) / (after[0] - before[0]);
        Some(before[1] + share * (after[1] - before[1]))
    }
}

fn nearest_of_segment(point: [f64; 2], from: [f64; 2], to: [f64; 2]) -> [f64; 2] {
    let way = [to[0] - from[0], to[1] - from[1]];
    let square = way[0] * way[0] + way[1] * way[1];
    if square == 0.0 {
        return from;
    }
    let share = ((point[0] - from[0]) * way[0] + (point[1] - from[1]) * way[1]) / square;
    let share = share.clamp(0.0, 1.0);
    [from[0] + share * way[0], from[1] + share * way[1]]
}
