//! Fewer triangles where the surface is flat.
//!
//! An edge is drawn together into one of its ends, again and again, as long as the mesh stays within a bound of what it
//! was. Every triangle carries a bound on how far it may lie off the surface it stands for. Where a vertex goes, the
//! triangles that take the place of its own get the greatest of those bounds and on top of it the distance of the
//! vertex from them, or that of the middles of their new edges from the old ones, whichever is greater. Between these
//! points the distance is not looked at, so the bound is close to strict but not proved. Sharp edges stay since leaving
//! them would be a distance.
//!
//! The shape of the surface, its handles and cavities, stays: the ends of an edge that is drawn together must have
//! exactly two neighbours in common (Dey et al., *Topology preserving edge contraction*, Publ. Inst. Math. 66, 1999).
//! No triangle may turn far or become a needle.

mod distance;

use dryturn_carve::RunOptions;
use glam::DVec3;
use smallvec::SmallVec;

use crate::mesh::{Mesh, spokes};
use crate::{Stop, SurfaceError};
use distance::from_triangle;

/// Bounds of the rounds, as shares of the one asked for: what costs nothing goes first.
const ROUNDS: [f64; 4] = [1e-7, 0.1, 0.4, 1.0];
/// A round is over when a pass over all vertices takes less than this share of them.
const FEW: f64 = 0.005;
/// Least product of the normals of a triangle before and after: 37°.
const TURN: f64 = 0.8;
/// Least height of a triangle, as a share of its longest edge.
const NEEDLE: f64 = 1e-4;
/// Vertices with more triangles than this stay.
const CROWDED: usize = 48;
/// Among edges that cost the same the shorter goes: what a millimetre of length counts as, mm.
const LENGTH: f64 = 1e-9;
/// Vertices between two looks at whether to stop.
const BATCH: usize = 4096;

impl Mesh {
    /// The mesh with fewer triangles, within about `within` mm of this one; with 0 or less it stays as it is. Its
    /// vertices are some of those of this mesh, and each of its triangles has the owner of one that lay there. The
    /// volume of round parts shrinks.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub fn thinned(&self, within: f64, options: &RunOptions<'_>) -> Result<Mesh, SurfaceError> {
        if within.is_nan() || within <= 0.0 {
            return Ok(self.clone());
        }
        let mut thinner = Thinner::new(self);
        let stop = Stop::new(options, ROUNDS.len());
        for share in ROUNDS {
            stop.step(1)?;
            while thinner.pass(share * within, &stop)? as f64 > FEW * thinner.left as f64 {}
        }
        Ok(thinner.mesh(self))
    }
}

type Ring = SmallVec<[u32; 12]>;

const GONE: u32 = u32::MAX;

struct Thinner {
    points: Vec<DVec3>,
    /// Triangles; one that is gone has no corners.
    triangles: Vec<[u32; 3]>,
    /// How far each triangle may lie off the surface it stands for, mm.
    bounds: Vec<f64>,
    /// The triangles at each vertex.
    at: Vec<Ring>,
    /// Vertices that are left.
    left: usize,
}

/// An edge that may be drawn together: the vertex that stays, and what becomes of the bound.
struct Draw {
    into: u32,
    bound: f64,
    cost: f64,
}

impl Thinner {
    fn new(mesh: &Mesh) -> Thinner {
        let mut at = vec![Ring::new(); mesh.vertices.len()];
        for (triangle, corners) in mesh.triangles.iter().enumerate() {
            corners.iter().for_each(|&vertex| at[vertex as usize].push(triangle as u32));
        }
        Thinner {
            points: mesh.vertices.iter().map(|vertex| DVec3::from_array(*vertex)).collect(),
            triangles: mesh.triangles.clone(),
            bounds: vec![0.0; mesh.triangles.len()],
            left: at.len(),
            at,
        }
    }

