//! What the colours on a picture of the piece stand for: the colours, and a small card that explains them.

use super::canvas::{Align, Area, Canvas, Colour, mixed};
use super::layout::{decimals, multiples, round_step};
use super::lettering::Lettering;
use super::style::{self, INK, PAPER, RULE, SOFT_INK};
use crate::text::{cut, number, plain};

/// What the colours of a picture of the piece stand for.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// What is told, for example `Radius, mm`.
    pub title: String,
    /// How colours tell it.
    pub scale: KeyScale,
}

/// How colours tell something.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyScale {
    /// From dark to light, from the least to the greatest number.
    Rising {
        /// Least number.
        least: f64,
        /// Greatest number.
        greatest: f64,
    },
    /// To both sides of zero, equally far.
    Signed {
        /// The number at both ends, above zero.
        limit: f64,
    },
    /// By the names of categories, with their index.
    Named(Vec<(usize, String)>),
}

/// What a surface is where nothing tells its colour.
const RAW: &str = "not cut";

impl Key {
    /// Colour of a number on a rising or signed scale, or of the category with that index; raw where it is not a number.
    pub fn color(&self, value: f64) -> [u8; 3] {
        match self.scale {
            _ if value.is_nan() => style::RAW,
            KeyScale::Rising { least, greatest } if greatest > least => {
                style::measured((value - least) / (greatest - least))
            }
            KeyScale::Rising { .. } => style::measured(0.5),
            KeyScale::Signed { limit } => style::deviating(value / limit.max(f64::MIN_POSITIVE)),
            KeyScale::Named(_) => style::hue(value as usize),
        }
    }

    /// Whether stripes tell a number as well as its colour does: one well below zero on a signed scale.
    pub fn is_striped(&self, value: f64) -> bool {
        matches!(self.scale, KeyScale::Signed { limit } if value < -style::FADES * limit)
    }

    /// Colour of the stripes there.
    pub fn stripe(&self, value: f64) -> [u8; 3] {
        style::striped(self.color(value))
    }

    /// The card: width, height, and red, green and blue of its pixels row by row. `size` is that of its text in pixels;
    /// `raw` says that some of the surface has no number. `None` where there is no room for it.
    pub fn card(&self, size: f32, raw: bool) -> Option<(u32, u32, Vec<u8>)> {
        let mut rows = match &self.scale {
            KeyScale::Named(names) => names.iter().map(|(index, name)| (style::hue(*index), name.clone())).collect(),
            KeyScale::Rising { .. } | KeyScale::Signed { .. } => Vec::new(),
        };
        rows.extend(raw.then(|| (style::RAW, RAW.to_owned())));
        Card { key: self, size, rows }.drawn()
    }
}

/// Most characters of a name.
const LONGEST: usize = 40;

/// A card on its way; all its measures go with the size of its text.
struct Card<'a> {
    key: &'a Key,
    size: f32,
    /// Colours with names.
    rows: Vec<(Colour, String)>,
}

