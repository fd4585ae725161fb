//! A mesh of triangles.

use glam::DVec3;

/// How the surface lies about a vertex.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// It goes on smoothly.
    Smooth,
    /// Two surfaces meet in an edge.
    Edge,
    /// Three or more meet in a corner.
    Corner,
}

/// The surface of a piece.
///
/// As [`build`](crate::build()) makes it, it is closed, two triangles meet at every edge in opposite sense, and the
/// triangles at a vertex form one ring.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Vertices in the piece frame, mm: x away from the jaw face, z up at θ = 0.
    pub vertices: Vec<[f64; 3]>,
    /// How the surface lies at each vertex.
    pub kinds: Vec<Kind>,
    /// Triangles by their vertices, counterclockwise as seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// For each triangle the block that made the surface there, or [`UNTOUCHED`](dryturn_carve::UNTOUCHED) or
    /// [`PREPARED`](dryturn_carve::PREPARED).
    pub owners: Vec<u32>,
}

/// The other two corners of a triangle, in its sense.
pub(crate) fn spokes(triangle: [u32; 3], vertex: u32) -> (u32, u32) {
    match triangle {
        [a, b, c] if a == vertex => (b, c),
        [a, b, c] if b == vertex => (c, a),
        [a, b, _] => (a, b),
    }
}

impl Mesh {
    /// The corners of a triangle.
    pub(crate) fn corners(&self, triangle: usize) -> [[f64; 3]; 3] {
        self.triangles[triangle].map(|vertex| self.vertices[vertex as usize])
    }

    /// The least and the greatest coordinates of a triangle.
    pub(crate) fn bounds_of(&self, triangle: usize) -> (DVec3, DVec3) {
        let [a, b, c] = self.corners(triangle).map(DVec3::from_array);
        (a.min(b).min(c), a.max(b).max(c))
    }

    /// The volume inside, mm³; negative if it is turned inside out.
    pub fn volume_mm3(&self) -> f64 {
        // The divergence theorem, about a point of the mesh so that little cancels out.
        let Some(&[ox, oy, oz]) = self.vertices.first() else { return 0.0 };
        let six = |triangle: usize| {
            let [a, b, c] = self.corners(triangle).map(|[x, y, z]| [x - ox, y - oy, z - oz]);
            a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        };
        (0..self.triangles.len()).map(six).sum::<f64>() / 6.0
    }

    /// The least and the greatest coordinates, mm; `None` without vertices.
    pub fn bounds(&self) -> Option<([f64; 3], [f64; 3])> {
        let first = *self.vertices.first()?;
        Some(self.vertices.iter().fold((first, first), |(low, high), vertex| {
            let pick = |of: fn(f64, f64) -> f64, to: [f64; 3]| std::array::from_fn(|k| of(to[k], vertex[k]));
            (pick(f64::min, low), pick(f64::max, high))
        }))
    }
}
