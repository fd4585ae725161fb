//! Teeth that rub, under `chip-load`.

use dryturn_scene::{Cutter, Job};

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
    strokes: Vec<Thin>,
    /// Whether a better one has come after the last.
    is_over: bool,
}

/// A block of such a stroke.
struct Thin {
    event: Event<Excess>,
    /// Time of the stroke, with its first block, seconds.
    seconds: f64,
    /// Whether no better one lies between it and the one before.
    goes_on: bool,
}

impl ThinChips {
    pub(super) fn look(&mut self, load: &Load, cutter: &Cutter) {
        let engagement = &load.engagement;
        let known = cutter.limits.chip.zip(engagement.feed_per_tooth).zip(load.seconds);
        let Some((([least, _], feed), seconds)) = known.filter(|_| engagement.direction[2] >= -LEVEL) else { return };
        if feed >= least * (1.0 - SLACK) {
            self.is_over = true;
            return;
        }
        // The other way round: the feed is what there is.
        let value = Excess::of(load, Asked { low: least, high: least, limit: feed });
        for block in load.blocks() {
            let event = Event { block, place: place(load.station), value, volume: 0.0 };
            let seconds = if block == load.block { seconds } else { 0.0 };
            self.strokes.push(Thin { event, seconds, goes_on: !std::mem::take(&mut self.is_over) });
        }
    }

    /// Takes in those of the blocks that follow.
    pub(super) fn join(&mut self, mut later: ThinChips) {
        match later.strokes.first_mut() {
            Some(first) => {
                first.goes_on &= !self.is_over;
                self.is_over = later.is_over;
            }
            None => self.is_over |= later.is_over,
        }
        self.strokes.append(&mut later.strokes);
    }

    /// Those that go on for too long.
    fn kept(&self, job: &Job) -> Vec<Event<Excess>> {
        let of = |thin: &Thin| (job.program_of(thin.event.block), job.cutter_index(thin.event.block));
        let mut kept = Vec::new();
        for run in self.strokes.chunk_by(|before, next| next.goes_on && of(before) == of(next)) {
            if run.iter().map(|thin| thin.seconds).sum::<f64>() > BRIEF {
                run.iter().for_each(|thin| keep_worst(&mut kept, thin.event));
            }
        }
        kept
    }

    pub(super) fn findings(&self, evidence: &Evidence<'_>) -> Vec<Finding> {
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
        stretches(evidence.job, self.kept(evidence.job)).iter().map(tell).collect()
    }
}