impl Card<'_> {
    /// So many sizes of the text, in pixels.
    fn sizes(&self, count: f32) -> i32 {
        (count * self.size).round() as i32
    }

    fn is_bar(&self) -> bool {
        !matches!(self.key.scale, KeyScale::Named(_))
    }

    fn drawn(&self) -> Option<(u32, u32, Vec<u8>)> {
        let lettering = Lettering::new()?;
        let wide = |text: &str| lettering.width(text, self.size).ceil() as i32;
        let labels = self.rows.iter().map(|(_, name)| wide(&cut(name, LONGEST)) + self.sizes(2.2));
        let ticks = self.ticks().into_iter().map(|(_, label)| wide(&label) + self.sizes(2.2));
        let content = labels.chain(ticks).chain([wide(&self.key.title)]).max().unwrap_or(0);
        let bar = if self.is_bar() { self.sizes(BAR + 1.0) } else { 0 };
        let (width, height) =
            (content + self.sizes(2.0), self.sizes(3.2) + bar + self.sizes(1.6) * self.rows.len() as i32);
        let mut canvas = Canvas::new(width, height, PAPER, lettering)?;
        let (left, mut top) = (self.sizes(1.0), self.sizes(2.4));
        canvas.write(&self.key.title, (left, self.sizes(1.7)), Align::Left, self.size, INK);
        if self.is_bar() {
            self.bar(&mut canvas, left, top + self.sizes(0.4));
            top += bar + self.sizes(0.4);
        }
        for (colour, name) in &self.rows {
            let swatch = Area { left, top, width: self.sizes(1.5), height: self.sizes(1.0) };
            canvas.rectangle(swatch, *colour);
            canvas.frame(swatch, RULE);
            let label = cut(&plain(name), LONGEST);
            canvas.write(&label, (left + self.sizes(2.2), top + self.sizes(0.85)), Align::Left, self.size, INK);
            top += self.sizes(1.6);
        }
        canvas.frame(Area { left: 1, top: 1, width: width - 2, height: height - 2 }, mixed(PAPER, INK, 60));
        Some((width as u32, height as u32, canvas.rgb()))
    }

    fn bar(&self, canvas: &mut Canvas, left: i32, top: i32) {
        let (least, greatest) = self.ends();
        let area = Area { left, top, width: self.sizes(1.2), height: self.sizes(BAR) };
        let value = |y: i32| greatest - (greatest - least) * (f64::from(y - top) + 0.5) / f64::from(area.height);
        canvas.painted(area, |x, y| {
            let (colour, is_striped) = (self.key.color(value(y)), self.key.is_striped(value(y)));
            if is_striped { style::beyond(colour, x, y) } else { colour }
        });
        canvas.frame(area, RULE);
        for (value, label) in self.ticks() {
            let share = if greatest > least { (greatest - value) / (greatest - least) } else { 0.5 };
            let y = top + (share * f64::from(area.height)).round() as i32;
            let tick =
                Area { left: area.right() + 1, top: y.min(area.bottom() - 1), width: self.sizes(0.4), height: 1 };
            canvas.rectangle(tick, SOFT_INK);
            canvas.write(&label, (left + self.sizes(2.2), y + self.sizes(0.35)), Align::Left, self.size, INK);
        }
    }

    fn ends(&self) -> (f64, f64) {
        match self.key.scale {
            KeyScale::Rising { least, greatest } => (least, greatest),
            KeyScale::Signed { limit } => (-limit, limit),
            KeyScale::Named(_) => (0.0, 0.0),
        }
    }

    /// Numbers along the bar with what is written there: both ends, and round ones that keep clear of them.
    fn ticks(&self) -> Vec<(f64, String)> {
        if !self.is_bar() {
            return Vec::new();
        }
        let (least, greatest) = self.ends();
        let step = round_step(((greatest - least) / 5.0).max(1e-6));
        let places = decimals(step) + 1;
        let clear = 0.12 * (greatest - least);
        let inner = multiples(step, least + clear, greatest - clear).into_iter();
        let inner = inner.map(|value| (value, number(value, decimals(step))));
        let mut ticks: Vec<_> = inner.collect();
        ticks.push((greatest, number(greatest, places)));
        if least < greatest {
            ticks.push((least, number(least, places)));
        }
        ticks
    }
}

/// Height of the bar in sizes of the text.
const BAR: f32 = 11.0;

#[cfg(test)]
mod tests {
    use super::*;

    fn key(scale: KeyScale) -> Key {
        Key { title: "Radius, mm".to_owned(), scale }
    }

    /// Whether a card shows a colour somewhere.
    fn shows(card: &(u32, u32, Vec<u8>), colour: Colour) -> bool {
        card.2.chunks_exact(3).any(|pixel| pixel == colour)
    }

    #[test]
    fn a_card_shows_the_colours_that_it_explains() {
        let rising = key(KeyScale::Rising { least: 3.0, greatest: 20.0 });
        let card = rising.card(14.0, true).unwrap();
        assert!(shows(&card, rising.color(11.5)) && shows(&card, rising.color(f64::NAN)));
        let named = key(KeyScale::Named(vec![(0, "1 flat 6".to_owned()), (3, "4 ball".to_owned())]));
        let card = named.card(14.0, false).unwrap();
        assert!(shows(&card, named.color(0.0)) && shows(&card, named.color(3.0)));
        assert!(!shows(&card, named.color(1.0)) && !shows(&card, style::RAW));
    }

    #[test]
    fn a_card_grows_with_its_text_and_its_names() {
        let rising = key(KeyScale::Rising { least: 3.0, greatest: 20.0 });
        let (small, large) = (rising.card(12.0, false).unwrap(), rising.card(24.0, false).unwrap());
        assert!(large.0 > 2 * small.0 - 8 && large.1 > 2 * small.1 - 8);
        assert_eq!(small.2.len(), 3 * (small.0 * small.1) as usize);
        let long = key(KeyScale::Named(vec![(0, "long ".repeat(100))]));
        assert!(long.card(12.0, false).unwrap().0 < 500);
    }

    #[test]
    fn scales_without_an_extent_still_have_a_card() {
        for scale in [KeyScale::Rising { least: 2.0, greatest: 2.0 }, KeyScale::Signed { limit: 0.0 }] {
            assert!(key(scale).card(12.0, false).is_some());
        }
        assert_eq!(key(KeyScale::Signed { limit: 1.0 }).color(0.0), PAPER);
    }
}
