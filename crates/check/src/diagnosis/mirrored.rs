//! `mirrored`: a piece that is off its target and would fit far better turned the other way.

use dryturn_carve::{CarveError, is_block};
use dryturn_geom::{Motions, Turns};

use super::altered::{Change, Map};
use super::reading::Desk;
use super::words::Fit;
use super::work::Work;
use crate::evidence::{Met, plain};
use crate::finding::{Finding, Place, Severity};
use crate::target::{Kind, Patch};

/// One program alone is named where it accounts for the whole but for so large a part.
const ALL_BUT: f64 = 1.05;

pub(super) fn findings(desk: &Desk<'_>, works: &[Work]) -> Result<Vec<Finding>, CarveError> {
    let Some(comparison) = desk.evidence.target else { return Ok(Vec::new()) };
    let is_off = |patch: &&Patch| patch.kind != Kind::Short && !patch.is_out_of_reach;
    let Some(worst) = comparison.patches.iter().find(is_off) else { return Ok(Vec::new()) };
    let turning: Vec<&Work> = works.iter().filter(|work| work.turns).collect();
    if turning.is_empty() {
        return Ok(Vec::new());
    }
    let mut best = (fit_of(desk, &turning)?, (turning.len() == 1).then(|| turning[0]));
    for work in turning.iter().filter(|_| turning.len() > 1) {
        let fit = fit_of(desk, &[work])?;
        if fit.other <= ALL_BUT * best.0.other.min(fit.other) && best.1.is_none_or(|_| fit.other < best.0.other) {
            best = (fit, Some(work));
        }
    }
    let (fit, work) = best;
    let share = desk.evidence.job.scene.checks.mirrored.share;
    let removed = desk.evidence.carved.removed_mm3(0..desk.evidence.job.count());
    let is_told = fit.is_far_better(desk.ratio()) && fit.given - fit.other > share * removed;
    Ok(is_told.then(|| finding(desk, fit, work, place_of(desk, worst))).into_iter().collect())
}

/// How the piece would fit with these programs turned the other way.
fn fit_of(desk: &Desk<'_>, works: &[&Work]) -> Result<Fit, CarveError> {
    let job = desk.evidence.job;
    let mirrored = |work: &&Work| {
        let [x, y, z, turn] = Map::SAME;
        let round = turn.about(job.programs[work.program].frame.zero.turn, -1.0);
        Change::of_words(job, job.blocks_of(work.program), [x, y, z, round])
    };
    let changes: Vec<Change> = works.iter().map(mirrored).collect();
    let other = desk.read(changes)?;
    let same = Fit { given: 0.0, other: 0.0 };
    Ok(Fit::of(desk.as_given()?, &other).unwrap_or(same))
}

fn place_of(desk: &Desk<'_>, patch: &Patch) -> Place {
    let [station, theta, radius] = [patch.worst.station, patch.worst.theta, patch.worst.radius].map(f64::from);
    let block = Some(patch.worst.by).filter(|block| is_block(*block));
    desk.evidence.place_on_ray(block, station, theta, radius, Met::OnTop)
}

fn finding(desk: &Desk<'_>, fit: Fit, work: Option<&Work>, place: Place) -> Finding {
    let other = match desk.evidence.job.scene.machine.turns {
        Turns::Iso => "reversed",
        Turns::Reversed => "iso",
    };
    let over = match work {
        Some(work) => desk.evidence.over("mirrored", Severity::Error, &work.stretch),
        None => plain("mirrored", Severity::Error),
    };
    Finding {
        place: Some(place),
        value: Some(fit.given - fit.other),
        unit: Some("mm³"),
        text: format!("The piece comes out mirrored: turned the other way {}.", fit.told()),
        cure: format!(
            "Write turns = \"{other}\" under [machine] if the machine turns that way; if not, post the program for the \
             other direction."
        ),
        ..over
    }
}
