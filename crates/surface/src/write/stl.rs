//! Binary STL: triangles alone, in single precision and without a unit; millimetres are the custom.

use std::io::{self, Write};

use glam::DVec3;

use crate::mesh::Mesh;

/// The first 80 bytes. They must not begin with "solid", by which files of text are told.
const HEADER: &[u8; 80] = b"dryturn, in millimetres                                                         ";

/// Writes a mesh as binary STL. Vertices that differ by less than single precision holds fall together.
///
/// # Errors
/// Those of `to`, and [`io::ErrorKind::InvalidInput`] if there are more triangles than the format can count.
pub fn write_stl(mesh: &Mesh, to: &mut dyn Write) -> io::Result<()> {
    let count = u32::try_from(mesh.triangles.len())
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "more triangles than an STL file can count"))?;
    to.write_all(HEADER)?;
    to.write_all(&count.to_le_bytes())?;
    super::each(0..mesh.triangles.len(), |triangle, bytes| put(mesh.corners(triangle), bytes), to)
}

fn put(corners: [[f64; 3]; 3], bytes: &mut Vec<u8>) {
    let [a, b, c] = corners.map(DVec3::from_array);
    let normal = (b - a).cross(c - a).normalize_or_zero();
    for number in [normal.to_array(), corners[0], corners[1], corners[2]].iter().flatten() {
        bytes.extend((*number as f32).to_le_bytes());
    }
    bytes.extend([0; 2]);
}
