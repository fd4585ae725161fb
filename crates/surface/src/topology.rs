//! Whether a mesh is the boundary of a body.

use crate::mesh::Mesh;

/// Why a mesh does not bound a body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// A triangle names a vertex that there is not.
    #[error("triangle {triangle} has a vertex {vertex}, which there is not")]
    NoSuchVertex {
        /// The triangle.
        triangle: usize,
        /// The vertex.
        vertex: u32,
    },
    /// A triangle names a vertex twice.
    #[error("triangle {triangle} has the same vertex twice")]
    Collapsed {
        /// The triangle.
        triangle: usize,
    },
    /// An edge does not have one triangle on each side, in opposite sense.
    #[error("the edge from vertex {from} to {to} has {there} triangles one way and {back} the other")]
    Edge {
        /// Its lower vertex.
        from: u32,
        /// Its upper vertex.
        to: u32,
        /// Triangles that run from the lower to the upper one.
        there: usize,
        /// Triangles that run back.
        back: usize,
    },
    /// The triangles at a vertex are not one ring.
    #[error("the triangles at vertex {vertex} form {rings} rings")]
    Vertex {
        /// The vertex.
        vertex: u32,
        /// How many rings they form; 0 for a vertex without triangles.
        rings: usize,
    },
    /// A list does not have as many entries as it must.
    #[error("there are {owners} owners for {triangles} triangles and {kinds} kinds for {vertices} vertices")]
    Lists {
        /// Entries of each list.
        owners: usize,
        /// Entries of each list.
        triangles: usize,
        /// Entries of each list.
        kinds: usize,
        /// Entries of each list.
        vertices: usize,
    },
}

/// The shape of a closed mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Topology {
    /// Vertices less edges plus triangles.
    pub euler: i64,
    /// Connected surfaces: a cavity counts as one of its own.
    pub surfaces: usize,
    /// Handles of all of them together: openings that go right through.
    pub genus: i64,
}

impl Mesh {
    /// Checks that the mesh is closed, oriented and a manifold of two dimensions, and tells its shape.
    ///
    /// # Errors
    /// The first [`Fault`] found.
    pub fn topology(&self) -> Result<Topology, Fault> {
        self.check_lists()?;
        let edges = self.check_edges()?;
        self.check_rings()?;
        let surfaces = self.surfaces();
        let euler = self.vertices.len() as i64 - edges as i64 + self.triangles.len() as i64;
        Ok(Topology { euler, surfaces, genus: surfaces as i64 - euler / 2 })
    }

    fn check_lists(&self) -> Result<(), Fault> {
        let (owners, triangles) = (self.owners.len(), self.triangles.len());
        let (kinds, vertices) = (self.kinds.len(), self.vertices.len());
        if owners != triangles || kinds != vertices {
            return Err(Fault::Lists { owners, triangles, kinds, vertices });
        }
        for (triangle, corners) in self.triangles.iter().enumerate() {
            if let Some(&vertex) = corners.iter().find(|vertex| **vertex as usize >= vertices) {
                return Err(Fault::NoSuchVertex { triangle, vertex });
            }
            let [a, b, c] = *corners;
            if a == b || b == c || c == a {
                return Err(Fault::Collapsed { triangle });
            }
        }
        Ok(())
    }

    /// Number of edges.
    fn check_edges(&self) -> Result<usize, Fault> {
        let edge = |from: u32, to: u32| (from.min(to), from.max(to), from < to);
        let mut edges: Vec<(u32, u32, bool)> =
            self.triangles.iter().flat_map(|&[a, b, c]| [edge(a, b), edge(b, c), edge(c, a)]).collect();
        edges.sort_unstable();
        let mut count = 0;
        for same in edges.chunk_by(|one, other| (one.0, one.1) == (other.0, other.1)) {
            let there = same.iter().filter(|edge| edge.2).count();
            let back = same.len() - there;
            if (there, back) != (1, 1) {
                return Err(Fault::Edge { from: same[0].0, to: same[0].1, there, back });
            }
            count += 1;
        }
        Ok(count)
    }

