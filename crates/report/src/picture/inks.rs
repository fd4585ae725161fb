//! Which colour stands for what on one picture.

use super::canvas::Colour;
use super::skin::{Shade, is_gone};
use super::style;
use crate::map::{BORE, Map, UNTOUCHED, Values};
use std::collections::BTreeMap;

/// What the rays of a map hold, and with that its colours.
pub(super) struct Inks {
    /// Least and greatest measure or line; `None` where there is none, and for categories.
    pub(super) range: Option<(f64, f64)>,
    /// The categories there are: name and how many rays.
    pub(super) categories: Vec<Category>,
    /// How many rays have nothing left.
    pub(super) gone: usize,
    /// How many rays nothing has cut.
    pub(super) untouched: usize,
    /// How many rays end at a bore or a dimple.
    pub(super) bore: usize,
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
    /// Looks through all rays; `remaining` is the outermost solid radius of each.
    pub(super) fn new(map: &Map, remaining: &[f32]) -> Inks {
        let mut inks = Inks { range: None, categories: Vec::new(), gone: 0, untouched: 0, bore: 0 };
        let mut codes = BTreeMap::new();
        for (ray, &radius) in remaining.iter().enumerate() {
            if is_gone(radius) {
                inks.gone += 1;
                continue;
            }
            match map.values {
                Values::Measures(values) => inks.stretch(f64::from(values[ray])),
                Values::Lines(lines) if inks.special(lines[ray]) => {}
                Values::Lines(lines) => inks.stretch(f64::from(lines[ray])),
                Values::Categories { codes: list, .. } if inks.special(i32::from(list[ray])) => {}
                Values::Categories { codes: list, .. } => *codes.entry(list[ray]).or_insert(0) += 1,
            }
        }
        if let Values::Categories { names, .. } = map.values {
            inks.categories = categories(names, codes);
        }
        inks
    }

    fn stretch(&mut self, value: f64) {
        if value.is_finite() {
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

    /// Colour of what a pixel at this place shows.
    pub(super) fn colour(&self, shade: Shade, x: i32, y: i32) -> Colour {
        match shade {
            Shade::Gone => style::gone(x, y),
            Shade::Measure(value) => self.measured(f64::from(value)),
            Shade::Code(UNTOUCHED) => style::RAW,
            Shade::Code(BORE) => style::bore(x, y),
            Shade::Code(code) => match self.categories.iter().find(|category| category.code == code) {
                Some(category) => style::category(category.index, x, y),
                None => self.measured(f64::from(code)),
            },
        }
    }

    fn measured(&self, value: f64) -> Colour {
        match self.range {
            Some((least, greatest)) if greatest > least => style::measured((value - least) / (greatest - least)),
            _ => style::measured(0.5),
        }
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
