//! From rays to a mesh.

use dryturn_carve::{Carved, Replay, RunOptions};
use dryturn_geom::Side as Chuck;

use crate::complex::Complex;
use crate::draft::Draft;
use crate::level::levels;
use crate::mesh::Mesh;
use crate::rays::Rays;
use crate::skin::Skin;
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
    let (mesh, _) = Draft::new(&complex, stop)?.mended(stop)?;
    Ok(if chuck == Chuck::Plus { mesh.mirrored() } else { mesh })
}

#[cfg(test)]
mod noise;
