//! The strips: a scale of values each, and what goes on in it.

use super::super::canvas::{Align, Colour, mixed};
use super::super::layout::{decimals, multiples, round_step};
use super::super::page::{At, Page};
use super::super::style::{BODY, HUES, INK, PAPER, RULE, SOFT_INK};
use super::{Clock, LEFT, RIGHT};
use crate::course::rounded;
use crate::run::Load;
use crate::text::{number, short};
use dryturn_check::{Ends, Moment};

/// Least distances are looked for up to this, mm.
const FARTHEST: f64 = 50.0;

/// Bluish green, blue, vermilion, reddish purple.
const CLEARANCE: Colour = HUES[2];
const POWER: Colour = HUES[4];
const TORQUE: Colour = HUES[5];
const RADIUS: Colour = HUES[6];

/// A scale of values from 0 up.
struct Scale {
    top: f32,
    height: f32,
    greatest: f64,
}

impl Scale {
    /// With some room over the greatest of the values.
    fn over(top: f32, height: f32, values: impl Iterator<Item = f64>) -> Scale {
        let greatest = values.filter(|value| value.is_finite()).fold(0.0, f64::max);
        Scale { top, height, greatest: if greatest > 0.0 { greatest * 1.08 } else { 1.0 } }
    }

    fn down(&self, value: f64) -> f32 {
        self.bottom() - self.height * (value / self.greatest).clamp(0.0, 1.0) as f32
    }

    fn bottom(&self) -> f32 {
        self.top + self.height
    }

    fn step(&self) -> f64 {
        round_step(self.greatest / 5.0)
    }

    fn rules(&self, page: &mut Page) {
        for value in multiples(self.step(), 0.0, self.greatest) {
            let y = self.down(value);
            page.line(vec![(LEFT, y), (RIGHT, y)], 1.0, mixed(PAPER, RULE, 90));
        }
    }

    /// The numbers, at the left or the right end.
    fn numbers(&self, page: &mut Page, is_left: bool, colour: Colour) {
        for value in multiples(self.step(), 0.0, self.greatest) {
            let (x, align) = if is_left { (LEFT - 10.0, Align::Right) } else { (RIGHT + 10.0, Align::Left) };
            let written = number(value, decimals(self.step()));
            page.write(&written, (x, self.down(value) + 5.0), align, BODY, colour, 84.0);
        }
    }
}

pub(super) fn clearance(page: &mut Page, clock: &Clock<'_>, top: f32, height: f32) {
    let values = values(clock, |moment| moment.clearance_mm);
    let known = || values.iter().copied().flatten();
    let scale = Scale::over(top, height, known());
    scale.rules(page);
    let Some(least) = known().reduce(f64::min) else {
        heading(page, top, "Clearance, mm", CLEARANCE);
        return unknown(page, top, height, "not known: no two bodies are described");
    };
    let at = values.iter().position(|value| *value == Some(least)).and_then(|at| clock.series.slices.get(at));
    let place = at.map(|slice| clock.place(slice.program, slice.line)).unwrap_or_default();
    let told = match least {
        least if least >= FARTHEST => format!("Clearance, mm: nothing comes nearer than {}", short(FARTHEST)),
        least => format!("Clearance, mm: {} at the least, near {place}", number(least, 1)),
    };
    heading(page, top, &told, CLEARANCE);
    steps(page, clock, &scale, &values, CLEARANCE);
    scale.numbers(page, true, INK);
}

pub(super) fn load(page: &mut Page, clock: &Clock<'_>, top: f32, height: f32) {
    let (power, torque) = (ranges(clock, |moment| moment.power), ranges(clock, |moment| moment.torque));
    let high = |ranges: &[Option<Ends>]| -> Vec<f64> { ranges.iter().flatten().map(|ends| ends[1]).collect() };
    let scale = Scale::over(top, height, high(&power).into_iter());
    // N·m are easier to picture than N·mm.
    let turning = Scale::over(top, height, high(&torque).into_iter().map(|end| end / 1000.0));
    scale.rules(page);
    let loads = &clock.run.loads;
    let (told, other) = (
        greatest(clock, "Power at the spindle, W", loads.power, 1.0),
        greatest(clock, "Torque about the axis, N·m (drawn: the high end)", loads.torque, 1000.0),
    );
    heading(page, top, &told, POWER);
    page.write(&other, (RIGHT, top - 12.0), Align::Right, BODY, TORQUE, 0.5 * (RIGHT - LEFT) - 20.0);
    if high(&power).is_empty() && high(&torque).is_empty() {
        let told = "not known: this takes a material whose cutting force is known, feeds and a spindle speed";
        return unknown(page, top, height, told);
    }
    band(page, clock, &scale, &power);
    let torque: Vec<Option<f64>> = torque.iter().map(|ends| ends.map(|ends| ends[1] / 1000.0)).collect();
    for points in runs(clock, &turning, &torque) {
        page.line(points, 1.5, TORQUE);
    }
    if !high(&power).is_empty() {
        scale.numbers(page, true, POWER);
    }
    if torque.iter().any(Option::is_some) {
        turning.numbers(page, false, TORQUE);
    }
}

