//! Whether a mesh encloses a solid.

use super::Mesh;

/// The first edge at which a mesh does not close.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error(
    "the mesh is not closed: {count} of its edges lack a face on one side, one of them from ({}) to ({})",
    at(.from),
    at(.to)
)]
pub struct OpenMesh {
    /// How many edges do not close.
    pub count: usize,
    /// One end of the first of them, mm, in the file's own axes.
    pub from: [f64; 3],
    /// The other end.
    pub to: [f64; 3],
}

fn at(point: &[f64; 3]) -> String {
    let number = |value: &f64| {
        let text = format!("{value:.4}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    point.iter().map(number).collect::<Vec<_>>().join(", ")
}

impl Mesh {
    /// Checks that it encloses a solid: that every edge is run through as often from the one end as from the other.
    /// Several bodies may touch or overlap; faces that are turned the wrong way do not close with their neighbours.
    ///
    /// # Errors
    /// [`OpenMesh`] names an edge that does not close.
    pub fn check_closed(&self) -> Result<(), OpenMesh> {
        // (lower corner, higher corner, way), sorted: the ways of one edge stand together and must add up to nothing.
        let mut edges: Vec<(u32, u32, i8)> = self
            .triangles
            .iter()
            .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
            .map(|(from, to)| if from < to { (from, to, 1) } else { (to, from, -1) })
            .collect();
        edges.sort_unstable();
        let mut open = edges
            .chunk_by(|one, other| (one.0, one.1) == (other.0, other.1))
            .filter(|ways| ways.iter().map(|way| i64::from(way.2)).sum::<i64>() != 0);
        let Some(first) = open.next() else { return Ok(()) };
        let corner = |number: u32| self.corners[number as usize];
        Err(OpenMesh { count: 1 + open.count(), from: corner(first[0].0), to: corner(first[0].1) })
    }
}
