//! What the strokes ask for, beside what there is: `overload`, `stall`, `too-deep`, `full-width`, `plunge`, `chip-load`.

mod center;
mod chips;
mod cutter;
mod machine;

use dryturn_scene::Cutter;

use crate::digits::{beside, mm_beside, range_beside};
use crate::evidence::Evidence;
use crate::finding::{Finding, Severity};
use crate::load::Load;
use crate::stretches::{Event, Stretch, keep_worst, place, stretches};
use center::Center;
use chips::ThinChips;

/// All strokes at feed are looked at once; a rapid in the wood is wrong whatever it asks for.
pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut watches = machine::watches(evidence);
    watches.extend(cutter::watches(evidence));
    if watches.is_empty() && evidence.replay.is_none() {
        return Vec::new();
    }
    let (mut thin, mut center) = (ThinChips::default(), Center::default());
    for load in evidence.each_load().filter(|load| !evidence.job.is_rapid(load.block)) {
        let Some(cutter) = evidence.job.scene.cutters.get(usize::from(load.cutter)) else { continue };
        watches.iter_mut().for_each(|watch| watch.look(&load, cutter));
        thin.look(evidence, &load, cutter);
        center.look(&load, cutter);
    }
    let mut findings: Vec<Finding> = watches.into_iter().flat_map(|watch| watch.findings(evidence)).collect();
    findings.extend(thin.findings(evidence));
    findings.extend(center.findings(evidence));
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

type Measure<'a> = Box<dyn Fn(&Load, &Cutter) -> Option<Asked> + 'a>;
type Phrasing<'a> = Box<dyn Fn(&Stretch<Excess>) -> Words + 'a>;

/// Strokes that ask for more than there is.
struct Watch<'a> {
    rule: &'static str,
    /// Severity where even the least that is asked for is too much.
    gravest: Severity,
    /// Share of the limit that it may be passed by.
    slack: f64,
    measure: Measure<'a>,
    words: Phrasing<'a>,
    events: Vec<Event<Excess>>,
}

impl Watch<'_> {
    fn look(&mut self, load: &Load, cutter: &Cutter) {
        let asked = (self.measure)(load, cutter);
        if let Some(asked) = asked.filter(|asked| asked.high > asked.limit * (1.0 + self.slack)) {
            let (value, place) = (Excess::of(load, asked), place(load.station));
            let events = load.blocks().map(|block| Event { block, place, value, volume: 0.0 });
            events.for_each(|event| keep_worst(&mut self.events, event));
        }
    }

    fn findings(self, evidence: &Evidence<'_>) -> Vec<Finding> {
        let stretches = stretches(evidence.job, self.events);
        let tell = |stretch: &Stretch<Excess>| {
            let is_sure = stretch.worst.value.is_sure;
            let severity = if is_sure { self.gravest } else { Severity::Warning };
            told(evidence, self.rule, severity, stretch, (self.words)(stretch))
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
