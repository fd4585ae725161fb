//! The order findings are told in.

use dryturn_check::{Cost, Finding};
use std::cmp::Reverse;

/// Rules that name a mistake behind other findings.
const CAUSES: [&str; 6] =
    ["zero-height", "wrong-units", "wrong-rotary-word", "flat-program", "mirrored", "rezero-off-turn"];

/// Where a finding stands among others: by cost, then by severity, causes before what comes of them, then in program
/// order.
pub(crate) fn rank(found: &Finding) -> impl Ord + use<> {
    let is_effect = !CAUSES.contains(&found.rule);
    (Cost::of(found.rule), Reverse(found.severity), is_effect, found.program, found.lines)
}

/// The findings in their order; equals keep theirs.
pub fn by_cost(findings: &[Finding]) -> Vec<&Finding> {
    cost_order(findings).into_iter().map(|place| &findings[place]).collect()
}

/// The places of the findings in the order of [`by_cost`].
pub fn cost_order(findings: &[Finding]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..findings.len()).collect();
    places.sort_by_key(|place| rank(&findings[*place]));
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_check::Severity::{Error, Note, Warning};

    #[test]
    fn the_dearest_comes_first() {
        let finding =
            |rule, severity, line| Finding { severity, lines: Some((line, line)), ..crate::sample::finding(rule) };
        let findings = [
            finding("leftover", Warning, 1),
            finding("gouge", Error, 9),
            finding("holder-hits", Note, 1),
            finding("holder-hits", Error, 7),
            finding("holder-hits", Error, 3),
            finding("swing", Warning, 2),
            finding("gouge", Error, 2),
            finding("mirrored", Error, 5),
            finding("zero-height", Error, 6),
            finding("cutter-hits", Error, 1),
        ];
        let order: Vec<_> = by_cost(&findings).iter().map(|f| (f.rule, f.lines.unwrap().0)).collect();
        let rules = [
            ("zero-height", 6),
            ("cutter-hits", 1),
            ("swing", 2),
            ("holder-hits", 3),
            ("holder-hits", 7),
            ("holder-hits", 1),
            ("mirrored", 5),
            ("gouge", 2),
            ("gouge", 9),
            ("leftover", 1),
        ];
        assert_eq!(order, rules);
    }
}
