//! How hard every stroke of a run pulls.
//!
//! # Theory
//!
//! A carve tells of each stretch of a block's way what wood it took, how deep, and on which side. Over the length of the way
//! over the wood that is a section, over its depth a width; the width beside the cutter's diameter is the arc in which a
//! tooth is in the wood, and with the feed per tooth the thickness of its chips ([`Engagement`]). The specific cutting force
//! of the material makes a power of the rate and forces of the chips ([`Forces`]). It is known as a range at best, wood
//! varies, and so is everything that follows from it: the low end is the mean over a turn with the least specific force, the
//! high end the peak of one tooth with the greatest, which thin chips raise.
//!
//! # Practice
//!
//! [`Loads::new`], then [`Loads::of`] for each stroke; nothing is kept.

mod diameter;
mod engagement;
mod forces;
mod spindle;
mod way;

use std::f64::consts::PI;
use std::ops::RangeInclusive;

use dryturn_carve::Stroke;
use dryturn_geom::{Flutes, Motion, Motions, angle};
use dryturn_scene::{Cutter, Job};

pub(crate) use engagement::LEVEL;
pub use engagement::{Engagement, Grain};
pub use forces::Forces;
pub(crate) use forces::THRUST;

use engagement::{Immersion, feed_per_tooth, plunge_arc};
use forces::{Down, Sideways};
use spindle::{Spindle, Turning};
use way::Way;

/// What one stroke asks of cutter, spindle, wood and holding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// The block, or the first of those whose way it is.
    pub block: u32,
    /// The same block, or the last of them.
    pub last: u32,
    /// The stretch, as shares of the block's way.
    pub share: (f64, f64),
    /// Index of the cutter in the scene's list.
    pub cutter: u16,
    /// Whether it is made at rapid.
    pub rapid: bool,
    /// Station of the cutter in the middle of it, mm.
    pub station: f64,
    /// Stations of the cutter at its beginning and at its end, mm.
    pub ends: [f64; 2],
    /// θ on top at that moment, radians.
    pub turn: f64,
    /// Distance from the rotary axis at which it cuts, mm.
    pub radius: f64,
    /// Time it takes at the feed that is asked for, seconds; `None` where there is none.
    pub seconds: Option<f64>,
    /// How the cutter stands in the wood.
    pub engagement: Engagement,
    /// Power at the spindle, W, least and greatest; `None` without a feed, or without a material whose specific cutting
    /// force is known.
    pub power: Option<[f64; 2]>,
    /// Forces, least and greatest; `None` also where no spindle speed is named.
    pub forces: Option<Forces>,
}

/// Works out the loads of a job's strokes.
pub struct Loads<'a> {
    job: &'a Job,
    asked: &'a (dyn Fn(u32) -> Option<f64> + Sync),
    spindle: Spindle,
    /// Least and greatest specific cutting force of the material, N/mm².
    cutting: Option<[f64; 2]>,
}