pub(super) fn radius(page: &mut Page, clock: &Clock<'_>, top: f32, height: f32) {
    let values = values(clock, |moment| moment.radius_mm);
    let scale = Scale::over(top, height, values.iter().copied().flatten());
    scale.rules(page);
    heading(page, top, "Radius at which wood is cut, mm", RADIUS);
    if values.iter().all(Option::is_none) {
        return unknown(page, top, height, "no wood is cut, or it is not known where");
    }
    steps(page, clock, &scale, &values, RADIUS);
    scale.numbers(page, true, INK);
}

/// What a load comes to at the most, and where.
fn greatest(clock: &Clock<'_>, name: &str, load: Option<Load>, unit: f64) -> String {
    let Some(load) = load else { return name.to_owned() };
    let [low, high] = load.range.map(|end| rounded(end / unit));
    format!("{name}: {low} to {high} at the most, {}", clock.place(load.program, load.line))
}

fn heading(page: &mut Page, top: f32, written: &str, colour: Colour) {
    page.rectangle((LEFT, top - 23.0), (LEFT + 12.0, top - 11.0), colour);
    page.write(written, (LEFT + 20.0, top - 12.0), Align::Left, BODY, INK, 0.5 * (RIGHT - LEFT) - 20.0);
}

fn unknown(page: &mut Page, top: f32, height: f32, written: &str) {
    let at = (0.5 * (LEFT + RIGHT), top + 0.5 * height + 5.0);
    page.write(written, at, Align::Center, BODY, SOFT_INK, RIGHT - LEFT);
}

fn values(clock: &Clock<'_>, of: impl Fn(&Moment) -> Option<f64>) -> Vec<Option<f64>> {
    clock.series.slices.iter().map(|slice| of(&slice.moment).filter(|value| value.is_finite())).collect()
}

fn ranges(clock: &Clock<'_>, of: impl Fn(&Moment) -> Option<Ends>) -> Vec<Option<Ends>> {
    let is_finite = |ends: &Ends| ends.iter().all(|end| end.is_finite());
    clock.series.slices.iter().map(|slice| of(&slice.moment).filter(is_finite)).collect()
}

/// A line that goes from slice to slice in steps, shaded down to 0.
fn steps(page: &mut Page, clock: &Clock<'_>, scale: &Scale, values: &[Option<f64>], colour: Colour) {
    for points in runs(clock, scale, values) {
        let (Some(first), Some(last)) = (points.first(), points.last()) else { continue };
        let foot = [(last.0, scale.bottom()), (first.0, scale.bottom())];
        page.area(points.iter().copied().chain(foot).collect(), mixed(PAPER, colour, 60));
        page.line(points, 1.5, colour);
    }
}

/// From the low ends to the high ends.
fn band(page: &mut Page, clock: &Clock<'_>, scale: &Scale, ranges: &[Option<Ends>]) {
    let end = |end: usize| -> Vec<Option<f64>> { ranges.iter().map(|ends| ends.map(|ends| ends[end])).collect() };
    for (low, high) in runs(clock, scale, &end(0)).into_iter().zip(runs(clock, scale, &end(1))) {
        page.area(high.iter().copied().chain(low.iter().rev().copied()).collect(), mixed(PAPER, POWER, 90));
        page.line(high, 1.5, POWER);
        page.line(low, 1.0, POWER);
    }
}

/// The steps of each stretch of slices whose values are known.
fn runs(clock: &Clock<'_>, scale: &Scale, values: &[Option<f64>]) -> Vec<Vec<At>> {
    let mut runs: Vec<Vec<At>> = Vec::new();
    let mut is_open = false;
    for (slice, value) in clock.series.slices.iter().zip(values) {
        let Some(value) = value else {
            is_open = false;
            continue;
        };
        if !std::mem::replace(&mut is_open, true) {
            runs.push(Vec::new());
        }
        let y = scale.down(*value);
        if let Some(run) = runs.last_mut() {
            run.push((clock.across(slice.moment.time_s), y));
            run.push((clock.across(slice.moment.time_s + clock.series.step_s), y));
        }
    }
    runs
}
