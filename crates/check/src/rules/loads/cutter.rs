//! What a cutter is asked for beside its own limits: `too-deep`, `full-width`, `plunge`, `chip-load`.

use dryturn_scene::{Cutter, CutterLimits, Scene};

use super::{Asked, Excess, Watch, Words};
use crate::digits::short;
use crate::evidence::Evidence;
use crate::finding::Severity;
use crate::load::Load;
use crate::stretches::Stretch;

/// What depth and width may pass their limits by: rays that stand aslant are longer than the cut is deep, and volumes are
/// as good as the grid.
const CUT: f64 = 0.05;
/// What feeds may pass their limits by: they are as written, to rounding.
const FEED: f64 = 0.01;

/// One for each kind of limit that any cutter has.
pub(super) fn watches(scene: &Scene) -> Vec<Watch<'_>> {
    let cutters = &scene.cutters;
    let any = |has: fn(&CutterLimits) -> bool| cutters.iter().any(|cutter| has(&cutter.limits));
    let watches = [
        any(|limits| limits.depth.is_some()).then(too_deep),
        any(|limits| limits.width.is_some()).then(full_width),
        any(|limits| limits.plunge.is_some()).then(plunge),
        any(|limits| limits.chip.is_some()).then(thick_chips),
    ];
    watches.into_iter().flatten().collect()
}

/// Number of the cutter of a stretch, as the scene has it.
pub(super) fn number(evidence: &Evidence<'_>, stretch: &Stretch<Excess>) -> u32 {
    evidence.cutter_number(stretch.cutter).unwrap_or_default()
}

fn too_deep<'a>() -> Watch<'a> {
    let limit = |limits: &CutterLimits| limits.depth;
    too_large(
        ("too-deep", "deep"),
        limit,
        |load| load.engagement.depth,
        |Excess { high, limit, .. }| format!("Take it in {} passes at the least.", short((high / limit).ceil())),
    )
}

fn full_width<'a>() -> Watch<'a> {
    let limit = |limits: &CutterLimits| limits.width;
    too_large(
        ("full-width", "wide"),
        limit,
        |load| load.engagement.width,
        |worst| format!("Step over by {} mm at the most, and ramp into solid wood less deep.", worst.told_in_mm()[1]),
    )
}

/// A cut of a size that its cutter is not good for; the way down is another matter.
fn too_large<'a>(
    (rule, word): (&'static str, &'static str),
    limit: fn(&CutterLimits) -> Option<f64>,
    size: fn(&Load) -> f64,
    cure: fn(Excess) -> String,
) -> Watch<'a> {
    let measure = move |load: &Load, cutter: &Cutter| {
        let limit = limit(&cutter.limits).filter(|_| !load.engagement.is_plunge)?;
        Some(Asked::known(size(load), limit))
    };
    watch(rule, CUT, measure, move |evidence, stretch| {
        let worst = stretch.worst.value;
        let (number, [cut, limit]) = (number(evidence, stretch), worst.told_in_mm());
        Words {
            unit: "mm",
            text: format!("The cut is {cut} mm {word}, and cutter {number} is good for {limit} mm."),
            cure: cure(worst),
        }
    })
}

fn plunge<'a>() -> Watch<'a> {
    let measure = |load: &Load, cutter: &Cutter| {
        let limit = cutter.limits.plunge.filter(|_| load.engagement.is_plunge)?;
        Some(Asked::known(-60.0 * load.engagement.speed? * load.engagement.direction[2], limit))
    };
    watch("plunge", FEED, measure, |evidence, stretch| {
        let [feed, limit] = stretch.worst.value.told();
        Words {
            unit: "mm/min",
            text: format!(
                "Cutter {} is fed straight down into the wood at {feed} mm/min, and is good for {limit}.",
                number(evidence, stretch)
            ),
            cure: format!("Write an F of {limit} for the way down, or ramp in."),
        }
    })
}

fn thick_chips<'a>() -> Watch<'a> {
    let measure = |load: &Load, cutter: &Cutter| {
        let [_, limit] = cutter.limits.chip?;
        Some(Asked::known(load.engagement.feed_per_tooth?, limit))
    };
    watch("chip-load", FEED, measure, |evidence, stretch| {
        let [feed, limit] = stretch.worst.value.told();
        Words {
            unit: "mm",
            text: format!(
                "Each tooth takes {feed} mm of the way over the wood, and those of cutter {} are good for {limit} mm.",
                number(evidence, stretch)
            ),
            cure: format!("Lower F there by {} %, or turn the spindle as much faster.", stretch.worst.value.less()),
        }
    })
}

fn watch<'a>(
    rule: &'static str,
    slack: f64,
    measure: impl Fn(&Load, &Cutter) -> Option<Asked> + Send + Sync + 'a,
    words: impl Fn(&Evidence<'_>, &Stretch<Excess>) -> Words + Send + Sync + 'a,
) -> Watch<'a> {
    let (measure, words) = (Box::new(measure), Box::new(words));
    Watch { rule, gravest: Severity::Warning, slack, measure, words }
}
