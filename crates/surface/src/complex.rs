//! The lattice of rays, strips and columns, and where the surface passes through it.

use rayon::prelude::*;

use crate::climb::Climb;
use crate::column::{Column, Side};
use crate::crossing::{Way, at_the_face, crossing};
use crate::level::Levels;
use crate::place::Place;
use crate::ragged::Ragged;
use crate::rays::Rays;
use crate::skin::{Sample, Skin};
use crate::strip::{Knot, Strip};
use crate::wood::{Body, Wood};
use crate::{Stop, SurfaceError};

/// The crossings of a row of strips: their levels, and where they lie.
pub(crate) struct Crossings {
    pub(crate) levels: Ragged<f64>,
    pub(crate) samples: Vec<Sample>,
}

impl Crossings {
    fn new() -> Crossings {
        Crossings { levels: Ragged::new(), samples: Vec::new() }
    }
}

/// All places through which the surface passes.
pub(crate) struct Complex<'a, W> {
    pub(crate) rays: &'a Rays,
    pub(crate) skin: &'a Skin<'a, W>,
    pub(crate) wood: &'a W,
    /// By row of columns, the levels of each.
    pub(crate) levels: Vec<Ragged<f64>>,
    /// Over how much of a flat wall nothing else is looked for, mm.
    longest: f64,
    /// Strips along the axis from the rays of a row to those of the next.
    pub(crate) along: Vec<Crossings>,
    /// Strips around the axis within a row.
    pub(crate) around: Vec<Crossings>,
    /// Crossings of the axis between a row and the next.
    axis: Vec<Option<Sample>>,
}

/// A strip, the levels of both its columns, and the rows and columns of its rays.
type StripOf<'s> = (Strip<'s>, Levels, [(usize, usize); 2]);

/// Strips of a row that are crossed in one go.
const TOGETHER: usize = 64;

/// From so many crossings of a strip on what reaches it is looked up once for all of them.
const MANY: usize = 3;

impl<'a, W: Body> Complex<'a, W> {
    /// Looks for all crossings; `levels` tells where the column of a row and an angle is cut. Over no more than `longest`
    /// mm of a wall that is flat at both its ends nothing else is looked for.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn new(
        skin: &'a Skin<'a, W>,
        wood: &'a W,
        levels: impl Fn(usize, usize) -> Levels + Sync,
        longest: f64,
        stop: &Stop<'_>,
    ) -> Result<Complex<'a, W>, SurfaceError> {
        let rays = skin.rays;
        let columns = 0..rays.rows() - 1;
        let row = |row: usize| (0..rays.angles).map(|column| levels(row, column)).collect();
        let levels: Vec<Ragged<f64>> = columns.clone().into_par_iter().map(row).collect();
        let mut complex = Complex { rays, skin, wood, levels, longest, along: vec![], around: vec![], axis: vec![] };
        let each = |row: usize| {
            stop.step(rays.rows())?;
            let (along, around) = (complex.along_of(row), complex.around_of(row));
            Ok((along, around, complex.axis_of(row)))
        };
        let found: Vec<_> = (0..rays.rows()).into_par_iter().map(each).collect::<Result<_, SurfaceError>>()?;
        for (along, around, axis) in found {
            complex.along.push(along);
            complex.around.push(around);
            complex.axis.push(axis);
        }
        Ok(complex)
    }

    fn along_of(&self, row: usize) -> Crossings {
        self.crossings(|column| {
            if row + 1 == self.rays.rows() {
                return None;
            }
            let strip = Strip { near: self.rays.ends(row, column), far: self.rays.ends(row + 1, column) };
            let before = self.levels[row].of(self.rays.before(column));
            Some((strip, both(before, self.levels[row].of(column)), [(row, column), (row + 1, column)]))
        })
    }

    fn around_of(&self, row: usize) -> Crossings {
        let of = |row: Option<usize>, column: usize| -> &[f64] {
            row.and_then(|row| self.levels.get(row)).map_or(&[], |levels| levels.of(column))
        };
        self.crossings(|column| {
            let levels = both(of(row.checked_sub(1), column), of(Some(row), column));
            let strip = Strip { near: self.rays.ends(row, column), far: self.rays.ends(row, column + 1) };
            Some((strip, levels, [(row, column), (row, column + 1)]))
        })
    }

    /// The crossings of a row of strips.
    fn crossings<'s>(&self, strip: impl Fn(usize) -> Option<StripOf<'s>> + Sync) -> Crossings {
        let angles = self.rays.angles;
        let starts: Vec<usize> = (0..angles).step_by(TOGETHER).collect();
        let some = |start: usize| {
            let mut crossings = Crossings::new();
            for column in start..(start + TOGETHER).min(angles) {
                match strip(column) {
                    Some(strip) => self.cross_all(strip, &mut crossings),
                    None => crossings.levels.push([]),
                }
            }
            crossings
        };
        // The rows at the ends of the blank have most of all crossings.
        let found: Vec<Crossings> = starts.into_par_iter().map(some).collect();
        let mut all = Crossings::new();
        for some in found {
            all.levels.append(some.levels);
            all.samples.extend(some.samples);
        }
        all
    }

    /// Adds the crossings of a strip at the levels at which its rays differ.
    fn cross_all(&self, (strip, mut levels, rays): StripOf<'_>, crossings: &mut Crossings) {
        levels.retain(|level| strip.differs_at(*level));
        if levels.len() < MANY {
            self.climb(self.wood, strip, &levels, rays, &mut crossings.samples);
        } else {
            let [from, to] = [(rays[0], levels[0]), (rays[1], levels[levels.len() - 1])]
                .map(|((row, column), level)| self.place(row, column, level));
            let part = self.wood.between(from, to);
            self.climb(&part, strip, &levels, rays, &mut crossings.samples);
        }
        crossings.levels.push(levels);
    }

    fn climb(
        &self,
        wood: &impl Wood,
        strip: Strip<'_>,
        levels: &[f64],
        rays: [(usize, usize); 2],
        samples: &mut Vec<Sample>,
    ) {
        if levels.is_empty() {
            return;
        }
        let is_at_the_face = rays.iter().any(|(row, _)| [0, self.rays.rows() - 1].contains(row));
        let rays = rays.map(|(row, column)| self.place(row, column, 0.0));
        let climb = Climb { wood, strip, levels, rays, is_at_the_face, longest: self.longest };
        samples.extend(climb.crossings());
    }

    fn axis_of(&self, row: usize) -> Option<Sample> {
        let next = *self.rays.solid_axis.get(row + 1)?;
        let [one, other] = [row, row + 1].map(|row| self.place(row, 0, 0.0));
        let way = match (self.rays.solid_axis[row], next) {
            (true, false) => Way::new(one, other),
            (false, true) => Way::new(other, one),
            _ => return None,
        };
        let is_at_the_face = row == 0 || row + 2 == self.rays.rows();
        Some(if is_at_the_face { at_the_face(self.wood, &way) } else { crossing(self.wood, &way, None) })
    }
}

