//! From rays to a mesh.

use dryturn_carve::{Carved, Replay, RunOptions};
use dryturn_geom::Side as Chuck;

use crate::blocks::{Blocking, Blocks, Even};
use crate::complex::Complex;
use crate::doubts::{Doubts, thin};
use crate::draft::Draft;
use crate::level::levels;
use crate::mesh::Mesh;
use crate::rays::Rays;
use crate::skin::Skin;
use crate::wood::{Body, Removed};
use crate::{Stop, SurfaceError};

/// Stages that take about as long as each other, as progress counts them.
const STAGES: usize = 4;

/// Over so many levels, and so many mm, of a wall that is flat at both ends nothing else is looked for: what is cut into
/// it without meeting a ray is less than a pitch deep.
const PITCHES: f64 = 8.0;
const LONGEST: f64 = 1.0;

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
    Ok(build_with_doubts(carved, replay, chuck, options)?.0)
}

/// The same mesh, and where it may not show the piece as it is.
///
/// # Errors
/// As [`build`].
pub fn build_with_doubts(
    carved: &Carved,
    replay: &Replay<'_>,
    chuck: Chuck,
    options: &RunOptions<'_>,
) -> Result<(Mesh, Doubts), SurfaceError> {
    on_threads(options, |stop| {
        let rays = Rays::of(carved, stop)?;
        let (mesh, crossings) = meshed(&rays, replay, chuck, stop)?;
        let doubts = Doubts { crossings, thin: thin(&rays) };
        Ok((mesh, if chuck == Chuck::Plus { doubts.mirrored() } else { doubts }))
    })
}

/// The mesh of [`build`] as far as a picture shows it, and where it may not show the piece as it is: where it is smooth
/// its facets may be as long as `facet` tells in mm, and it is not asked whether triangles pass through each other.
/// `facet` is told between which stations and within which radius the piece lies, mm.
///
/// # Errors
/// As [`build`].
pub fn build_seen(
    carved: &Carved,
    replay: &Replay<'_>,
    chuck: Chuck,
    facet: impl FnOnce([f64; 2], f64) -> f64 + Send,
    options: &RunOptions<'_>,
) -> Result<(Mesh, Doubts), SurfaceError> {
    on_threads(options, |stop| {
        let rays = Rays::of(carved, stop)?;
        let power = rays.extent().map_or(0, |(stations, radius)| power(facet(stations, radius), rays.pitch()));
        let mesh = seen(&rays, replay, power, stop)?;
        let doubts = Doubts { crossings: Vec::new(), thin: thin(&rays) };
        Ok(if chuck == Chuck::Plus { (mesh.mirrored(), doubts.mirrored()) } else { (mesh, doubts) })
    })
}

/// The greatest power of two, up to eight, of pitches that a facet may have.
fn power(facet: f64, pitch: f64) -> u32 {
    (1..=3).take_while(|power| pitch * f64::from(1 << power) <= facet).count() as u32
}

/// The mesh of a body in the blank frame, with facets of this power of two of pitches.
fn seen<W: Body>(rays: &Rays, wood: &W, power: u32, stop: &Stop<'_>) -> Result<Mesh, SurfaceError> {
    let even = Even::of(rays, Blocking::new(rays, power));
    let skin = Skin::new(rays, wood, |row, column| even.spares(row, column), stop)?;
    let longest = rays.pitch() * f64::from(1 << power);
    let cut = |row: usize, column: usize| levels(rays, &skin, row, column, longest);
    let complex = Complex::new(&skin, wood, cut, PITCHES * longest, stop)?;
    let blocks = Blocks::smooth(&complex, &even);
    Draft::new(&complex, blocks, stop)?.joined(0..rays.rows())
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
    on_threads(options, |stop| Ok(meshed(&Rays::removed(blank, carved, stop)?, &Removed(replay), chuck, stop)?.0))
}

fn on_threads<T: Send>(
    options: &RunOptions<'_>,
    work: impl FnOnce(&Stop<'_>) -> Result<T, SurfaceError> + Send,
) -> Result<T, SurfaceError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| work(&Stop::new(options, STAGES)))
}

/// The mesh of a body, in the piece frame, and where it still passes through itself, in the blank frame.
fn meshed<W: Body>(
    rays: &Rays,
    wood: &W,
    chuck: Chuck,
    stop: &Stop<'_>,
) -> Result<(Mesh, Vec<[f64; 3]>), SurfaceError> {
    let skin = Skin::new(rays, wood, |_, _| false, stop)?;
    let cut = |row: usize, column: usize| levels(rays, &skin, row, column, rays.pitch());
    let complex = Complex::new(&skin, wood, cut, LONGEST.min(PITCHES * rays.pitch()), stop)?;
    let complex = complex.without_flat_levels();
    let draft = Draft::new(&complex, Blocks::none(), stop)?;
    let (mesh, crossings) = draft.mended(stop)?;
    Ok((if chuck == Chuck::Plus { mesh.mirrored() } else { mesh }, crossings))
}

#[cfg(test)]
mod noise;
