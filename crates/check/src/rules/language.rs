//! What the reader had to say of the programs.

use dryturn_geom::Axis;
use dryturn_program::{Diagnostic, Kind, Severity as Read};

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
            ..plain(diagnostic.kind.name(), severity(diagnostic))
        }));
        findings.extend((0..LETTERS.len()).filter_map(|word| wrong_rotary_word(evidence, program, word)));
    }
    findings
}

/// The words a program can move by, in the order blocks hold them.
const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];

/// A word that the program moves and that drives nothing in this scene: the blank does not turn as the program means.
fn wrong_rotary_word(evidence: &Evidence<'_>, program: usize, word: usize) -> Option<Finding> {
    let run = &evidence.job.programs[program];
    if run.frame.drive(word).is_some() {
        return None;
    }
    let mut moving = run.program.blocks.iter().filter(|block| block.to[word] != 0.0);
    let first = moving.next()?;
    let (last, blocks) = moving.fold((first, 1), |(_, count), block| (block, count + 1));
    let turned_by = (0..LETTERS.len())
        .filter(|&other| run.frame.drive(other).is_some_and(|drive| drive.axis == Axis::Turn))
        .map(|other| LETTERS[other])
        .next()
        .unwrap_or('A');
    Some(Finding {
        program: Some(program),
        lines: Some((first.line, last.line)),
        blocks,
        text: format!(
            "The program moves {}, but in this scene {turned_by} turns the blank: what {} does is left out.",
            LETTERS[word], LETTERS[word]
        ),
        cure: format!("Write rotary = \"{}\" under [machine] if that word turns the blank.", LETTERS[word]),
        ..plain("wrong-rotary-word", Severity::Error)
    })
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