impl<W: Wood> Complex<'_, W> {
    fn place(&self, row: usize, column: usize, radius: f64) -> Place {
        Place { station: self.rays.stations[row], theta: self.rays.theta(column), radius }
    }

    /// The levels at which the surface crosses a strip along the axis.
    pub(crate) fn along_levels(&self, row: usize, column: usize) -> &[f64] {
        self.along[row].levels.of(column)
    }

    /// The same of a strip around it.
    pub(crate) fn around_levels(&self, row: usize, column: usize) -> &[f64] {
        self.around[row].levels.of(column)
    }

    /// Where the surface crosses a strip along the axis.
    pub(crate) fn along_sample(&self, row: usize, column: usize, number: usize) -> Sample {
        let crossings = &self.along[row];
        crossings.samples[crossings.levels.start(column) + number]
    }

    /// The same of a strip around it.
    pub(crate) fn around_sample(&self, row: usize, column: usize, number: usize) -> Sample {
        let crossings = &self.around[row];
        crossings.samples[crossings.levels.start(column) + number]
    }

    /// Where the surface crosses the axis between a row and the next.
    pub(crate) fn axis_sample(&self, row: usize) -> Option<Sample> {
        self.axis[row]
    }

    /// The column between two rows and two angles.
    pub(crate) fn column(&self, row: usize, column: usize) -> Column<'_> {
        let next = self.rays.after(column);
        Column {
            rays: [(row, column), (row + 1, column), (row, next), (row + 1, next)].map(|(r, c)| self.rays.ends(r, c)),
            crossings: [
                self.along_levels(row, column),
                self.along_levels(row, next),
                self.around_levels(row, column),
                self.around_levels(row + 1, column),
            ],
            levels: self.levels[row].of(column),
        }
    }

    /// Whether there is wood in the middle of a column at a level.
    pub(crate) fn is_solid_between(&self, row: usize, column: usize, level: f64) -> bool {
        let [one, other] = [self.place(row, column, level), self.place(row + 1, column + 1, level)];
        let station = 0.5 * (one.station + other.station);
        self.wood.at(Place { station, theta: 0.5 * (one.theta + other.theta), radius: level }).is_solid
    }

    /// The sample of a knot on a side of a column.
    pub(crate) fn knot(&self, row: usize, column: usize, side: Side, knot: Knot) -> Sample {
        let next = self.rays.after(column);
        let (near, far) = match side {
            Side::AlongFirst => ((row, column), (row + 1, column)),
            Side::AlongSecond => ((row, next), (row + 1, next)),
            Side::AroundFirst => ((row, column), (row, next)),
            Side::AroundSecond => ((row + 1, column), (row + 1, next)),
        };
        match (knot, side) {
            (Knot::Axis, _) => self.axis[row].expect("the rows beside a knot on the axis differ there"),
            (Knot::Near(number), _) => self.skin.sample(near.0, near.1, number as usize),
            (Knot::Far(number), _) => self.skin.sample(far.0, far.1, number as usize),
            (Knot::Level(number), Side::AlongFirst | Side::AlongSecond) => {
                self.along_sample(near.0, near.1, number as usize)
            }
            (Knot::Level(number), _) => self.around_sample(near.0, near.1, number as usize),
        }
    }
}

/// The levels of two columns.
fn both(one: &[f64], other: &[f64]) -> Levels {
    let mut levels = [one, other].concat();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}
