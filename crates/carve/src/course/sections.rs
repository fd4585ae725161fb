//! The sections of the wood at chosen moments, row by row, as far as they change.

use std::ops::Range;
use std::sync::{Mutex, PoisonError};

use dryturn_geom::angle;

use super::Section;
use crate::grid::{Grid, chunk};
use crate::kernel::{Cell, Instructions, Integrals, LANES, Scale, Sums, SumsByLane, Weights, brought_together};
use crate::tile::{CHUNK, Tile};

/// What happened to a row: each list in the order of moments, by index.
#[derive(Clone, Debug, Default)]
struct Track {
    /// What the sums changed by; in the end what they came to.
    sums: Vec<(u32, Sums)>,
    /// How far the stretches go.
    bounds: Vec<(u32, Bounds)>,
}

/// How far the stretches of wood on rays go, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Bounds {
    /// The greatest outer end.
    reach: f32,
    /// The greatest inner end and the least outer end of the innermost ones: between them all of the rays hold wood.
    ring: [f32; 2],
}

impl Bounds {
    /// Those of more rays.
    fn join(self, other: Bounds) -> Bounds {
        let ([hole, rim], [other_hole, other_rim]) = (self.ring, other.ring);
        Bounds { reach: self.reach.max(other.reach), ring: [hole.max(other_hole), rim.min(other_rim)] }
    }
}

impl Track {
    /// Takes in what happened to another part of the row.
    fn add(&mut self, other: &Track) {
        self.sums = merged(&self.sums, &other.sums, |old, new| {
            let [a, b] = [old, new].map(|sums| sums.unwrap_or_default());
            std::array::from_fn(|k| a[k] + b[k])
        });
        let (mut old_bounds, mut new_bounds) = (None, None);
        let mut bounds = merged(&self.bounds, &other.bounds, |old, new| {
            (old_bounds, new_bounds) = (old.or(old_bounds), new.or(new_bounds));
            let both = old_bounds.into_iter().chain(new_bounds);
            both.reduce(Bounds::join).unwrap_or_default()
        });
        bounds.dedup_by_key(|(_, bounds)| *bounds);
        self.bounds = bounds;
    }

    /// Turns changes into what they come to.
    fn sum_up(&mut self) {
        let mut sum = Sums::default();
        self.sums.retain_mut(|(_, change)| {
            let is_change = *change != Sums::default();
            sum = std::array::from_fn(|k| sum[k] + change[k]);
            *change = sum;
            is_change
        });
    }

    fn bytes(&self) -> usize {
        self.sums.capacity() * size_of::<(u32, Sums)>() + self.bounds.capacity() * size_of::<(u32, Bounds)>()
    }
}

/// Two lists as one: `join` is given what either has at each moment of any.
fn merged<T: Copy>(a: &[(u32, T)], b: &[(u32, T)], mut join: impl FnMut(Option<T>, Option<T>) -> T) -> Vec<(u32, T)> {
    let mut all = Vec::with_capacity(a.len().max(b.len()));
    let (mut a, mut b) = (a.iter().peekable(), b.iter().peekable());
    while let Some(moment) = [a.peek(), b.peek()].into_iter().flatten().map(|(moment, _)| *moment).min() {
        let next = |list: &mut std::iter::Peekable<std::slice::Iter<'_, (u32, T)>>| {
            list.next_if(|(other, _)| *other == moment).map(|(_, value)| *value)
        };
        let (old, new) = (next(&mut a), next(&mut b));
        all.push((moment, join(old, new)));
    }
    // They are kept to the end of the run.
    all.shrink_to_fit();
    all
}

/// What is at `moment` in a list, or was last before.
fn at<T: Copy + Default>(list: &[(u32, T)], moment: u32) -> T {
    let before = list.partition_point(|(other, _)| *other <= moment);
    before.checked_sub(1).map_or_else(T::default, |last| list[last].1)
}

/// Adds up the wood of tiles and brings it together, from any thread.
#[derive(Debug)]
pub(crate) struct Weigher {
    scale: Scale,
    /// Sine, cosine, cosine and sine of twice the angle of every column, with a few idle ones behind the last.
    weights: [Vec<f64>; 4],
    rows: Vec<Mutex<Track>>,
}

impl Weigher {
    pub(crate) fn new(grid: &Grid, radius: f64) -> Weigher {
        let mut weights = [const { Vec::new() }; 4];
        for theta in (0..grid.angles + LANES).map(|column| grid.theta(column)) {
            let ((s, c), (s2, c2)) = (angle::sin_cos(theta), angle::sin_cos(2.0 * theta));
            weights.iter_mut().zip([s, c, c2, s2]).for_each(|(weights, weight)| weights.push(weight));
        }
        let rows = (0..grid.stations).map(|_| Mutex::default()).collect();
        Weigher { scale: Scale::new(radius, grid.angles), weights, rows }
    }

