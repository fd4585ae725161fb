//! `flat-program`: a program that never turns the blank.

use dryturn_carve::CarveError;
use dryturn_geom::{Along, Turns, Wrap};

use super::altered::{ACROSS, Change, Map};
use super::reading::Desk;
use super::words::{Fit, volume};
use super::work::Work;
use crate::digits::{mm, short};
use crate::finding::{Finding, Severity};

/// Share of the way beside the blank that is no overrun.
const BESIDE: f64 = 0.1;
/// How near a width is to the blank's circumference that is meant to go round it.
const ROUND: f64 = 0.1;

pub(super) fn findings(desk: &Desk<'_>, works: &[Work]) -> Result<Vec<Finding>, CarveError> {
    let job = desk.evidence.job;
    let is_flat = |work: &&Work| {
        let indexed = job.scene.programs.get(work.program).is_some_and(|entry| entry.indexed);
        !work.turns && !indexed && matches!(job.programs[work.program].frame.wrap, Wrap::Rotary(_))
    };
    let flat: Vec<&Work> = works.iter().filter(is_flat).collect();
    let (wide, narrow): (Vec<&Work>, Vec<&Work>) = flat.into_iter().partition(|work| is_unwrapped(desk, work));
    let mut findings = wide.into_iter().map(|work| unwrapped(desk, work)).collect::<Result<Vec<_>, _>>()?;
    // Beside programs that turn the blank, one that does not is a step like any other.
    if works.iter().all(|work| !work.turns) && findings.is_empty() {
        findings.extend(narrow.first().map(|work| never_turns(desk, work)));
    }
    Ok(findings)
}

/// Whether it goes too far across to be meant for a blank that stands still.
fn is_unwrapped(desk: &Desk<'_>, work: &Work) -> bool {
    let diameter = 2.0 * desk.evidence.job.scene.swept_radius();
    let (width, around) = (width(work), std::f64::consts::PI * diameter);
    (width - around).abs() <= ROUND * around || (width > diameter && work.share(work.beside) >= BESIDE)
}

fn width(work: &Work) -> f64 {
    work.across[1] - work.across[0]
}

fn unwrapped(desk: &Desk<'_>, work: &Work) -> Result<Finding, CarveError> {
    let job = desk.evidence.job;
    let zero = job.programs[work.program].frame.zero;
    let diameter = 2.0 * job.scene.stock().corner_radius();
    let sense = if job.scene.machine.turns == Turns::Iso { 1.0 } else { -1.0 };
    let around = -sense * 2.0 / diameter;
    let [x, y, z, _] = Map::SAME;
    let turn = Map::of(ACROSS, around, zero.turn - around * zero.y);
    let change = Change::of_words(job, job.blocks_of(work.program), [x, y.about(zero.y, 0.0), z, turn]);
    let (other, given) = (desk.read(vec![change])?, desk.as_given()?);
    let [given_takes, other_takes] = [given, &other].map(|it| volume(it.deeds(job, job.blocks_of(work.program)).fed));
    let told = match Fit::of(given, &other) {
        Some(fit) => fit.told(),
        None => format!("it would take {other_takes} of wood instead of {given_takes}"),
    };
    let letter = if job.scene.machine.along == Along::X { "Y" } else { "X" };
    Ok(Finding {
        place: desk.evidence.tip_place(work.stretch.first, 1.0),
        value: Some(width(work)),
        unit: Some("mm"),
        text: format!(
            "The program never turns the blank and spans {} across a blank of {}, as a drawing does that is not wound on; \
             wound on {told}.",
            mm(width(work)),
            mm(diameter),
        ),
        cure: format!(
            "Write rotary = \"{letter}\" and wrap_diameter = {} under [machine] to wind it on, or post it with a rotary \
             word; for work on a blank that stands still, write indexed = true.",
            short(diameter)
        ),
        ..desk.evidence.over("flat-program", Severity::Error, &work.stretch)
    })
}

fn never_turns(desk: &Desk<'_>, work: &Work) -> Finding {
    Finding {
        place: desk.evidence.tip_place(work.stretch.first, 1.0),
        value: Some(width(work)),
        unit: Some("mm"),
        text: format!("Nothing turns the blank in this job, and the program spans {} across.", mm(width(work))),
        cure: "Write indexed = true for the program if it is meant to work on one side.".to_owned(),
        ..desk.evidence.over("flat-program", Severity::Note, &work.stretch)
    }
}