    /// Every vertex has triangles, and from each of them the next ones around lead through all.
    fn check_rings(&self) -> Result<(), Fault> {
        // At each vertex: the vertex that a triangle leads from, and the one that it leads to.
        let mut spokes: Vec<(u32, u32, u32)> =
            self.triangles.iter().flat_map(|&[a, b, c]| [(a, b, c), (b, c, a), (c, a, b)]).collect();
        spokes.sort_unstable();
        let mut next = 0;
        for ring in spokes.chunk_by(|one, other| one.0 == other.0) {
            if ring[0].0 != next {
                return Err(Fault::Vertex { vertex: next, rings: 0 });
            }
            next += 1;
            let rings = rings(ring);
            if rings != 1 {
                return Err(Fault::Vertex { vertex: ring[0].0, rings });
            }
        }
        let is_whole = next as usize == self.vertices.len();
        if is_whole { Ok(()) } else { Err(Fault::Vertex { vertex: next, rings: 0 }) }
    }

    /// Number of connected surfaces.
    fn surfaces(&self) -> usize {
        let mut parent: Vec<u32> = (0..self.vertices.len() as u32).collect();
        let mut count = parent.len();
        for &[a, b, c] in &self.triangles {
            for (one, other) in [(a, b), (b, c)] {
                let (one, other) = (root(&mut parent, one), root(&mut parent, other));
                if one != other {
                    parent[one.max(other) as usize] = one.min(other);
                    count -= 1;
                }
            }
        }
        count
    }
}

/// In how many rings the triangles at a vertex lead around it; every edge has two triangles in opposite sense.
fn rings(spokes: &[(u32, u32, u32)]) -> usize {
    let mut seen = vec![false; spokes.len()];
    let mut rings = 0;
    for start in 0..spokes.len() {
        if seen[start] {
            continue;
        }
        rings += 1;
        let mut at = start;
        while !seen[at] {
            seen[at] = true;
            at = spokes.partition_point(|spoke| spoke.1 < spokes[at].2);
        }
    }
    rings
}

fn root(parent: &mut [u32], mut of: u32) -> u32 {
    while parent[of as usize] != of {
        parent[of as usize] = parent[parent[of as usize] as usize];
        of = parent[of as usize];
    }
    of
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::Kind;

    fn mesh(vertices: usize, triangles: &[[u32; 3]]) -> Mesh {
        Mesh {
            vertices: (0..vertices).map(|k| [k as f64, (k * k) as f64, 1.0]).collect(),
            kinds: vec![Kind::Smooth; vertices],
            triangles: triangles.to_vec(),
            owners: vec![0; triangles.len()],
        }
    }

    const TETRAHEDRON: [[u32; 3]; 4] = [[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]];

    #[test]
    fn a_tetrahedron_is_a_body() {
        let topology = mesh(4, &TETRAHEDRON).topology().unwrap();
        assert_eq!(topology, Topology { euler: 2, surfaces: 1, genus: 0 });
    }

    #[test]
    fn every_fault_is_found() {
        assert_eq!(mesh(4, &TETRAHEDRON[..3]).topology(), Err(Fault::Edge { from: 1, to: 2, there: 1, back: 0 }));
        let mut turned = TETRAHEDRON;
        turned[0].reverse();
        assert!(matches!(mesh(4, &turned).topology(), Err(Fault::Edge { .. })));
        assert_eq!(mesh(5, &TETRAHEDRON).topology(), Err(Fault::Vertex { vertex: 4, rings: 0 }));
        assert_eq!(mesh(2, &[[0, 1, 2]]).topology(), Err(Fault::NoSuchVertex { triangle: 0, vertex: 2 }));
        assert_eq!(mesh(3, &[[0, 1, 1]]).topology(), Err(Fault::Collapsed { triangle: 0 }));
        // Two tetrahedra that share the vertex 0.
        let other = TETRAHEDRON.map(|corners| corners.map(|vertex| if vertex == 0 { 0 } else { vertex + 3 }));
        let both = [TETRAHEDRON, other].concat();
        assert_eq!(mesh(7, &both).topology(), Err(Fault::Vertex { vertex: 0, rings: 2 }));
        let mut short = mesh(4, &TETRAHEDRON);
        short.owners.pop();
        assert!(matches!(short.topology(), Err(Fault::Lists { .. })));
    }
}