    /// The sums over the wood of a tile in a row.
    fn sums(&self, instructions: Instructions, tile: &Tile, row: usize) -> Sums {
        let mut by_lane = SumsByLane::default();
        for chunk in 0..tile.columns.len().div_ceil(CHUNK) {
            let weights = self.weights(tile.columns.start + chunk * CHUNK);
            instructions.integrate(&weights, tile.wood(row, chunk), &mut by_lane);
        }
        let mut sums = brought_together(&by_lane);
        tile.further_spans(row, |column, span| {
            let stretch = self.weights(tile.columns.start + column).stretch(0, span.inner, span.outer);
            sums.iter_mut().zip(stretch).for_each(|(sum, units)| *sum += units);
        });
        sums
    }

    /// The weights of the columns from one on.
    #[inline]
    fn weights(&self, first: usize) -> Weights<'_> {
        Weights { scale: self.scale, of: self.weights.each_ref().map(|all| chunk(all, first)) }
    }

    /// Takes in what happened to the rows of a tile; gives the bytes by which what is kept grew.
    pub(crate) fn add(&self, rows: RowsOfTile) -> usize {
        let mut grown = 0;
        for (row, track) in self.rows[rows.first..].iter().zip(&rows.tracks) {
            let mut row = row.lock().unwrap_or_else(PoisonError::into_inner);
            let before = row.bytes();
            row.add(track);
            grown += row.bytes().saturating_sub(before);
        }
        grown
    }

    pub(crate) fn finish(self, angle_step: f64) -> Sections {
        let rows = self.rows.into_iter().map(|row| {
            let mut track = row.into_inner().unwrap_or_else(PoisonError::into_inner);
            track.sum_up();
            track
        });
        Sections { scale: self.scale, cell: Cell::new(angle_step), rows: rows.collect() }
    }
}

/// The rows of a tile under way.
pub(crate) struct RowsOfTile {
    first: usize,
    /// What each came to at the last moment.
    last: Vec<Sums>,
    tracks: Vec<Track>,
}

impl RowsOfTile {
    pub(crate) fn new(rows: Range<usize>) -> RowsOfTile {
        let (last, tracks) = (vec![Sums::default(); rows.len()], vec![Track::default(); rows.len()]);
        RowsOfTile { first: rows.start, last, tracks }
    }

    /// Notes the rows that have changed as they are at a moment.
    pub(crate) fn look(
        &mut self,
        weigher: &Weigher,
        instructions: Instructions,
        tile: &Tile,
        changed: &mut [bool],
        moment: u32,
    ) {
        let changed = changed.iter_mut().map(std::mem::take);
        let rows = self.tracks.iter_mut().zip(&mut self.last).enumerate().zip(changed);
        for ((row, (track, last)), _) in rows.filter(|(_, is_changed)| *is_changed) {
            let row = self.first + row;
            let (sums, ring) = (weigher.sums(instructions, tile, row), tile.ring(row));
            let bounds = Bounds { reach: tile.row_top(row), ring };
            track.sums.push((moment, std::array::from_fn(|k| sums[k] - last[k])));
            *last = sums;
            if track.bounds.last().is_none_or(|(_, last)| *last != bounds) {
                track.bounds.push((moment, bounds));
            }
        }
    }

    /// Bytes it takes, and as much again when it is joined with others.
    pub(crate) fn bytes(&self) -> usize {
        self.tracks.iter().map(Track::bytes).sum()
    }
}

/// The sections of all rows at all moments.
#[derive(Clone, Debug)]
pub(crate) struct Sections {
    scale: Scale,
    cell: Cell,
    rows: Vec<Track>,
}

impl Sections {
    /// Whether anything happened to a row between the moment before and this one.
    pub(crate) fn changes(&self, row: usize, moment: u32) -> bool {
        fn is_at<T>(list: &[(u32, T)], moment: u32) -> bool {
            list.binary_search_by_key(&moment, |(other, _)| *other).is_ok()
        }
        let Track { sums, bounds } = &self.rows[row];
        is_at(sums, moment) || is_at(bounds, moment)
    }

    /// That of a row at a moment, by index.
    pub(crate) fn section(&self, row: usize, moment: u32) -> Section {
        let Track { sums, bounds } = &self.rows[row];
        let Integrals { area, first, second, walls, inside, around } =
            self.scale.integrals(&at(sums, moment), &self.cell);
        let Bounds { reach, ring } = at(bounds, moment);
        Section { area, first, second, reach: f64::from(reach), ring: ring.map(f64::from), walls, inside, around }
    }
}
