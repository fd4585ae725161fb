//! What stands in the way of the first cut.

use dryturn_check::{Severity, Verdict};

use crate::cost::by_cost;
use crate::run::Run;
use crate::summary::Tally;
use crate::text::plain;

/// Something that was found.
pub(super) struct Told {
    pub(super) mark: &'static str,
    pub(super) what: String,
    pub(super) place: String,
    pub(super) cure: String,
}

/// The verdict as a shape and a word.
pub(super) fn word(run: &Run) -> &'static str {
    match run.verdict {
        Verdict::Clear => "○ Clear",
        Verdict::Caution => "▲ Caution",
        Verdict::Stop => "■ Stop: do not run it yet",
    }
}

/// How much was found.
pub(super) fn tally(run: &Run) -> String {
    Tally::of(&run.findings).told()
}

/// Most that is told of what was found.
const MOST: usize = 6;

/// Errors and warnings that nobody has accepted, the dearest first, and how many more there are.
pub(super) fn open(run: &Run) -> (Vec<Told>, usize) {
    let grave = |found: &&dryturn_check::Finding| found.accepted.is_none() && found.severity > Severity::Note;
    let file = |program: usize| run.programs.get(program).map_or("", |program| program.file.as_str());
    let told = |found: &dryturn_check::Finding| Told {
        mark: if found.severity == Severity::Error { "■ error" } else { "▲ warning" },
        what: plain(&found.text),
        place: match (found.program, found.lines) {
            (Some(program), Some((first, _))) => {
                format!("{}:{}", plain(file(program)), found.worst_line.unwrap_or(first))
            }
            _ => String::new(),
        },
        cure: plain(&found.cure),
    };
    let found: Vec<_> = by_cost(&run.findings).into_iter().filter(grave).collect();
    let mut rows: Vec<Told> = found.iter().take(MOST).map(|found| told(found)).collect();
    // The same thing to do is said once, behind the last that it is for.
    for at in 1..rows.len() {
        if rows[at - 1].cure == rows[at].cure {
            rows[at - 1].cure.clear();
        }
    }
    (rows, found.len().saturating_sub(MOST))
}
