//! Edges that would stand between the same two vertices.
//!
//! Where the surface passes twice from one loop to another over the same side of their cells (a fin that one ray meets
//! alone), two edges of the mesh have the same ends, and a list of triangles could not tell them apart. Each of them
//! gets a vertex of its own in its middle.

use std::collections::BTreeSet;

use glam::DVec3;
use smallvec::SmallVec;

use crate::Kind;
use crate::blocks::Blocks;
use crate::cells::{Cells, Vertex};
use crate::column::{Column, Joint, Side, Toward};
use crate::complex::Complex;
use crate::strip::{Knot, Segment};
use crate::wood::Wood;

/// A place where the surface passes a line of the lattice, and thus a face of the mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Pass {
    /// At an end of a ray: row, column and number of the end.
    End(usize, usize, usize),
    /// Across a strip along the axis: row, column and number of the crossing.
    Along(usize, usize, usize),
    /// Across a strip around the axis.
    Around(usize, usize, usize),
    /// On the axis, between a row and the next.
    Axis(usize),
}

impl Pass {
    /// The row whose faces it is among.
    pub(crate) fn row(&self) -> usize {
        match *self {
            Pass::End(row, ..) | Pass::Along(row, ..) | Pass::Around(row, ..) | Pass::Axis(row) => row,
        }
    }
}

/// An edge of a face, by its number around it.
pub(crate) type EdgeOf = (Pass, usize);

/// A vertex in the middle of an edge, and the two faces that have it.
pub(crate) struct Twin {
    pub(crate) vertex: Vertex,
    pub(crate) edges: [EdgeOf; 2],
}

/// The way of the surface from one loop to another, between two faces.
struct Link {
    loops: (usize, usize),
    /// The points of the surface at its ends.
    ends: [DVec3; 2],
    edges: [EdgeOf; 2],
}

/// The links of a strip or of a level.
type Links = SmallVec<[Link; 8]>;

/// A column, by its row and its own number, and one of its sides.
type SideOf = (usize, usize, Side);

/// Finds twins in a row of columns: on its strips along the axis, on those around it at its first row, and on levels.
pub(crate) struct Finder<'a, W> {
    pub(crate) complex: &'a Complex<'a, W>,
    pub(crate) blocks: &'a Blocks,
    pub(crate) cells: &'a [Cells],
    pub(crate) row: usize,
    /// Faces whose edges are all to have a vertex in their middle.
    pub(crate) split: &'a BTreeSet<Pass>,
}

impl<W: Wood> Finder<'_, W> {
    pub(crate) fn twins(&self) -> Vec<Twin> {
        let mut twins = Vec::new();
        for column in 0..self.complex.rays.angles {
            // On the sides of a block the surface passes once.
            if self.blocks.first(self.row, column).is_some() {
                continue;
            }
            self.on_along(column, &mut twins);
            if self.row > 0 {
                self.on_around(column, &mut twins);
            }
            self.on_levels(column, &mut twins);
        }
        twins
    }

    fn on_along(&self, column: usize, twins: &mut Vec<Twin>) {
        let (row, before) = (self.row, self.complex.rays.before(column));
        let edge = |knot: Knot, toward: Toward| match knot {
            Knot::Near(number) => (Pass::End(row, column, number as usize), 3),
            Knot::Far(number) => (Pass::End(row + 1, column, number as usize), 1),
            Knot::Level(number) => (Pass::Along(row, column, number as usize), level_edge(toward)),
            Knot::Axis => (Pass::Axis(row), before),
        };
        self.on_side([(row, column, Side::AlongFirst), (row, before, Side::AlongSecond)], edge, twins);
    }

    fn on_around(&self, column: usize, twins: &mut Vec<Twin>) {
        let (row, after) = (self.row, self.complex.rays.after(column));
        let edge = |knot: Knot, toward: Toward| match knot {
            Knot::Near(number) => (Pass::End(row, column, number as usize), 2),
            Knot::Far(number) => (Pass::End(row, after, number as usize), 0),
            Knot::Level(number) => (Pass::Around(row, column, number as usize), level_edge(toward)),
            Knot::Axis => unreachable!("the rays of a row agree about the axis"),
        };
        self.on_side([(row, column, Side::AroundFirst), (row - 1, column, Side::AroundSecond)], edge, twins);
    }

    /// Twins on a strip, which is a side of two columns.
    fn on_side(&self, [one, other]: [SideOf; 2], edge: impl Fn(Knot, Toward) -> EdgeOf, twins: &mut Vec<Twin>) {
        let column = self.complex.column(one.0, one.1);
        let (strip, levels) = (column.strip(one.2), column.crossings[one.2 as usize]);
        if strip.count(levels.len()) < 2 && self.split.is_empty() {
            return;
        }
        let vertex = |(row, number, side): SideOf, segment: &Segment| {
            let node = || self.complex.column(row, number).node(side, segment.lower, Toward::Above);
            self.cells[row].vertex(number, node)
        };
        let mut links = Links::new();
        strip.segments(levels, |segment| {
            links.push(Link {
                loops: (vertex(one, &segment), vertex(other, &segment)),
                ends: [segment.lower, segment.upper].map(|knot| self.complex.knot(one.0, one.1, one.2, knot).point),
                edges: [edge(segment.lower, Toward::Above), edge(segment.upper, Toward::Below)],
            });
        });
        self.keep(&links, twins);
    }

    fn on_levels(&self, number: usize, twins: &mut Vec<Twin>) {
        let row = self.row;
        let column = self.complex.column(row, number);
        for &level in column.levels {
            let joints = column.joints(level, |level| self.complex.is_solid_between(row, number, level));
            let links: Links = joints.iter().map(|joint| self.over_level(&column, number, joint)).collect();
            self.keep(&links, twins);
        }
    }

    /// Keeps those of the links that join the same loops as another one, or bound a face that is to be split.
    fn keep(&self, links: &Links, twins: &mut Vec<Twin>) {
        for link in links {
            let is_twin = links.iter().filter(|other| other.loops == link.loops).count() > 1;
            if is_twin || link.edges.iter().any(|(pass, _)| self.split.contains(pass)) {
                let point = 0.5 * (link.ends[0] + link.ends[1]);
                let vertex = Vertex { point, kind: Kind::Edge, is_pair: false, is_plain: false };
                twins.push(Twin { vertex, edges: link.edges });
            }
        }
    }

    /// The way over a level from one side of a column to another.
    fn over_level(&self, column: &Column<'_>, number: usize, joint: &Joint) -> Link {
        let (row, after) = (self.row, self.complex.rays.after(number));
        let edge = |(side, crossing): (Side, u32)| match side {
            Side::AlongFirst => (Pass::Along(row, number, crossing as usize), 1),
            Side::AlongSecond => (Pass::Along(row, after, crossing as usize), 3),
            Side::AroundFirst => (Pass::Around(row, number, crossing as usize), 3),
            Side::AroundSecond => (Pass::Around(row + 1, number, crossing as usize), 1),
        };
        let (side, crossing) = joint[0];
        let vertex =
            |toward: Toward| self.cells[row].vertex(number, || column.node(side, Knot::Level(crossing), toward));
        Link {
            loops: (vertex(Toward::Below), vertex(Toward::Above)),
            ends: joint.map(|(side, crossing)| self.complex.knot(row, number, side, Knot::Level(crossing)).point),
            edges: joint.map(edge),
        }
    }
}

/// The edge that a strip gives the face at a level's crossing above or below it.
fn level_edge(toward: Toward) -> usize {
    match toward {
        Toward::Above => 0,
        Toward::Below => 2,
    }
}
