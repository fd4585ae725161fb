//! The rays as they stand when the mesh is made, with a row of empty ones before the first and behind the last.

use std::ops::Range;

use dryturn_carve::{Band, Carved, Span, UNTOUCHED};
use glam::DVec3;
use rayon::prelude::*;
use smallvec::SmallVec;

use crate::place::outward;
use crate::ragged::Ragged;
use crate::{Stop, SurfaceError};

/// One end of solid along a ray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct End {
    /// Radius, mm.
    pub(crate) radius: f32,
    /// The block that made it, or `UNTOUCHED` or `PREPARED`.
    pub(crate) by: u32,
}

impl End {
    pub(crate) fn radius(&self) -> f64 {
        f64::from(self.radius)
    }
}

/// Whether the end of this number, of so many along its ray from the axis out, has its solid toward the axis.
pub(crate) fn is_outer(number: usize, count: usize) -> bool {
    (count - number) % 2 == 1
}

/// Whether there is solid at a radius along a ray. An end at that very radius counts as above it.
pub(crate) fn is_solid(ends: &[End], radius: f64) -> bool {
    (ends.len() - ends.partition_point(|end| end.radius() < radius)) % 2 == 1
}

/// Radius of an end that is put in where a ray does not agree with its row about the axis, mm.
const AT_THE_AXIS: f32 = 1e-5;

/// All rays, rows of stations times columns of angles; the ends of each ascend.
pub(crate) struct Rays {
    pub(crate) stations: Vec<f64>,
    pub(crate) angles: usize,
    pub(crate) angle_step: f64,
    directions: Vec<DVec3>,
    first: Vec<u32>,
    ends: Vec<End>,
    /// For each row, whether there is solid on the axis: one answer, for its rays share that point.
    pub(crate) solid_axis: Vec<bool>,
}

/// The ends along one ray, from the axis out.
pub(crate) type Ends = SmallVec<[End; 4]>;

/// The ends of the rays of one row, by ray.
pub(crate) type Row = Ragged<End>;

impl Rays {
    /// The rays of a carved blank.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::TooLarge`] if there are more ends than can be
    /// numbered.
    pub(crate) fn of(carved: &Carved, stop: &Stop<'_>) -> Result<Rays, SurfaceError> {
        let ends = |band: &Band<'_>, row| closed(band.row(row).map(|dexel| ends_of(dexel.spans())).collect());
        Rays::read(carved, |rows| carved.band(rows), ends, stop)
    }

    /// The rays of what has been taken off a blank, which must be on the grid of what is left of it.
    ///
    /// # Errors
    /// As [`Rays::of`].
    pub(crate) fn removed(blank: &Carved, carved: &Carved, stop: &Stop<'_>) -> Result<Rays, SurfaceError> {
        let ends = |(before, after): &(Band<'_>, Band<'_>), row| {
            let pairs = before.row(row).zip(after.row(row));
            closed(pairs.map(|(before, after)| gaps_of(before.spans(), after.spans())).collect())
        };
        Rays::read(carved, |rows| (blank.band(rows.clone()), carved.band(rows)), ends, stop)
    }

    /// All rays of a grid, band by band: `open` opens some rows and `ends` reads one of them.
    fn read<B: Sync>(
        carved: &Carved,
        open: impl Fn(Range<usize>) -> B,
        ends: impl Fn(&B, usize) -> Closed + Sync,
        stop: &Stop<'_>,
    ) -> Result<Rays, SurfaceError> {
        let grid = carved.grid();
        let mut rays = Rays::new(grid.station_first - grid.station_step, grid.station_step, grid.angles);
        rays.add(empty(grid.angles))?;
        for rows in carved.bands() {
            stop.check()?;
            let band = open(rows.clone());
            let read: Vec<Closed> = rows.into_par_iter().map(|row| ends(&band, row)).collect();
            for row in read {
                rays.add(row)?;
            }
        }
        rays.add(empty(grid.angles))?;
        Ok(rays)
    }

