//! Teeth that rub, under `chip-load`.

use dryturn_scene::Cutter;

use super::{Asked, Excess, Words, cutter::number, told};
use crate::digits::beside;
use crate::evidence::Evidence;
use crate::finding::{Finding, Severity};
use crate::load::{LEVEL, Load};
use crate::stretches::{Event, Stretch, keep_worst, place, stretches};

/// So long in the wood a feed may be too low, seconds (common practice, no source): a corner, a first touch.
const BRIEF: f64 = 5.0;
/// What a feed may fall short by: it is as written, to rounding.
const SLACK: f64 = 0.01;

/// Strokes whose teeth take less than their cutter needs, as long as they go on without a better one between them. Ways down
/// are fed slowly for other reasons. Chips that are thin because the cut is narrow do not count: it is the feed of a tooth
/// that makers of cutters give.
#[derive(Default)]
pub(super) struct ThinChips {
    going_on: Vec<Event<Excess>>,
    seconds: f64,
    kept: Vec<Event<Excess>>,
}

impl ThinChips {
    pub(super) fn look(&mut self, evidence: &Evidence<'_>, load: &Load, cutter: &Cutter) {
        let engagement = &load.engagement;
        let known = cutter.limits.chip.zip(engagement.feed_per_tooth).zip(load.seconds);
        let Some((([least, _], feed), seconds)) = known.filter(|_| engagement.direction[2] >= -LEVEL) else { return };
        let of = |block: u32| (evidence.job.program_of(block), evidence.job.cutter_index(block));
        let is_thin = feed < least * (1.0 - SLACK);
        if !is_thin || self.going_on.last().is_some_and(|last| of(last.block) != of(load.block)) {
            self.end();
        }
        if is_thin {
            self.seconds += seconds;
            // The other way round: the feed is what there is.
            let value = Excess::of(load, Asked { low: least, high: least, limit: feed });
            let events = load.blocks().map(|block| Event { block, place: place(load.station), value, volume: 0.0 });
            events.for_each(|event| keep_worst(&mut self.going_on, event));
        }
    }

    fn end(&mut self) {
        if self.seconds > BRIEF {
            self.kept.append(&mut self.going_on);
        }
        self.going_on.clear();
        self.seconds = 0.0;
    }

    pub(super) fn findings(mut self, evidence: &Evidence<'_>) -> Vec<Finding> {
        self.end();
        let tell = |stretch: &Stretch<Excess>| {
            let Excess { limit: feed, low: needed, .. } = stretch.worst.value;
            let [feed_told, needed_told] = beside(feed, needed);
            let words = Words {
                unit: "mm",
                text: format!(
                    "Each tooth takes only {feed_told} mm of the way over the wood, and those of cutter {} need {needed_told} mm to \
                     cut and not rub.",
                    number(evidence, stretch)
                ),
                cure: "Raise F there, or turn the spindle more slowly.".to_owned(),
            };
            Finding { value: Some(feed), ..told(evidence, "chip-load", Severity::Warning, stretch, words) }
        };
        stretches(evidence.job, self.kept).iter().map(tell).collect()
    }
}
