//! The strips: what each shows, and what is said over it.

use super::super::canvas::{Align, Colour};
use super::super::page::Page;
use super::super::style::{HUES, INK, SOFT_INK};
use super::curve::{Curve, Scale};
use super::{Clock, Edges, LEFT, RIGHT, TEXT};
use crate::course::rounded;
use crate::run::Load;
use crate::text::{number, short};
use dryturn_check::contact::FARTHEST;
use dryturn_check::{Ends, Moment};

/// Height of a strip, and of one in which nothing is known.
const TALL: f32 = 132.0;
const LOW: f32 = 40.0;
/// A limit is drawn up to so many times the greatest value: farther up it would press the curve flat.
const NEAR_LIMIT: f64 = 1.5;
/// Length of the dashes that stand for a limit, pixels.
const SAMPLE: f32 = 42.0;
/// Height of the bar where a value is 0, pixels.
const BAR: f32 = 7.0;

/// Bluish green, blue, vermilion, sky blue, orange, reddish purple.
const CLEARANCE: Colour = HUES[2];
const POWER: Colour = HUES[4];
const TORQUE: Colour = HUES[5];
const AXIAL: Colour = HUES[1];
const SPRING: Colour = HUES[0];
const RADIUS: Colour = HUES[6];

/// One strip.
pub(super) struct Strip {
    colour: Colour,
    heading: String,
    /// What is to be known beside that, at the right.
    aside: &'static str,
    curve: Curve,
    /// What is said where nothing is known.
    unknown: &'static str,
    /// The value at which the curve is cut off.
    cut_off: Option<f64>,
    /// What there is or what is allowed, and how that is told.
    limit: Option<(f64, String)>,
    /// Colour of a bar that stands where a single value is 0, and would not be seen.
    at_nought: Option<Colour>,
}

/// All strips from top to bottom.
pub(super) fn all(clock: &Clock<'_>) -> Vec<Strip> {
    let power = power(clock);
    let loads =
        if power.is_known() { vec![power, torque(clock), axial(clock), spring(clock)] } else { vec![no_loads()] };
    [clearance(clock)].into_iter().chain(loads).chain([radius(clock)]).collect()
}

impl Strip {
    fn is_known(&self) -> bool {
        self.curve.greatest().is_some()
    }

    pub(super) fn height(&self) -> f32 {
        if self.is_known() { TALL } else { LOW }
    }

    pub(super) fn draw(&self, page: &mut Page, clock: &Clock<'_>, edges: Edges) {
        let (top, bottom) = edges;
        let Some(greatest) = self.curve.greatest() else {
            self.head(page, top, None);
            let at = (LEFT + 23.0, 0.5 * (top + bottom) + 7.0);
            return page.write(self.unknown, at, Align::Left, TEXT, SOFT_INK, RIGHT - LEFT - 40.0);
        };
        let limit = self.limit.as_ref().filter(|(limit, _)| *limit <= NEAR_LIMIT * greatest);
        self.head(page, top, limit.map(|(_, told)| told.as_str()));
        let scale = Scale::over(edges, limit.map_or(greatest, |(limit, _)| limit.max(greatest)));
        scale.draw(page, self.cut_off);
        self.curve.draw(page, clock, &scale, self.colour);
        self.noughts(page, clock, bottom);
        if let Some((limit, _)) = limit {
            let y = scale.down(*limit);
            page.dashed(vec![(LEFT, y), (RIGHT, y)], 2.0, INK);
        }
    }

    /// The heading, and at the right what is to be known beside it: of a limit its line as well.
    fn head(&self, page: &mut Page, top: f32, limit: Option<&str>) {
        let base = top - 12.0;
        let aside = limit.unwrap_or(self.aside);
        let left = RIGHT - page.width_of(aside, TEXT);
        page.rectangle((LEFT, top - 26.0), (LEFT + 14.0, base), self.colour);
        page.write(&self.heading, (LEFT + 23.0, base), Align::Left, TEXT, INK, left - SAMPLE - LEFT - 60.0);
        page.write(aside, (RIGHT, base), Align::Right, TEXT, SOFT_INK, RIGHT - LEFT);
        if limit.is_some() {
            page.dashed(vec![(left - SAMPLE - 10.0, base - 6.0), (left - 10.0, base - 6.0)], 2.0, INK);
        }
    }

    fn noughts(&self, page: &mut Page, clock: &Clock<'_>, bottom: f32) {
        let (Some(colour), Curve::Steps(values)) = (self.at_nought, &self.curve) else { return };
        let slices: Vec<_> = clock.series.slices.iter().zip(values).collect();
        for run in slices.chunk_by(|(_, one), (_, other)| (**one == Some(0.0)) == (**other == Some(0.0))) {
            let (Some((first, Some(0.0))), Some((last, _))) = (run.first(), run.last()) else { continue };
            let from = clock.across(first.moment.time_s);
            let to = clock.across(last.moment.time_s + clock.series.step_s);
            page.rectangle((from, bottom - BAR), (to, bottom), colour);
        }
    }
}

fn clearance(clock: &Clock<'_>) -> Strip {
    let values = values(clock, |moment| moment.clearance_mm);
    let is_cut_off = values.iter().flatten().any(|value| *value >= FARTHEST);
    Strip {
        colour: CLEARANCE,
        heading: closest(clock),
        aside: if is_cut_off { "50 stands for 50 and more" } else { "" },
        curve: Curve::Steps(values),
        unknown: "not known: no two bodies are described",
        cut_off: is_cut_off.then_some(FARTHEST),
        limit: None,
        // Bodies that meet.
        at_nought: Some(HUES[5]),
    }
}

