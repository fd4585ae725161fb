//! A kept piece as the blank of a job.

use std::fmt;
use std::hash::Hasher;

use dryturn_geom::{AnySolid, Facets, Lattice, Made, Maker, Motion, Offset, Section, Solid, angle, disc_span};
use siphasher::sip::SipHasher13;
use smallvec::SmallVec;

use super::past::{Hole, Line, Past};
use super::{KeptPiece, NOBODY};
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::replay::{Ray, Replay, Stretch};
use crate::surface::{self, Surface};
use crate::tile::{PREPARED, UNTOUCHED};
use crate::tree::Levels;

/// Places this near to a ray are on it: parts of the way from one ray to the next.
const ON_RAY: f64 = 1e-7;

/// A kept piece that can be asked for any ray, put back as it is.
pub struct KeptSolid {
    kept: KeptPiece,
    /// Bounds of its motions.
    levels: Levels,
    /// Greatest radius in each row of its rays, about the axis that it is put back on, mm.
    tops: Vec<f64>,
    digest: u64,
}

impl fmt::Debug for KeptSolid {
    /// Two pieces with the same text are the same.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("KeptSolid").field("digest", &self.digest).finish_non_exhaustive()
    }
}

impl KeptSolid {
    /// Looks through the past of a piece that is put back; `of_facets` makes a solid of the facets of a blank that came from
    /// a mesh.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop.
    pub fn new(
        mut kept: KeptPiece,
        of_facets: &dyn Fn(Facets) -> AnySolid,
        options: &RunOptions<'_>,
    ) -> Result<KeptSolid, CarveError> {
        if let Some(facets) = &kept.past.facets {
            kept.past.stock.section = Section::Solid(of_facets(facets.clone()));
        }
        let levels = Replay::new(&kept.past.job(), options)?.levels();
        Ok(KeptSolid { tops: kept.rays.tops(), digest: digest(&kept), kept, levels })
    }

    /// Whether all rays of a grid, its stations from the piece's end, are rays that were kept.
    pub(crate) fn is_kept_on(&self, grid: &Grid) -> bool {
        let last = grid.stations.saturating_sub(1);
        let is_kept = |row: usize, column: usize| self.kept(grid.station(row), grid.theta(column)).is_some();
        let as_many = (grid.stations, grid.angles) == (self.kept.rays.lattice.stations, self.kept.rays.lattice.angles);
        as_many && is_kept(0, 0) && is_kept(last, 1 % grid.angles)
    }

    /// The job that it came from.
    pub(crate) fn job(&self) -> Job<'_> {
        self.kept.past.job()
    }

    /// The bounds of that job's blocks.
    pub(crate) fn levels(&self) -> Levels {
        self.levels.clone()
    }

    /// The number that its holes and bores go by.
    pub(crate) fn hole(&self) -> u32 {
        self.kept.past.hole()
    }

    /// What holes of live centers take of a ray, mm.
    pub(crate) fn holes(&self, station: f64, theta: f64) -> impl Iterator<Item = (f64, f64)> {
        self.kept.past.holes.iter().filter_map(move |hole| hole.span(station, theta))
    }

    /// How it came to be what it is.
    pub(super) fn past(&self) -> &Past {
        &self.kept.past
    }

    /// Greatest radius at a station, mm.
    fn top_at(&self, station: f64) -> f64 {
        let columns = self.kept.rays.lattice.angles;
        let thetas = (0..columns).map(|column| std::f64::consts::TAU * column as f64 / columns as f64);
        thetas.map(|theta| self.ray(station, theta).outermost()).fold(0.0, f64::max)
    }

    fn replay(&self) -> Replay<'_> {
        Replay::with(&self.kept.past.job(), self.levels.clone())
    }

    /// A ray carved anew from the past.
    fn ray(&self, station: f64, theta: f64) -> Ray {
        let replay = self.replay();
        let mut ray = replay.uncut(station, theta);
        self.holes(station, theta).for_each(|span| ray.remove(span, PREPARED));
        replay.cut(&mut ray, u32::MAX);
        ray
    }

    /// The spans kept of a ray, if it is one of those kept.
    fn kept(&self, station: f64, theta: f64) -> Option<std::ops::Range<usize>> {
        let rays = &self.kept.rays;
        let on = |place: f64| Some(place.round()).filter(|whole| rays.is_centred() && (place - whole).abs() < ON_RAY);
        let row = on((station - rays.lattice.first) / rays.lattice.step)?;
        let column = on((theta - rays.turned) * rays.lattice.angles as f64 / std::f64::consts::TAU)?;
        let is_row = row >= 0.0 && row < rays.lattice.stations as f64;
        is_row.then(|| rays.spans(row as usize, column.rem_euclid(rays.lattice.angles as f64) as usize))
    }

    /// The maker of an end by the owner that the replay gives it.
    fn maker_of(&self, owner: u32) -> Option<u32> {
        match owner {
            UNTOUCHED => None,
            PREPARED => Some(self.kept.past.hole()),
            block => Some(block),
        }
    }
}

impl Hole {
    /// What of a ray it takes.
    fn span(&self, station: f64, theta: f64) -> Option<(f64, f64)> {
        let radius = (station - self.cone.apex) * self.cone.slope;
        if radius > 0.0 { disc_span(self.center, theta, radius) } else { None }
    }

    /// Its surface near a place.
    fn surface(&self, [station, y, z]: [f64; 3]) -> Surface {
        let (y, z) = (y - self.center.y, z - self.center.z);
        surface::of_cone(self.cone, station, angle::atan2(-y, z), angle::hypot(y, z))
    }
}

