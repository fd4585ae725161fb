//! A part of a mesh that is being thinned.

use glam::DVec3;
use smallvec::SmallVec;

use super::distance::from_triangle;
use crate::mesh::{Mesh, spokes};
use crate::{Stop, SurfaceError};

/// A round is over when a pass over all vertices takes less than this share of them.
const FEW: f64 = 0.005;
/// Least product of the normals of a triangle before and after: 37°.
const TURN: f64 = 0.8;
/// Least height of a triangle, as a share of its longest edge.
const NEEDLE: f64 = 1e-4;
/// Distances below this are as good as none, mm.
const NOTHING: f64 = 1e-12;
/// Vertices with more triangles than this stay.
const CROWDED: usize = 48;
/// Among edges that cost the same the shorter goes: what a millimetre of length counts as, mm.
const LENGTH: f64 = 1e-9;
/// Vertices between two looks at whether to stop.
const BATCH: usize = 4096;

type Ring = SmallVec<[u32; 12]>;
/// The other two corners of each triangle around a vertex.
type Fan = SmallVec<[(u32, u32); 12]>;

const GONE: u32 = u32::MAX;

/// What may become of a vertex.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stay {
    /// It may go into another, and another into it.
    Free,
    /// It stays.
    Kept,
    /// It stays, and no other goes into it: not all of its triangles are known.
    Border,
}

/// A triangle of a mesh that is being thinned.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Triangle {
    pub(crate) corners: [u32; 3],
    /// Who made the surface there.
    pub(crate) owner: u32,
    /// How far it may lie off the surface it stands for, mm.
    pub(crate) bound: f64,
    /// How much of the body lies between it and that surface, mm³: what it cuts off.
    pub(crate) lost: f64,
}

/// A part of a mesh, its vertices numbered anew.
pub(crate) struct Part<'a> {
    /// The vertices in the mesh.
    numbers: Vec<u32>,
    points: Vec<DVec3>,
    stays: Vec<Stay>,
    /// Triangles; one that is gone has no corners.
    triangles: Vec<Triangle>,
    /// For each triangle what its owner counts as.
    groups: Vec<u32>,
    /// The triangles at each vertex.
    at: Vec<Ring>,
    /// Whether something about a vertex has changed since it was last found that it must stay.
    is_new: Vec<bool>,
    /// Vertices that are left.
    left: usize,
    stop: &'a Stop<'a>,
}

/// An edge that may be drawn together: the vertex that stays, and what becomes of the bound.
struct Draw {
    into: u32,
    bound: f64,
    cost: f64,
}

