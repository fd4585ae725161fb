//! Binary PLY: indexed, in double precision, with who made each face (Turk, *The PLY Polygon File Format*, 1994).

use std::io::{self, Write};

use crate::mesh::{Kind, Mesh};

/// Writes a mesh as binary PLY. Beside x, y and z a vertex has a `kind`, 1 smooth, 2 on an edge, 3 in a corner; a face
/// has its `owner`, the block that made it, or 4294967295 where it is the blank's own and 4294967294 in a bore or
/// dimple.
///
/// # Errors
/// Those of `to`.
pub fn write_ply(mesh: &Mesh, to: &mut dyn Write) -> io::Result<()> {
    let (vertices, faces) = (mesh.vertices.len(), mesh.triangles.len());
    write!(
        to,
        "ply\nformat binary_little_endian 1.0\ncomment dryturn, in millimetres\nelement vertex {vertices}\n\
         property double x\nproperty double y\nproperty double z\nproperty uchar kind\nelement face {faces}\n\
         property list uchar uint vertex_indices\nproperty uint owner\nend_header\n"
    )?;
    super::each(
        mesh.vertices.iter().zip(&mesh.kinds),
        |(vertex, kind), bytes| {
            vertex.iter().for_each(|number| bytes.extend(number.to_le_bytes()));
            bytes.push(number_of(*kind));
        },
        to,
    )?;
    super::each(
        mesh.triangles.iter().zip(&mesh.owners),
        |(triangle, owner), bytes| {
            bytes.push(3);
            triangle.iter().chain([owner]).for_each(|number| bytes.extend(number.to_le_bytes()));
        },
        to,
    )
}

fn number_of(kind: Kind) -> u8 {
    match kind {
        Kind::Smooth => 1,
        Kind::Edge => 2,
        Kind::Corner => 3,
    }
}
