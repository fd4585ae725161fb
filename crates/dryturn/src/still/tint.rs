//! Colours that tell something of each spot of the piece.

use std::collections::BTreeSet;
use std::f64::consts::TAU;
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
    let stripes = Stripes::of(mesh, piece.work.grid.station_step);
    let color = |(corners, value): (&[u32; 3], &f64)| {
        let is_stripe = key.is_striped(*value) && stripes.are_at(middle(mesh, corners));
        painted(if is_stripe { key.stripe(*value) } else { key.color(*value) })
    };
    let colors = mesh.triangles.iter().zip(&values).map(color).collect();
    Ok(Some(Tinted { colors, key, is_part_raw: values.iter().any(|value| value.is_nan()) }))
}

/// How much of a colour paint keeps: under the lights of a picture full white would show no shape.
const PAINT: f64 = 0.86;

fn painted(color: [u8; 3]) -> [u8; 3] {
    color.map(|part| (f64::from(part) * PAINT).round() as u8)
}

/// Stripes that wind around the piece.
struct Stripes {
    /// From one to the next along the piece, mm.
    apart: f64,
    /// How many begin on the way around.
    starts: f64,
}

impl Stripes {
    /// Stripes that are told apart on a picture of a mesh and by triangles of a size in mm; they rise by about 45° where
    /// the mesh is widest.
    fn of(mesh: &Mesh, triangle: f64) -> Stripes {
        let (low, high) = mesh.bounds().unwrap_or_default();
        let apart = ((high[0] - low[0]) / 60.0).max(4.0 * triangle);
        let widest = high[1].max(high[2]).max(-low[1]).max(-low[2]);
        Stripes { apart, starts: (TAU * widest / apart).round() }
    }

    fn are_at(&self, [station, y, z]: [f64; 3]) -> bool {
        let turn = self.starts * angle::atan2(y, z) / TAU;
        (station / self.apart + turn).rem_euclid(1.0) < 0.3
    }
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

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    /// Just before the columns begin anew.
    const SEAM: f64 = PI - 1e-6;

    #[test]
    fn stripes_wind_around_without_a_seam() {
        let mesh = Mesh::turned(&[[0.0, 15.0], [120.0, 15.0]], 0.1);
        let stripes = Stripes::of(&mesh, 0.25);
        let at = |station: f64, angle: f64| stripes.are_at([station, 15.0 * angle.sin(), 15.0 * angle.cos()]);
        let share = (0..10_000).filter(|k| at(f64::from(*k) * 0.01, 1.0)).count();
        assert!((2900..3100).contains(&share), "{share}");
        assert!((0..1000).all(|k| at(0.1 * f64::from(k) + 0.033, SEAM) == at(0.1 * f64::from(k) + 0.033, -SEAM)));
    }
}