/// How near any two bodies come to each other.
fn closest(clock: &Clock<'_>) -> String {
    let name = "Clearance, mm";
    let pairs = clock.run.clearances.iter();
    let Some(pair) = pairs.min_by(|one, other| one.least_mm.total_cmp(&other.least_mm)) else {
        return name.to_owned();
    };
    let (bodies, place) = (format!("{} to {}", pair.moving, pair.fixed), clock.place(pair.program, pair.line));
    match number(pair.least_mm, 2) {
        _ if pair.least_mm >= FARTHEST => format!("{name}: nothing comes nearer than {}", short(FARTHEST)),
        least if pair.least_mm < 0.0 => format!("{name}: bodies meet, {bodies} {least}, {place}"),
        least => format!("{name}: {least} at the least, {bodies}, {place}"),
    }
}

/// What stands in place of all loads where none is known.
fn no_loads() -> Strip {
    Strip {
        colour: POWER,
        heading: "Power, torque, push along the axis, and how far wood and cutter spring apart".to_owned(),
        aside: "",
        curve: Curve::Steps(Vec::new()),
        unknown: "not known: this takes feeds, and a material whose cutting force is known",
        cut_off: None,
        limit: None,
        at_nought: None,
    }
}

/// A load: what it is called, its unit, how many of what the run counts make one of them, and what is said before and after
/// a limit of it.
struct Loaded<'a> {
    name: &'a str,
    unit: &'a str,
    scale: f64,
    limit: [&'a str; 2],
    unknown: &'static str,
    colour: Colour,
}

impl Loaded<'_> {
    fn strip(&self, clock: &Clock<'_>, greatest: Option<Load>, of: impl Fn(&Moment) -> Option<Ends>) -> Strip {
        let (name, unit, [before, after]) = (self.name, self.unit, self.limit);
        let told = |load: Load| {
            let [low, high] = load.range.map(|end| rounded(end / self.scale));
            format!("{name}, {unit}: {low} to {high} at the most, {}", clock.place(load.program, load.line))
        };
        let limit = greatest.and_then(|load| load.limit).map(|limit| limit / self.scale);
        Strip {
            colour: self.colour,
            heading: greatest.map_or_else(|| format!("{name}, {unit}"), told),
            aside: "",
            curve: Curve::Band(ranges(clock, |moment| of(moment).map(|ends| ends.map(|end| end / self.scale)))),
            unknown: self.unknown,
            cut_off: None,
            limit: limit.map(|limit| (limit, format!("{before}{} {unit}{after}", short(limit)))),
            at_nought: None,
        }
    }
}

fn power(clock: &Clock<'_>) -> Strip {
    let power = Loaded {
        name: "Power at the spindle",
        unit: "W",
        scale: 1.0,
        limit: ["the spindle has ", ""],
        unknown: "",
        colour: POWER,
    };
    power.strip(clock, clock.run.loads.power, |moment| moment.power)
}

/// N·m are easier to picture than N·mm.
fn torque(clock: &Clock<'_>) -> Strip {
    let torque = Loaded {
        name: "Torque about the axis",
        unit: "N·m",
        scale: 1000.0,
        limit: ["", " hold against it"],
        unknown: "not known: this takes a spindle speed",
        colour: TORQUE,
    };
    torque.strip(clock, clock.run.loads.torque, |moment| moment.torque)
}

fn axial(clock: &Clock<'_>) -> Strip {
    let axial = Loaded {
        name: "Push along the axis",
        unit: "N",
        scale: 1.0,
        limit: ["the center holds ", ""],
        unknown: "not known: this takes a spindle speed",
        colour: AXIAL,
    };
    axial.strip(clock, clock.run.loads.axial, |moment| moment.axial)
}

fn spring(clock: &Clock<'_>) -> Strip {
    let spring = Loaded {
        name: "Wood and cutter spring apart",
        unit: "mm",
        scale: 1.0,
        limit: ["", " are allowed"],
        unknown: "not known: this takes a spindle speed, a material whose stiffness is known, and what holds the blank",
        colour: SPRING,
    };
    spring.strip(clock, clock.run.loads.spring, |moment| moment.spring)
}

fn radius(clock: &Clock<'_>) -> Strip {
    Strip {
        colour: RADIUS,
        heading: "Radius at which wood is cut, mm".to_owned(),
        aside: "",
        curve: Curve::Steps(values(clock, |moment| moment.radius_mm)),
        unknown: "no wood is cut, or it is not known where",
        cut_off: None,
        limit: None,
        at_nought: None,
    }
}

fn values(clock: &Clock<'_>, of: impl Fn(&Moment) -> Option<f64>) -> Vec<Option<f64>> {
    clock.series.slices.iter().map(|slice| of(&slice.moment).filter(|value| value.is_finite())).collect()
}

fn ranges(clock: &Clock<'_>, of: impl Fn(&Moment) -> Option<Ends>) -> Vec<Option<Ends>> {
    let is_finite = |ends: &Ends| ends.iter().all(|end| end.is_finite());
    clock.series.slices.iter().map(|slice| of(&slice.moment).filter(is_finite)).collect()
}
