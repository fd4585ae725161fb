//! The points of a body that decide where a camera or a light stands.
//!
//! They must not depend on how finely a body is cut into triangles, or a finer mesh would be seen from a little farther off.
//! So of a slice across the axis and a part of a turn the outermost vertex is taken, and those that reach farthest along
//! the axis: what lies between these is nearer to the middle.

use dryturn_surface::Mesh;
use glam::DVec3;
use rayon::prelude::*;

/// Slices along the axis, and parts of a turn: an arc of one stands out by four parts in a hundred thousand of its radius.
const SLICES: usize = 256;
const PARTS: usize = 180;

/// What of a slice and a part of a turn reaches farthest: out, and along the axis both ways.
type Farthest = [Option<u32>; 3];

/// The outermost vertices of a mesh, in the piece frame.
pub(crate) fn outline(mesh: &Mesh) -> Vec<DVec3> {
    let Some((low, high)) = mesh.bounds() else { return Vec::new() };
    let per_mm = SLICES as f64 / (high[0] - low[0]).max(1e-6);
    let place = |[x, y, z]: &[f64; 3]| {
        let slice = (((x - low[0]) * per_mm) as usize).min(SLICES - 1);
        let turn = 0.5 + y.atan2(*z) / std::f64::consts::TAU;
        (slice * PARTS + ((turn * PARTS as f64) as usize).min(PARTS - 1)) as u32
    };
    let places: Vec<u32> = mesh.vertices.par_iter().map(place).collect();
    let mut farthest: Vec<Farthest> = vec![[None; 3]; SLICES * PARTS];
    let out = |vertex: u32| {
        let [x, y, z] = mesh.vertices[vertex as usize];
        let out = y * y + z * z;
        // Of an end the rim is wanted.
        let hair = 1e-9 * out;
        [out, x + hair, hair - x]
    };
    for (vertex, place) in (0..).zip(places) {
        let reach = out(vertex);
        for (way, kept) in farthest[place as usize].iter_mut().enumerate() {
            if kept.is_none_or(|kept| reach[way] > out(kept)[way]) {
                *kept = Some(vertex);
            }
        }
    }
    let mut kept: Vec<u32> = farthest.into_iter().flatten().flatten().collect();
    kept.sort_unstable();
    kept.dedup();
    kept.into_iter().map(|vertex| DVec3::from_array(mesh.vertices[vertex as usize])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finer_mesh_has_the_same_outline() {
        let reach = |within: f64, way: DVec3| {
            let mesh = Mesh::turned(&[[0.0, 12.0], [30.0, 20.0], [70.0, 20.0], [80.0, 5.0]], within);
            let points = outline(&mesh);
            assert!(points.len() < mesh.vertices.len());
            points.iter().map(|point| point.dot(way)).fold(f64::MIN, f64::max)
        };
        for way in [DVec3::X, DVec3::NEG_X, DVec3::new(0.6, 0.0, 0.8), DVec3::new(-0.48, 0.64, 0.6)] {
            let (coarse, fine) = (reach(1e-3, way), reach(1e-4, way));
            assert!((coarse - fine).abs() < 2e-3, "{way}: {coarse}, {fine}");
        }
    }
}
