//! `wrong-units`: numbers that are in the other unit, by what they are beside the blank.
//!
//! Read as millimetres, a program in inches shrinks to a twenty-fifth: with its zero on the axis it never comes out of the
//! wood, with its zero on the surface it creeps over a few millimetres. Read as inches, one in millimetres runs far off
//! the blank. The blank itself may be the one in the wrong unit; its cutters then are too.

use dryturn_carve::CarveError;
use dryturn_geom::Wrap;
use dryturn_geom::units::LengthUnit;

use super::altered::{Change, Map};
use super::reading::{Deeds, Desk, Reading};
use super::words::{Fit, volume};
use super::work::Work;
use crate::digits::short;
use crate::finding::{Finding, Severity};

/// A program shorter than this part of the blank may be in inches: half way between the units, as ratios go, and some.
const SHORT: f64 = 12.0;
/// Feeds of programs in inches stay below this, those in millimetres seldom do (common practice, no source), mm/min.
const SLOW: f64 = 100.0;
/// Programs in millimetres retract farther over the surface than this, mm; in inches it is far enough.
const RETRACT: f64 = 1.6;
/// Cutters outside these diameters are in the wrong unit, mm.
const CUTTERS: [f64; 2] = [0.8, 60.0];

/// What the numbers seem to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Really {
    Inches,
    Millimetres,
}

impl Really {
    /// What the lengths grow by.
    fn factor(self) -> f64 {
        match self {
            Really::Inches => LengthUnit::Inch.in_mm(),
            Really::Millimetres => 1.0 / LengthUnit::Inch.in_mm(),
        }
    }
}

pub(super) fn findings(desk: &Desk<'_>, works: &[Work]) -> Result<Vec<Finding>, CarveError> {
    let suspects: Vec<(&Work, Really)> = works.iter().filter_map(|work| Some((work, seems(desk, work)?))).collect();
    if suspects.is_empty() {
        return Ok(Vec::new());
    }
    let changes: Vec<Change> = suspects.iter().map(|(work, really)| change(desk, work, really.factor())).collect();
    let other = desk.read(changes)?;
    let given = desk.as_given()?;
    Ok(suspects.iter().filter_map(|(work, really)| compared(desk, work, *really, [given, &other])).collect())
}

fn change(desk: &Desk<'_>, work: &Work, factor: f64) -> Change {
    let job = desk.evidence.job;
    let frame = &job.programs[work.program].frame;
    let [x, y, z, turn] = Map::SAME;
    let turn = match frame.wrap {
        Wrap::Rotary(_) => turn,
        Wrap::Across { .. } => turn.about(frame.zero.turn, factor),
    };
    let zero = frame.zero;
    let maps = [x.about(zero.x, factor), y.about(zero.y, factor), z.about(zero.z, factor), turn];
    Change::of_words(job, job.blocks_of(work.program), maps)
}

/// What the numbers alone say, before anything is tried. A program that says itself that they are what they seem was read
/// so; then only the scene can be at fault.
fn seems(desk: &Desk<'_>, work: &Work) -> Option<Really> {
    let facts = &desk.evidence.job.programs[work.program].program.facts;
    let numbers = by_numbers(desk, work)?;
    let is_said = match numbers {
        Really::Inches => facts.inch,
        Really::Millimetres => facts.millimetres,
    };
    (!is_said || is_scene_at_fault(desk, numbers)).then_some(numbers)
}

fn by_numbers(desk: &Desk<'_>, work: &Work) -> Option<Really> {
    let job = desk.evidence.job;
    let stock = job.scene.stock();
    let length = work.along[1] - work.along[0];
    if work.share(work.far_off) > 0.5 && !is_off_across_alone(desk, work) {
        return fits(desk, work, Really::Millimetres.factor()).then_some(Really::Millimetres);
    }
    let is_small = length * SHORT < stock.length && fits(desk, work, Really::Inches.factor());
    (is_small && (never_clears(desk, work) || creeps(desk, work))).then_some(Really::Inches)
}

/// Whether the program is far off the blank only to its sides while that never turns: a drawing that is not wound on, whose
/// stations say that its unit is right.
fn is_off_across_alone(desk: &Desk<'_>, work: &Work) -> bool {
    let stock = desk.evidence.job.scene.stock();
    let radius = stock.swept_radius();
    let is_along = work.along[0] >= stock.start - radius && work.along[1] <= stock.end() + radius;
    !work.turns && is_along && work.heights[1] <= 2.0 * radius
}

/// Whether the program lies on the blank when its lengths grow by a factor, and rises above it.
fn fits(desk: &Desk<'_>, work: &Work, factor: f64) -> bool {
    let job = desk.evidence.job;
    let (stock, zero) = (job.scene.stock(), job.programs[work.program].frame.zero);
    let radius = stock.swept_radius();
    let grown = |value: f64, zero: f64| zero + factor * (value - zero);
    let [first, last] = work.along.map(|station| grown(station, zero.x));
    let [low, high] = work.heights.map(|height| grown(height, zero.z));
    let on_length = first >= stock.start - radius && last <= stock.end() + radius;
    on_length && low >= -1.2 * radius && high <= 2.0 * radius && grown(work.top, zero.z) >= 0.95 * radius
}

