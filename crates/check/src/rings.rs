//! The circles that blank and jaws sweep about the rotary axis.

use dryturn_geom::{Section, Stock, angle};
use std::f64::consts::TAU;

use crate::contact::{FixedBody, FixedShape, ring_of};

/// Pieces that an uneven blank is cut into along the axis, and the stations and angles looked at in each where its
/// section is another at every station.
const SLICES: u32 = 64;
const STATIONS: u32 = 5;
const ANGLES: u32 = 72;

/// What the blank sweeps outside its holding before anything is cut: cylinders about the axis, in a row called `blank`.
pub(crate) fn blank_rings(stock: &Stock) -> Vec<FixedBody> {
    let slices = if stock.is_even() { 1 } else { SLICES };
    let station = |k: u32| stock.end() * f64::from(k) / f64::from(slices);
    (0..slices)
        .map(|k| {
            let (from, to) = (station(k), station(k + 1));
            let shape = FixedShape::CylinderX { from, to, radius: swept(stock, from, to) };
            FixedBody { row: "blank".to_owned(), which: 0, shape }
        })
        .collect()
}

/// Greatest radius swept between two stations, mm.
fn swept(stock: &Stock, from: f64, to: f64) -> f64 {
    match stock.section {
        Section::Solid(_) => rays(from, to)
            .filter_map(|(station, theta)| stock.spans(station, theta).as_slice().last().map(|span| span.1))
            .fold(0.0, f64::max),
        _ => {
            let shift = |station: f64| {
                let offset = stock.center_shift(station);
                angle::hypot(offset.y, offset.z)
            };
            stock.corner_radius() + shift(from).max(shift(to))
        }
    }
}

/// Rays (station, θ) between two stations.
fn rays(from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
    let at = move |k: u32| from + (to - from) * (f64::from(k) + 0.5) / f64::from(STATIONS);
    (0..STATIONS).flat_map(move |k| (0..ANGLES).map(move |j| (at(k), TAU * f64::from(j) / f64::from(ANGLES))))
}

/// What the jaws among the fixed bodies sweep.
pub(crate) fn jaw_rings(fixed: &[FixedBody]) -> Vec<FixedBody> {
    fixed
        .iter()
        .filter(|body| body.row == "jaws")
        .map(|body| FixedBody { shape: ring_of(&body.shape), ..body.clone() })
        .collect()
}