    /// No rays yet; rows come one after the other, a step apart.
    pub(crate) fn new(station: f64, step: f64, angles: usize) -> Rays {
        let angle_step = std::f64::consts::TAU / angles as f64;
        Rays {
            stations: vec![station, station + step],
            angles,
            angle_step,
            directions: (0..angles).map(|column| outward(column as f64 * angle_step)).collect(),
            first: vec![0],
            ends: Vec::new(),
            solid_axis: Vec::new(),
        }
    }

    /// Takes in the next row.
    fn add(&mut self, (row, solid): Closed) -> Result<(), SurfaceError> {
        let before = self.ends.len();
        u32::try_from(before + row.all().len()).map_err(|_| SurfaceError::TooLarge)?;
        self.first.extend((0..self.angles).map(|ray| (before + row.start(ray + 1)) as u32));
        self.ends.extend_from_slice(row.all());
        self.solid_axis.push(solid);
        let (row, step) = (self.solid_axis.len(), self.stations[1] - self.stations[0]);
        if row > self.stations.len() {
            self.stations.push(self.stations[0] + (row - 1) as f64 * step);
        }
        Ok(())
    }

    /// Takes in the next row by its rays; one without rays is empty.
    #[cfg(test)]
    pub(crate) fn close_row(&mut self, mut row: Vec<Vec<End>>) -> Result<(), SurfaceError> {
        row.resize(self.angles, Vec::new());
        self.add(closed(row.into_iter().map(Ends::from).collect()))
    }

    /// Between which stations and within which radius the rays have solid, mm; `None` if none has.
    pub(crate) fn extent(&self) -> Option<([f64; 2], f64)> {
        let has_solid = |row: &usize| (0..self.angles).any(|column| !self.ends(*row, column).is_empty());
        let (first, last) = ((0..self.rows()).find(has_solid)?, (0..self.rows()).rfind(has_solid)?);
        let radius = self.ends.par_iter().map(|end| end.radius).reduce(|| 0.0, f32::max);
        Some(([self.stations[first], self.stations[last]], f64::from(radius)))
    }

    /// Number of rows, the two empty ones among them.
    pub(crate) fn rows(&self) -> usize {
        self.solid_axis.len()
    }

    /// The ends along a ray, from the axis out; the column may be one behind the last.
    pub(crate) fn ends(&self, row: usize, column: usize) -> &[End] {
        let ray = row * self.angles + self.wrapped(column);
        &self.ends[self.first[ray] as usize..self.first[ray + 1] as usize]
    }

    /// Distance between rows, mm.
    pub(crate) fn pitch(&self) -> f64 {
        self.stations[1] - self.stations[0]
    }

    /// Direction of a column's rays.
    pub(crate) fn direction(&self, column: usize) -> DVec3 {
        self.directions[self.wrapped(column)]
    }

    /// Angle θ of a column, radians; that of the one behind the last is a whole turn.
    pub(crate) fn theta(&self, column: usize) -> f64 {
        column as f64 * self.angle_step
    }

    /// The point of a ray at a radius, mm.
    pub(crate) fn point(&self, row: usize, column: usize, radius: f64) -> DVec3 {
        DVec3::X * self.stations[row] + self.direction(column) * radius
    }

    fn wrapped(&self, column: usize) -> usize {
        if column >= self.angles { column - self.angles } else { column }
    }

    /// The column before another.
    pub(crate) fn before(&self, column: usize) -> usize {
        if column == 0 { self.angles - 1 } else { column - 1 }
    }

    /// The column behind another.
    pub(crate) fn after(&self, column: usize) -> usize {
        self.wrapped(column + 1)
    }
}

/// A row whose rays agree about the axis, and whether that is in the solid.
type Closed = (Row, bool);

