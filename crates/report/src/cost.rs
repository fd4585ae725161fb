//! What a finding would cost, and the order findings are told in.
//!
//! The classes are common practice, no source: what can hurt a person comes first, then what breaks the machine, the
//! cutter, the piece, and last what only spoils the finish.

use dryturn_check::Finding;
use std::cmp::Reverse;

/// Who or what pays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cost {
    /// Someone may be hurt: the work or a broken cutter is thrown.
    Person,
    /// The machine, its spindle or its holding is struck or asked for what it cannot do.
    Machine,
    /// The cutter burns or breaks.
    Cutter,
    /// The piece is spoiled.
    Piece,
    /// The piece needs more work, or less is known than should be.
    Finish,
}

impl Cost {
    /// The class of a rule; a rule without a class of its own costs the piece.
    pub fn of(rule: &str) -> Cost {
        match rule {
            "cutter-hits" | "swing" | "loose-piece" | "thin-neck" | "poor-grip" | "slender" | "stall"
            | "zero-height" | "wrong-units" => Cost::Person,
            "shank-hits"
            | "holder-hits"
            | "spindle-hits"
            | "near-miss"
            | "out-of-reach"
            | "wrong-length"
            | "unknown-place"
            | "not-understood"
            | "wrong-rotary-word"
            | "flat-program"
            | "center-overextended" => Cost::Machine,
            "spindle-still" | "rapid-in-blank" | "shank-in-blank" | "holder-in-blank" | "spindle-in-blank"
            | "no-feed" | "too-deep" | "full-width" | "plunge" | "chip-load" | "overload" => Cost::Cutter,
            "leftover" | "pushed-off" | "wound-up" | "feed-reading" | "cuts-nothing" | "grid-too-coarse" => {
                Cost::Finish
            }
            _ => Cost::Piece,
        }
    }

    /// The class in a word.
    pub fn word(self) -> &'static str {
        match self {
            Cost::Person => "person",
            Cost::Machine => "machine",
            Cost::Cutter => "cutter",
            Cost::Piece => "piece",
            Cost::Finish => "finish",
        }
    }
}

/// Rules that name a mistake behind other findings.
const CAUSES: [&str; 6] =
    ["zero-height", "wrong-units", "wrong-rotary-word", "flat-program", "mirrored", "rezero-off-turn"];

/// The findings by cost, then by severity, causes before what comes of them, then in program order; equals keep theirs.
pub fn by_cost(findings: &[Finding]) -> Vec<&Finding> {
    let mut ordered: Vec<&Finding> = findings.iter().collect();
    let is_effect = |found: &Finding| !CAUSES.contains(&found.rule);
    ordered.sort_by_key(|found| {
        (Cost::of(found.rule), Reverse(found.severity), is_effect(found), found.program, found.lines)
    });
    ordered
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
            finding("loose-piece", Warning, 2),
            finding("gouge", Error, 2),
            finding("mirrored", Error, 5),
            finding("zero-height", Error, 6),
            finding("cutter-hits", Error, 1),
        ];
        let order: Vec<_> = by_cost(&findings).iter().map(|f| (f.rule, f.lines.unwrap().0)).collect();
        let rules = [
            ("zero-height", 6),
            ("cutter-hits", 1),
            ("loose-piece", 2),
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
