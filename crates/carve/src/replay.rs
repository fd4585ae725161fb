//! Any ray of the carved blank, on its own and exactly.
//!
//! A ray is carved by itself as a tile is, by the same blocks in the same order under the same rules, but in double
//! precision; the tree of blocks leads past all that cannot reach it. The rays of a grid agree with it to the rounding of
//! the grid, and where two blocks leave a radius equal to less than the rounding, they may name one or the other of them.

use dryturn_geom::{Flutes, angle};
use smallvec::SmallVec;

use crate::job::{CarveError, Job, RunOptions};
use crate::kernel::{Nearest, Piece, Range, SAME_END, nearest, sweep};
use crate::plan::{is_cancelled, prepared};
use crate::surface::{self, Surface};
use crate::tile::{EARLIER, PREPARED, Span, UNTOUCHED};
use crate::tree::{Levels, Tree, Window};

/// A stretch of solid along a ray, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// End nearer to the axis.
    pub inner: f64,
    /// End farther out.
    pub outer: f64,
    /// Block that made the inner end; [`UNTOUCHED`] or [`PREPARED`] where none did.
    pub inner_by: u32,
    /// Block that made the outer end.
    pub outer_by: u32,
}

/// Solid along a ray, from the outside in.
pub type Solid = SmallVec<[Stretch; 4]>;

impl From<&Stretch> for Span {
    fn from(stretch: &Stretch) -> Span {
        let Stretch { inner, outer, inner_by, outer_by } = *stretch;
        Span { inner: inner as f32, outer: outer as f32, inner_by, outer_by }
    }
}

/// One end of a stretch of solid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// Radius, mm.
    pub radius: f64,
    /// Block that made it; [`UNTOUCHED`] or [`PREPARED`] where none did.
    pub by: u32,
    /// Whether the solid lies on the side of the axis.
    pub is_outer: bool,
}

/// The solid along one ray.
#[derive(Clone, Debug, PartialEq)]
pub struct Ray {
    /// Station, mm.
    pub station: f64,
    /// Angle θ, radians.
    pub theta: f64,
    /// What is left, from the outside in.
    pub solid: Solid,
    /// The block that took the last of it, where nothing is left; [`UNTOUCHED`] where nothing was.
    pub emptied_by: u32,
}

impl Ray {
    /// All ends of solid from the outside in. The axis is not an end: a stretch that begins there has its outer end alone.
    pub fn ends(&self) -> impl Iterator<Item = End> + '_ {
        self.solid.iter().flat_map(|stretch| {
            let outer = End { radius: stretch.outer, by: stretch.outer_by, is_outer: true };
            let inner = End { radius: stretch.inner, by: stretch.inner_by, is_outer: false };
            [Some(outer), (stretch.inner > 0.0).then_some(inner)].into_iter().flatten()
        })
    }

    /// Half the sum of r² over the outer ends less that over the inner ones, mm²: the volume of the ray for each
    /// millimetre along the axis and each radian around it.
    pub fn half_squares(&self) -> f64 {
        self.solid.iter().map(|s| 0.5 * (s.outer - s.inner) * (s.outer + s.inner)).sum()
    }

    /// Whether there is wood at a radius, mm.
    pub fn holds(&self, radius: f64) -> bool {
        self.solid.iter().any(|stretch| (stretch.inner..=stretch.outer).contains(&radius))
    }

    pub(crate) fn outermost(&self) -> f64 {
        self.solid.first().map_or(0.0, |stretch| stretch.outer)
    }

    fn innermost(&self) -> f64 {
        self.solid.last().map_or(0.0, |stretch| stretch.inner)
    }

    /// Takes a stretch of radii in the name of a block, by the rules of a tile.
    pub(crate) fn remove(&mut self, (lo, hi): (f64, f64), by: u32) {
        let same = f64::from(SAME_END);
        let mut left = SmallVec::new();
        for stretch in &self.solid {
            if lo > stretch.outer - same || hi < stretch.inner + same {
                left.push(*stretch);
                continue;
            }
            if hi < stretch.outer - same {
                left.push(Stretch { inner: hi, inner_by: by, ..*stretch });
            }
            if lo > stretch.inner + same {
                left.push(Stretch { outer: lo, outer_by: by, ..*stretch });
            }
        }
        if left.is_empty() && !self.solid.is_empty() {
            self.emptied_by = by;
        }
        self.solid = left;
    }
}

