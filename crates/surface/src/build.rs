//! From rays to a mesh.

use dryturn_carve::{Carved, Replay, RunOptions};
use dryturn_geom::Side as Chuck;
use rayon::prelude::*;

use crate::cells::{Cells, Vertex};
use crate::complex::Complex;
use crate::faces::{Corners, Faces, Maker};
use crate::level::levels;
use crate::mesh::{Kind, Mesh};
use crate::rays::Rays;
use crate::skin::Skin;
use crate::twins::{EdgeOf, Finder, Twin};
use crate::wood::{Removed, Wood};
use crate::{Stop, SurfaceError};

/// Stages that take about as long as each other, as progress counts them.
const STAGES: usize = 4;

/// The surface of what is left of a blank, as a mesh in the piece frame; `chuck` is the side of the machine that the
/// chuck stands on. `carved` and `replay` must come from the same job.
///
/// The bits do not depend on the number of threads, nor on the tiles of the carve.
///
/// # Errors
/// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::Threads`] if no thread could be started,
/// [`SurfaceError::TooLarge`] if there are more vertices than a mesh can number.
pub fn build(
    carved: &Carved,
    replay: &Replay<'_>,
    chuck: Chuck,
    options: &RunOptions<'_>,
) -> Result<Mesh, SurfaceError> {
    on_threads(options, |stop| meshed(&Rays::of(carved, stop)?, replay, chuck, stop))
}

/// The surface of what has been taken off a blank, as a mesh in the piece frame: `blank` and `carved` are the same job
/// before its first block and after its last, on the same grid, and `replay` is that of the whole job. What is cut away
/// in thin chips comes out in islands where they are thinner than the grid can tell.
///
/// # Errors
/// As [`build`].
pub fn build_removed(
    blank: &Carved,
    carved: &Carved,
    replay: &Replay<'_>,
    chuck: Chuck,
    options: &RunOptions<'_>,
) -> Result<Mesh, SurfaceError> {
    on_threads(options, |stop| meshed(&Rays::removed(blank, carved, stop)?, &Removed(replay), chuck, stop))
}

fn on_threads(
    options: &RunOptions<'_>,
    work: impl FnOnce(&Stop<'_>) -> Result<Mesh, SurfaceError> + Send,
) -> Result<Mesh, SurfaceError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| work(&Stop::new(options, STAGES)))
}

/// The mesh of a body, in the piece frame.
fn meshed<W: Wood>(rays: &Rays, wood: &W, chuck: Chuck, stop: &Stop<'_>) -> Result<Mesh, SurfaceError> {
    let skin = Skin::new(rays, wood, stop)?;
    let cut = |row: usize, column: usize| levels(rays, &skin, row, column);
    let complex = Complex::new(&skin, wood, cut, stop)?;
    let mesh = mesh(&complex, stop)?;
    Ok(if chuck == Chuck::Plus { mesh.mirrored() } else { mesh })
}

/// The mesh of a complex, in the blank frame.
///
/// # Errors
/// As [`build`].
pub(crate) fn mesh<W: Wood>(complex: &Complex<'_, W>, stop: &Stop<'_>) -> Result<Mesh, SurfaceError> {
    let rows = complex.rays.rows();
    let row = |row: usize| {
        stop.step(rows)?;
        Ok(Cells::new(complex, row))
    };
    let mut cells: Vec<Cells> = (0..rows - 1).into_par_iter().map(row).collect::<Result<_, SurfaceError>>()?;
    let mut first = Vec::with_capacity(cells.len());
    let mut vertices: Vec<Vertex> = Vec::new();
    for cells in &mut cells {
        first.push(number(vertices.len())?);
        vertices.extend(cells.take_vertices());
    }
    let find = |row: usize| Finder { complex, cells: &cells, row }.twins();
    let found: Vec<Vec<Twin>> = (0..rows - 1).into_par_iter().map(find).collect();
    let mut twins: Vec<(EdgeOf, u32)> = Vec::new();
    for twin in found.into_iter().flatten() {
        let number = number(vertices.len())?;
        twins.extend(twin.edges.map(|edge| (edge, number)));
        vertices.push(twin.vertex);
    }
    twins.sort_unstable();
    let corners = Corners { cells: &cells, first: &first, vertices: &vertices, twins: &twins };
    let make = |row: usize| {
        stop.step(rows)?;
        Ok(Maker { complex, corners: &corners, row }.faces())
    };
    let faces: Vec<Faces> = (0..rows).into_par_iter().map(make).collect::<Result<_, SurfaceError>>()?;
    joined(&vertices, faces)
}

/// All faces, their centers numbered on from the vertices.
fn joined(vertices: &[Vertex], faces: Vec<Faces>) -> Result<Mesh, SurfaceError> {
    let corners = number(vertices.len())?;
    let mut mesh = Mesh {
        vertices: vertices.iter().map(|vertex| vertex.point.to_array()).collect(),
        kinds: vertices.iter().map(|vertex| vertex.kind).collect(),
        ..Mesh::default()
    };
    for faces in faces {
        number(mesh.vertices.len() + faces.centers.len())?;
        let more = mesh.vertices.len() as u32 - corners;
        let numbered = |vertex: u32| if vertex < corners { vertex } else { vertex + more };
        mesh.triangles.extend(faces.triangles.iter().map(|triangle| triangle.map(numbered)));
        mesh.owners.extend(faces.owners);
        mesh.kinds.resize(mesh.kinds.len() + faces.centers.len(), Kind::Smooth);
        mesh.vertices.extend(faces.centers.iter().map(|center| center.to_array()));
    }
    Ok(mesh)
}

fn number(count: usize) -> Result<u32, SurfaceError> {
    u32::try_from(count).map_err(|_| SurfaceError::TooLarge)
}

#[cfg(test)]
mod noise;
