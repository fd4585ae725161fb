//! Findings that the scene accepts beforehand.
//!
//! Any finding can be accepted, one that may hurt someone too: whoever cuts into jaws of wood on purpose must be able to
//! describe them as they are and say so, or they would be left out of the scene. What is accepted stays in the report,
//! at its place in the order of cost, with the reason; it no longer counts for the verdict. An entry says as much as it
//! takes: with lines, only what lies wholly within them, so that a finding that grows beyond them is told again.

use dryturn_scene::{Accept, Scene};

use crate::evidence::{counted, plain};
use crate::finding::{Finding, Severity};

/// The findings, those that the scene accepts marked, and a note for each of its entries that matches none.
pub(crate) fn accepted(scene: &Scene, mut findings: Vec<Finding>) -> Vec<Finding> {
    let mut unused = Vec::new();
    for (index, entry) in scene.accept.iter().enumerate() {
        let mut met = 0;
        for found in findings.iter_mut().filter(|found| matches(entry, found)) {
            found.accepted.get_or_insert_with(|| entry.why.clone());
            met += 1;
        }
        if met == 0 {
            unused.push(left_behind(index + 1, entry, &findings));
        }
    }
    findings.extend(unused);
    findings
}

fn matches(entry: &Accept, found: &Finding) -> bool {
    let in_program = |program: u32| found.program.is_some_and(|index| index + 1 == program as usize);
    let within = |[first, last]: [u32; 2]| found.lines.is_some_and(|lines| first <= lines.0 && lines.1 <= last);
    found.rule == entry.rule && entry.program.is_none_or(in_program) && entry.lines.is_none_or(within)
}

fn left_behind(number: usize, entry: &Accept, findings: &[Finding]) -> Finding {
    let others: Vec<&Finding> =
        findings.iter().filter(|found| found.rule == entry.rule && found.accepted.is_none()).collect();
    let cure = match others.first() {
        None => "Take the entry out of the scene.".to_owned(),
        Some(first) => format!(
            "Take the entry out of the scene, or correct its program and lines: {} of that rule {} not accepted{}.",
            counted(others.len() as u32, "finding", "findings"),
            if others.len() == 1 { "is" } else { "are" },
            place_of(first)
        ),
    };
    Finding {
        text: format!(
            "Entry {number} of [[accept]], for {}{}, matches nothing that was found.",
            entry.rule,
            said(entry)
        ),
        cure,
        ..plain("accept-unused", Severity::Note)
    }
}

/// The program and the lines of an entry, as part of a sentence.
fn said(entry: &Accept) -> String {
    let program = entry.program.map(|program| format!(" in program {program}")).unwrap_or_default();
    let lines = entry.lines.map(|[first, last]| format!(" within lines {first} to {last}")).unwrap_or_default();
    program + &lines
}

fn place_of(found: &Finding) -> String {
    match (found.program, found.lines) {
        (Some(program), Some((first, last))) => {
            format!(", the first in program {}, lines {first} to {last}", program + 1)
        }
        _ => String::new(),
    }
}
