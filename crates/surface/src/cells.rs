//! The vertices of a row of columns, one for every loop.

use glam::DVec3;
use smallvec::SmallVec;

use crate::Kind;
use crate::blocks::Blocks;
use crate::column::{Column, Loops, Side};
use crate::complex::Complex;
use crate::ragged::Ragged;
use crate::skin::Sample;
use crate::strip::Knot;
use crate::vertex::{Cell, inside, vertex};
use crate::wood::Wood;

/// A vertex of the mesh.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Vertex {
    pub(crate) point: DVec3,
    pub(crate) kind: Kind,
    /// Whether its loop has two knots only, so that two faces meet there along two edges.
    pub(crate) is_pair: bool,
    /// Whether its column has one end on each ray: the surface passes over it once.
    pub(crate) is_plain: bool,
}

/// A row of columns.
pub(crate) struct Cells {
    vertices: Ragged<Vertex>,
    /// For each column the loop of each of its nodes; nothing where all belong to its only one.
    of_node: Ragged<u32>,
}

/// Where columns are narrower than this, in pitches, a surface that runs along them passes from one to the next within what
/// a smooth vertex may lie off: it is kept in its cell.
const NARROW: f64 = 0.125;
/// How far beyond the knots of its loop a vertex may lie along a ray, in pitches.
const BEYOND: f64 = 2.0;

impl Cells {
    pub(crate) fn new<W: Wood>(complex: &Complex<'_, W>, blocks: &Blocks, row: usize) -> Cells {
        let mut cells = Cells { vertices: Ragged::new(), of_node: Ragged::new() };
        for number in 0..complex.rays.angles {
            let first = blocks.first(row, number);
            if first.is_some_and(|first| first != (row, number)) {
                cells.vertices.push([]);
                cells.of_node.push([]);
                continue;
            }
            let at = At { complex, row, number, column: complex.column(row, number) };
            if at.column.is_plain() {
                cells.vertices.push([at.plain(if first.is_some() { blocks.side() } else { 1 })]);
                cells.of_node.push([]);
                continue;
            }
            let loops = at.column.loops(|level| complex.is_solid_between(row, number, level));
            cells.vertices.push((0..loops.count()).map(|which| at.vertex(&loops, which)));
            let is_alone = loops.count() <= 1;
            cells.of_node.push(loops.of_node.iter().copied().filter(|_| !is_alone));
        }
        cells
    }

    /// Gives the vertices of all its columns away; their numbers are still told.
    pub(crate) fn take_vertices(&mut self) -> Vec<Vertex> {
        self.vertices.take()
    }

    /// The number of the vertex in the row for a node of a column.
    pub(crate) fn vertex(&self, column: usize, node: impl FnOnce() -> usize) -> usize {
        let of_node = self.of_node.of(column);
        let which = if of_node.is_empty() { 0 } else { of_node[node()] as usize };
        self.vertices.start(column) + which
    }

    /// The column that a vertex of the row stands in; `None` if it is in the middle of an edge.
    pub(crate) fn column_of(&self, vertex: usize) -> Option<usize> {
        self.vertices.list_with(vertex)
    }

    /// A point near another for a vertex of a column, within its cell and, closely, between the radii of its knots.
    pub(crate) fn inside<W: Wood>(
        &self,
        complex: &Complex<'_, W>,
        (row, number): (usize, usize),
        vertex: usize,
        closely: bool,
        from: DVec3,
    ) -> DVec3 {
        let at = At { complex, row, number, column: complex.column(row, number) };
        let loops = at.column.loops(|level| complex.is_solid_between(row, number, level));
        let samples = at.samples(&loops, vertex - self.vertices.start(number));
        let cell = at.cell(&samples, if closely { 0.0 } else { BEYOND });
        inside(&samples, &cell, complex.wood, from)
    }
}

/// A column in its place.
struct At<'a, W> {
    complex: &'a Complex<'a, W>,
    row: usize,
    number: usize,
    column: Column<'a>,
}

impl<W: Wood> At<'_, W> {
    /// The vertex of a column whose rays hold one end each, or of so many along and around.
    fn plain(&self, side: usize) -> Vertex {
        let (row, column) = (self.row + side, (self.number + side) % self.complex.rays.angles);
        let places = [(self.row, self.number), (self.row, column), (row, column), (row, self.number)];
        let samples = places.map(|(row, column)| self.complex.skin.sample(row, column, 0));
        self.through(&samples)
    }

    fn vertex(&self, loops: &Loops, which: usize) -> Vertex {
        self.through(&self.samples(loops, which))
    }

    fn samples(&self, loops: &Loops, which: usize) -> SmallVec<[Sample; 16]> {
        loops.nodes(which).iter().map(|&node| self.sample(node as usize)).collect()
    }

    fn through(&self, samples: &[Sample]) -> Vertex {
        let (mut point, kind) = vertex(samples, || self.cell(samples, BEYOND), self.complex.wood);
        let narrow = NARROW * self.complex.rays.pitch() / self.complex.rays.angle_step;
        if kind == Kind::Smooth && point.y * point.y + point.z * point.z < narrow * narrow {
            point = self.cell(samples, BEYOND).clear(point);
        }
        let is_plain = self.column.rays.iter().all(|ends| ends.len() == 1);
        Vertex { point, kind, is_pair: samples.len() == 2, is_plain }
    }

    fn sample(&self, node: usize) -> Sample {
        let (side, knot) = self.column.knot(node);
        self.complex.knot(self.row, self.number, side, knot)
    }

    /// The cell of a loop, as far as so many pitches beyond its knots along the rays.
    fn cell(&self, samples: &[Sample], beyond: f64) -> Cell {
        let rays = self.complex.rays;
        let radii = samples.iter().map(|it| dryturn_geom::angle::hypot(it.point.y, it.point.z));
        let (least, most) = radii.fold((f64::INFINITY, 0.0f64), |(least, most), r| (least.min(r), most.max(r)));
        let levels = self.column.levels;
        let above = levels.partition_point(|level| *level <= 0.5 * (least + most));
        let floor = above.checked_sub(1).map_or(0.0, |below| levels[below]);
        let ceiling = levels.get(above).copied().unwrap_or(f64::INFINITY);
        let pitch = rays.pitch();
        let radius = (floor.max(least - beyond * pitch), ceiling.min(most + beyond * pitch));
        Cell {
            station: (rays.stations[self.row], rays.stations[self.row + 1]),
            theta: (rays.theta(self.number), rays.theta(self.number + 1)),
            radius: (radius.0.min(radius.1), radius.1),
            pitch,
        }
    }
}

impl Column<'_> {
    /// Whether each ray holds one end and nothing else is crossed.
    pub(crate) fn is_plain(&self) -> bool {
        self.rays.iter().all(|ends| ends.len() == 1) && self.crossings.iter().all(|levels| levels.is_empty())
    }

    /// The knot that a node stands for, and a side that it lies on.
    fn knot(&self, node: usize) -> (Side, Knot) {
        let mut left = node;
        for (ray, ends) in self.rays.iter().enumerate() {
            if left < ends.len() {
                let number = left as u32;
                let side = if ray < 2 { Side::AlongFirst } else { Side::AlongSecond };
                return (side, if ray % 2 == 0 { Knot::Near(number) } else { Knot::Far(number) });
            }
            left -= ends.len();
        }
        for side in Side::ALL {
            let count = 2 * self.crossings[side as usize].len();
            if left < count {
                return (side, Knot::Level(left as u32 / 2));
            }
            left -= count;
        }
        (Side::AlongFirst, Knot::Axis)
    }
}
