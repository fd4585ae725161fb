//! Blocks of columns of which a picture needs one vertex.
//!
//! The facets of a mesh need not be much smaller than what is seen of them. Where every ray of a block of columns ends
//! once, and its ends lie on a surface that bends evenly, the columns share one vertex, as if their rays were so much
//! farther apart: the faces inside the block fall together, and those around it have one corner there. What is left is as
//! closed as before, for the faces inside a block are a disc, and beside it no two ways lead to one vertex: a neighbour
//! shares one side with it.
//!
//! Steps, edges and cusps, however low, are no part of any block.

use glam::DVec3;
use rayon::prelude::*;
use smallvec::SmallVec;

use crate::complex::Complex;
use crate::level::STEEP;
use crate::rays::Rays;
use crate::skin::Sample;
use crate::wood::Wood;

/// Most that the way from one end to the next may lie off what their normals tell, in pitches: what is steeper than a
/// thousandth shows as a line.
const STEP: f64 = 1e-3;
/// Most that a unit normal may differ from what those at the corners of the block tell.
const BEND: f64 = 4e-3;

/// Most that the fall from one end to the next may change, and that this change may change, in pitches, where the normals
/// are not asked for: a block turns by a tenth of a circle's radius then, and no edge in it by more than a hundredth.
const CURVE: f64 = 0.18;
const CREASE: f64 = 0.01;

/// Blocks of a power of two of columns on each side.
#[derive(Clone, Copy)]
pub(crate) struct Blocking {
    power: u32,
    /// Blocks in a row of them, and rows of them, as far as there are whole ones.
    across: usize,
    down: usize,
}

impl Blocking {
    pub(crate) fn new(rays: &Rays, power: u32) -> Blocking {
        Blocking { power, across: rays.angles >> power, down: (rays.rows() - 1) >> power }
    }

    /// Columns along a side of a block.
    fn side(self) -> usize {
        1 << self.power
    }

    fn count(self) -> usize {
        self.across * self.down
    }

    /// The first row and column of a block.
    fn start(self, number: usize) -> (usize, usize) {
        ((number / self.across) << self.power, (number % self.across) << self.power)
    }

    /// The block that a column is in.
    fn with(self, row: usize, column: usize) -> Option<usize> {
        let (down, across) = (row >> self.power, column >> self.power);
        (down < self.down && across < self.across).then_some(down * self.across + across)
    }
}

/// The blocks that one owner has made and whose rays alone tell that they bend evenly.
pub(crate) struct Even {
    blocking: Blocking,
    angles: usize,
    are: Vec<bool>,
}

impl Even {
    pub(crate) fn of(rays: &Rays, blocking: Blocking) -> Even {
        // Of three rays in a line no change of a change can be told.
        let count = if blocking.power < 2 { 0 } else { blocking.count() };
        let is_even = |number: usize| is_even(rays, blocking.start(number), blocking.side());
        Even { blocking, angles: rays.angles, are: (0..count).into_par_iter().map(is_even).collect() }
    }

    fn has(&self, block: Option<usize>) -> bool {
        block.is_some_and(|block| self.are.get(block).is_some_and(|it| *it))
    }

    /// Whether a ray is in or between such blocks alone, and at the corner of none.
    pub(crate) fn spares(&self, row: usize, column: usize) -> bool {
        let side = self.blocking.side();
        if row.is_multiple_of(side) && column.is_multiple_of(side) || row == 0 {
            return false;
        }
        let before = if column == 0 { self.angles - 1 } else { column - 1 };
        let around = [(row, column), (row, before), (row - 1, column), (row - 1, before)];
        around.iter().all(|(row, column)| self.has(self.blocking.with(*row, *column)))
    }
}

