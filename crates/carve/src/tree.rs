//! A tree of runs of blocks, each with a bound on what its blocks can reach.
//!
//! A tile walks it in program order and passes over whole runs that cannot reach the wood it still holds; so no list of
//! blocks is kept for any tile, and blocks far off, or over wood that is gone already, cost next to nothing.

use std::convert::Infallible;
use std::f64::consts::TAU;
use std::ops::Range;
use std::sync::Arc;

use dryturn_geom::{Motion, Pose, angle};
use rayon::prelude::*;

use crate::job::{CarveError, Cutter, Job, piece_count};
use crate::kernel::Piece;
use crate::reach::{Extent, Sector, hull, radius_below};
use crate::replay::NEARBY;

/// What the bodies of a cutter can meet during a run of blocks, at the most.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bounds {
    /// Stations, mm.
    x: (f64, f64),
    /// Angles θ of the blank, unwrapped, radians.
    theta: (f64, f64),
    /// Lowest height of the tip over the axis, mm.
    lowest: f64,
}

/// The rays of a tile, as the tree sees them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    /// Stations of its first and last row, mm.
    pub(crate) x: (f64, f64),
    /// Angle θ of its first column, and how far on its last one is, radians.
    pub(crate) theta: (f64, f64),
}

impl Window {
    /// A single ray.
    pub(crate) fn of_ray(station: f64, theta: f64) -> Window {
        Window { x: (station, station), theta: (angle::wrapped(theta), 0.0) }
    }

    /// What lies within [`NEARBY`] of a point.
    pub(crate) fn around(station: f64, theta: f64, radius: f64) -> Window {
        let aside = NEARBY / radius.max(NEARBY);
        Window { x: (station - NEARBY, station + NEARBY), theta: (angle::wrapped(theta - aside), 2.0 * aside) }
    }
}

impl Bounds {
    const NOTHING: Bounds = Bounds {
        x: (f64::INFINITY, f64::NEG_INFINITY),
        theta: (f64::INFINITY, f64::NEG_INFINITY),
        lowest: f64::INFINITY,
    };

    fn of_extent(cutter: &Cutter, extent: &Extent, top: f64) -> Option<Bounds> {
        let lowest = extent.z.0;
        let room = top - lowest;
        let flutes = cutter.flutes.parts().iter().filter_map(|part| radius_below(part, room));
        let uppers = cutter.uppers.iter().filter(|body| room > body.from).map(|body| body.radius);
        let radius = flutes.chain(uppers).reduce(f64::max)?;
        let theta = Sector::seen(extent, radius, lowest).ends();
        Some(Bounds { x: (extent.x.0 - radius, extent.x.1 + radius), theta, lowest })
    }

    fn join(self, other: Bounds) -> Bounds {
        Bounds { x: hull(self.x, other.x), theta: hull(self.theta, other.theta), lowest: self.lowest.min(other.lowest) }
    }

    /// Whether any of it may touch a ray of the window that holds wood up to the radius `top`.
    #[inline]
    pub(crate) fn reaches(&self, window: &Window, top: f64) -> bool {
        self.lowest < top && self.x.0 <= window.x.1 && self.x.1 >= window.x.0 && arcs_overlap(self.theta, window.theta)
    }
}

/// Whether an unwrapped arc from … to meets the arc of a width from a start, modulo the turn.
#[inline]
fn arcs_overlap((from, to): (f64, f64), (start, width): (f64, f64)) -> bool {
    let length = to - from;
    if length >= TAU {
        return true;
    }
    // Where the start of the window lies past the start of the arc; the slack makes up for rounding at many turns.
    let ahead = angle::wrapped(start - from);
    ahead <= length + SLACK || ahead + width >= TAU - SLACK
}

/// Rounding of angles at ten thousand turns, radians.
const SLACK: f64 = 1e-9;

/// Blocks in a run at the foot of the tree.
const RUN: u32 = 8;
/// Nodes under a node.
const FAN: u32 = 8;

/// Blocks that one task looks at.
const BATCH: u32 = 4096;

pub(crate) struct Tree<'a> {
    job: Job<'a>,
    /// A bound on the greatest radius of the blank, mm.
    pub(crate) top: f64,
    count: u32,
    levels: Arc<[Vec<Bounds>]>,
}

