//! `uphill`: cuts that rise along the grain.

use crate::digits::mm;
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::grain::Tally;

/// Share of a program's time in wood that may go uphill without a word (common practice, no source).
const LITTLE: f64 = 0.05;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let is_wood = evidence.job.scene.blank.material.as_ref().is_none_or(|material| material.is_wood);
    let tallies = evidence.grain.0.iter().filter(|_| is_wood);
    tallies.filter(|tally| tally.uphill_s > LITTLE * tally.cut_s).filter_map(|tally| finding(evidence, tally)).collect()
}

fn finding(evidence: &Evidence<'_>, tally: &Tally) -> Option<Finding> {
    let uphill = tally.uphill?;
    let (job, (block, share)) = (evidence.job, uphill.deepest);
    let percent = |seconds: f64| (100.0 * seconds / tally.cut_s).round();
    let climbing = match percent(tally.climb_s) {
        0.0 => "none climbs".to_owned(),
        percent => format!("{percent} % climbs"),
    };
    Some(Finding {
        program: Some(tally.program),
        lines: Some((job.line_of(uphill.first), job.line_of(uphill.last))),
        worst_line: Some(job.line_of(block)),
        blocks: uphill.blocks,
        cutter: job.cutter_index(block).and_then(|index| evidence.cutter_number(index)),
        place: evidence.tip_place(block, share),
        value: Some(uphill.depth),
        unit: Some("mm"),
        text: format!(
            "Of the time in wood {} % goes uphill, against the grain, {} deep at the most, and {climbing}.",
            percent(tally.uphill_s),
            mm(uphill.depth)
        ),
        cure: "Where fibres tear, take the last passes from thick to thin, and lightly.".to_owned(),
        ..plain("uphill", Severity::Note)
    })
}