fn is_even(rays: &Rays, (row, column): (usize, usize), side: usize) -> bool {
    let first = rays.ends(row, column).first();
    let Some(by) = first.map(|end| end.by) else { return false };
    let mut radii = SmallVec::<[f64; 96]>::new();
    for k in 0..(side + 1) * (side + 1) {
        let column = (column + k % (side + 1)) % rays.angles;
        let [end] = rays.ends(row + k / (side + 1), column) else { return false };
        if end.by != by {
            return false;
        }
        radii.push(end.radius());
    }
    let pitch = rays.pitch();
    let line = |start: usize, step: usize| {
        let at = |k: usize| radii[start + k * step];
        let fall = |k: usize| at(k + 1) - at(k);
        let curve = |k: usize| fall(k + 1) - fall(k);
        (0..side).all(|k| fall(k).abs() <= STEEP * pitch)
            && (0..side - 1).all(|k| curve(k).abs() <= CURVE * pitch / side as f64)
            && (0..side - 2).all(|k| (curve(k + 1) - curve(k)).abs() <= CREASE * pitch)
    };
    (0..=side).all(|k| line(k, side + 1) && line(k * (side + 1), 1))
}

/// Which columns share a vertex.
pub(crate) struct Blocks {
    blocking: Option<Blocking>,
    shares: Vec<bool>,
}

impl Blocks {
    /// No block at all.
    pub(crate) fn none() -> Blocks {
        Blocks { blocking: None, shares: Vec::new() }
    }

    /// The blocks in which all is smooth, those that are even among them.
    pub(crate) fn smooth<W: Wood>(complex: &Complex<'_, W>, even: &Even) -> Blocks {
        let blocking = even.blocking;
        if blocking.power == 0 {
            return Blocks::none();
        }
        let shares = |number: usize| {
            let (row, column) = blocking.start(number);
            let block = Block { complex, row, column, side: blocking.side() };
            block.is_plain() && (even.has(Some(number)) || block.is_smooth())
        };
        Blocks { blocking: Some(blocking), shares: (0..blocking.count()).into_par_iter().map(shares).collect() }
    }

    /// Columns along a side of a block.
    pub(crate) fn side(&self) -> usize {
        self.blocking.map_or(1, Blocking::side)
    }

    /// The first row and column of the block that a column shares a vertex with; `None` if it has its own.
    pub(crate) fn first(&self, row: usize, column: usize) -> Option<(usize, usize)> {
        let blocking = self.blocking?;
        blocking.with(row, column).filter(|block| self.shares[*block]).map(|block| blocking.start(block))
    }
}

/// Some columns along and around.
struct Block<'a, W> {
    complex: &'a Complex<'a, W>,
    row: usize,
    column: usize,
    side: usize,
}

impl<W: Wood> Block<'_, W> {
    /// Whether the surface passes over each of its columns once and crosses nothing between its rays.
    fn is_plain(&self) -> bool {
        let mut columns = (0..self.side * self.side).map(|k| (self.row + k / self.side, self.column + k % self.side));
        columns.all(|(row, column)| self.complex.column(row, column).is_plain())
    }

    fn is_smooth(&self) -> bool {
        let rays = self.side + 1;
        let ends: Vec<Sample> = (0..rays * rays).map(|k| self.end(k / rays, k % rays)).collect();
        let bends = |k: usize| (ends[k].normal - self.told(&ends, k / rays, k % rays)).length() <= BEND;
        let step = STEP * self.complex.rays.pitch();
        let goes_on = |one: usize, other: usize| follows(&ends[one], &ends[other], step);
        (0..rays * rays).all(|k| {
            let is_along = k + rays >= ends.len() || goes_on(k, k + rays);
            let is_around = k % rays == self.side || goes_on(k, k + 1);
            is_along && is_around && bends(k)
        })
    }

    fn end(&self, along: usize, around: usize) -> Sample {
        let column = (self.column + around) % self.complex.rays.angles;
        self.complex.skin.sample(self.row + along, column, 0)
    }

    /// The normal that those at the corners tell.
    fn told(&self, ends: &[Sample], along: usize, around: usize) -> DVec3 {
        let share = |at: usize| at as f64 / self.side as f64;
        let corner = |along: usize, around: usize| ends[(along * (self.side + 1) + around) * self.side].normal;
        let of_row = |along: usize| corner(along, 0).lerp(corner(along, 1), share(around));
        of_row(0).lerp(of_row(1), share(along))
    }
}

/// Whether the way from one end to the next follows both their tangents: on a curve without an edge it lies half way
/// between them, but for what grows with the third power of its length.
fn follows(one: &Sample, other: &Sample, step: f64) -> bool {
    (other.point - one.point).dot(one.normal + other.normal).abs() <= 2.0 * step
}