    /// Looks at every vertex once; tells how many went.
    fn pass(&mut self, most: f64, stop: &Stop<'_>) -> Result<usize, SurfaceError> {
        let before = self.left;
        for vertex in 0..self.at.len() {
            if vertex % BATCH == 0 {
                stop.check()?;
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
        if around.is_empty() || around.len() > CROWDED {
            return None;
        }
        let ring: Ring = around.iter().map(|&triangle| self.spokes(triangle, vertex).0).collect();
        let old = around.iter().map(|&triangle| self.bounds[triangle as usize]).fold(0.0, f64::max);
        let mut best: Option<Draw> = None;
        for &into in &ring {
            let cheapest = best.as_ref().map_or(f64::INFINITY, |draw| draw.cost);
            let length = LENGTH * (self.points[into as usize] - self.points[vertex as usize]).length();
            let room = (most - old).min(cheapest - length);
            if room < 0.0 || !self.keeps_shape(vertex, into, &ring) {
                continue;
            }
            if let Some(distance) = self.distance(vertex, into, &ring, room) {
                let cost = distance + length;
                if cost < cheapest {
                    best = Some(Draw { into, bound: old + distance, cost });
                }
            }
        }
        best
    }

    /// The other two corners of a triangle, in its sense.
    fn spokes(&self, triangle: u32, vertex: u32) -> (u32, u32) {
        spokes(self.triangles[triangle as usize], vertex)
    }

    /// Whether the surface keeps its shape if a vertex with the given ring goes into another.
    fn keeps_shape(&self, vertex: u32, into: u32, ring: &[u32]) -> bool {
        let others = &self.at[into as usize];
        let common = others.iter().filter(|&&triangle| ring.contains(&self.spokes(triangle, into).0)).count();
        let is_tetrahedron = others.len() == 3 && self.at[vertex as usize].len() == 3;
        common == 2 && !is_tetrahedron
    }

    /// How far the new triangles lie off the old ones; `None` if over `room` or if one of them is not sound.
    fn distance(&self, vertex: u32, into: u32, ring: &[u32], room: f64) -> Option<f64> {
        let point = |vertex: u32| self.points[vertex as usize];
        let (from, to) = (point(vertex), point(into));
        let around = &self.at[vertex as usize];
        let spokes = || around.iter().map(|&triangle| self.spokes(triangle, vertex));
        let mut nearest = f64::INFINITY;
        for (a, b) in spokes().filter(|&(a, b)| a != into && b != into) {
            let (a, b) = (point(a), point(b));
            if !is_sound([from, a, b], [to, a, b]) {
                return None;
            }
            nearest = nearest.min(from_triangle(from, [to, a, b]));
        }
        let mut farthest = nearest;
        let beside = |other: u32| spokes().any(|pair| pair == (into, other) || pair == (other, into));
        for &other in ring.iter().filter(|&&other| other != into && !beside(other)) {
            if farthest > room {
                return None;
            }
            let middle = 0.5 * (to + point(other));
            let off = spokes().map(|(a, b)| from_triangle(middle, [from, point(a), point(b)]));
            farthest = farthest.max(off.fold(f64::INFINITY, f64::min));
        }
        (farthest <= room).then_some(farthest)
    }

    fn draw(&mut self, vertex: u32, draw: &Draw) {
        self.left -= 1;
        for triangle in std::mem::take(&mut self.at[vertex as usize]) {
            let corners = self.triangles[triangle as usize];
            if corners.contains(&draw.into) {
                for corner in corners {
                    self.at[corner as usize].retain(|other| *other != triangle);
                }
                self.triangles[triangle as usize] = [GONE; 3];
            } else {
                self.triangles[triangle as usize] = corners.map(|it| if it == vertex { draw.into } else { it });
                self.bounds[triangle as usize] = draw.bound;
                self.at[draw.into as usize].push(triangle);
            }
        }
    }

    /// What is left of a mesh.
    fn mesh(&self, of: &Mesh) -> Mesh {
        let mut number = vec![GONE; self.at.len()];
        let mut mesh = Mesh::default();
        for (vertex, _) in self.at.iter().enumerate().filter(|(_, around)| !around.is_empty()) {
            number[vertex] = mesh.vertices.len() as u32;
            mesh.vertices.push(of.vertices[vertex]);
            mesh.kinds.push(of.kinds[vertex]);
        }
        for (corners, owner) in self.triangles.iter().zip(&of.owners).filter(|(corners, _)| corners[0] != GONE) {
            mesh.triangles.push(corners.map(|vertex| number[vertex as usize]));
            mesh.owners.push(*owner);
        }
        mesh
    }
}

/// Whether a triangle may become another: it hardly turns and is no needle.
fn is_sound(old: [DVec3; 3], new: [DVec3; 3]) -> bool {
    let twice = |[a, b, c]: [DVec3; 3]| (b - a).cross(c - a);
    let (was, is) = (twice(old), twice(new));
    let [a, b, c] = new;
    let longest = (b - a).length_squared().max((c - b).length_squared()).max((a - c).length_squared());
    is.length() > NEEDLE * longest && (was == DVec3::ZERO || was.dot(is) > TURN * was.length() * is.length())
}
