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
    /// From the outside in, a list of rays each; the first is always there.
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
        let outer = |ray: usize| self.layers.first().and_then(|rays| rays.get(ray)).map_or(0.0, |it| it.outer);
        self.nearest(station, theta).map_or(0.0, |ray| f64::from(outer(ray)))
    }

    /// Whether there is wood at a station, angle and radius.
    pub fn holds(&self, station: f64, theta: f64, radius: f64) -> bool {
        let Some(ray) = self.nearest(station, theta) else { return false };
        let radius = radius as f32;
        self.layers.iter().filter_map(|rays| rays.get(ray)).any(|it| it.inner <= radius && radius < it.outer)
    }

    /// Of each ray all from its innermost end to its outermost.
    pub(crate) fn envelope(&self) -> Vec<Solid> {
        let last = |ray: usize| self.layers.iter().rev().map(|rays| rays[ray]).find(|solid| !solid.is_empty());
        let whole = |(ray, first): (usize, &Solid)| Solid { inner: last(ray).unwrap_or(*first).inner, ..*first };
        self.layers.first().map_or_else(Vec::new, |rays| rays.iter().enumerate().map(whole).collect())
    }

    /// What lies hollow between one layer and the next, for all layers.
    pub(crate) fn gaps(&self) -> impl Iterator<Item = Vec<Solid>> + '_ {
        let gap = |(over, under): (&Solid, &Solid)| match under.is_empty() {
            true => Solid::default(),
            false => Solid { inner: under.outer, outer: over.inner },
        };
        self.layers.windows(2).map(move |pair| pair[0].iter().zip(&pair[1]).map(gap).collect())
    }

    /// Greatest radius, mm.
    pub fn greatest(&self) -> f64 {
        self.layers.first().map_or(0.0, |rays| rays.iter().map(|it| f64::from(it.outer)).fold(0.0, f64::max))
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
    layers
}
