//! Where the ends of the rays lie and how the surface lies there.
//!
//! Whoever made an end is asked: the radius comes out better than single precision holds it, and the normal is exact.

use glam::DVec3;
use rayon::prelude::*;

use crate::place::Place;
use crate::ragged::Ragged;
use crate::rays::{Rays, is_outer};
use crate::wood::Wood;
use crate::{Stop, SurfaceError};

/// A point of the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sample {
    pub(crate) point: DVec3,
    /// Unit normal out of the wood.
    pub(crate) normal: DVec3,
    /// Who made the surface there.
    pub(crate) by: u32,
}

/// Most that the owner's surface may lie off an end for the end to be put on it, mm: what the carve may be off.
const ROUNDING: f64 = 2e-4;

/// The ends of the rays as points of the surface.
pub(crate) struct Skin<'a, W> {
    pub(crate) rays: &'a Rays,
    wood: &'a W,
    /// By row, the radius and the normal of the ends of every ray; a radius that is not a number where they are not known
    /// in advance.
    rows: Vec<Ragged<(f64, DVec3)>>,
}

impl<'a, W: Wood> Skin<'a, W> {
    /// The ends of all rays; those of which `is_spared` are looked up when they are asked for.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn new(
        rays: &'a Rays,
        wood: &'a W,
        is_spared: impl Fn(usize, usize) -> bool + Sync,
        stop: &Stop<'_>,
    ) -> Result<Skin<'a, W>, SurfaceError> {
        let row = |row: usize| {
            stop.step(rays.rows())?;
            let ends = |column| {
                let is_spared = is_spared(row, column);
                let end = move |end| if is_spared { SPARED } else { asked(rays, wood, row, column, end) };
                (0..rays.ends(row, column).len()).map(end)
            };
            Ok((0..rays.angles).map(ends).collect())
        };
        let rows: Result<Vec<_>, SurfaceError> = (0..rays.rows()).into_par_iter().map(row).collect();
        Ok(Skin { rays, wood, rows: rows? })
    }

    /// The point of the surface at an end.
    pub(crate) fn sample(&self, row: usize, column: usize, number: usize) -> Sample {
        let known = self.rows[row].of(column)[number];
        let (radius, normal) = if known.0.is_nan() { asked(self.rays, self.wood, row, column, number) } else { known };
        let by = self.rays.ends(row, column)[number].by;
        Sample { point: self.rays.point(row, column, radius), normal, by }
    }
}

const SPARED: (f64, DVec3) = (f64::NAN, DVec3::ZERO);

/// Radius and normal of an end by its owner; those that the ray gives where the owner has no surface there.
fn asked(rays: &Rays, wood: &impl Wood, row: usize, column: usize, number: usize) -> (f64, DVec3) {
    let ends = rays.ends(row, column);
    let end = ends[number];
    let outward = rays.direction(column) * if is_outer(number, ends.len()) { 1.0 } else { -1.0 };
    let place = Place { station: rays.stations[row], theta: rays.theta(column), radius: end.radius() };
    let Some(found) = wood.surface(end.by, place).filter(|it| it.normal.is_finite()) else {
        return (end.radius(), outward);
    };
    let more = -found.height / found.normal.dot(rays.direction(column));
    let radius = if more.abs() <= ROUNDING { end.radius() + more } else { end.radius() };
    (radius, found.normal)
}
