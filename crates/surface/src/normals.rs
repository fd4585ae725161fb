//! Normals for pictures: one at each vertex where the surface is smooth, several where it has an edge.

use dryturn_geom::angle;
use glam::DVec3;

use crate::mesh::{Kind, Mesh, spokes};

/// Triangles that meet at less than this are taken for a curve, if the vertex is on an edge: the cosine of 20°.
const CREASE: f64 = 0.939_692_620_785_908_4;
/// Triangles lower than this share of their longest side are needles, and how much of their angle counts.
const NEEDLE: f64 = 5e-3;
const HARDLY: f64 = 1e-3;
/// A triangle that looks away from the mean of its side by more than this looks for itself: the cosine of 60°.
const ASTRAY: f64 = 0.5;

/// A mesh whose vertices stand once for each normal they have.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shaded {
    /// Which vertex of the mesh each of these is.
    pub of: Vec<u32>,
    /// The unit normal of each, out of the body.
    pub normals: Vec<[f32; 3]>,
    /// The triangles of the mesh, in its order, by these vertices.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// The mesh with its normals: the mean of the triangles at a vertex by their angles there (Thürmer and Wüthrich,
    /// *Computing vertex normals from polygonal facets*, J. Graphics Tools 3, 1998), of those on each side of an edge for
    /// themselves.
    pub fn shaded(&self) -> Shaded {
        let facets: Vec<DVec3> = (0..self.triangles.len()).map(|triangle| self.facet(triangle)).collect();
        let mut shaded = Shaded { triangles: self.triangles.clone(), ..Shaded::default() };
        let around = self.around();
        for vertex in 0..self.vertices.len() as u32 {
            let ring = &around.all[around.first[vertex as usize] as usize..around.first[vertex as usize + 1] as usize];
            let sides = if self.kinds[vertex as usize] == Kind::Smooth {
                vec![0; ring.len()]
            } else {
                self.sides(vertex, ring, &facets)
            };
            let sides = self.set_apart(vertex, ring, sides, &facets);
            self.shade(vertex, ring, &sides, &facets, &mut shaded);
        }
        shaded
    }

    /// The unit normal of a triangle; nought where it has no area.
    fn facet(&self, triangle: usize) -> DVec3 {
        let [a, b, c] = self.corners(triangle).map(DVec3::from_array);
        (b - a).cross(c - a).normalize_or_zero()
    }

    /// The triangles at every vertex.
    fn around(&self) -> Around {
        let mut first = vec![0u32; self.vertices.len() + 1];
        for vertex in self.triangles.iter().flatten() {
            first[*vertex as usize + 1] += 1;
        }
        for vertex in 0..self.vertices.len() {
            first[vertex + 1] += first[vertex];
        }
        let mut next = first.clone();
        let mut all = vec![0; 3 * self.triangles.len()];
        for (triangle, corners) in self.triangles.iter().enumerate() {
            for vertex in corners {
                let place = &mut next[*vertex as usize];
                all[*place as usize] = triangle as u32;
                *place += 1;
            }
        }
        Around { first, all }
    }

    /// On which side of the edges each triangle at a vertex lies: numbers from 0 on.
    fn sides(&self, vertex: u32, ring: &[u32], facets: &[DVec3]) -> Vec<usize> {
        let mut by_first: Vec<(u32, usize)> =
            (0..ring.len()).map(|at| (spokes(self.triangles[ring[at] as usize], vertex).0, at)).collect();
        by_first.sort_unstable();
        let mut joined: Vec<usize> = (0..ring.len()).collect();
        for at in 0..ring.len() {
            let spoke = spokes(self.triangles[ring[at] as usize], vertex).1;
            let from = by_first.partition_point(|(first, _)| *first < spoke);
            for &(_, other) in by_first[from..].iter().take_while(|(first, _)| *first == spoke) {
                if is_smooth(facets[ring[at] as usize], facets[ring[other] as usize]) {
                    let (one, other) = (root(&joined, at), root(&joined, other));
                    joined[one.max(other)] = one.min(other);
                }
            }
        }
        let mut roots: Vec<usize> = Vec::new();
        let side_of = |at: usize| {
            let root = root(&joined, at);
            roots.iter().position(|known| *known == root).unwrap_or_else(|| {
                roots.push(root);
                roots.len() - 1
            })
        };
        (0..ring.len()).map(side_of).collect()
    }

    /// The sides again, where triangles that look elsewhere than the mean of theirs are sides by themselves: around the tip of a
    /// cone, and where one side goes over into another by many small steps.
    fn set_apart(&self, vertex: u32, ring: &[u32], mut sides: Vec<usize>, facets: &[DVec3]) -> Vec<usize> {
        let count = sides.iter().max().map_or(0, |side| side + 1);
        let sums = self.sums(vertex, ring, &sides, facets);
        let is_astray = |at: usize, side: usize| {
            let facet = facets[ring[at] as usize];
            facet != DVec3::ZERO && facet.dot(sums[side].normalize_or_zero()) < ASTRAY && !self.is_needle(ring[at])
        };
        let astray: Vec<usize> = (0..ring.len()).filter(|at| is_astray(*at, sides[*at])).collect();
        (count..).zip(&astray).for_each(|(side, at)| sides[*at] = side);
        if !astray.is_empty() {
            // Sides that all have left are none.
            let mut left = sides.clone();
            left.sort_unstable();
            left.dedup();
            sides.iter_mut().for_each(|side| *side = left.partition_point(|it| it < side));
        }
        sides
    }

    /// The sums of the normals of each side, by what its triangles have to say.
    fn sums(&self, vertex: u32, ring: &[u32], sides: &[usize], facets: &[DVec3]) -> Vec<DVec3> {
        let mut sums = vec![DVec3::ZERO; sides.iter().max().map_or(0, |side| side + 1)];
        for (&triangle, &side) in ring.iter().zip(sides) {
            sums[side] += facets[triangle as usize] * self.say_at(triangle, vertex);
        }
        sums
    }

    fn is_needle(&self, triangle: u32) -> bool {
        let [a, b, c] = self.corners(triangle as usize).map(DVec3::from_array);
        let longest = [b - a, c - b, a - c].into_iter().map(DVec3::length_squared).fold(0.0, f64::max);
        (b - a).cross(c - a).length() < NEEDLE * longest
    }

    /// Adds a vertex once for each of its sides.
    fn shade(&self, vertex: u32, ring: &[u32], sides: &[usize], facets: &[DVec3], shaded: &mut Shaded) {
        let first = shaded.of.len();
        let sums = self.sums(vertex, ring, sides, facets);
        for (&triangle, &side) in ring.iter().zip(sides) {
            let corners = self.triangles[triangle as usize];
            for (corner, new) in corners.iter().zip(&mut shaded.triangles[triangle as usize]) {
                if *corner == vertex {
                    *new = (first + side) as u32;
                }
            }
        }
        shaded.of.extend(sums.iter().map(|_| vertex));
        shaded.normals.extend(sums.iter().map(|sum| sum.normalize_or(DVec3::Z).as_vec3().to_array()));
    }

    /// How much a triangle has to say about the normal at one of its corners: its angle there, radians. Which way a needle
    /// looks is chance, and its angle may be half a turn.
    fn say_at(&self, triangle: u32, vertex: u32) -> f64 {
        let (a, b) = spokes(self.triangles[triangle as usize], vertex);
        let [corner, a, b] = [vertex, a, b].map(|it| DVec3::from_array(self.vertices[it as usize]));
        let (a, b) = (a - corner, b - corner);
        angle::atan2(a.cross(b).length(), a.dot(b)) * if self.is_needle(triangle) { HARDLY } else { 1.0 }
    }
}