impl<'a> Loads<'a> {
    /// `asked` tells of a block how many seconds it takes at the feed it asks for.
    pub fn new(job: &'a Job, asked: &'a (dyn Fn(u32) -> Option<f64> + Sync)) -> Loads<'a> {
        let cutting = job.scene.blank.material.as_ref().and_then(|material| material.cutting);
        Loads { job, asked, spindle: Spindle::of(job), cutting }
    }

    /// The motion whose way, or part of whose way, a stroke is: of blocks that go straight on, from the first to the last.
    fn motion(&self, stroke: &Stroke) -> Option<Motion> {
        let mut motion = self.job.motion(stroke.block);
        if let Some(motion) = motion.as_mut().filter(|_| stroke.last > stroke.block) {
            motion.to = self.job.motion(stroke.last)?.to;
        }
        motion
    }

    /// The load of a stroke; `None` where it takes no wood.
    pub fn of(&self, stroke: &Stroke) -> Option<Load> {
        let takes = stroke.volume_mm3 > 0.0 && stroke.depth_mm > 0.0;
        if !takes {
            return None;
        }
        let motion = &self.motion(stroke)?;
        let cutter = self.job.scene.cutters.get(usize::from(motion.cutter))?;
        let (stroke, way) = &in_wood(stroke, motion, cutter);
        let asked: Option<f64> = (stroke.block..=stroke.last).map(self.asked).sum();
        let seconds = asked.map(|seconds| seconds * (stroke.share.1 - stroke.share.0));
        let seconds = seconds.filter(|seconds| *seconds > 0.0);
        let turning = self.spindle.during(stroke.block);
        let (engagement, immersion) = engagement(stroke, way, cutter, seconds, turning)?;
        let specific = self.cutting.map(|[low, high]| [low, high * forces::thinness(engagement.chip_mean)]);
        Some(Load {
            block: stroke.block,
            last: stroke.last,
            share: stroke.share,
            cutter: motion.cutter,
            rapid: motion.rapid,
            station: way.middle.x,
            ends: way.ends,
            turn: way.middle.turn,
            radius: way.radius(),
            seconds,
            engagement,
            power: specific.zip(engagement.rate).map(|(specific, rate)| specific.map(|end| forces::power(end, rate))),
            forces: specific
                .and_then(|specific| pulls(stroke, way, (&engagement, immersion), cutter.teeth, turning, specific)),
        })
    }
}

impl Load {
    /// The blocks whose way it is, or is part of.
    pub fn blocks(&self) -> RangeInclusive<u32> {
        self.block..=self.last
    }
}

/// Greatest radius of what a cutter's flutes cut with up to a height over its tip, mm.
pub(crate) fn reach_below(flutes: &Flutes, height: f64) -> f64 {
    0.5 * diameter::diameter_below(flutes, height)
}

/// The share of its block's way at which a stroke begins, without the air that it goes straight down through first.
pub(crate) fn begins_in_wood(stroke: &Stroke, motion: &Motion, cutter: &Cutter) -> f64 {
    in_wood(stroke, motion, cutter).0.share.0
}

/// A stroke without the air that it goes straight down through first, and its way: what it is deep is the length in wood.
/// One that slopes for longer than the cutter is wide lowers no place by all that it goes down, and stays as it is.
fn in_wood(stroke: &Stroke, motion: &Motion, cutter: &Cutter) -> (Stroke, Way) {
    let whole = Way::of(motion, stroke.share, stroke.depth_mm);
    let [along, across, down] = whole.direction.map(|part| part.abs() * whole.length);
    let is_steep = whole.is_plunge() && angle::diagonal(along, across) < 2.0 * cutter.flutes.radius();
    if motion.arc.is_some() || stroke.last > stroke.block || !is_steep || stroke.depth_mm >= down {
        return (*stroke, whole);
    }
    let (first, last) = stroke.share;
    let deep = Stroke { share: (last - (last - first) * stroke.depth_mm / down, last), ..*stroke };
    (deep, Way::of(motion, deep.share, deep.depth_mm))
}

/// How far the share of the wood on one side may be off a half in a groove.
const BOTH_SIDES: f64 = 0.05;

/// What a groove over the top of the blank may fall short of its cutter's whole width by, summed over rays.
const WHOLE: f64 = 0.05;

/// Width at the surface of a groove along the axis of so great a section (mm²), whose middle is so deep (mm): beside the top
/// the round falls away, so that all of a cutter is in the wood where it takes less than its width times the depth. Of the round
/// over the floor it has the same share as it has of the section there. `height` is that of the middle of the cut.
fn in_a_groove(section: f64, depth: f64, height: f64, diameter: f64) -> f64 {
    let (floor, top) = ((height - 0.5 * depth).max(0.0), height + 0.5 * depth);
    let half = (0.5 * diameter).min((top * top - floor * floor).max(0.0).sqrt());
    let rim = (top * top - half * half).max(0.0).sqrt();
    let round = half * rim + top * top * angle::atan2(half, rim) - 2.0 * half * floor;
    let share = section / round;
    if share >= 1.0 - WHOLE { 2.0 * half } else { 2.0 * half * share }
}

