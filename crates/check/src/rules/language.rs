//! What the reader had to say of the programs.

use dryturn_program::{Diagnostic, Kind, Severity as Read};

use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (program, run) in evidence.job.programs.iter().enumerate() {
        // A wrong length is looked into by itself.
        let others = run.program.diagnostics.iter().filter(|diagnostic| diagnostic.kind != Kind::WrongLength);
        findings.extend(others.map(|diagnostic| said(program, diagnostic)));
    }
    findings
}

/// A remark of the reader as a finding.
pub(crate) fn said(program: usize, diagnostic: &Diagnostic) -> Finding {
    Finding {
        program: Some(program),
        lines: Some((diagnostic.line, diagnostic.line)),
        text: diagnostic.message.clone(),
        cure: diagnostic.help.as_deref().unwrap_or_default().to_owned(),
        ..plain(diagnostic.kind.name(), severity(diagnostic))
    }
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
