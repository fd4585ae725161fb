//! `zero-height`: a program written for a Z zero on the surface run with the zero on the axis, or the reverse.
//!
//! A program zeroed on the surface works at or under its zero, one zeroed on the axis at radii above it. What tells is not
//! an extreme, since a hole right through goes below the axis and every program rises above the wood, but where nearly
//! all of the way lies. Blind work below the axis is rare, and work above the blank is none.

use dryturn_carve::CarveError;

use super::altered::{Change, Map};
use super::reading::{Deeds, Desk, Reading};
use super::words::{Fit, volume};
use super::work::{ROUNDING, Work};
use crate::digits::{mm, short};
use crate::finding::{Finding, Severity};

/// So large a share of the way on the wrong side asks for a closer look.
const NEARLY_ALL: f64 = 0.9;

/// Where a program's Z0 seems to have been meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Meant {
    Surface,
    Axis,
}

/// A height for Z0 that may have been meant, and what to write for it.
struct Height {
    over_axis: f64,
    place: &'static str,
    key: &'static str,
}

pub(super) fn findings(desk: &Desk<'_>, works: &[Work]) -> Result<Vec<Finding>, CarveError> {
    let mut findings = Vec::new();
    for meant in [Meant::Surface, Meant::Axis] {
        let suspects: Vec<&Work> = works.iter().filter(|work| seems(desk, work) == Some(meant)).collect();
        if suspects.is_empty() {
            continue;
        }
        let mut best: Vec<Finding> = Vec::new();
        for height in heights(desk, meant) {
            let found = tried(desk, &suspects, meant, &height)?;
            if weight(&found) > weight(&best) {
                best = found;
            }
        }
        findings.extend(best);
    }
    Ok(findings)
}

fn weight(findings: &[Finding]) -> usize {
    findings.iter().map(|finding| if finding.severity == Severity::Error { 1000 } else { 1 }).sum()
}

fn zero_of(desk: &Desk<'_>, work: &Work) -> f64 {
    desk.evidence.job.programs[work.program].frame.zero.z
}

/// What the heights alone say, before anything is tried.
fn seems(desk: &Desk<'_>, work: &Work) -> Option<Meant> {
    let (zero, radius) = (zero_of(desk, work), desk.evidence.job.scene.swept_radius());
    let is_low = work.over_axis > 0.0 && work.below_axis >= NEARLY_ALL * work.over_axis;
    if zero < 0.25 * radius && is_low && work.heights[0] < -ROUNDING && work.heights[0] > -radius {
        return Some(Meant::Surface);
    }
    (zero > 0.5 * radius && work.share(work.in_air) >= NEARLY_ALL).then_some(Meant::Axis)
}

fn heights(desk: &Desk<'_>, meant: Meant) -> Vec<Height> {
    let stock = desk.evidence.job.scene.stock();
    let (corner, flat) = (stock.corner_radius(), stock.flat_radius());
    let on = |over_axis, place, key| Height { over_axis, place, key };
    match meant {
        Meant::Axis => vec![on(0.0, "the axis", "\"axis\"")],
        Meant::Surface if flat < corner => {
            vec![on(flat, "a flat", "{ flat = true }"), on(corner, "the surface", "\"surface\"")]
        }
        Meant::Surface => vec![on(corner, "the surface", "\"surface\"")],
    }
}

fn tried(desk: &Desk<'_>, suspects: &[&Work], meant: Meant, height: &Height) -> Result<Vec<Finding>, CarveError> {
    let job = desk.evidence.job;
    let changes: Vec<Change> = suspects
        .iter()
        .map(|work| {
            let [x, y, z, turn] = Map::SAME;
            let lifted = z.shifted(height.over_axis - zero_of(desk, work));
            Change::of_words(job, job.blocks_of(work.program), [x, y, lifted, turn])
        })
        .collect();
    let other = desk.read(changes)?;
    let given = desk.as_given()?;
    let is_all = suspects.len() == job.programs.len();
    Ok(suspects.iter().filter_map(|work| compared(desk, work, meant, height, [given, &other], is_all)).collect())
}

fn compared(
    desk: &Desk<'_>,
    work: &Work,
    meant: Meant,
    height: &Height,
    [given, other]: [&Reading; 2],
    is_all: bool,
) -> Option<Finding> {
    let job = desk.evidence.job;
    let fit = Fit::of(given, other);
    let deeds = [given, other].map(|reading| reading.deeds(job, job.blocks_of(work.program)));
    let parts = job.scene.programs.get(work.program).is_some_and(|entry| entry.parts.is_some());
    let severity = match fit {
        Some(fit) if fit.is_no_better() => return None,
        Some(fit) if fit.is_far_better(desk.ratio()) => Severity::Error,
        // Where parting is meant the tip may run below the axis.
        _ if parts => return None,
        _ => by_deeds(desk.ratio(), meant, deeds)?,
    };
    let zero = zero_of(desk, work);
    let median = work.median_height(job) - zero;
    let [low, high] = work.heights.map(|height| height - zero);
    let heights = if high - low < ROUNDING {
        format!("Z {} mm", short(low))
    } else {
        format!("Z {} to {} mm (median {})", short(low), short(high), short(median))
    };
    let told = fit.map_or_else(|| told(meant, deeds), |fit| fit.told());
    Some(Finding {
        place: desk.evidence.tip_place(work.stretch.first, 1.0),
        value: Some(median),
        unit: Some("mm"),
        text: format!(
            "The program cuts at {heights}, while Z0 lies {}; with Z0 on {} {told}.",
            standing(zero),
            height.place,
        ),
        cure: if is_all {
            format!("Write z = {} under [zero], or post the program for the zero as it is set.", height.key)
        } else {
            format!("Write zero = {{ z = {} }} for this program, or post it for the zero as it is set.", height.key)
        },
        ..desk.evidence.over("zero-height", severity, &work.stretch)
    })
}

fn standing(zero: f64) -> String {
    if zero.abs() < ROUNDING { "on the axis".to_owned() } else { format!("{} over the axis", mm(zero)) }
}

/// What the wood alone says.
fn by_deeds(ratio: f64, meant: Meant, [given, other]: [Deeds; 2]) -> Option<Severity> {
    let (confirms, hints) = match meant {
        Meant::Surface => {
            (given.are_wrong() || other.fed > ratio * given.fed, given.fed > ratio * other.fed && other.fed > 0.0)
        }
        Meant::Axis => (other.fed > ratio * given.fed, false),
    };
    match other.make_sense() {
        true if confirms => Some(Severity::Error),
        true if hints => Some(Severity::Warning),
        _ => None,
    }
}

fn told(meant: Meant, [given, other]: [Deeds; 2]) -> String {
    let taken = volume(other.fed);
    match meant {
        Meant::Axis => format!("it would take {taken} of wood instead of {}", volume(given.fed)),
        Meant::Surface if given.past_axis => {
            format!("it would take {taken} and stay above the axis instead of cutting past it")
        }
        Meant::Surface if given.are_wrong() => format!(
            "it would take {taken} and none in rapids, instead of {} at feed and {} in rapids",
            volume(given.fed),
            volume(given.by_rapids)
        ),
        Meant::Surface => format!("it would take {taken} instead of {}", volume(given.fed)),
    }
}
