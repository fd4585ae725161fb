//! The connected parts of what is left.
//!
//! Stretches of solid on neighbouring rays, a row or a column away, belong together where they overlap, and those of a row
//! that reach the axis meet there. The rows are passed once, in order: each stretch takes the name of one that it belongs
//! to, on the ray before it or in the row above, or else a new one, and names that turn out to mean one part are joined
//! (Rosenfeld and Pfaltz, *Sequential operations in digital picture processing*, J. ACM 13, 1966). So no more is held than
//! two rows, and a name for each place where a part begins.

use std::ops::Range;
use std::sync::atomic::AtomicBool;

use crate::carved::{Band, Carved};
use crate::grid::Grid;
use crate::job::CarveError;
use crate::kernel::units;
use crate::plan::is_cancelled;
use crate::tile::{Span, cubic_mm};

/// Stretches on neighbouring rays that overlap by no more, mm, do not hold together.
const OVERLAP: f32 = 1e-3;

/// A point of the wood: a ray by row and column, and a radius on it, mm.
pub type WoodPoint = ((usize, usize), f64);

/// A connected part of what is left.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its volume, mm³; those of all parts together are what is left.
    pub volume_mm3: f64,
    /// Stations of its first and last row, mm.
    pub stations: (f64, f64),
    /// The ray on which it reaches farthest out, by row and column; of several the first.
    pub ray: (usize, usize),
    /// Middle of its outermost stretch on that ray, mm.
    pub radius: f64,
    /// How far out it reaches, mm.
    pub reach: f64,
    /// Number of stretches of solid along rays that it is made of.
    pub stretches: u64,
    rows: Vec<(u32, i64)>,
    station_first: f64,
    cell: (f64, f64),
}

impl Part {
    /// The volume of its rows whose stations lie within a range, mm³.
    pub fn volume_between(&self, first: f64, last: f64) -> f64 {
        let is_within = |row: u32| {
            let station = self.station_first + f64::from(row) * self.cell.0;
            station >= first && station <= last
        };
        let within = self.rows.iter().filter(|(row, _)| is_within(*row));
        let units: i128 = within.map(|(_, units)| i128::from(*units)).sum();
        cubic_mm(units as f64, self.cell.0, self.cell.1)
    }
}

impl Carved {
    /// The connected parts of what is left, the largest first. They do not depend on the tiles.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop by `cancel`.
    pub fn parts(&self, cancel: Option<&AtomicBool>) -> Result<Vec<Part>, CarveError> {
        Ok(self.named(cancel, |_, _| {})?.parts(&self.grid))
    }

    /// Whether two points lie in the same connected part of what is left; not where one of them is not in wood.
    ///
    /// # Errors
    /// As [`Carved::parts`].
    pub fn are_joined(&self, points: [WoodPoint; 2], cancel: Option<&AtomicBool>) -> Result<bool, CarveError> {
        let mut found = [None; 2];
        let mut names = self.named(cancel, |row, here| {
            for (((at, column), radius), found) in points.iter().zip(&mut found) {
                if *at == row {
                    *found = here.stretch_at(*column, *radius).map(|stretch| here.names[stretch]);
                }
            }
        })?;
        let [one, other] = found.map(|name| name.map(|name| names.oldest(name)));
        Ok(one.is_some() && one == other)
    }

    /// Names all stretches; `look` sees each row with its number and the names of its stretches.
    fn named(&self, cancel: Option<&AtomicBool>, mut look: impl FnMut(usize, &Row)) -> Result<Names, CarveError> {
        let mut names = Names::default();
        let (mut above, mut here) = (Row::default(), Row::default());
        for rows in self.bands() {
            let band = self.band(rows.clone());
            for row in rows {
                if is_cancelled(cancel) {
                    return Err(CarveError::Cancelled);
                }
                here.fill(&band, row);
                names.name(row as u32, &mut here, &above);
                look(row, &here);
                std::mem::swap(&mut above, &mut here);
            }
        }
        Ok(names)
    }
}

