//! A curve over the time of the run, on a scale from 0 up.

use super::super::canvas::{Align, Colour, mixed};
use super::super::layout::{decimals, multiples, round_step};
use super::super::page::{At, Page};
use super::super::style::{INK, PAPER, RULE};
use super::{Clock, Edges, LEFT, RIGHT, TEXT};
use crate::text::number;
use dryturn_check::Ends;

/// Fewest pixels from one number of a scale to the next.
const CLOSEST: f32 = 30.0;

/// What is drawn, slice by slice; `None` where it is not known.
pub(super) enum Curve {
    /// One value.
    Steps(Vec<Option<f64>>),
    /// A low and a high end.
    Band(Vec<Option<Ends>>),
}

impl Curve {
    /// The greatest value; `None` where none is known.
    pub(super) fn greatest(&self) -> Option<f64> {
        match self {
            Curve::Steps(values) => values.iter().flatten().copied().reduce(f64::max),
            Curve::Band(ranges) => ranges.iter().flatten().map(|ends| ends[1]).reduce(f64::max),
        }
    }

    pub(super) fn draw(&self, page: &mut Page, clock: &Clock<'_>, scale: &Scale, colour: Colour) {
        match self {
            Curve::Steps(values) => steps(page, clock, scale, values, colour),
            Curve::Band(ranges) => band(page, clock, scale, ranges, colour),
        }
    }
}

/// A scale of values from 0 up.
pub(super) struct Scale {
    edges: Edges,
    greatest: f64,
}

impl Scale {
    /// With some room over the greatest value.
    pub(super) fn over(edges: Edges, greatest: f64) -> Scale {
        Scale { edges, greatest: if greatest > 0.0 { greatest * 1.08 } else { 1.0 } }
    }

    pub(super) fn down(&self, value: f64) -> f32 {
        let (top, bottom) = self.edges;
        bottom - (bottom - top) * (value / self.greatest).clamp(0.0, 1.0) as f32
    }

    fn bottom(&self) -> f32 {
        self.edges.1
    }

    fn step(&self) -> f64 {
        let (top, bottom) = self.edges;
        round_step(self.greatest / f64::from((bottom - top) / CLOSEST))
    }

    /// Lines across, with their numbers at the left; that of a value at which the curve is cut off has a + behind it.
    pub(super) fn draw(&self, page: &mut Page, cut_off: Option<f64>) {
        let number = |value: f64| number(value, decimals(self.step()));
        let end = cut_off.map_or(f32::NEG_INFINITY, |value| self.down(value) + TEXT);
        let steps = multiples(self.step(), 0.0, self.greatest).into_iter().filter(|value| self.down(*value) > end);
        let rules = steps.map(|value| (value, number(value))).chain(cut_off.map(|value| (value, number(value) + "+")));
        for (value, written) in rules {
            let y = self.down(value);
            page.line(vec![(LEFT, y), (RIGHT, y)], 1.0, mixed(PAPER, RULE, 90));
            page.write(&written, (LEFT - 10.0, y + 6.0), Align::Right, TEXT, INK, LEFT - 14.0);
        }
    }
}

/// A line that goes from slice to slice in steps, shaded down to 0.
fn steps(page: &mut Page, clock: &Clock<'_>, scale: &Scale, values: &[Option<f64>], colour: Colour) {
    for points in runs(clock, scale, values) {
        let (Some(first), Some(last)) = (points.first(), points.last()) else { continue };
        let foot = [(last.0, scale.bottom()), (first.0, scale.bottom())];
        page.area(points.iter().copied().chain(foot).collect(), mixed(PAPER, colour, 60));
        page.line(points, 2.0, colour);
    }
}

/// From the low ends to the high ends.
fn band(page: &mut Page, clock: &Clock<'_>, scale: &Scale, ranges: &[Option<Ends>], colour: Colour) {
    let end = |end: usize| -> Vec<Option<f64>> { ranges.iter().map(|ends| ends.map(|ends| ends[end])).collect() };
    for (low, high) in runs(clock, scale, &end(0)).into_iter().zip(runs(clock, scale, &end(1))) {
        page.area(high.iter().copied().chain(low.iter().rev().copied()).collect(), mixed(PAPER, colour, 90));
        page.line(high, 2.0, colour);
        page.line(low, 1.0, colour);
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
