//! Which colour stands for what on one picture.

use super::canvas::Colour;
use super::skin::{Shade, is_gone};
use super::style;
use crate::map::{BORE, Band, Kind, UNTOUCHED, Values};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What the rays of a map hold, and with that its colours.
pub(super) struct Inks {
    scale: Scale,
    /// What the scale spans: from the least to the greatest measure or line, as far to both sides of zero for deviations;
    /// `None` where there is none, and for categories.
    pub(super) range: Option<(f64, f64)>,
    /// The categories there are: name and how many rays.
    pub(super) categories: Vec<Category>,
    /// How many rays have nothing left.
    pub(super) gone: usize,
    /// How many rays nothing has cut; of measures, how many have none.
    pub(super) untouched: usize,
    /// How those are called.
    pub(super) raw: &'static str,
    /// How many rays end at a bore or a dimple.
    pub(super) bore: usize,
}

/// How numbers become colours.
#[derive(Clone, Copy)]
enum Scale {
    /// From dark to light.
    Rising,
    /// To both sides of zero, with what is allowed below and over it.
    Signed { below: f64, over: f64 },
}

/// A category of a map.
pub(super) struct Category {
    code: i32,
    /// Name in the legend.
    pub(super) name: String,
    /// Its place among all categories named, which settles colour and pattern.
    pub(super) index: usize,
    /// How many rays it has.
    pub(super) rays: usize,
}

impl Inks {
    /// The inks of a map whose rays were counted.
    pub(super) fn new(kind: Kind<'_>, count: Count) -> Inks {
        let Count { range, codes, gone, untouched, bore } = count;
        let categories = match kind {
            Kind::Categories(names) => categories(names, codes),
            Kind::Measures | Kind::Deviations { .. } | Kind::Lines => Vec::new(),
        };
        let (scale, range) = match kind {
            Kind::Deviations { below, over } => {
                let farthest = |(least, greatest): (f64, f64)| {
                    let limit = [-least, greatest, below, over].into_iter().fold(0.0, f64::max);
                    (-limit, limit)
                };
                (Scale::Signed { below, over }, range.map(farthest))
            }
            Kind::Measures => (Scale::Rising, range.map(told_apart)),
            Kind::Lines | Kind::Categories(_) => (Scale::Rising, range),
        };
        let raw = if matches!(kind, Kind::Measures) { "not cut or unknown" } else { "not cut" };
        Inks { scale, range, categories, gone, untouched, raw, bore }
    }

    /// Colour of what a pixel at this place shows.
    pub(super) fn colour(&self, shade: Shade, x: i32, y: i32) -> Colour {
        match shade {
            Shade::Gone => match self.scale {
                Scale::Rising => style::gone(x, y),
                Scale::Signed { .. } => style::RAW,
            },
            Shade::Measure(value) => self.measured(f64::from(value), x, y),
            Shade::Code(UNTOUCHED) => style::RAW,
            Shade::Code(BORE) => style::bore(x, y),
            Shade::Code(code) => match self.categories.iter().find(|category| category.code == code) {
                Some(category) => style::category(category.index, x, y),
                None => self.measured(f64::from(code), x, y),
            },
        }
    }

    /// Colour of a number at this place.
    pub(super) fn measured(&self, value: f64, x: i32, y: i32) -> Colour {
        let share = match self.range {
            Some((least, greatest)) if greatest > least => (value - least) / (greatest - least),
            _ => 0.5,
        };
        match self.scale {
            Scale::Rising => style::measured(share),
            Scale::Signed { below, over } => {
                let colour = style::deviating(2.0 * share - 1.0);
                if value < -below || value > over { style::beyond(colour, x, y) } else { colour }
            }
        }
    }

    /// What is allowed below and over zero, where the numbers are deviations.
    pub(super) fn allowed(&self) -> Option<[f64; 2]> {
        match self.scale {
            Scale::Rising => None,
            Scale::Signed { below, over } => Some([below, over]),
        }
    }
}

/// What rays hold, counted.
#[derive(Debug, Default)]
pub(super) struct Count {
    range: Option<(f64, f64)>,
    codes: BTreeMap<i16, usize>,
    gone: usize,
    untouched: usize,
    bore: usize,
}

