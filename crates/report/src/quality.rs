//! Findings as GitLab takes them for its code quality reports: a JSON list.
//!
//! What a scene accepts is left out: the list has no place to say so.

use dryturn_check::{Cost, Severity};
use serde::Serialize;

use crate::json::{JsonError, written};
use crate::outcome::{Outcome, Refusal, Told, refusal_fingerprint, told};
use crate::text::plain;

#[derive(Serialize)]
struct Row<'a> {
    description: String,
    check_name: &'a str,
    fingerprint: String,
    severity: &'static str,
    location: Location<'a>,
}

#[derive(Serialize)]
struct Location<'a> {
    path: &'a str,
    lines: Lines,
}

#[derive(Serialize)]
struct Lines {
    begin: u64,
    end: u64,
}

/// The text of the list.
///
/// # Errors
///
/// None: it holds no number that could be infinite.
pub fn quality(outcomes: &[Outcome]) -> Result<String, JsonError> {
    let refused = outcomes.iter().filter_map(|outcome| outcome.result.as_ref().err()).flatten().map(refused);
    let all = told(outcomes);
    let rows: Vec<Row<'_>> = refused.chain(all.iter().filter(|told| told.found.accepted.is_none()).map(row)).collect();
    written(&rows)
}

fn refused(refusal: &Refusal) -> Row<'_> {
    let line = refusal.line.unwrap_or(1) as u64;
    Row {
        description: plain(&refusal.text),
        check_name: "not-proved",
        fingerprint: refusal_fingerprint(refusal),
        severity: "blocker",
        location: Location { path: &refusal.file.path, lines: Lines { begin: line, end: line } },
    }
}

fn row<'a>(told: &Told<'a>) -> Row<'a> {
    let (first, last) = told.lines();
    Row {
        description: plain(format!("{} {}", told.found.text, told.found.cure).trim_end()),
        check_name: told.found.rule,
        fingerprint: told.fingerprint.clone(),
        severity: match (told.found.severity, Cost::of(told.found.rule)) {
            (Severity::Error, Cost::Person | Cost::Machine) => "blocker",
            (Severity::Error, _) => "critical",
            (Severity::Warning, _) => "major",
            (Severity::Note, _) => "info",
        },
        location: Location { path: &told.file.path, lines: Lines { begin: first.into(), end: last.into() } },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn each_row_has_what_is_asked_for() {
        let text = quality(&[sample::outcome(), sample::refused()]).unwrap();
        let rows: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(rows.as_array().unwrap().len(), 2);
        assert_eq!((&rows[0]["severity"], &rows[0]["location"]["lines"]["begin"]), (&"blocker".into(), &3.into()));
        assert_eq!(rows[1]["check_name"], "holder-hits");
        assert_eq!(rows[1]["location"]["path"], "scenes/reel/groove.nc");
        assert_ne!(rows[0]["fingerprint"], rows[1]["fingerprint"]);
    }
}
