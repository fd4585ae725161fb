//! What the reader had to say of the programs.

use dryturn_program::Severity as Read;

use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (program, run) in evidence.job.programs.iter().enumerate() {
        findings.extend(run.program.diagnostics.iter().map(|diagnostic| Finding {
            program: Some(program),
            lines: Some((diagnostic.line, diagnostic.line)),
            text: diagnostic.message.clone(),
            cure: diagnostic.help.as_deref().unwrap_or_default().to_owned(),
            ..plain(diagnostic.kind.name(), severity(diagnostic.severity))
        }));
    }
    findings
}

fn severity(read: Read) -> Severity {
    match read {
        Read::Note => Severity::Note,
        Read::Warning => Severity::Warning,
        Read::Error => Severity::Error,
    }
}