/// The triangles at the vertices, one list after the other.
struct Around {
    first: Vec<u32>,
    all: Vec<u32>,
}

/// Whether two triangles are parts of one curve; one without area is part of any.
fn is_smooth(one: DVec3, other: DVec3) -> bool {
    one.dot(other) > CREASE || one == DVec3::ZERO || other == DVec3::ZERO
}

fn root(joined: &[usize], mut at: usize) -> usize {
    while joined[at] != at {
        at = joined[at];
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_has_three_normals_in_every_corner() {
        let block = Mesh::block([0.0; 3], [[1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0]]);
        let shaded = block.shaded();
        assert_eq!(shaded.of.len(), 24);
        for (triangle, corners) in shaded.triangles.iter().enumerate() {
            let facet = block.facet(triangle).as_vec3().to_array();
            assert!(corners.iter().all(|corner| shaded.normals[*corner as usize] == facet));
            assert_eq!(corners.map(|corner| shaded.of[corner as usize]), block.triangles[triangle]);
        }
    }

    #[test]
    fn a_cylinder_is_round_about_its_axis_and_flat_at_its_ends() {
        let cylinder = Mesh::turned(&[[0.0, 10.0], [5.0, 10.0]], 0.01);
        let shaded = cylinder.shaded();
        // Both rims stand twice, the middles of the ends once.
        assert_eq!(shaded.of.len(), 2 * cylinder.vertices.len() - 2);
        for (of, normal) in shaded.of.iter().zip(&shaded.normals) {
            let [_, y, z] = cylinder.vertices[*of as usize];
            let radial = [0.0, y / 10.0, z / 10.0];
            let off = |wanted: [f64; 3]| (0..3).map(|k| (f64::from(normal[k]) - wanted[k]).abs()).fold(0.0, f64::max);
            assert!([radial, [1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]].into_iter().any(|it| off(it) < 1e-6), "{normal:?}");
        }
    }

    #[test]
    fn the_tip_of_a_cone_looks_every_way() {
        let cone = Mesh::turned(&[[0.0, 0.0], [5.0, 2.0]], 0.01);
        let shaded = cone.shaded();
        let used: std::collections::BTreeSet<u32> = shaded.triangles.iter().flatten().copied().collect();
        assert_eq!(used.len(), shaded.of.len());
        for (triangle, corners) in shaded.triangles.iter().enumerate() {
            let facet = cone.facet(triangle);
            let normals = corners.map(|corner| DVec3::from_array(shaded.normals[corner as usize].map(f64::from)));
            assert!(normals.iter().all(|normal| normal.dot(facet) > ASTRAY), "{triangle}: {normals:?}");
        }
    }

    #[test]
    fn needles_do_not_tell_where_a_vertex_looks() {
        // A floor with a vertex on the side of two of its triangles, a hair beyond it: the needle between looks down.
        let low = [[0.0, -1.0], [1.0, -1.0], [1.0, 0.0], [0.0, 0.0], [0.5, -1e-5], [1.0, 1.0], [0.0, 1.0]];
        let triangles = vec![[0, 1, 2], [0, 2, 3], [3, 2, 4], [3, 4, 6], [4, 2, 5]];
        let vertices = low.map(|[x, y]| [x, y, 0.0]).to_vec();
        let floor = Mesh { vertices, kinds: vec![Kind::Smooth; 7], owners: vec![0; 5], triangles };
        assert!(floor.shaded().normals.iter().all(|normal| normal[2] > 0.99));
    }
}
