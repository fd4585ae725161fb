//! What the strokes ask for, beside what there is: `overload`, `stall`, `too-deep`, `full-width`, `plunge`, `chip-load`.

mod center;
mod chips;
mod cutter;
mod machine;

use dryturn_scene::{Cutter, Job};

use crate::digits::{beside, mm_beside, range_beside};
use crate::evidence::Evidence;
use crate::finding::{Finding, Severity};
use crate::load::Load;
use crate::stretches::{Event, Stretch, keep_worst, place, stretches};
use center::Center;
use chips::ThinChips;

/// What is held against what the scene says there is, load by load.
pub(crate) struct Watches<'a> {
    job: &'a Job,
    watches: Vec<Watch<'a>>,
    /// Whether any cutter does not cut at its center.
    has_hollow: bool,
}

impl<'a> Watches<'a> {
    pub(crate) fn of(job: &'a Job) -> Watches<'a> {
        let mut watches = machine::watches(&job.scene);
        watches.extend(cutter::watches(&job.scene));
        Watches { job, watches, has_hollow: job.scene.cutters.iter().any(|cutter| !cutter.cuts_center) }
    }
}

/// What goes beyond of the loads of a run, or of some of its blocks in a row.
#[derive(Default)]
pub(crate) struct Beyond {
    /// Of each watch.
    events: Vec<Vec<Event<Excess>>>,
    thin: ThinChips,
    center: Center,
}

impl Beyond {
    /// Takes in the load that follows. A rapid in the wood is wrong whatever it asks for.
    pub(crate) fn look(&mut self, Watches { job, watches, has_hollow }: &Watches<'_>, load: &Load) {
        if (watches.is_empty() && !has_hollow) || load.rapid {
            return;
        }
        let Some(cutter) = job.scene.cutters.get(usize::from(load.cutter)) else { return };
        self.events.resize_with(watches.len(), Vec::new);
        self.events.iter_mut().zip(watches).for_each(|(events, watch)| watch.look(events, load, cutter));
        self.thin.look(load, cutter);
        self.center.look(load, cutter);
    }

    /// Takes in what goes beyond of the blocks that follow.
    pub(crate) fn join(&mut self, later: Beyond) {
        self.events.resize_with(self.events.len().max(later.events.len()), Vec::new);
        self.events.iter_mut().zip(later.events).for_each(|(events, mut later)| events.append(&mut later));
        self.thin.join(later.thin);
        self.center.join(later.center);
    }
}

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let (watches, beyond) = (&evidence.watches.watches, evidence.beyond);
    let by_watch = watches.iter().zip(&beyond.events).flat_map(|(watch, events)| watch.findings(evidence, events));
    let mut findings: Vec<Finding> = by_watch.collect();
    findings.extend(beyond.thin.findings(evidence));
    findings.extend(beyond.center.findings(evidence));
    findings
}

/// What is asked for and what there is, in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Asked {
    low: f64,
    high: f64,
    limit: f64,
}

impl Asked {
    /// Of what is known and no range.
    fn known(value: f64, limit: f64) -> Asked {
        Asked { low: value, high: value, limit }
    }
}

/// How bad it is; what is sure is worse than what may be.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
struct Excess {
    is_sure: bool,
    /// What is asked for at the most over what there is.
    ratio: f64,
    low: f64,
    high: f64,
    limit: f64,
    /// Share of the block's way.
    share: f64,
}

impl Excess {
    fn of(load: &Load, Asked { low, high, limit }: Asked) -> Excess {
        // Most of a way down may lie over the wood.
        let share = if load.engagement.is_plunge { load.share.1 } else { 0.5 * (load.share.0 + load.share.1) };
        Excess { is_sure: low > limit, ratio: high / limit, low, high, limit, share }
    }

    /// The end of the range that is too much.
    fn too_much(&self) -> f64 {
        if self.is_sure { self.low } else { self.high }
    }

    /// That end and what there is, with digits that show which is the greater.
    fn told(&self) -> [String; 2] {
        beside(self.too_much(), self.limit)
    }

    /// The whole range with its unit, and what there is.
    fn range(&self, unit: &str) -> [String; 2] {
        range_beside([self.low, self.high], self.limit, unit)
    }

    /// As [`Excess::told`] for lengths on the wood, mm.
    fn told_in_mm(&self) -> [String; 2] {
        mm_beside(self.too_much(), self.limit)
    }

    /// By how much less has to be asked for, in whole percent.
    fn less(&self) -> f64 {
        (100.0 * (1.0 - self.limit / self.high)).ceil()
    }
}

/// What a finding says.
struct Words {
    /// The unit of the value.
    unit: &'static str,
    text: String,
    cure: String,
}

type Measure<'a> = Box<dyn Fn(&Load, &Cutter) -> Option<Asked> + Send + Sync + 'a>;
type Phrasing<'a> = Box<dyn Fn(&Evidence<'_>, &Stretch<Excess>) -> Words + Send + Sync + 'a>;

/// Strokes that ask for more than there is.
struct Watch<'a> {
    rule: &'static str,
    /// Severity where even the least that is asked for is too much.
    gravest: Severity,
    /// Share of the limit that it may be passed by.
    slack: f64,
    measure: Measure<'a>,
    words: Phrasing<'a>,
}

impl Watch<'_> {
    fn look(&self, events: &mut Vec<Event<Excess>>, load: &Load, cutter: &Cutter) {
        let asked = (self.measure)(load, cutter);
        if let Some(asked) = asked.filter(|asked| asked.high > asked.limit * (1.0 + self.slack)) {
            let (value, place) = (Excess::of(load, asked), place(load.station));
            let beyond = load.blocks().map(|block| Event { block, place, value, volume: 0.0 });
            beyond.for_each(|event| keep_worst(events, event));
        }
    }

    fn findings(&self, evidence: &Evidence<'_>, events: &[Event<Excess>]) -> Vec<Finding> {
        let stretches = stretches(evidence.job, events.iter().copied());
        let tell = |stretch: &Stretch<Excess>| {
            let is_sure = stretch.worst.value.is_sure;
            let severity = if is_sure { self.gravest } else { Severity::Warning };
            told(evidence, self.rule, severity, stretch, (self.words)(evidence, stretch))
        };
        stretches.iter().map(tell).collect()
    }
}

/// A finding over a stretch; its value is the end of the range that is too much.
fn told(
    evidence: &Evidence<'_>,
    rule: &'static str,
    severity: Severity,
    stretch: &Stretch<Excess>,
    words: Words,
) -> Finding {
    let worst = &stretch.worst;
    Finding {
        place: evidence.tip_place(worst.block, worst.value.share),
        value: Some(worst.value.too_much()),
        unit: Some(words.unit),
        text: words.text,
        cure: words.cure,
        ..evidence.over(rule, severity, stretch)
    }
}
