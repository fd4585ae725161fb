//! The blank as a scene holds it.

use std::ops::Range;

use dryturn_carve::{Course, Grid, Section};
use dryturn_scene::Scene;
use dryturn_scene::material::Material;

use super::bar::{Bar, Holding, Stiffness};
use super::section::Profile;
use crate::stretches::place;

/// Shear modulus of a wood for which none is given, as a share of its modulus (rule of thumb, from memory).
const RIGIDITY_OF_WOOD: f64 = 1.0 / 16.0;
/// The same of all else: 1/(2 + 2ν) with a Poisson's ratio of 0.35, between metals and plastics (from memory).
const RIGIDITY: f64 = 1.0 / 2.7;

/// The free length of a blank, how it is held, and what it is made of.
pub(crate) struct Held<'a> {
    grid: &'a Grid,
    /// Rows of the grid that lie in the free length, the first perhaps in part.
    rows: Range<usize>,
    /// The places that these are at, for they are asked for again and again.
    places: Vec<i64>,
    stiffness: Stiffness,
    holding: Holding,
}

impl<'a> Held<'a> {
    /// `None` where the scene does not say what holds the blank, or how stiff it is.
    pub(crate) fn of(scene: &Scene, grid: &'a Grid) -> Option<Held<'a>> {
        let holding = holding(scene)?;
        let stiffness = stiffness(scene.blank.material.as_ref()?)?;
        let is_held = |row: &usize| grid.station(*row) + 0.5 * grid.station_step <= 0.0;
        let first = (0..grid.stations).find(|row| !is_held(row))?;
        let rows = first..grid.stations;
        let places = rows.clone().map(|row| place(grid.station(row))).collect();
        Some(Held { grid, rows, places, stiffness, holding })
    }

    /// A section of the free length at a moment.
    pub(crate) fn section(&self, course: &Course, moment: usize, at: usize) -> Section {
        course.section(self.rows.start + at, moment)
    }

    /// The sections that a moment finds other than the one before it, perhaps, by their places.
    pub(crate) fn changed(&self, course: &Course, moment: usize) -> impl Iterator<Item = usize> {
        (0..self.count()).filter(move |at| course.changes(self.rows.start + at, moment))
    }

    /// How many sections there are.
    pub(crate) fn count(&self) -> usize {
        self.rows.len()
    }

    /// From one section to the next, mm.
    pub(crate) fn step(&self) -> f64 {
        self.grid.station_step
    }

    /// The section nearest to a station (mm).
    pub(crate) fn at(&self, station: f64) -> usize {
        let rows = (station - self.station(0)) / self.grid.station_step;
        (rows.round().max(0.0) as usize).min(self.rows.len().saturating_sub(1))
    }

    /// The sections within a distance of a stretch between two stations (mm).
    pub(crate) fn within(&self, [from, to]: [f64; 2], distance: f64) -> Range<usize> {
        let rows = |station: f64| (station - self.station(0)) / self.grid.station_step;
        let first = rows(from.min(to) - distance).ceil().max(0.0) as usize;
        let end = (rows(from.max(to) + distance).floor() + 1.0).max(0.0) as usize;
        first.min(self.count())..end.min(self.count()).max(first.min(self.count()))
    }

    /// The bar of such sections, given by their profiles.
    pub(crate) fn bar(&self, profiles: impl Iterator<Item = Option<Profile>>) -> Bar {
        let ends = (0..self.count()).map(|at| self.station(at) + 0.5 * self.grid.station_step);
        Bar::new(0.0, ends.zip(profiles), self.stiffness, self.holding)
    }

    /// Whether nothing holds the far end.
    pub(crate) fn is_free(&self) -> bool {
        self.holding == Holding::Clamped
    }

    /// The place that a section is at.
    pub(crate) fn place(&self, at: usize) -> i64 {
        self.places[at]
    }

    /// The station in the middle of a section, mm.
    pub(crate) fn station(&self, at: usize) -> f64 {
        self.grid.station(self.rows.start + at)
    }
}

fn holding(scene: &Scene) -> Option<Holding> {
    let center = scene.tailstock.is_some();
    match (scene.drive.is_some(), scene.chuck.is_some() || scene.faceplate.is_some()) {
        (true, _) => center.then_some(Holding::Centers),
        (false, true) => Some(if center { Holding::Propped } else { Holding::Clamped }),
        (false, false) => None,
    }
}

fn stiffness(material: &Material) -> Option<Stiffness> {
    let modulus = material.modulus.filter(|modulus| *modulus > 0.0)?;
    let usual = modulus * if material.is_wood { RIGIDITY_OF_WOOD } else { RIGIDITY };
    let rigidity = material.rigidity.filter(|rigidity| *rigidity > 0.0).unwrap_or(usual);
    // A wood's modulus is measured in bending, at a span of 14 depths, with the shear of that span in it.
    Some(Stiffness { modulus, rigidity, with_shear: !material.is_wood })
}
