//! The rules, by what they look at.

mod contacts;
mod feed;
mod grid;
mod grip;
mod gripped;
mod holding;
pub(crate) mod language;
pub(crate) mod loads;
mod loose_piece;
mod motion;
mod strength;
pub(crate) mod swing;
mod target;
mod uphill;
mod winding;
mod wood;

use crate::evidence::Evidence;
use crate::finding::Finding;

/// All findings of a run.
pub(crate) fn all(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = contacts::findings(evidence);
    findings.extend(swing::findings(evidence));
    findings.extend(wood::findings(evidence));
    findings.extend(loose_piece::findings(evidence));
    findings.extend(loads::findings(evidence));
    findings.extend(target::findings(evidence));
    findings.extend(motion::findings(evidence));
    findings.extend(winding::findings(evidence));
    findings.extend(feed::findings(evidence));
    findings.extend(holding::findings(evidence));
    findings.extend(grip::findings(evidence));
    findings.extend(language::findings(evidence));
    findings.extend(strength::findings(evidence));
    findings.extend(uphill::findings(evidence));
    findings.extend(grid::findings(evidence));
    findings
}
