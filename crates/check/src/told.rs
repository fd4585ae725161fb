//! What a run is told by: its course over time, the loads that matter first, and what each block did to the surface.
//!
//! # Theory
//!
//! Whoever works out what the cutter is asked for gives an [`Effort`] for each stroke, in the order of the blocks. From
//! these come the [`Series`], equal slices of the time of the job, the [`LoadSummary`], the greatest of each load with its
//! place, and the [`Traces`], by which a map is coloured through the block that made a surface. Ranges stay ranges: both
//! ends are the greatest of their kind.

mod loads;
mod series;
mod traces;
mod worst;

pub use loads::{LoadSummary, Peak};
pub(crate) use series::spans;
pub use series::{Moment, SERIES_POINTS, Series};
pub use traces::{Trace, Traces, WAYS};
pub(crate) use worst::moment_of;

use crate::load::{Engagement, Load};
use crate::strength::Sprung;
use crate::time::{BlockTimes, Times};
use dryturn_carve::Stroke;
use series::Slices;

/// A low and a high end.
pub type Ends = [f64; 2];

/// What a stroke of the cutter asked for and did, as far as that is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effort {
    /// The block, or the first of those whose way it is.
    pub block: u32,
    /// The same block, or the last of them.
    pub last: u32,
    /// The stretch, as shares of the block's way.
    pub share: (f64, f64),
    /// Wood taken, mm³.
    pub volume_mm3: f64,
    /// Radius at which it is cut, mm.
    pub radius_mm: Option<f64>,
    /// How the cutter stands in the wood.
    pub engagement: Option<Engagement>,
    /// Main cutting force, N.
    pub force: Option<Ends>,
    /// Power at the spindle, W.
    pub power: Option<Ends>,
    /// Torque about the rotary axis, N·mm.
    pub torque: Option<Ends>,
    /// Push on the wood along the axis, toward the center or off the chuck, N.
    pub axial: Option<Ends>,
    /// How far piece and cutter spring apart, mm.
    pub spring: Option<Ends>,
    /// Whether the wood breaks before the greatest load is reached; `spring` then ends where it does.
    pub breaks: bool,
}

impl Effort {
    /// Of a stroke with its load, and what springs under it.
    pub(crate) fn of(stroke: &Stroke, load: &Load, spring: Option<Sprung>) -> Effort {
        Effort {
            block: stroke.block,
            last: stroke.last,
            share: load.share,
            volume_mm3: stroke.volume_mm3,
            radius_mm: Some(load.radius),
            engagement: Some(load.engagement),
            force: load.forces.map(|forces| forces.main),
            power: load.power,
            torque: load.forces.map(|forces| forces.torque),
            axial: load.forces.map(|forces| forces.toward_center()),
            spring: spring.map(|spring| spring.ends),
            breaks: spring.is_some_and(|spring| spring.breaks),
        }
    }
}

/// All that a run is told by.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// Its course over time.
    pub series: Series,
    /// The loads that matter first.
    pub loads: LoadSummary,
    /// What each block did to the surface.
    pub traces: Traces,
    /// When blocks come and what they take.
    pub blocks: BlockTimes,
    /// When the worst place of each finding is passed, seconds from the start of the first program, in the order of the
    /// findings; `None` where it belongs to no line.
    pub found_s: Vec<Option<f64>>,
}

/// Takes in efforts, one after another, of a whole run or of some of its blocks.
#[derive(Clone, Debug)]
pub struct Telling {
    slices: Slices,
    loads: LoadSummary,
    traces: Traces,
}

impl Telling {
    /// Of a run, in so many slices of its time.
    pub fn new(times: &Times<'_>, points: u32) -> Telling {
        Telling { slices: Slices::new(times, points), loads: LoadSummary::default(), traces: Traces::default() }
    }

    /// Takes in the effort that follows.
    pub fn take(&mut self, times: &Times<'_>, effort: &Effort) {
        self.slices.take(times, effort);
        self.loads.take(effort);
        self.traces.take(effort);
    }

    /// Takes in what was told of the blocks that follow.
    pub fn join(&mut self, later: Telling) {
        self.slices.join(&later.slices);
        self.loads.join(&later.loads);
        self.traces.join(later.traces);
    }

    /// All of it; `clearances` are the least distances of any two bodies in each slice, mm, where they are known.
    pub fn finish(self, times: &Times<'_>, clearances: &[Option<f64>]) -> Told {
        Told {
            series: self.slices.finish(times, clearances),
            loads: self.loads,
            traces: self.traces,
            blocks: BlockTimes::default(),
            found_s: Vec::new(),
        }
    }
}

/// Both ends the greatest of two.
fn greater(one: Option<Ends>, other: Option<Ends>) -> Option<Ends> {
    match (one, other) {
        (Some(one), Some(other)) => Some([one[0].max(other[0]), one[1].max(other[1])]),
        (one, other) => one.or(other),
    }
}
