//! What the reader had to say of the programs.

use dryturn_program::{Diagnostic, Kind, Severity as Read};

use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::stretches::motions_of;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (program, run) in evidence.job.programs.iter().enumerate() {
        findings.extend(run.program.diagnostics.iter().map(|diagnostic| match diagnostic.kind {
            Kind::WrongLength => wrong_length(evidence, program, diagnostic),
            _ => said(program, diagnostic),
        }));
    }
    findings
}

fn said(program: usize, diagnostic: &Diagnostic) -> Finding {
    Finding {
        program: Some(program),
        lines: Some((diagnostic.line, diagnostic.line)),
        text: diagnostic.message.clone(),
        cure: diagnostic.help.as_deref().unwrap_or_default().to_owned(),
        ..plain(diagnostic.kind.name(), severity(diagnostic))
    }
}

/// The tip that hangs at the wrong height is that of the next block.
fn wrong_length(evidence: &Evidence<'_>, program: usize, diagnostic: &Diagnostic) -> Finding {
    let line_of = |block: &u32| evidence.job.line_of(*block);
    let mut moving = motions_of(evidence.job, program).map(|motion| motion.block);
    let block = moving.find(|block| line_of(block) >= diagnostic.line);
    let cutter = block.and_then(|block| evidence.job.cutter_index(block));
    let said = said(program, diagnostic);
    Finding {
        blocks: 1,
        cutter: cutter.and_then(|cutter| evidence.cutter_number(cutter)),
        place: block.and_then(|block| evidence.tip_place(block, 1.0)),
        text: sentence(&said.text),
        cure: sentence(&said.cure),
        ..said
    }
}

/// What the reader says in a phrase, as a sentence.
fn sentence(phrase: &str) -> String {
    let mut letters = phrase.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

fn severity(diagnostic: &Diagnostic) -> Severity {
    match diagnostic.severity {
        // The reading is certain, and so is that the cutter hangs at the wrong height.
        _ if diagnostic.kind == Kind::WrongLength => Severity::Error,
        Read::Note => Severity::Note,
        Read::Warning => Severity::Warning,
        Read::Error => Severity::Error,
    }
}