/// Whether the program never rises out of the wood.
fn never_clears(desk: &Desk<'_>, work: &Work) -> bool {
    work.top < 0.9 * desk.evidence.job.scene.swept_radius()
}

/// Whether it goes at a feed and with a retract of inches, and does not say which unit it is in.
fn creeps(desk: &Desk<'_>, work: &Work) -> bool {
    let run = &desk.evidence.job.programs[work.program];
    let slow = work.feed > 0.0 && work.feed < SLOW;
    slow && run.program.facts.units.is_none() && work.top - run.frame.zero.z < RETRACT
}

fn compared(desk: &Desk<'_>, work: &Work, really: Really, [given, other]: [&Reading; 2]) -> Option<Finding> {
    let job = desk.evidence.job;
    let fit = Fit::of(given, other);
    let deeds = [given, other].map(|reading| reading.deeds(job, job.blocks_of(work.program)));
    let severity = match fit {
        Some(fit) if fit.is_no_better() => return None,
        Some(fit) if fit.is_far_better(desk.ratio()) => Severity::Error,
        // Small work that says its unit is more likely than a program that says the wrong one.
        _ if really == Really::Inches && is_stated(desk, work) => {
            by_deeds(desk.ratio(), really, deeds).map(|_| Severity::Warning)?
        }
        _ => by_deeds(desk.ratio(), really, deeds)?,
    };
    let stock = job.scene.stock();
    let size = format!("⌀{} × {}", short(2.0 * stock.corner_radius()), short(stock.length));
    let length = short(work.along[1] - work.along[0]);
    let [low, high] = work.heights.map(short);
    let told = fit.map_or_else(|| told(deeds), |fit| fit.told());
    let unit = if really == Really::Inches { "inches" } else { "millimetres" };
    Some(Finding {
        place: desk.evidence.tip_place(work.stretch.first, 1.0),
        value: Some(work.along[1] - work.along[0]),
        unit: Some("mm"),
        text: format!(
            "As read, the program works over {length} mm along a blank of {size} mm, {low} to {high} mm over the axis{}; \
             with its numbers in {unit} {told}.",
            if work.feed > 0.0 { format!(" and at F {}", short(work.feed)) } else { String::new() },
        ),
        cure: cure(desk, really),
        ..desk.evidence.over("wrong-units", severity, &work.stretch)
    })
}

/// Whether a program says that it is in millimetres, and the scene is sound.
fn is_stated(desk: &Desk<'_>, work: &Work) -> bool {
    let facts = &desk.evidence.job.programs[work.program].program.facts;
    facts.millimetres && !facts.inch && !is_scene_at_fault(desk, Really::Inches)
}

/// What the wood alone says.
fn by_deeds(ratio: f64, really: Really, [given, other]: [Deeds; 2]) -> Option<Severity> {
    let confirms = match really {
        Really::Inches => given.are_wrong() || given.fed == 0.0,
        Really::Millimetres => other.fed > ratio * given.fed,
    };
    other.make_sense().then_some(if confirms { Severity::Error } else { Severity::Warning })
}

fn told([given, other]: [Deeds; 2]) -> String {
    let rapids =
        if given.by_rapids > 0.0 { format!(" and {} in rapids", volume(given.by_rapids)) } else { String::new() };
    format!("it would take {} at feed instead of {}{rapids}", volume(other.fed), volume(given.fed))
}

/// The scene is at fault where its cutters are no cutters.
fn is_scene_at_fault(desk: &Desk<'_>, really: Really) -> bool {
    let mut diameters = desk.evidence.job.scene.cutters.iter().map(|cutter| 2.0 * cutter.flutes.radius());
    match really {
        Really::Inches => diameters.any(|diameter| diameter > CUTTERS[1]),
        Really::Millimetres => diameters.any(|diameter| diameter < CUTTERS[0]),
    }
}

fn cure(desk: &Desk<'_>, really: Really) -> String {
    match really {
        Really::Inches if is_scene_at_fault(desk, really) => {
            "Write units = \"mm\" in the scene: its sizes are in millimetres.".into()
        }
        Really::Millimetres if is_scene_at_fault(desk, really) => {
            "Write units = \"inch\" in the scene: its sizes are in inches.".into()
        }
        Really::Inches => {
            "Put G20 at the head of the program if its numbers are in inches; if not, check units and the \
                           sizes of the scene."
                .into()
        }
        Really::Millimetres => {
            "Put G21 at the head of the program, in place of any G20, if its numbers are in millimetres; \
                                if not, check units and the sizes of the scene."
                .into()
        }
    }
}
