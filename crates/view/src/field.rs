//! The piece at a moment of the run, as it is looked at: rays on even stations and angles.

use dryturn_carve::{Carved, Grid};
use dryturn_geom::Side;
use rayon::prelude::*;

/// Most layers of solid that are shown of a ray; more are run together.
const LAYERS: usize = 3;

/// A stretch of solid along a ray, mm; none where `outer` is not greater than `inner`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Solid {
    /// End nearer to the axis.
    pub inner: f32,
    /// End farther out.
    pub outer: f32,
}

impl Solid {
    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.outer <= self.inner
    }
}

/// Rays of a grid, or every so many of them.
#[derive(Clone, Debug)]
pub struct Field {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub columns: usize,
    /// Station of the first row, mm.
    pub first: f64,
    /// From row to row, mm.
    pub step: f64,
    /// From column to column, radians.
    pub turn: f64,
    /// The blank's ends, mm.
    pub ends: [f64; 2],
    /// The side of the machine that the chuck stands on.
    pub chuck: Side,
    /// From the inside out, a list of rays each; the first is always there, and what lies farther out is on the later ones:
    /// so the body goes on from ray to ray where a groove reaches under the surface of some.
    pub layers: Vec<Vec<Solid>>,
    /// The block that made the outermost end.
    pub owners: Vec<u32>,
}

impl Field {
    /// Takes every so many rays of a carved blank.
    pub fn of(carved: &Carved, stride: usize, chuck: Side) -> Field {
        let grid = carved.grid();
        let (rows, columns) = (grid.stations.div_ceil(stride), grid.angles.div_ceil(stride));
        let mut rays = vec![([Solid::default(); LAYERS], 0); rows * columns];
        for band in carved.bands() {
            let kept: Vec<usize> = band.clone().filter(|row| row % stride == 0).collect();
            let Some(first) = kept.first() else { continue };
            let band = carved.band(band);
            let portion = &mut rays[first / stride * columns..(first / stride + kept.len()) * columns];
            portion.par_chunks_mut(columns).zip(kept).for_each(|(rays, row)| {
                for (ray, dexel) in rays.iter_mut().zip(band.row(row).step_by(stride)) {
                    *ray = (layers_of(&dexel), dexel.cut_by());
                }
            });
        }
        let most = rays.iter().map(|(layers, _)| layers.iter().filter(|solid| !solid.is_empty()).count()).max();
        let layers = (0..most.unwrap_or(1).max(1)).map(|layer| rays.iter().map(|ray| ray.0[layer]).collect()).collect();
        Field { layers, owners: rays.iter().map(|ray| ray.1).collect(), ..Field::over(grid, stride, chuck) }
    }

    /// Where the rays stand, without them.
    fn over(grid: &Grid, stride: usize, chuck: Side) -> Field {
        let half = 0.5 * grid.station_step;
        Field {
            rows: grid.stations.div_ceil(stride),
            columns: grid.angles.div_ceil(stride),
            first: grid.station_first,
            step: grid.station_step * stride as f64,
            turn: grid.angle_step * stride as f64,
            ends: [grid.station_first - half, grid.station(grid.stations - 1) + half],
            chuck,
            layers: Vec::new(),
            owners: Vec::new(),
        }
    }

    /// The stride at which a grid has no more than so many rays.
    pub fn stride(grid: &Grid, most: usize) -> usize {
        (1..).find(|stride| grid.stations.div_ceil(*stride) * grid.angles.div_ceil(*stride) <= most).unwrap_or(1)
    }

    /// Station of a row, mm.
    pub fn station(&self, row: usize) -> f64 {
        self.first + row as f64 * self.step
    }

    /// Place of the ray nearest to a station (mm) and angle θ (radians); `None` beyond the ends.
    pub fn nearest(&self, station: f64, theta: f64) -> Option<usize> {
        if station < self.ends[0] || station > self.ends[1] {
            return None;
        }
        let row = (((station - self.first) / self.step).round().max(0.0) as usize).min(self.rows - 1);
        let column = (theta / self.turn).round().rem_euclid(self.columns as f64) as usize % self.columns;
        Some(row * self.columns + column)
    }

    /// Outermost radius at a station and angle, mm; 0 where nothing is.
    pub fn radius(&self, station: f64, theta: f64) -> f64 {
        self.nearest(station, theta).map_or(0.0, |ray| f64::from(self.outermost(ray)))
    }

    /// Outermost radius of a ray, mm; 0 where nothing is.
    pub fn outermost(&self, ray: usize) -> f32 {
        self.layers.iter().filter_map(|rays| rays.get(ray)).fold(0.0, |most, solid| most.max(solid.outer))
    }

    /// Whether nothing of a ray lies farther out than it does on a layer.
    pub(crate) fn is_outermost(&self, layer: usize, ray: usize) -> bool {
        self.layers.get(layer + 1).is_none_or(|rays| rays[ray].is_empty())
    }

    /// Whether there is wood at a station, angle and radius.
    pub fn holds(&self, station: f64, theta: f64, radius: f64) -> bool {
        let Some(ray) = self.nearest(station, theta) else { return false };
        let radius = radius as f32;
        self.layers.iter().filter_map(|rays| rays.get(ray)).any(|it| it.inner <= radius && radius < it.outer)
    }

    /// Greatest radius, mm.
    pub fn greatest(&self) -> f64 {
        self.layers.iter().flatten().map(|it| f64::from(it.outer)).fold(0.0, f64::max)
    }
}

fn layers_of(dexel: &dryturn_carve::Dexel<'_>) -> [Solid; LAYERS] {
    let mut layers = [Solid::default(); LAYERS];
    let mut at = 0;
    dexel.each_span(|span| {
        if at < LAYERS {
            layers[at] = Solid { inner: span.inner, outer: span.outer };
        } else {
            layers[LAYERS - 1].inner = span.inner;
        }
        at += 1;
    });
    layers[..at.min(LAYERS)].reverse();
    layers
}
