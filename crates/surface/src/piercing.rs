//! Whether a mesh passes through itself.
//!
//! All triangles are put in boxes, and the boxes parted in halves again and again, those on the border going with both,
//! until few are left together; these are looked at pair by pair. Two triangles pass through each other if they have
//! more in common than the corners they share. Which side of a plane a point lies on is told exactly (Shewchuk,
//! *Adaptive precision floating-point arithmetic and fast robust geometric predicates*, Discrete Comput. Geom. 18, 1997).

mod pair;

use std::f64::consts::PI;

use dryturn_carve::RunOptions;
use dryturn_geom::angle;
use glam::{DVec3, DVec4, Vec4};
use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::{Stop, SurfaceError};
use pair::pass_through;

/// So many triangles are looked at pair by pair.
const FEW: usize = 24;
/// Most that either part may hold, as a share of what is parted, for this to be of use.
const PART: f64 = 0.85;

/// Two triangles, the lower one first.
pub(crate) type Pair = (u32, u32);

impl Mesh {
    /// The pairs of triangles that pass through each other or lie upon each other, in order. Where there are none the
    /// mesh is embedded; touching corners and edges do not count.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::Threads`] if no thread could be started.
    pub fn crossings(&self, options: &RunOptions<'_>) -> Result<Vec<(u32, u32)>, SurfaceError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let stop = Stop::new(options, 1);
        pool.install(|| piercings(self, (0..self.triangles.len() as u32).collect(), &stop))
    }
}

/// The pairs among some triangles that pass through each other, in order.
///
/// # Errors
/// [`SurfaceError::Cancelled`] if told to stop.
pub(crate) fn piercings(mesh: &Mesh, among: Vec<u32>, stop: &Stop<'_>) -> Result<Vec<Pair>, SurfaceError> {
    let boxed = among.into_par_iter().map(|triangle| Boxed::of(mesh, triangle)).collect();
    let mut pairs = Search { mesh, stop }.within(boxed)?;
    pairs.sort_unstable();
    pairs.dedup();
    Ok(pairs)
}

/// A triangle and a box around it, of its coordinates and of its angle about the axis: the narrow triangles of a flat end
/// lie in boxes that overlap, but each at its own angle.
#[derive(Clone, Copy)]
struct Boxed {
    triangle: u32,
    low: Vec4,
    high: Vec4,
}

/// How much a radian counts beside a millimetre where triangles are parted.
const RADIAN: f64 = 20.0;

impl Boxed {
    fn of(mesh: &Mesh, triangle: u32) -> Boxed {
        let (low, high) = mesh.bounds_of(triangle as usize);
        let [first, last] = angles(mesh.corners(triangle as usize)).map(|angle| angle * RADIAN);
        // What is rounded to single precision may be off by half a step.
        let (low, high) = (low.extend(first).as_vec4(), high.extend(last).as_vec4());
        Boxed { triangle, low: low.map(f32::next_down), high: high.map(f32::next_up) }
    }

    fn meets(&self, other: &Boxed) -> bool {
        self.low.cmple(other.high).all() && other.low.cmple(self.high).all()
    }
}

/// The angles about the axis between which a triangle lies, radians; all there are for one around the axis or over the
/// place where they begin anew.
fn angles(corners: [[f64; 3]; 3]) -> [f64; 2] {
    /// Far above the rounding of an angle.
    const CLEAR: f64 = 1e-9;
    let [a, b, c] = corners.map(|[_, y, z]| angle::atan2(y, z));
    let (low, high) = (a.min(b).min(c), a.max(b).max(c));
    let is_round = high - low > PI - CLEAR || corners.iter().any(|[_, y, z]| y.abs().max(z.abs()) < CLEAR);
    if is_round { [-PI - CLEAR, PI + CLEAR] } else { [low - CLEAR, high + CLEAR] }
}

struct Search<'a> {
    mesh: &'a Mesh,
    stop: &'a Stop<'a>,
}

impl Search<'_> {
    fn within(&self, boxed: Vec<Boxed>) -> Result<Vec<Pair>, SurfaceError> {
        self.stop.check()?;
        let parts = if boxed.len() > FEW { parted(&boxed) } else { None };
        let Some((one, other)) = parts else { return Ok(self.pairs(&boxed)) };
        drop(boxed);
        let (one, other) = rayon::join(|| self.within(one), || self.within(other));
        let mut found = one?;
        found.extend(other?);
        Ok(found)
    }

    fn pairs(&self, boxed: &[Boxed]) -> Vec<Pair> {
        let mut found = Vec::new();
        for (k, one) in boxed.iter().enumerate() {
            for other in boxed[..k].iter().filter(|other| one.meets(other)) {
                let (one, other) = (one.triangle.min(other.triangle), one.triangle.max(other.triangle));
                if self.pass_through(one, other) {
                    found.push((one, other));
                }
            }
        }
        found
    }

    fn pass_through(&self, one: u32, other: u32) -> bool {
        let [one, other] = [one, other].map(|it| self.mesh.triangles[it as usize]);
        pass_through(one, other, |vertex| DVec3::from_array(self.mesh.vertices[vertex as usize]))
    }
}

/// The triangles on both sides of a plane across one of the axes, if one parts them well.
fn parted(boxed: &[Boxed]) -> Option<(Vec<Boxed>, Vec<Boxed>)> {
    let start = (Vec4::INFINITY, Vec4::NEG_INFINITY, DVec4::ZERO);
    let (low, high, sum) = boxed.iter().fold(start, |(low, high, sum), it| {
        let middle = 0.5 * (it.low + it.high);
        (low.min(middle), high.max(middle), sum + middle.as_dvec4())
    });
    let mean = (sum / boxed.len() as f64).as_vec4();
    let mut axes = [0, 1, 2, 3];
    axes.sort_by(|a, b| (high - low)[*b].total_cmp(&(high - low)[*a]));
    axes.into_iter().find_map(|axis| {
        let one: Vec<Boxed> = boxed.iter().filter(|it| it.low[axis] <= mean[axis]).copied().collect();
        let other: Vec<Boxed> = boxed.iter().filter(|it| it.high[axis] >= mean[axis]).copied().collect();
        let is_gain = (one.len().max(other.len()) as f64) < PART * boxed.len() as f64;
        is_gain.then_some((one, other))
    })
}
