//! Colours that tell something of each spot of the piece.

use std::collections::BTreeSet;
use std::sync::atomic::Ordering;

use dryturn_check::Times;
use dryturn_check::target::Surface;
use dryturn_geom::{Side, angle};
use dryturn_report::{Key, KeyScale};
use dryturn_scene::Job;
use dryturn_surface::Mesh;
use rayon::prelude::*;

use crate::arguments::Tint;
use crate::failure::Failure;
use crate::output;
use crate::piece::Piece;
use crate::running::Running;

/// The piece coloured.
pub(super) struct Tinted {
    /// A colour for each triangle.
    pub(super) colors: Vec<[u8; 3]>,
    /// What they stand for.
    pub(super) key: Key,
    /// Whether some triangles have nothing to tell.
    pub(super) is_part_raw: bool,
}

/// What each triangle is coloured by; `None` where it looks like what it is made of.
pub(super) fn tinted(tint: Tint, piece: &Piece, mesh: &Mesh, running: &Running<'_>) -> Result<Option<Tinted>, Failure> {
    let job = &piece.job;
    let values: Vec<f64> = match tint {
        Tint::Wood => return Ok(None),
        Tint::Cutter => owned(mesh, |block| job.cutter_index(block).map_or(f64::NAN, f64::from)),
        Tint::Age => {
            let times = Times::of(job);
            owned(mesh, |block| times.start(block) / 60.0)
        }
        Tint::Radius => middles(mesh).map(|[_, y, z]| y.hypot(z)).collect(),
        Tint::Gap => gaps(job, mesh, running)?,
    };
    let key = key(tint, job, &values);
    let colors = values.iter().map(|value| painted(key.color(*value))).collect();
    Ok(Some(Tinted { colors, key, is_part_raw: values.iter().any(|value| value.is_nan()) }))
}

/// How much of a colour paint keeps: under the lights of a picture full white would show no shape.
const PAINT: f64 = 0.86;

fn painted(color: [u8; 3]) -> [u8; 3] {
    color.map(|part| (f64::from(part) * PAINT).round() as u8)
}

/// Something of the block that made each triangle; not a number where none did.
fn owned(mesh: &Mesh, of: impl Fn(u32) -> f64) -> Vec<f64> {
    mesh.owners.iter().map(|&owner| if dryturn_carve::is_block(owner) { of(owner) } else { f64::NAN }).collect()
}

/// The middles of the triangles.
fn middles(mesh: &Mesh) -> impl Iterator<Item = [f64; 3]> + '_ {
    mesh.triangles.iter().map(|corners| middle(mesh, corners))
}

fn middle(mesh: &Mesh, corners: &[u32; 3]) -> [f64; 3] {
    let [a, b, c] = corners.map(|vertex| mesh.vertices[vertex as usize]);
    std::array::from_fn(|axis| (a[axis] + b[axis] + c[axis]) / 3.0)
}

/// How far each triangle stands over the target's surface, mm; not a number where nothing is compared.
fn gaps(job: &Job, mesh: &Mesh, running: &Running<'_>) -> Result<Vec<f64>, Failure> {
    let (Some(target), Some(shape)) = (&job.scene.target, &job.target) else {
        return Err(Failure::Other("the scene has no [target] that the piece could be held against".to_owned()));
    };
    let ([from, to], chuck) = (target.compared(shape), job.scene.machine.chuck_on);
    let gap = |surface: &Surface, corners: &[u32; 3]| {
        let [station, y, z] = middle(mesh, corners);
        // The blank frame of a chuck on the far side is the mirror image of the piece frame.
        let across = if chuck == Side::Plus { y } else { -y };
        if !(from..=to).contains(&station) {
            return f64::NAN;
        }
        surface.gap(station, angle::atan2(across, z), y.hypot(z)) - target.allowance
    };
    running.stage("comparing with the target", |options| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build();
        let pool = pool.map_err(|error| Failure::Other(format!("the worker threads could not be started: {error}")))?;
        let surface = Surface::new(shape);
        let is_interrupted = || running.interrupted.load(Ordering::Relaxed);
        let gap = |corners: &[u32; 3]| (!is_interrupted()).then(|| gap(&surface, corners));
        pool.install(|| mesh.triangles.par_iter().map(gap).collect::<Option<_>>()).ok_or(Failure::Interrupted)
    })
}

fn key(tint: Tint, job: &Job, values: &[f64]) -> Key {
    let told = || values.iter().copied().filter(|value| !value.is_nan());
    let (least, greatest) = told().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), it| (a.min(it), b.max(it)));
    let (title, scale) = match tint {
        Tint::Wood | Tint::Cutter => ("Cut by", KeyScale::Named(cutters(job, told().map(|index| index as usize)))),
        Tint::Radius => ("Radius, mm", KeyScale::Rising { least, greatest }),
        Tint::Age => ("Cut after, min", KeyScale::Rising { least, greatest }),
        Tint::Gap => ("Over the target, mm", KeyScale::Signed { limit: greatest.max(-least).max(0.0) }),
    };
    Key { title: title.to_owned(), scale }
}

/// The cutters that made something of the surface, by their index.
fn cutters(job: &Job, indices: impl Iterator<Item = usize>) -> Vec<(usize, String)> {
    let used: BTreeSet<usize> = indices.collect();
    let named = |index: usize| Some((index, output::cutter_name(job.scene.cutters.get(index)?)));
    used.into_iter().filter_map(named).collect()
}