/// Makes the rays of a row agree with most of them.
fn closed(mut row: Row) -> Closed {
    let rays = row.count();
    let is_odd = |ray: &usize| row.of(*ray).len() % 2 == 1;
    let odd = (0..rays).filter(is_odd).count();
    let solid = odd * 2 > rays;
    if odd != if solid { rays } else { 0 } {
        row = (0..rays).map(|ray| agreeing(row.of(ray), solid)).collect();
    }
    (row, solid)
}

/// The ends of a ray, with one more at the axis if the state there would be another.
fn agreeing(ends: &[End], solid: bool) -> Ends {
    let mut ends = Ends::from_slice(ends);
    if (ends.len() % 2 == 1) != solid {
        let first = ends.first().copied().unwrap_or(End { radius: AT_THE_AXIS, by: UNTOUCHED });
        ends.insert(0, End { radius: first.radius.min(AT_THE_AXIS), ..first });
    }
    ends
}

/// A row of so many rays without any solid.
fn empty(angles: usize) -> Closed {
    ((0..angles).map(|_| Ends::new()).collect(), false)
}

/// The ends along a ray from the axis out, of the solid along it from the outside in.
fn ends_of(spans: impl Iterator<Item = Span>) -> Ends {
    let mut ends = Ends::new();
    for span in spans {
        ends.push(End { radius: span.outer, by: span.outer_by });
        if span.inner > 0.0 {
            ends.push(End { radius: span.inner, by: span.inner_by });
        }
    }
    ends.reverse();
    ends
}

/// The ends of what is solid in the spans `before` and not in those `after`, which lie within them.
fn gaps_of(before: impl Iterator<Item = Span>, after: impl Iterator<Item = Span>) -> Ends {
    let mut ends = Ends::new();
    let mut left = after.peekable();
    for span in before {
        let mut outer = End { radius: span.outer, by: span.outer_by };
        while let Some(kept) = left.next_if(|kept| kept.inner >= span.inner) {
            push_gap(&mut ends, End { radius: kept.outer, by: kept.outer_by }, outer);
            outer = End { radius: kept.inner, by: kept.inner_by };
        }
        push_gap(&mut ends, End { radius: span.inner, by: span.inner_by }, outer);
    }
    ends.reverse();
    ends
}

/// Adds the ends of a stretch to a list that goes from the outside in; the axis is no end.
fn push_gap(ends: &mut Ends, inner: End, outer: End) {
    if inner.radius < outer.radius {
        ends.push(outer);
        ends.extend(Some(inner).filter(|inner| inner.radius > 0.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_taken_off_a_ray_is_what_is_missing() {
        let span = |inner, outer, inner_by, outer_by| Span { inner, outer, inner_by, outer_by };
        let end = |radius, by| End { radius, by };
        let blank = [span(5.0, 25.0, UNTOUCHED, UNTOUCHED)];
        let gaps = |before: &[Span], after: &[Span]| gaps_of(before.iter().copied(), after.iter().copied());
        assert!(gaps(&blank, &blank).is_empty());
        assert_eq!(gaps(&blank, &[])[..], [end(5.0, UNTOUCHED), end(25.0, UNTOUCHED)]);
        let left = [span(15.0, 20.0, 2, 3), span(5.0, 10.0, UNTOUCHED, 1)];
        let taken = [end(10.0, 1), end(15.0, 2), end(20.0, 3), end(25.0, UNTOUCHED)];
        assert_eq!(gaps(&blank, &left)[..], taken);
        // From the axis: that is no end.
        let bar = [span(0.0, 25.0, UNTOUCHED, UNTOUCHED)];
        assert_eq!(gaps(&bar, &[span(8.0, 25.0, 7, UNTOUCHED)])[..], [end(8.0, 7)]);
        let two = [span(20.0, 25.0, UNTOUCHED, UNTOUCHED), span(0.0, 9.0, UNTOUCHED, UNTOUCHED)];
        assert_eq!(
            gaps(&two, &[span(0.0, 4.0, UNTOUCHED, 1)])[..],
            [end(4.0, 1), end(9.0, UNTOUCHED), end(20.0, UNTOUCHED), end(25.0, UNTOUCHED)]
        );
    }
}