/// What a tree has found out about its job, to build it again with.
#[derive(Clone, Debug)]
pub(crate) struct Levels {
    /// A bound on the greatest radius of the blank, mm.
    pub(crate) top: f64,
    bounds: Arc<[Vec<Bounds>]>,
}

impl<'a> Tree<'a> {
    /// # Errors
    /// [`CarveError::NoSuchCutter`] where a motion names a cutter the job lacks, [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn over(job: &Job<'a>, cancelled: impl Fn() -> bool + Sync) -> Result<Tree<'a>, CarveError> {
        let count = job.motions.count();
        let tree = Tree { job: *job, top: job.stock.swept_radius(), count, levels: Arc::new([]) };
        let batches: Vec<Vec<Bounds>> = (0..count.div_ceil(BATCH))
            .into_par_iter()
            .map(|batch| {
                if cancelled() {
                    Err(CarveError::Cancelled)
                } else {
                    tree.foot(batch * BATCH..((batch + 1) * BATCH).min(count))
                }
            })
            .collect::<Result<_, _>>()?;
        let (mut level, mut levels) = (batches.concat(), Vec::new());
        while level.len() > 1 {
            let above =
                level.chunks(FAN as usize).map(|nodes| nodes.iter().copied().fold(Bounds::NOTHING, Bounds::join));
            let above = above.collect();
            levels.push(std::mem::replace(&mut level, above));
        }
        levels.push(level);
        Ok(Tree { levels: levels.into(), ..tree })
    }

    /// The tree over a job whose bounds are known.
    pub(crate) fn with(job: &Job<'a>, levels: Levels) -> Tree<'a> {
        Tree { job: *job, top: levels.top, count: job.motions.count(), levels: levels.bounds }
    }

    /// The bounds of its runs, to build it again with.
    pub(crate) fn levels(&self) -> Levels {
        Levels { top: self.top, bounds: self.levels.clone() }
    }

    fn foot(&self, blocks: Range<u32>) -> Result<Vec<Bounds>, CarveError> {
        let run = |first: u32| self.bounds_of(first..(first + RUN).min(blocks.end));
        blocks.clone().step_by(RUN as usize).map(run).collect()
    }

    /// What a run of blocks can reach: of those with the same cutter one after the other as if they were one.
    fn bounds_of(&self, blocks: Range<u32>) -> Result<Bounds, CarveError> {
        let mut bounds = Bounds::NOTHING;
        let mut under_way: Option<(u16, Extent)> = None;
        for block in blocks {
            let motion = self.job.motions.motion(block);
            let Some(motion) = &motion else { continue };
            self.check_cutter(block, motion)?;
            let extent = Extent::of_motion(motion);
            under_way = Some(match under_way {
                Some((cutter, before)) if cutter == motion.cutter => (cutter, before.join(&extent)),
                other => {
                    bounds = bounds.join(self.bounds_under(other));
                    (motion.cutter, extent)
                }
            });
        }
        Ok(bounds.join(self.bounds_under(under_way)))
    }

    /// What a cutter can reach within an extent.
    fn bounds_under(&self, cut: Option<(u16, Extent)>) -> Bounds {
        let bounds = cut.and_then(|(cutter, extent)| {
            let cutter = self.job.cutters.get(usize::from(cutter))?;
            Bounds::of_extent(cutter, &extent, self.top)
        });
        bounds.unwrap_or(Bounds::NOTHING)
    }

    fn check_cutter(&self, block: u32, motion: &Motion) -> Result<(), CarveError> {
        let count = self.job.cutters.len();
        if usize::from(motion.cutter) < count {
            return Ok(());
        }
        Err(CarveError::NoSuchCutter { block, cutter: motion.cutter, count })
    }

    /// The first block at or after `from` and before `end` that may touch a window with wood up to the radius `top`.
    #[inline]
    pub(crate) fn next(&self, from: u32, end: u32, window: &Window, top: f64) -> Option<u32> {
        let end = end.min(self.count);
        let mut block = from;
        while block < end {
            match self.skip(block, window, top) {
                Some(next) => block = next,
                None => return Some(block),
            }
        }
        None
    }

    /// Whether a motion by itself may touch a window with wood up to the radius `top`.
    pub(crate) fn reaches(&self, motion: &Motion, window: &Window, top: f64) -> bool {
        let cutter = self.job.cutters.get(usize::from(motion.cutter));
        let bounds = cutter.and_then(|cutter| Bounds::of_extent(cutter, &Extent::of_motion(motion), self.top));
        bounds.is_some_and(|bounds| bounds.reaches(window, top))
    }

    /// If the block starts a run that cannot reach, the block after the longest such run.
    #[inline]
    fn skip(&self, block: u32, window: &Window, top: f64) -> Option<u32> {
        if !block.is_multiple_of(RUN) {
            return None;
        }
        let (mut level, mut index) = (0, block / RUN);
        while level + 1 < self.levels.len() && index.is_multiple_of(FAN) {
            index /= FAN;
            level += 1;
        }
        loop {
            if !self.levels[level][index as usize].reaches(window, top) {
                return Some(block.saturating_add(RUN * FAN.pow(level as u32)));
            }
            level = level.checked_sub(1)?;
            index *= FAN;
        }
    }

    /// Calls `visit` with the pieces of a motion that may touch a window with wood up to the radius `top`, in order, and
    /// which of how many each is.
    pub(crate) fn pieces(&self, motion: &Motion, window: &Window, top: f64, mut visit: impl FnMut(&Piece, Place)) {
        let Ok(()) = self.try_pieces(motion, window, top, |piece, place| {
            visit(piece, place);
            Ok::<(), Infallible>(())
        });
    }

    /// The same until `visit` fails.
    ///
    /// # Errors
    /// What `visit` says.
    pub(crate) fn try_pieces<E>(
        &self,
        motion: &Motion,
        window: &Window,
        top: f64,
        mut visit: impl FnMut(&Piece, Place) -> Result<(), E>,
    ) -> Result<(), E> {
        self.visit(motion, window, top, |piece, place, _| visit(piece, place))
    }

    /// The same with a bound on what each piece can reach.
    pub(crate) fn bounded_pieces(
        &self,
        motion: &Motion,
        window: &Window,
        top: f64,
        mut visit: impl FnMut(&Piece, &Bounds),
    ) {
        let Ok(()) = self.visit(motion, window, top, |piece, _, bounds| {
            visit(piece, bounds);
            Ok::<(), Infallible>(())
        });
    }

    fn visit<E>(
        &self,
        motion: &Motion,
        window: &Window,
        top: f64,
        mut visit: impl FnMut(&Piece, Place, &Bounds) -> Result<(), E>,
    ) -> Result<(), E> {
        let Some(cutter) = self.job.cutters.get(usize::from(motion.cutter)) else { return Ok(()) };
        let cut = Cut { motion, cutter, count: piece_count(motion, self.top), window, top };
        cut.visit(0..cut.count, &mut visit)
    }
}