/// How far from the point in question a motion is looked for, mm.
pub(crate) const NEARBY: f64 = 1.0;

/// Half the stretch of a ray that stands for one of its points, mm.
pub(crate) const POINT: f64 = 1e-6;

/// A job whose rays can be asked for one by one.
pub struct Replay<'a> {
    job: Job<'a>,
    pub(crate) tree: Tree<'a>,
}

impl<'a> Replay<'a> {
    /// Looks through all blocks of a job once; every ray after that costs only the blocks that can reach it.
    ///
    /// # Errors
    /// [`CarveError::NoSuchCutter`] where the job contradicts itself, [`CarveError::Cancelled`] if told to stop.
    pub fn new(job: &Job<'a>, options: &RunOptions<'_>) -> Result<Replay<'a>, CarveError> {
        Ok(Replay { job: *job, tree: Tree::over(job, || is_cancelled(options.cancel))? })
    }

    /// The replay of a job whose bounds are known.
    pub(crate) fn with(job: &Job<'a>, levels: Levels) -> Replay<'a> {
        Replay { job: *job, tree: Tree::with(job, levels) }
    }

    /// The bounds of its blocks, to ask again with.
    pub(crate) fn levels(&self) -> Levels {
        self.tree.levels()
    }

    /// The job.
    pub fn job(&self) -> &Job<'a> {
        &self.job
    }

    /// The solid along the ray at a station (mm) and angle θ (radians) after all blocks.
    pub fn ray(&self, station: f64, theta: f64) -> Ray {
        self.ray_before(u32::MAX, station, theta)
    }

    /// The same before a block.
    pub fn ray_before(&self, until: u32, station: f64, theta: f64) -> Ray {
        let mut ray = self.uncut(station, theta);
        self.cut(&mut ray, until);
        ray
    }

    /// Lets all blocks before one pass over a ray.
    pub(crate) fn cut(&self, ray: &mut Ray, until: u32) {
        let Ray { station, theta, .. } = *ray;
        let window = Window { x: (station, station), theta: (angle::wrapped(theta), 0.0) };
        let direction = angle::sin_cos(theta);
        let mut from = 0;
        while let Some(block) = self.tree.next(from, until, &window, ray.outermost()) {
            from = block + 1;
            let Some(motion) = self.job.motions.motion(block) else { continue };
            let flutes = &self.job.cutters[usize::from(motion.cutter)].flutes;
            self.tree.pieces(&motion, &window, ray.outermost(), |piece, _| {
                for part in flutes.parts().iter().rev() {
                    let range = Range { inner: ray.innermost(), outer: ray.outermost() };
                    if range.is_empty() {
                        return;
                    }
                    for passage in sweep(part, &piece.ray(station, piece.aim(direction)), range) {
                        ray.remove(passage, block);
                    }
                }
            });
        }
    }

    /// Who took the wood at a point, given by its station (mm), angle θ (radians) and radius (mm): the first block that
    /// passed over it, [`PREPARED`] in the bore or the dimple, a maker of an earlier set-up, [`UNTOUCHED`] outside the
    /// blank; `None` where it is still there.
    pub fn taken_by(&self, station: f64, theta: f64, radius: f64) -> Option<u32> {
        if let Some(maker) = self.missing_by(station, theta, radius) {
            return Some(maker);
        }
        let window = Window::of_ray(station, theta);
        let direction = angle::sin_cos(theta);
        let top = radius + POINT;
        let mut from = 0;
        while let Some(block) = self.tree.next(from, u32::MAX, &window, top) {
            from = block + 1;
            let Some(motion) = self.job.motions.motion(block) else { continue };
            let flutes = self.flutes(motion.cutter);
            let mut is_taken = false;
            self.tree.pieces(&motion, &window, top, |piece, _| {
                is_taken = is_taken || takes(flutes, piece, (station, direction), radius);
            });
            if is_taken {
                return Some(block);
            }
        }
        None
    }

    /// Who took the wood at a point before the first block; `None` where it was there.
    pub(crate) fn missing_by(&self, station: f64, theta: f64, radius: f64) -> Option<u32> {
        let blank = self.uncut(station, theta);
        let bored = || blank.solid.iter().any(|s| radius < s.inner && s.inner_by == PREPARED);
        (!blank.holds(radius)).then(|| if bored() { PREPARED } else { self.taken_before(station, theta, radius) })
    }

    pub(crate) fn flutes(&self, cutter: u16) -> &Flutes {
        &self.job.cutters[usize::from(cutter)].flutes
    }

    /// The surface that an owner of ends (a block, [`UNTOUCHED`], [`PREPARED`] or one of an earlier set-up) made near a point given by its station
    /// (mm), angle θ (radians) and radius (mm); `None` where it made none within a millimetre of it.
    ///
    /// For a block it is the surface of what that block alone sweeps, found at the instant at which its cutter comes
    /// nearest to the point.
    pub fn surface(&self, by: u32, station: f64, theta: f64, radius: f64) -> Option<Surface> {
        self.surface_by(by, station, theta, radius, || self.nearest(by, station, theta, radius))
    }

    /// The same, of a block by how it comes nearest to the point.
    pub(crate) fn surface_by(
        &self,
        by: u32,
        station: f64,
        theta: f64,
        radius: f64,
        nearest: impl FnOnce() -> Option<Nearest>,
    ) -> Option<Surface> {
        match by {
            UNTOUCHED => Some(surface::of_outline(self.job.stock, station, theta, radius)),
            PREPARED => surface::of_hole(self.job.stock, self.job.dimple, station, theta, radius),
            EARLIER.. => surface::of_earlier(self.job.stock, by - EARLIER, station, theta, radius),
            _ => nearest().map(|it| surface::left_by(&it, theta)),
        }
    }

    /// The maker of an earlier set-up who took the wood at a place, or [`UNTOUCHED`].
    fn taken_before(&self, station: f64, theta: f64, radius: f64) -> u32 {
        let stock = self.job.stock;
        let solid = stock.solid().filter(|_| stock.holds(station));
        let maker = solid.and_then(|solid| solid.taken_by(station - stock.start, angle::sin_cos(theta), radius));
        maker.map_or(UNTOUCHED, |maker| EARLIER + maker)
    }

    fn nearest(&self, block: u32, station: f64, theta: f64, radius: f64) -> Option<Nearest> {
        let motion = (block < self.job.motions.count()).then(|| self.job.motions.motion(block))??;
        let flutes = self.flutes(motion.cutter);
        let direction = angle::sin_cos(theta);
        let mut best: Option<Nearest> = None;
        self.tree.pieces(&motion, &Window::around(station, theta, radius), radius + NEARBY, |piece, _| {
            best = nearer(best, flutes, piece, (station, direction), radius);
        });
        best.filter(|it| it.distance.abs() <= NEARBY)
    }

    /// The ray before the first block, bore and dimple taken out.
    pub(crate) fn uncut(&self, station: f64, theta: f64) -> Ray {
        Ray { station, theta, solid: prepared(&self.job, station, theta), emptied_by: UNTOUCHED }
    }
}

/// Whether a piece takes the wood at a radius of the ray at a station, in a direction.
pub(crate) fn takes(flutes: &Flutes, piece: &Piece, (station, direction): (f64, (f64, f64)), radius: f64) -> bool {
    let ray = piece.ray(station, piece.aim(direction));
    let range = Range { inner: radius - POINT, outer: radius + POINT };
    let covers = |&(lo, hi): &(f64, f64)| lo <= radius && radius <= hi;
    flutes.parts().iter().any(|part| sweep(part, &ray, range).iter().any(covers))
}

/// The nearer of what was found and of what a piece has near a radius of the ray at a station, in a direction.
pub(crate) fn nearer(
    best: Option<Nearest>,
    flutes: &Flutes,
    piece: &Piece,
    (station, direction): (f64, (f64, f64)),
    radius: f64,
) -> Option<Nearest> {
    let ray = piece.ray(station, piece.aim(direction));
    flutes.parts().iter().map(|part| nearest(part, &ray, radius)).fold(best, |best, found| match best {
        Some(best) if best.distance <= found.distance => Some(best),
        _ => Some(found),
    })
}