impl Count {
    /// Counts rows of so many rays, on all threads; the counts do not depend on who counts what.
    pub(super) fn of(band: &Band<'_>, columns: usize) -> Count {
        let rows = band.remaining.par_chunks(columns);
        let count = |mut count: Count, (remaining, values): (&[f32], Values<'_>)| {
            count.row(remaining, values);
            count
        };
        let join = |one: Count, other: Count| one.with(other);
        match band.values {
            Values::Measures(values) => {
                let rows = rows.zip(values.par_chunks(columns).map(Values::Measures));
                rows.fold(Count::default, count).reduce(Count::default, join)
            }
            Values::Lines(lines) => {
                let rows = rows.zip(lines.par_chunks(columns).map(Values::Lines));
                rows.fold(Count::default, count).reduce(Count::default, join)
            }
            Values::Categories(codes) => {
                let rows = rows.zip(codes.par_chunks(columns).map(Values::Categories));
                rows.fold(Count::default, count).reduce(Count::default, join)
            }
        }
    }

    fn row(&mut self, remaining: &[f32], values: Values<'_>) {
        self.gone += remaining.iter().filter(|radius| is_gone(**radius)).count();
        let there = |ray: &usize| !is_gone(remaining[*ray]);
        let rays = (0..remaining.len()).filter(there);
        match values {
            Values::Measures(values) => {
                for ray in rays {
                    self.untouched += usize::from(!values[ray].is_finite());
                    self.stretch(f64::from(values[ray]));
                }
            }
            Values::Lines(lines) => {
                for ray in rays {
                    if !self.special(lines[ray]) {
                        self.stretch(f64::from(lines[ray]));
                    }
                }
            }
            Values::Categories(codes) => {
                // Neighbours are mostly of one category.
                let mut run = (0, 0);
                for ray in rays {
                    if self.special(i32::from(codes[ray])) {
                        continue;
                    }
                    if codes[ray] != run.0 {
                        self.add(run);
                        run = (codes[ray], 0);
                    }
                    run.1 += 1;
                }
                self.add(run);
            }
        }
    }

    fn add(&mut self, (code, rays): (i16, usize)) {
        if rays > 0 {
            *self.codes.entry(code).or_insert(0) += rays;
        }
    }

    fn stretch(&mut self, value: f64) {
        if value.is_finite() {
            // One zero for both.
            let value = value + 0.0;
            let (least, greatest) = self.range.unwrap_or((value, value));
            self.range = Some((least.min(value), greatest.max(value)));
        }
    }

    /// Counts a code that is no line and no category.
    fn special(&mut self, code: i32) -> bool {
        match code {
            UNTOUCHED => self.untouched += 1,
            BORE => self.bore += 1,
            _ => return false,
        }
        true
    }

    /// Both counts in one.
    pub(super) fn with(mut self, other: Count) -> Count {
        if let Some((least, greatest)) = other.range {
            self.stretch(least);
            self.stretch(greatest);
        }
        other.codes.into_iter().for_each(|run| self.add(run));
        self.gone += other.gone;
        self.untouched += other.untouched;
        self.bore += other.bore;
        self
    }
}

/// The categories with rays, in the order they are named; codes nobody named come last.
fn categories(names: &[(i16, String)], mut counts: BTreeMap<i16, usize>) -> Vec<Category> {
    let mut list = Vec::new();
    for (index, (code, name)) in names.iter().enumerate() {
        if let Some(rays) = counts.remove(code) {
            list.push(Category { code: i32::from(*code), name: name.clone(), index, rays });
        }
    }
    for (extra, (code, rays)) in counts.into_iter().enumerate() {
        let (name, index) = (format!("number {code}"), names.len() + extra);
        list.push(Category { code: i32::from(code), name, index, rays });
    }
    list
}

/// Measures that differ by less than this are one: no end of a ray is known better, mm.
const SAME: f64 = 1e-3;

/// What the colours of a map of measures span: nothing, where all are one but for rounding, which would show as a pattern.
fn told_apart((least, greatest): (f64, f64)) -> (f64, f64) {
    let middle = 0.5 * (least + greatest);
    if greatest - least < SAME { (middle, middle) } else { (least, greatest) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_is_no_pattern() {
        let span = |greatest: f64| {
            Inks::new(Kind::Measures, Count { range: Some((1.8, greatest)), ..Count::default() }).range.unwrap()
        };
        assert_eq!(span(1.802), (1.8, 1.802));
        let (least, greatest) = span(1.80003);
        assert!(least == greatest && (least - 1.800_015).abs() < 1e-12, "{least} {greatest}");
    }
}