impl<'a> Part<'a> {
    /// The part that some triangles of a mesh make; `stay` tells of its vertices, and owners that `group` makes equal
    /// count as one.
    pub(crate) fn of(
        mesh: &Mesh,
        mut triangles: Vec<Triangle>,
        stay: impl Fn(u32) -> Stay,
        group: &(dyn Fn(u32) -> u32 + Sync),
        stop: &'a Stop<'a>,
    ) -> Part<'a> {
        let mut numbers: Vec<u32> = triangles.iter().flat_map(|triangle| triangle.corners).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let mut at = vec![Ring::new(); numbers.len()];
        for (number, triangle) in (0..).zip(&mut triangles) {
            triangle.corners = triangle.corners.map(|corner| numbers.partition_point(|it| *it < corner) as u32);
            triangle.corners.iter().for_each(|&corner| at[corner as usize].push(number));
        }
        Part {
            points: numbers.iter().map(|it| DVec3::from_array(mesh.vertices[*it as usize])).collect(),
            stays: numbers.iter().map(|it| stay(*it)).collect(),
            groups: triangles.iter().map(|triangle| group(triangle.owner)).collect(),
            is_new: vec![true; numbers.len()],
            left: numbers.len(),
            numbers,
            triangles,
            at,
            stop,
        }
    }

    /// The triangles that are left of it within a distance, mm, by their vertices in the mesh.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn thinned(mut self, within: f64) -> Result<Vec<Triangle>, SurfaceError> {
        while self.pass(within)? as f64 > FEW * self.left as f64 {}
        let numbered = |corners: [u32; 3]| corners.map(|corner| self.numbers[corner as usize]);
        let left = self.triangles.iter().filter(|it| it.corners[0] != GONE);
        Ok(left.map(|it| Triangle { corners: numbered(it.corners), ..*it }).collect())
    }

    /// Looks at every vertex once; tells how many went.
    fn pass(&mut self, most: f64) -> Result<usize, SurfaceError> {
        let before = self.left;
        for vertex in 0..self.at.len() {
            if vertex % BATCH == 0 {
                self.stop.check()?;
            }
            if !std::mem::replace(&mut self.is_new[vertex], false) {
                continue;
            }
            if let Some(draw) = self.best(vertex as u32, most) {
                self.draw(vertex as u32, &draw);
            }
        }
        Ok(before - self.left)
    }

    /// The cheapest way to do without a vertex.
    fn best(&self, vertex: u32, most: f64) -> Option<Draw> {
        let around = &self.at[vertex as usize];
        if around.is_empty() || around.len() > CROWDED || self.stays[vertex as usize] != Stay::Free {
            return None;
        }
        let line = self.line(vertex);
        if line.len() == 1 || line.len() > 2 {
            return None;
        }
        let fan: Fan = around.iter().map(|&triangle| self.spokes(triangle, vertex)).collect();
        let old = around.iter().map(|&triangle| self.triangles[triangle as usize].bound).fold(0.0, f64::max);
        let mut best: Option<Draw> = None;
        let may_take =
            |into: &u32| self.stays[*into as usize] != Stay::Border && (line.is_empty() || line.contains(into));
        for into in fan.iter().map(|it| it.0).filter(may_take) {
            let cheapest = best.as_ref().map_or(f64::INFINITY, |draw| draw.cost);
            let length = LENGTH * (self.points[into as usize] - self.points[vertex as usize]).length();
            let room = (most - old).min(cheapest - length);
            if room < 0.0 || !self.keeps_shape(vertex, into, &fan) {
                continue;
            }
            let aside = self.aside(vertex, into, &line);
            if aside > room {
                continue;
            }
            if let Some(distance) = self.distance(vertex, into, &fan, room) {
                let distance = distance.max(aside);
                let cost = distance + length;
                if cost < cheapest {
                    best = Some(Draw { into, bound: old + distance, cost });
                }
            }
        }
        best
    }

    /// The vertices to which the border between groups of owners leads from a vertex.
    fn line(&self, vertex: u32) -> SmallVec<[u32; 4]> {
        let around = &self.at[vertex as usize];
        let group = |triangle: u32| self.groups[triangle as usize];
        if around.iter().all(|&triangle| group(triangle) == group(around[0])) {
            return SmallVec::new();
        }
        let next = |to: u32| around.iter().copied().find(|&other| self.spokes(other, vertex).1 == to);
        let ends = around.iter().map(|&triangle| (self.spokes(triangle, vertex).0, triangle));
        let is_border = |&(to, triangle): &(u32, u32)| next(to).is_some_and(|other| group(other) != group(triangle));
        ends.filter(is_border).map(|(to, _)| to).collect()
    }

    /// How far a vertex lies off the border line that would pass it by.
    fn aside(&self, vertex: u32, into: u32, line: &[u32]) -> f64 {
        let &[one, other] = line else { return 0.0 };
        let beyond = if into == one { other } else { one };
        let [at, from, to] = [vertex, into, beyond].map(|it| self.points[it as usize]);
        from_triangle(at, [from, to, to])
    }

    /// The other two corners of a triangle, in its sense.
    fn spokes(&self, triangle: u32, vertex: u32) -> (u32, u32) {
        spokes(self.triangles[triangle as usize].corners, vertex)
    }

    /// Whether the surface keeps its shape if a vertex with the given triangles around it goes into another.
    fn keeps_shape(&self, vertex: u32, into: u32, fan: &Fan) -> bool {
        let others = &self.at[into as usize];
        let is_common = |other: u32| fan.iter().any(|it| it.0 == other);
        let common = others.iter().filter(|&&triangle| is_common(self.spokes(triangle, into).0)).count();
        let is_tetrahedron = others.len() == 3 && self.at[vertex as usize].len() == 3;
        common == 2 && !is_tetrahedron
    }

    /// How far the new triangles lie off the old ones; `None` if over `room` or if one of them is not sound.
    fn distance(&self, vertex: u32, into: u32, fan: &Fan, room: f64) -> Option<f64> {
        let point = |vertex: u32| self.points[vertex as usize];
        let (from, to) = (point(vertex), point(into));
        let mut nearest = f64::INFINITY;
        for &(a, b) in fan.iter().filter(|&&(a, b)| a != into && b != into) {
            let (a, b) = (point(a), point(b));
            let normal = sound([from, a, b], [to, a, b])?;
            // A triangle is no nearer than its plane.
            let most = nearest.min(room) + NOTHING;
            if square(normal.dot(from - to)) <= normal.length_squared() * square(most) {
                nearest = nearest.min(from_triangle(from, [to, a, b]));
            }
        }
        let mut farthest = nearest.max(NOTHING);
        let beside = |other: u32| fan.iter().any(|&pair| pair == (into, other) || pair == (other, into));
        for &(other, _) in fan.iter().filter(|&&(other, _)| other != into && !beside(other)) {
            if farthest > room {
                return None;
            }
            let middle = 0.5 * (to + point(other));
            // Mostly it lies over a triangle that has the edge's end, and no farther off than others.
            let has_end = |&&(a, b): &&(u32, u32)| a == other || b == other;
            let mut least = f64::INFINITY;
            for &(a, b) in fan.iter().filter(has_end).chain(fan.iter().filter(|it| !has_end(it))) {
                least = least.min(from_triangle(middle, [from, point(a), point(b)]));
                if least <= farthest {
                    break;
                }
            }
            farthest = farthest.max(least);
        }
        (farthest <= room).then_some(farthest)
    }

    fn draw(&mut self, vertex: u32, draw: &Draw) {
        self.left -= 1;
        self.count_lost(vertex, draw.into);
        for number in std::mem::take(&mut self.at[vertex as usize]) {
            let triangle = &mut self.triangles[number as usize];
            if triangle.corners.contains(&draw.into) {
                for corner in std::mem::replace(&mut triangle.corners, [GONE; 3]) {
                    self.at[corner as usize].retain(|other| *other != number);
                }
            } else {
                triangle.corners = triangle.corners.map(|it| if it == vertex { draw.into } else { it });
                triangle.bound = draw.bound;
                self.at[draw.into as usize].push(number);
            }
        }
        self.renew(draw.into);
    }

    /// Counts what the triangles at a vertex that goes into another will cut off: the tetrahedra between it and them. One
    /// that goes leaves what it has cut off to the one beside it.
    fn count_lost(&mut self, vertex: u32, into: u32) {
        let point = |vertex: u32| self.points[vertex as usize];
        let (from, to) = (point(vertex), point(into));
        let around = self.at[vertex as usize].clone();
        let fan: SmallVec<[(u32, (u32, u32)); 12]> = around.iter().map(|it| (*it, self.spokes(*it, vertex))).collect();
        let mut lost: SmallVec<[f64; 12]> = fan
            .iter()
            .map(|&(number, (a, b))| {
                let six = (to - from).dot((point(a) - from).cross(point(b) - from));
                self.triangles[number as usize].lost - six / 6.0
            })
            .collect();
        for (at, &(_, (a, b))) in fan.iter().enumerate().filter(|(_, (_, (a, b)))| *a == into || *b == into) {
            let shared = if a == into { b } else { a };
            let beside = fan.iter().position(|&(_, (c, d))| (c == shared || d == shared) && c != into && d != into);
            if let Some(beside) = beside {
                lost[beside] += lost[at];
            }
        }
        for ((number, _), lost) in fan.iter().zip(lost) {
            self.triangles[*number as usize].lost = lost;
        }
    }

    /// Has all vertices looked at anew for which something is otherwise around a vertex into which another went: those of
    /// its triangles, and of the triangles at these.
    fn renew(&mut self, vertex: u32) {
        let Part { at, triangles, is_new, .. } = self;
        let corners = |vertex: u32| at[vertex as usize].iter().flat_map(|it| triangles[*it as usize].corners);
        for near in corners(vertex) {
            corners(near).for_each(|corner| is_new[corner as usize] = true);
        }
    }
}

/// Twice the area of what a triangle may become, along its normal; `None` if it would turn far or become a needle.
fn sound(old: [DVec3; 3], new: [DVec3; 3]) -> Option<DVec3> {
    let twice = |[a, b, c]: [DVec3; 3]| (b - a).cross(c - a);
    let (was, is) = (twice(old), twice(new));
    let [a, b, c] = new;
    let longest = (b - a).length_squared().max((c - b).length_squared()).max((a - c).length_squared());
    let areas = [was, is].map(DVec3::length_squared);
    let is_needle = areas[1] <= square(NEEDLE * longest);
    let along = was.dot(is);
    let turns = areas[0] > 0.0 && (along <= 0.0 || square(along) <= square(TURN) * areas[0] * areas[1]);
    (!is_needle && !turns).then_some(is)
}

fn square(number: f64) -> f64 {
    number * number
}