/// Which of the pieces of a motion one is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub(crate) index: u32,
    /// How many there are.
    pub(crate) count: u32,
}

/// A motion that is being cut into pieces; the tree goes on within it.
struct Cut<'a> {
    motion: &'a Motion,
    cutter: &'a Cutter,
    count: u32,
    window: &'a Window,
    top: f64,
}

impl Cut<'_> {
    /// The pose after so many pieces.
    fn at(&self, pieces: u32) -> Pose {
        match pieces {
            0 => self.motion.from,
            all if all == self.count => self.motion.to,
            some => self.motion.at(self.share(some)),
        }
    }

    fn share(&self, pieces: u32) -> f64 {
        f64::from(pieces) / f64::from(self.count)
    }

    fn visit<E>(
        &self,
        pieces: Range<u32>,
        visit: &mut impl FnMut(&Piece, Place, &Bounds) -> Result<(), E>,
    ) -> Result<(), E> {
        let (from, to) = (self.at(pieces.start), self.at(pieces.end));
        let is_one = pieces.len() == 1;
        let extent = if is_one || self.motion.arc.is_none() {
            Extent::between(&from, &to)
        } else {
            let (low, high) = self.motion.bounds_between(self.share(pieces.start), self.share(pieces.end));
            Extent::between(&low, &high)
        };
        let bounds = Bounds::of_extent(self.cutter, &extent, self.top);
        let Some(bounds) = bounds.filter(|it| it.reaches(self.window, self.top)) else { return Ok(()) };
        if is_one {
            return visit(&Piece::new(&from, &to), Place { index: pieces.start, count: self.count }, &bounds);
        }
        let middle = pieces.start + pieces.len() as u32 / 2;
        self.visit(pieces.start..middle, visit)?;
        self.visit(middle..pieces.end, visit)
    }
}
