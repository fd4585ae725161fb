//! Plunges of cutters that do not cut at their center, under `plunge`.

use dryturn_carve::Replay;
use dryturn_geom::{Motion, Motions, angle};
use dryturn_scene::Cutter;

use super::{Asked, Excess, Words, cutter::number, told};
use crate::digits::mm;
use crate::evidence::Evidence;
use crate::finding::{Finding, Severity};
use crate::load::Load;
use crate::stretches::{Event, Stretch, place, stretches};

/// So deep such a cutter may be pressed into wood, mm (common practice, no source).
const ALLOWED: f64 = 0.1;
/// Plunges nearer to each other than this are at one place, mm.
const SAME_PLACE: f64 = 0.01;
/// Steps that find where the wood begins, each twice as fine: to a thousandth of a millimetre.
const STEPS: u32 = 18;

/// The strokes in question, one for each block.
#[derive(Default)]
pub(super) struct Center {
    strokes: Vec<Load>,
}

impl Center {
    pub(super) fn look(&mut self, load: &Load, cutter: &Cutter) {
        let is_new = self.strokes.last().is_none_or(|last| last.block != load.block);
        if load.engagement.is_plunge && !cutter.cuts_center && is_new {
            self.strokes.push(*load);
        }
    }

    /// Takes in those of the blocks that follow.
    pub(super) fn join(&mut self, mut later: Center) {
        self.strokes.append(&mut later.strokes);
    }

    pub(super) fn findings(&self, evidence: &Evidence<'_>) -> Vec<Finding> {
        let Some(replay) = evidence.replay else { return Vec::new() };
        let event = |load: &Load| {
            let depth = depth(evidence, replay, &evidence.job.motion(load.last)?)?;
            let value = Excess { share: 1.0, ..Excess::of(load, Asked::known(depth, ALLOWED)) };
            Some(Event { block: load.block, place: place(load.station), value, volume: 0.0 })
        };
        let tell = |stretch: &Stretch<Excess>| {
            let words = Words {
                unit: "mm",
                text: format!(
                    "Cutter {} goes {} straight down with wood under its center, where it does not cut.",
                    number(evidence, stretch),
                    mm(stretch.worst.value.high)
                ),
                cure: "Ramp in, start beside the wood, or drill a hole for it first.".to_owned(),
            };
            told(evidence, "plunge", Severity::Warning, stretch, words)
        };
        stretches(evidence.job, self.strokes.iter().filter_map(event)).iter().map(tell).collect()
    }
}

/// How high the wood stood over the tip of a plunge at its end, of all that it took itself, or those before it that went down
/// at the same place, mm; `None` where that is not too deep.
fn depth(evidence: &Evidence<'_>, replay: &Replay<'_>, plunge: &Motion) -> Option<f64> {
    let tip = plunge.to;
    let is_alike = |by: u32| {
        let other = evidence.job.motion(by).filter(|motion| by <= plunge.block && motion.cutter == plunge.cutter);
        other.is_some_and(|motion| {
            let aside = angle::hypot(motion.to.x - tip.x, motion.to.y - tip.y);
            !motion.rapid && motion.to.z < motion.from.z && aside < SAME_PLACE
        })
    };
    let is_taken = |over: f64| {
        let (y, z) = (tip.y, tip.z + over);
        let theta = angle::wrapped(tip.turn + angle::atan2(-y, z));
        replay.taken_by(tip.x, theta, angle::hypot(y, z)).is_some_and(is_alike)
    };
    let halve = |(wood, air): (f64, f64), _| {
        let middle = 0.5 * (wood + air);
        if is_taken(middle) { (middle, air) } else { (wood, middle) }
    };
    let highest = ALLOWED + evidence.job.scene.swept_radius() - tip.z.min(0.0);
    is_taken(ALLOWED).then(|| (0..STEPS).fold((ALLOWED, highest), halve).0)
}
