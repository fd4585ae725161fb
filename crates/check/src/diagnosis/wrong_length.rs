//! `wrong-length`: the length of another cutter. The reader is certain of it; the other reading says what it costs.

use dryturn_carve::CarveError;
use dryturn_program::{Diagnostic, Kind};

use super::altered::{Change, Map};
use super::reading::Desk;
use super::words::Fit;
use crate::digits::mm;
use crate::evidence::capital;
use crate::finding::Finding;
use crate::rules::language::said;
use crate::stretches::motions_of;

pub(super) fn findings(desk: &Desk<'_>) -> Result<Vec<Finding>, CarveError> {
    let mut findings = Vec::new();
    for (program, run) in desk.evidence.job.programs.iter().enumerate() {
        for diagnostic in run.program.diagnostics.iter().filter(|diagnostic| diagnostic.kind == Kind::WrongLength) {
            findings.push(finding(desk, program, diagnostic)?);
        }
    }
    Ok(findings)
}

/// The tip that hangs at the wrong height is that of the next block.
fn finding(desk: &Desk<'_>, program: usize, diagnostic: &Diagnostic) -> Result<Finding, CarveError> {
    let job = desk.evidence.job;
    let mut moving = motions_of(job, program).map(|motion| motion.block);
    let block = moving.find(|block| job.line_of(*block) >= diagnostic.line);
    let said = said(program, diagnostic);
    let mut text = said.text.clone();
    if let Some(shift) = diagnostic.shift.filter(|shift| *shift != 0.0) {
        let side = if shift > 0.0 { "higher" } else { "lower" };
        text += &format!("; its tip stands {} {side} than Z says", mm(shift.abs()));
    }
    if let Some(fit) = fit(desk, program, block, diagnostic.shift)? {
        text += &format!("; with its own length {}", fit.told());
    }
    Ok(Finding {
        blocks: 1,
        cutter: block.and_then(|block| desk.evidence.cutter_number(job.cutter_index(block)?)),
        place: block.and_then(|block| desk.evidence.tip_place(block, 1.0)),
        value: diagnostic.shift,
        unit: diagnostic.shift.map(|_| "mm"),
        // The reader speaks in phrases.
        text: format!("{}.", capital(&text)),
        cure: format!("{}.", capital(&said.cure)),
        ..said
    })
}

/// How the piece would fit if the blocks of this cutter hung where Z says; `None` where that is not far better.
fn fit(desk: &Desk<'_>, program: usize, block: Option<u32>, shift: Option<f64>) -> Result<Option<Fit>, CarveError> {
    let job = desk.evidence.job;
    let Some((first, shift)) = block.zip(shift).filter(|_| job.target.is_some()) else { return Ok(None) };
    let end = job.blocks_of(program).end;
    let last = (first..end).find(|block| job.cutter_index(*block) != job.cutter_index(first)).unwrap_or(end);
    let [x, y, z, turn] = Map::SAME;
    let other = desk.read(vec![Change::of_places(first..last, [x, y, z.shifted(-shift), turn])])?;
    Ok(Fit::of(desk.as_given()?, &other).filter(|fit| fit.is_far_better(desk.ratio())))
}