/// The stretches of a row, ray by ray.
#[derive(Debug, Default)]
struct Row {
    /// Ends, mm.
    ends: Vec<(f32, f32)>,
    names: Vec<u32>,
    /// First stretch of every column, and the number of all.
    first: Vec<u32>,
    /// Whether every ray is one stretch from the axis on, so that all of them are one part.
    is_full: bool,
}

impl Row {
    fn fill(&mut self, band: &Band<'_>, row: usize) {
        self.ends.clear();
        self.names.clear();
        self.first.clear();
        for dexel in band.row(row) {
            self.first.push(self.ends.len() as u32);
            dexel.each_span(|Span { inner, outer, .. }| self.ends.push((*inner, *outer)));
        }
        self.first.push(self.ends.len() as u32);
        // A second stretch on a ray would begin beyond the axis.
        self.is_full = self.ends.len() == self.columns() && self.ends.iter().all(|(inner, _)| *inner == 0.0);
    }

    fn columns(&self) -> usize {
        self.first.len().saturating_sub(1)
    }

    /// The stretch of a column that holds a radius.
    fn stretch_at(&self, column: usize, radius: f64) -> Option<usize> {
        self.of(column).find(|stretch| {
            let (inner, outer) = self.ends[*stretch];
            (f64::from(inner)..=f64::from(outer)).contains(&radius)
        })
    }

    fn of(&self, column: usize) -> Range<usize> {
        self.first[column] as usize..self.first[column + 1] as usize
    }
}

/// The name of a full row under another one that it hangs together with.
fn carried_on(here: &Row, above: &Row) -> Option<u32> {
    let is_joined = || here.ends.iter().zip(&above.ends).any(|(one, other)| overlap(*one, *other));
    (here.is_full && above.is_full && is_joined()).then(|| above.names.first().copied()).flatten()
}

fn overlap(a: (f32, f32), b: (f32, f32)) -> bool {
    a.1.min(b.1) - a.0.max(b.0) > OVERLAP
}

/// What is known of all that goes by one name.
#[derive(Clone, Debug)]
struct Known {
    /// A name that means the same, or its own.
    same_as: u32,
    stretches: u64,
    /// Outer end, row, column and inner end of the stretch that reaches farthest out.
    farthest: (f32, u32, u32, f32),
    /// Units of volume, row by row.
    rows: Vec<(u32, i64)>,
}

impl Known {
    fn add(&mut self, (row, column): (u32, u32), (inner, outer): (f32, f32)) {
        self.reach((row, column), (inner, outer));
        self.weigh(row, 1, units(inner, outer));
    }

    fn reach(&mut self, (row, column): (u32, u32), (inner, outer): (f32, f32)) {
        if outer > self.farthest.0 {
            self.farthest = (outer, row, column, inner);
        }
    }

    fn weigh(&mut self, row: u32, stretches: u64, units: i64) {
        self.stretches += stretches;
        match self.rows.last_mut().filter(|(last, _)| *last == row) {
            Some((_, sum)) => *sum += units,
            None => self.rows.push((row, units)),
        }
    }
}

/// The names given so far.
#[derive(Debug, Default)]
struct Names {
    known: Vec<Known>,
}

