//! The lattice of rays, strips and columns, and where the surface passes through it.

use rayon::prelude::*;

use crate::column::{Column, Side};
use crate::crossing::{Likely, at_the_face, crossing};
use crate::level::Levels;
use crate::place::Place;
use crate::ragged::Ragged;
use crate::rays::{End, Rays, is_solid};
use crate::skin::{Sample, Skin};
use crate::strip::{Knot, Strip};
use crate::wood::{Body, Wood};
use crate::{Stop, SurfaceError};

/// The crossings of a row of strips: their levels, and where they lie.
pub(crate) struct Crossings {
    pub(crate) levels: Ragged<f64>,
    pub(crate) samples: Vec<Sample>,
}

/// All places through which the surface passes.
pub(crate) struct Complex<'a, W> {
    pub(crate) rays: &'a Rays,
    pub(crate) skin: &'a Skin<'a>,
    pub(crate) wood: &'a W,
    /// By row of columns, the levels of each.
    pub(crate) levels: Vec<Ragged<f64>>,
    /// Strips along the axis from the rays of a row to those of the next.
    pub(crate) along: Vec<Crossings>,
    /// Strips around the axis within a row.
    pub(crate) around: Vec<Crossings>,
    /// Crossings of the axis between a row and the next.
    axis: Vec<Option<Sample>>,
}

/// A strip, the levels of both its columns, and the rows and columns of its rays.
type StripOf<'s> = (Strip<'s>, Levels, [(usize, usize); 2]);

/// From so many crossings of a strip on what reaches it is looked up once for all of them.
const MANY: usize = 3;

impl<'a, W: Body> Complex<'a, W> {
    /// Looks for all crossings; `levels` tells where the column of a row and an angle is cut.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn new(
        skin: &'a Skin<'a>,
        wood: &'a W,
        levels: impl Fn(usize, usize) -> Levels + Sync,
        stop: &Stop<'_>,
    ) -> Result<Complex<'a, W>, SurfaceError> {
        let rays = skin.rays;
        let columns = 0..rays.rows() - 1;
        let row = |row: usize| (0..rays.angles).map(|column| levels(row, column)).collect();
        let levels: Vec<Ragged<f64>> = columns.clone().into_par_iter().map(row).collect();
        let mut complex = Complex { rays, skin, wood, levels, along: vec![], around: vec![], axis: vec![] };
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
    fn crossings<'s>(&self, strip: impl Fn(usize) -> Option<StripOf<'s>>) -> Crossings {
        let mut crossings = Crossings { levels: Ragged::new(), samples: Vec::new() };
        for column in 0..self.rays.angles {
            let Some((strip, mut levels, rays)) = strip(column) else {
                crossings.levels.push([]);
                continue;
            };
            levels.retain(|level| strip.differs_at(*level));
            if levels.len() < MANY {
                self.cross_all(self.wood, &strip, &levels, rays, &mut crossings.samples);
            } else {
                let [from, to] = [(rays[0], levels[0]), (rays[1], levels[levels.len() - 1])]
                    .map(|((row, column), level)| self.place(row, column, level));
                let part = self.wood.between(from, to);
                self.cross_all(&part, &strip, &levels, rays, &mut crossings.samples);
            }
            crossings.levels.push(levels);
        }
        crossings
    }

    /// Adds the crossings of a strip at the levels at which its rays differ.
    fn cross_all(
        &self,
        wood: &impl Wood,
        strip: &Strip<'_>,
        levels: &Levels,
        rays: [(usize, usize); 2],
        samples: &mut Vec<Sample>,
    ) {
        let mut below: Option<Likely> = None;
        for &level in levels {
            let [near, far] = rays.map(|(row, column)| self.place(row, column, level));
            let is_near = is_solid(strip.near, level);
            let (solid, empty) = if is_near { (near, far) } else { (far, near) };
            // Who made the crossing below, or the end of the empty ray, is likely to have made this one too.
            let of_end = || maker(if is_near { strip.far } else { strip.near }, level);
            let likely = below.or_else(|| of_end().map(|by| Likely { by, share: 0.5 }));
            let (share, sample) = self.cross(wood, solid, empty, likely);
            below = Some(Likely { by: sample.by, share });
            samples.push(sample);
        }
    }

    fn cross(&self, wood: &impl Wood, solid: Place, empty: Place, likely: Option<Likely>) -> (f64, Sample) {
        let is_beyond = [self.rays.stations[0], self.rays.stations[self.rays.rows() - 1]].contains(&empty.station);
        if is_beyond { at_the_face(wood, solid, empty) } else { crossing(wood, solid, empty, likely) }
    }

    fn axis_of(&self, row: usize) -> Option<Sample> {
        let next = *self.rays.solid_axis.get(row + 1)?;
        let ends = [row, row + 1].map(|row| self.place(row, 0, 0.0));
        match (self.rays.solid_axis[row], next) {
            (true, false) => Some(self.cross(self.wood, ends[0], ends[1], None).1),
            (false, true) => Some(self.cross(self.wood, ends[1], ends[0], None).1),
            _ => None,
        }
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

/// Who made the end of a ray below a radius, or else the one above it.
fn maker(ends: &[End], radius: f64) -> Option<u32> {
    let above = ends.partition_point(|end| end.radius() < radius);
    ends[..above].last().or_else(|| ends.get(above)).map(|end| end.by)
}

/// The levels of two columns.
fn both(one: &[f64], other: &[f64]) -> Levels {
    let mut levels = [one, other].concat();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}