/// Strokes of a block along the axis have the wood beside which the middle of the cutter passes; the last one has what
/// stood ahead of it as well, half a disc: of so much more way it is, mm.
fn ahead_of(stroke: &Stroke, way: &Way, diameter: f64) -> f64 {
    let is_last_of_some = stroke.share.0 > 0.0 && stroke.share.1 == 1.0;
    if is_last_of_some && way.is_along() { PI / 8.0 * diameter } else { 0.0 }
}

fn engagement(
    stroke: &Stroke,
    way: &Way,
    cutter: &Cutter,
    seconds: Option<f64>,
    turning: Turning,
) -> Option<(Engagement, Immersion)> {
    let diameter = diameter::diameter_below(&cutter.flutes, stroke.depth_mm);
    let moves = way.length > 0.0 && diameter > 0.0;
    if !moves {
        return None;
    }
    let (section, is_plunge) = (stroke.volume_mm3 / (way.length + ahead_of(stroke, way, diameter)), way.is_plunge());
    let left = stroke.left_mm3 / stroke.volume_mm3;
    let is_groove = !is_plunge && (left - 0.5).abs() <= BOTH_SIDES;
    let width = match is_plunge {
        true => 2.0 * (section / PI).sqrt(),
        // Below the axis the wood stands as wide as the cutter on both sides of a slot.
        false if is_groove && way.is_along() && way.height > 0.0 => {
            in_a_groove(section, stroke.depth_mm, way.height, diameter)
        }
        false => section / stroke.depth_mm,
    };
    let width = width.min(diameter);
    let immersion = Immersion::of(width, diameter);
    let speed = seconds.map(|seconds| way.length / seconds);
    let feed = speed.zip(turning.rpm).and_then(|(speed, rpm)| feed_per_tooth(speed, rpm, cutter.teeth));
    let has_side = !is_plunge && !is_groove;
    let engagement = Engagement {
        width,
        depth: stroke.depth_mm,
        diameter,
        arc: if is_plunge { plunge_arc(section, diameter) } else { immersion.arc },
        feed_per_tooth: feed,
        chip_mean: feed.map(|feed| if is_plunge { feed } else { feed * immersion.mean() }),
        chip_greatest: feed.map(|feed| if is_plunge { feed } else { feed * immersion.greatest() }),
        rate: speed.map(|speed| section * speed),
        speed,
        direction: way.direction,
        is_plunge,
        is_climb: has_side.then_some((left > 0.5) != turning.is_clockwise),
        grain: Grain::of(way.direction),
    };
    Some((engagement, immersion))
}

/// The forces of a stroke for a least and a greatest specific cutting force.
fn pulls(
    stroke: &Stroke,
    way: &Way,
    (engagement, immersion): (&Engagement, Immersion),
    teeth: u32,
    turning: Turning,
    specific: [f64; 2],
) -> Option<Forces> {
    let feed_per_tooth = engagement.feed_per_tooth?;
    if engagement.is_plunge {
        let down = Down { width: engagement.width, feed_per_tooth, teeth, aside: way.middle.y };
        return Some(down.forces(specific));
    }
    let [along, across, _] = way.direction;
    let level = angle::diagonal(along, across);
    let is_left = stroke.left_mm3 > 0.5 * stroke.volume_mm3;
    // Over the whole width the cut is less deep than in the middle, which the mean of a turn feels.
    let evenness = engagement.rate? / (engagement.speed? * engagement.width * engagement.depth);
    let specific = [specific[0] * evenness.min(1.0), specific[1]];
    let sideways = Sideways {
        immersion,
        depth: stroke.depth_mm,
        feed_per_tooth,
        teeth,
        ahead: [along / level, across / level],
        is_left,
        is_climb: is_left != turning.is_clockwise,
        height: way.height,
    };
    // Straight up it goes through wood only where it should not.
    (level > 0.0).then(|| sideways.forces(specific))
}
