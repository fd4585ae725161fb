//! The column between four rays and the loops of surface in it.
//!
//! Levels cut a column into cells. On each side of a cell the surface is a set of segments, and every knot in which
//! they end lies on two sides: all segments of a cell together are closed loops. Each loop is one patch of the surface
//! and becomes one vertex of the mesh.

use smallvec::{SmallVec, smallvec};

use crate::rays::{End, is_solid};
use crate::strip::{Knot, Strip};

/// A column: the rays (row, column), (row + 1, column), (row, column + 1), (row + 1, column + 1) and what is between
/// them.
pub(crate) struct Column<'a> {
    pub(crate) rays: [&'a [End]; 4],
    /// For each side the levels at which the surface crosses it, its own and those of the column beyond.
    pub(crate) crossings: [&'a [f64]; 4],
    /// Its own levels.
    pub(crate) levels: &'a [f64],
}

/// A side of a column: along the axis at its first and its second angle, around it at its first and its second station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    AlongFirst,
    AlongSecond,
    AroundFirst,
    AroundSecond,
}

impl Side {
    pub(crate) const ALL: [Side; 4] = [Side::AlongFirst, Side::AlongSecond, Side::AroundFirst, Side::AroundSecond];

    /// The two rays of a side, by their number in the column.
    fn rays(self) -> [usize; 2] {
        match self {
            Side::AlongFirst => [0, 1],
            Side::AlongSecond => [2, 3],
            Side::AroundFirst => [0, 2],
            Side::AroundSecond => [1, 3],
        }
    }
}

/// Whether a knot is looked at from below or from above its own radius; it matters at levels alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Toward {
    Below,
    Above,
}

/// Two sides that a level's surface joins, each with the number of its crossing.
pub(crate) type Joint = [(Side, u32); 2];

const NONE: u32 = u32::MAX;

impl Column<'_> {
    pub(crate) fn strip(&self, side: Side) -> Strip<'_> {
        let [near, far] = side.rays();
        Strip { near: self.rays[near], far: self.rays[far] }
    }

    /// Number of the node that stands for the end of a ray.
    pub(crate) fn end(&self, ray: usize, number: usize) -> usize {
        self.rays[..ray].iter().map(|ends| ends.len()).sum::<usize>() + number
    }

    /// Number of the node that stands for a crossing of the axis.
    pub(crate) fn axis(&self) -> usize {
        self.crossing(Side::AroundSecond, 0) + 2 * self.crossings[3].len()
    }

    fn crossing(&self, side: Side, number: u32) -> usize {
        let before = &self.crossings[..side as usize];
        self.end(4, 0) + 2 * (before.iter().map(|levels| levels.len()).sum::<usize>() + number as usize)
    }

    /// Number of the node that stands for a knot of a side. A level of the column itself parts two nodes.
    pub(crate) fn node(&self, side: Side, knot: Knot, toward: Toward) -> usize {
        let [near, far] = side.rays();
        match knot {
            Knot::Axis => self.axis(),
            Knot::Near(number) => self.end(near, number as usize),
            Knot::Far(number) => self.end(far, number as usize),
            Knot::Level(number) => {
                let parts = toward == Toward::Above && self.owns(self.crossings[side as usize][number as usize]);
                self.crossing(side, number) + usize::from(parts)
            }
        }
    }

    /// Whether a level is one of its own.
    pub(crate) fn owns(&self, level: f64) -> bool {
        self.levels.binary_search_by(|own| own.total_cmp(&level)).is_ok()
    }

    /// How the surface runs over the level that cuts the column: which crossings it joins. Where all four sides are
    /// crossed, `is_solid_between` tells of the middle.
    pub(crate) fn joints(&self, level: f64, is_solid_between: impl FnOnce(f64) -> bool) -> SmallVec<[Joint; 2]> {
        let found = |side: Side| {
            let at = self.crossings[side as usize].binary_search_by(|it| it.total_cmp(&level)).ok()?;
            Some((side, at as u32))
        };
        let around = [Side::AlongFirst, Side::AroundSecond, Side::AlongSecond, Side::AroundFirst].map(found);
        let crossed: SmallVec<[(Side, u32); 4]> = around.into_iter().flatten().collect();
        match crossed[..] {
            [] => smallvec![],
            [one, other] => smallvec![[one, other]],
            [a, b, c, d] if is_solid_between(level) == is_solid(self.rays[0], level) => smallvec![[a, b], [c, d]],
            [a, b, c, d] => smallvec![[d, a], [b, c]],
            _ => unreachable!("a way around four rays changes its state an even number of times"),
        }
    }

    /// The loops of surface in the column.
    pub(crate) fn loops(&self, is_solid_between: impl Fn(f64) -> bool + Copy) -> Loops {
        let mut links: SmallVec<[[u32; 2]; 32]> = smallvec![[NONE; 2]; self.axis() + 1];
        let mut link = |one: usize, other: usize| {
            for (from, to) in [(one, other), (other, one)] {
                let free = usize::from(links[from][0] != NONE);
                links[from][free] = to as u32;
            }
        };
        for side in Side::ALL {
            self.strip(side).segments(self.crossings[side as usize], |it| {
                link(self.node(side, it.lower, Toward::Above), self.node(side, it.upper, Toward::Below));
            });
        }
        for &level in self.levels {
            for joint in self.joints(level, is_solid_between) {
                for toward in [Toward::Below, Toward::Above] {
                    let [one, other] = joint.map(|(side, number)| self.node(side, Knot::Level(number), toward));
                    link(one, other);
                }
            }
        }
        Loops::through(&links)
    }
}

/// The loops of a column, numbered by their first nodes.
#[derive(Debug)]
pub(crate) struct Loops {
    /// For each node its loop.
    pub(crate) of_node: SmallVec<[u32; 32]>,
    nodes: SmallVec<[u32; 32]>,
    ends: SmallVec<[u32; 8]>,
}

impl Loops {
    fn through(links: &[[u32; 2]]) -> Loops {
        let mut loops = Loops { of_node: smallvec![NONE; links.len()], nodes: smallvec![], ends: smallvec![] };
        for start in 0..links.len() as u32 {
            if links[start as usize][0] == NONE || loops.of_node[start as usize] != NONE {
                continue;
            }
            let number = loops.ends.len() as u32;
            let (mut from, mut at) = (links[start as usize][1], start);
            while loops.of_node[at as usize] == NONE {
                loops.of_node[at as usize] = number;
                loops.nodes.push(at);
                let [one, other] = links[at as usize];
                debug_assert!(one != NONE && other != NONE, "node {at} of {links:?} is an end");
                (from, at) = (at, if one == from { other } else { one });
            }
            loops.ends.push(loops.nodes.len() as u32);
        }
        loops
    }

    pub(crate) fn count(&self) -> usize {
        self.ends.len()
    }

    /// The nodes of a loop in their order around it.
    pub(crate) fn nodes(&self, number: usize) -> &[u32] {
        let start = if number == 0 { 0 } else { self.ends[number - 1] as usize };
        &self.nodes[start..self.ends[number] as usize]
    }
}