impl Names {
    /// Names the stretches of a row, given those of the row above.
    fn name(&mut self, row: u32, here: &mut Row, above: &Row) {
        if let Some(name) = carried_on(here, above) {
            let known = &mut self.known[name as usize];
            known.weigh(row, here.ends.len() as u64, here.ends.iter().map(|&(inner, outer)| units(inner, outer)).sum());
            (0..).zip(&here.ends).for_each(|(column, ends)| known.reach((row, column), *ends));
            here.names.resize(here.ends.len(), name);
            return;
        }
        let mut at_axis = None;
        for column in 0..here.columns() {
            let before = column.checked_sub(1).map_or(0..0, |before| here.of(before));
            let over = if above.columns() > 0 { above.of(column) } else { 0..0 };
            for stretch in here.of(column) {
                let ends = here.ends[stretch];
                let mut name = if ends.0 == 0.0 { at_axis } else { None };
                let sides = [(&here.ends, &here.names, before.clone()), (&above.ends, &above.names, over.clone())];
                for (others, others_names, range) in sides {
                    for other in range.filter(|other| overlap(ends, others[*other])) {
                        name = Some(name.map_or(others_names[other], |name| self.join(name, others_names[other])));
                    }
                }
                let name = name.unwrap_or_else(|| self.new_name());
                if ends.0 == 0.0 {
                    at_axis = Some(name);
                }
                self.known[name as usize].add((row, column as u32), ends);
                here.names.push(name);
            }
        }
        self.close(here);
    }

    /// Joins the last ray of a row with its first.
    fn close(&mut self, row: &Row) {
        let Some(last) = row.columns().checked_sub(1) else { return };
        for one in row.of(last) {
            for other in row.of(0).filter(|other| overlap(row.ends[one], row.ends[*other])) {
                self.join(row.names[one], row.names[other]);
            }
        }
    }

    fn new_name(&mut self) -> u32 {
        let name = self.known.len() as u32;
        self.known.push(Known { same_as: name, stretches: 0, farthest: (-1.0, 0, 0, 0.0), rows: Vec::new() });
        name
    }

    /// The oldest name that means the same; the way there is made shorter.
    fn oldest(&mut self, mut name: u32) -> u32 {
        while self.known[name as usize].same_as != name {
            let next = self.known[name as usize].same_as;
            self.known[name as usize].same_as = self.known[next as usize].same_as;
            name = next;
        }
        name
    }

    fn join(&mut self, a: u32, b: u32) -> u32 {
        if a == b {
            return a;
        }
        let (a, b) = (self.oldest(a), self.oldest(b));
        self.known[a.max(b) as usize].same_as = a.min(b);
        a.min(b)
    }

    fn parts(mut self, grid: &Grid) -> Vec<Part> {
        for name in (0..self.known.len() as u32).rev() {
            let oldest = self.oldest(name);
            if oldest != name {
                let Known { stretches, farthest, rows, .. } = std::mem::replace(
                    &mut self.known[name as usize],
                    Known { same_as: oldest, stretches: 0, farthest: (-1.0, 0, 0, 0.0), rows: Vec::new() },
                );
                let known = &mut self.known[oldest as usize];
                known.stretches += stretches;
                let rank = |it: &(f32, u32, u32, f32)| (it.0, std::cmp::Reverse((it.1, it.2)));
                if rank(&farthest) > rank(&known.farthest) {
                    known.farthest = farthest;
                }
                known.rows.extend(rows);
            }
        }
        let mut parts: Vec<(i128, Part)> =
            self.known.into_iter().filter(|known| known.stretches > 0).map(|known| known.part(grid)).collect();
        parts.sort_by_key(|(units, part)| (-units, part.ray));
        parts.into_iter().map(|(_, part)| part).collect()
    }
}

impl Known {
    /// The part, with its units of volume.
    fn part(mut self, grid: &Grid) -> (i128, Part) {
        self.rows.sort_unstable();
        let units: i128 = self.rows.iter().map(|(_, units)| i128::from(*units)).sum();
        let station = |place: Option<&(u32, i64)>| grid.station(place.map_or(0, |(row, _)| *row as usize));
        let (outer, row, column, inner) = self.farthest;
        let part = Part {
            volume_mm3: cubic_mm(units as f64, grid.station_step, grid.angle_step),
            stations: (station(self.rows.first()), station(self.rows.last())),
            ray: (row as usize, column as usize),
            radius: 0.5 * (f64::from(inner) + f64::from(outer)),
            reach: f64::from(outer),
            stretches: self.stretches,
            rows: self.rows,
            station_first: grid.station_first,
            cell: (grid.station_step, grid.angle_step),
        };
        (units, part)
    }
}