/// Angle and radius of a place, from y and z.
fn polar(y: f64, z: f64) -> (f64, f64) {
    (angle::atan2(-y, z), angle::hypot(y, z))
}

impl Solid for KeptSolid {
    fn spans(&self, station: f64, direction: (f64, f64), shift: Offset) -> Vec<(f64, f64)> {
        self.made(station, direction, shift).into_iter().map(|made| (made.inner, made.outer)).collect()
    }

    /// A kept piece is put off centre as a whole ([`super::PutBack::off`]), so nothing shifts it besides.
    fn made(&self, station: f64, (sine, cosine): (f64, f64), _shift: Offset) -> Vec<Made> {
        let theta = angle::atan2(sine, cosine);
        if let Some(spans) = self.kept(station, theta) {
            let (ends, by) = (&self.kept.rays.ends[spans.clone()], &self.kept.rays.by[spans]);
            let maker = |number: u32| (number != NOBODY).then_some(number);
            let made = |([inner, outer], by): (&[f32; 2], &[u32; 2])| Made {
                inner: f64::from(*inner),
                outer: f64::from(*outer),
                by: by.map(maker),
            };
            return ends.iter().zip(by).rev().map(made).collect();
        }
        let made = |it: &Stretch| Made {
            inner: it.inner,
            outer: it.outer,
            by: [it.inner_by, it.outer_by].map(|owner| self.maker_of(owner)),
        };
        self.ray(station, theta).solid.iter().rev().map(made).collect()
    }

    fn surface(&self, [station, y, z]: [f64; 3]) -> (f64, [f64; 3]) {
        let (theta, radius) = polar(y, z);
        let Surface { height, normal } = surface::of_outline(&self.kept.past.stock, station, theta, radius);
        (height, normal)
    }

    fn surface_by(&self, maker: u32, point: [f64; 3]) -> Option<(f64, [f64; 3])> {
        let [station, y, z] = point;
        let (theta, radius) = polar(y, z);
        let past = &self.kept.past;
        let found = if maker == past.hole() {
            let bore = surface::of_hole(&past.stock, None, station, theta, radius);
            let holes: SmallVec<[Surface; 4]> = past.holes.iter().map(|hole| hole.surface(point)).chain(bore).collect();
            holes.into_iter().min_by(|a, b| a.height.abs().total_cmp(&b.height.abs()))
        } else {
            self.replay().surface(maker, station, theta, radius)
        };
        found.map(|Surface { height, normal }| (height, normal))
    }

    fn taken_by(&self, station: f64, (sine, cosine): (f64, f64), radius: f64) -> Option<u32> {
        let theta = angle::atan2(sine, cosine);
        let holes = &self.kept.past.holes;
        let is_in = |hole: &Hole| hole.span(station, theta).is_some_and(|(from, to)| (from..=to).contains(&radius));
        if holes.iter().any(is_in) {
            return Some(self.kept.past.hole());
        }
        self.maker_of(self.replay().taken_by(station, theta, radius)?)
    }

    fn maker(&self, maker: u32) -> Option<Maker<'_>> {
        self.kept.past.maker(maker)
    }

    fn programs(&self) -> Vec<(&str, &str)> {
        self.kept.past.sources.iter().map(|source| (source.set_up.as_str(), source.program.as_str())).collect()
    }

    fn greatest_radius(&self, from: f64) -> f64 {
        let rays = &self.kept.rays;
        let rows = (0..rays.lattice.stations).filter(|row| rays.station(*row) >= from);
        let mut beyond = rows.map(|row| self.tops[row]);
        let first = beyond.next().unwrap_or(0.0);
        let greatest = beyond.fold(first, f64::max);
        // Where it is thickest at the very place, there may be more between that and the first row.
        if from > 0.0 && first == greatest { greatest.max(self.top_at(from)) } else { greatest }
    }

    fn bytes(&self) -> u64 {
        let KeptPiece { rays, past, .. } = &self.kept;
        let rays = rays.starts.len() * size_of::<u32>() + rays.ends.len() * size_of::<([f32; 2], [u32; 2])>();
        (rays + past.motions.len() * (size_of::<Motion>() + size_of::<Line>())) as u64
    }

    fn bound(&self) -> f64 {
        self.levels.top
    }

    fn lattice(&self) -> Option<Lattice> {
        Some(self.kept.rays.lattice)
    }
}

/// A digest of all that it is; the bytes of the numbers, so that nothing is the same that is not.
fn digest(kept: &KeptPiece) -> u64 {
    let mut hasher = SipHasher13::new();
    for motion in &kept.past.motions {
        for pose in [motion.from, motion.to] {
            [pose.x, pose.y, pose.z, pose.turn].iter().for_each(|number| hasher.write_u64(number.to_bits()));
        }
        hasher.write_u16(motion.cutter);
    }
    for (ends, by) in kept.rays.ends.iter().zip(&kept.rays.by) {
        ends.iter().for_each(|end| hasher.write_u32(end.to_bits()));
        by.iter().for_each(|by| hasher.write_u32(*by));
    }
    let rest = format!(
        "{:?}",
        (
            &kept.past.stock,
            &kept.past.facets,
            &kept.past.holes,
            &kept.past.cutters,
            kept.rays.lattice,
            kept.rays.turned
        )
    );
    hasher.write(rest.as_bytes());
    hasher.finish()
}
