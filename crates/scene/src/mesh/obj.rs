//! Wavefront OBJ, by `tobj`; materials, normals and textures are left aside.

use std::io::BufRead;

use tobj::{LoadError, LoadOptions, load_obj_buf};

use super::lines::Counted;
use super::{Gatherer, MOST_TRIANGLES, MeshError, format};

pub(super) fn read(reader: impl BufRead, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let options = LoadOptions { triangulate: true, ignore_points: true, ignore_lines: true, ..LoadOptions::default() };
    let mut lines = Counted::new(reader);
    // Only the shape is wanted.
    let no_materials = |_: &std::path::Path| Err(LoadError::OpenFileFailed);
    let (models, _) = load_obj_buf(&mut lines, &options, no_materials)
        .map_err(|error| MeshError::Line { line: lines.count().max(1), message: error.to_string() })?;
    for model in models {
        let mesh = model.mesh;
        if mesh.indices.len() / 3 > MOST_TRIANGLES {
            return Err(MeshError::TooLarge(format!("the mesh has more than {MOST_TRIANGLES} triangles")));
        }
        let corners = mesh
            .positions
            .chunks_exact(3)
            .map(|point| gatherer.corner([point[0], point[1], point[2]]))
            .collect::<Result<Vec<u32>, MeshError>>()?;
        for triangle in mesh.indices.chunks_exact(3) {
            let corner = |index: usize| corners.get(triangle[index] as usize).copied();
            let (Some(a), Some(b), Some(c)) = (corner(0), corner(1), corner(2)) else {
                return format("a face names a corner that is not there");
            };
            gatherer.triangle([a, b, c])?;
        }
    }
    Ok(())
}
