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
pub(crate) struct Skin<'a> {
    pub(crate) rays: &'a Rays,
    /// By row, the radius and the normal of the ends of every ray.
    rows: Vec<Ragged<(f64, DVec3)>>,
}

impl<'a> Skin<'a> {
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn new(rays: &'a Rays, wood: &impl Wood, stop: &Stop<'_>) -> Result<Skin<'a>, SurfaceError> {
        let row = |row: usize| {
            stop.step(rays.rows())?;
            let ends = |column| (0..rays.ends(row, column).len()).map(move |end| asked(rays, wood, row, column, end));
            Ok((0..rays.angles).map(ends).collect())
        };
        let rows: Result<Vec<_>, SurfaceError> = (0..rays.rows()).into_par_iter().map(row).collect();
        Ok(Skin { rays, rows: rows? })
    }

    /// The point of the surface at an end.
    pub(crate) fn sample(&self, row: usize, column: usize, number: usize) -> Sample {
        let (radius, normal) = self.rows[row].of(column)[number];
        let by = self.rays.ends(row, column)[number].by;
        Sample { point: self.rays.point(row, column, radius), normal, by }
    }
}

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
