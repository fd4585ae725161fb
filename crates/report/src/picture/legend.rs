//! The legend beside the skin.

use super::canvas::{Align, Area, Canvas, Colour};
use super::inks::Inks;
use super::layout::{Layout, decimals, multiples, round_step};
use super::lettering::Lettering;
use super::style::{BODY, INK, RAW, RULE, SOFT_INK, beyond, bore, category, deviating, gone, held};
use crate::map::{Kind, Map};
use crate::text::{cut, number, plain};

const ROW: i32 = 30;
const SWATCH: i32 = 34;
const GAP: i32 = 26;
/// Most characters of a name.
const LONGEST: usize = 80;
const BAR: i32 = 22;

/// One line of the legend: what its swatch looks like and what it means.
struct Entry {
    paint: Box<dyn Fn(i32, i32) -> Colour>,
    label: String,
    share: Option<String>,
}

/// The legend, before there is a page.
pub(super) struct Legend {
    entries: Vec<Entry>,
    /// Room the names and the shares need, pixels.
    labels: i32,
    shares: i32,
}

impl Legend {
    pub(super) fn new(lettering: &Lettering, inks: &Inks, rays: usize, is_held: bool) -> Legend {
        let entries = entries(inks, rays, is_held);
        let wide = |text: &str| lettering.width(text, BODY).ceil() as i32;
        let labels = entries.iter().map(|entry| wide(&entry.label)).max().unwrap_or(0);
        let shares = entries.iter().filter_map(|entry| entry.share.as_deref()).map(wide).max().unwrap_or(0);
        Legend { entries, labels, shares }
    }

    /// Room the list would like from its left edge to the edge of the page.
    pub(super) fn width(&self) -> i32 {
        SWATCH + 12 + self.labels + GAP + self.shares + 48
    }

    /// Draws it at the right of the skin.
    pub(super) fn draw(&self, canvas: &mut Canvas, layout: &Layout, map: &Map, inks: &Inks) {
        let (left, mut top) = (layout.skin.right() + Layout::LEGEND, layout.skin.top);
        if let Some(range) = inks.range {
            let room = layout.height - 120 - top - ROW * self.entries.len() as i32;
            top = bar(canvas, [left, top, room.clamp(120, 360)], range, map, inks) + 34;
        }
        self.list(canvas, layout, (left, top));
    }

    fn list(&self, canvas: &mut Canvas, layout: &Layout, (left, mut top): (i32, i32)) {
        let fitting = ((layout.height - 48 - top) / ROW).max(1) as usize;
        let hidden = self.entries.len().saturating_sub(fitting);
        let shown = if hidden > 0 { fitting - 1 } else { self.entries.len() };
        let labels = left + SWATCH + 12;
        let shares = (labels + self.labels + GAP + self.shares).min(layout.width - 48);
        for entry in &self.entries[..shown] {
            let area = Area { left, top, width: SWATCH, height: 18 };
            canvas.painted(area, &entry.paint);
            canvas.frame(area, RULE);
            let label = canvas.lettering().fitted(&entry.label, BODY, shares - self.shares - GAP / 2 - labels);
            canvas.write(&label, (labels, top + 15), Align::Left, BODY, INK);
            if let Some(share) = &entry.share {
                canvas.write(share, (shares, top + 15), Align::Right, BODY, SOFT_INK);
            }
            top += ROW;
        }
        if hidden > 0 {
            let rest = format!("and {} more", hidden + 1);
            canvas.write(&rest, (left, top + 15), Align::Left, BODY, SOFT_INK);
        }
    }
}

fn entries(inks: &Inks, rays: usize, is_held: bool) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::new();
    let mut add = |paint: Box<dyn Fn(i32, i32) -> Colour>, label: &str, count: usize| {
        entries.push(Entry {
            paint,
            label: cut(&plain(label), LONGEST),
            share: (count > 0).then(|| share(count, rays)),
        });
    };
    let is_signed = inks.allowed().is_some();
    if is_signed {
        add(Box::new(|x, y| beyond(deviating(0.2), x, y)), "beyond the limits", 0);
    }
    for one in &inks.categories {
        let index = one.index;
        add(Box::new(move |x, y| category(index, x, y)), &one.name, one.rays);
    }
    if inks.untouched > 0 {
        add(Box::new(|_, _| RAW), inks.raw, inks.untouched);
    }
    if inks.bore > 0 {
        add(Box::new(bore), "bore or dimple", inks.bore);
    }
    match inks.gone {
        0 => {}
        rays if is_signed => add(Box::new(|_, _| RAW), "not compared", rays),
        rays => add(Box::new(gone), "nothing left", rays),
    }
    if is_held {
        add(Box::new(|x, y| held(RAW, x, y)), "held in the jaws", 0);
    }
    entries
}

/// Decimals of the ends of a scale: two, or as many more as its steps have; of one value alone so many that figures are left.
fn places(greatest: f64, step: Option<f64>) -> usize {
    let finest = step.unwrap_or(if greatest > 0.0 { greatest * 0.02 } else { 1.0 });
    decimals(finest).clamp(2, 5)
}

/// How much of the skin that is, in whole percent.
fn share(count: usize, rays: usize) -> String {
    let percent = 100.0 * count as f64 / rays as f64;
    if percent < 0.5 { "< 1 %".to_owned() } else { format!("{} %", number(percent, 0)) }
}

/// The colour bar with its ticks; returns where it ends.
fn bar(
    canvas: &mut Canvas,
    [left, top, height]: [i32; 3],
    (least, greatest): (f64, f64),
    map: &Map,
    inks: &Inks,
) -> i32 {
    let lines = matches!(map.kind, Kind::Lines);
    let unit = if lines { "program line" } else { map.unit };
    canvas.write(unit, (left, top + 13), Align::Left, BODY, SOFT_INK);
    let top = top + 36;
    let area = Area { left, top, width: BAR, height };
    let span = greatest - least;
    let down = |y: i32| (f64::from(y - top) + 0.5) / f64::from(height);
    canvas.painted(area, |x, y| inks.measured(greatest - span * down(y), x, y));
    canvas.frame(area, RULE);
    let step = round_step((span * 44.0 / f64::from(height)).max(if lines { 1.0 } else { 0.0 }));
    let places = if lines { 0 } else { places(greatest, (span > 0.0).then_some(step)) };
    let row = |value: f64| top + ((greatest - value) / span * f64::from(height)).round() as i32;
    let mut tick = |y: i32, label: &str, colour: Colour| {
        canvas.rectangle(Area { left: area.right() + 1, top: y.min(area.bottom() - 1), width: 8, height: 1 }, colour);
        canvas.write(label, (area.right() + 16, y + 6), Align::Left, BODY, colour);
    };
    if span <= 0.0 {
        tick(top + height / 2, &number(least, places), INK);
        return area.bottom();
    }
    let (most, fewest) = match map.kind {
        Kind::Lines => ("last", "first"),
        Kind::Deviations { .. } => ("left over", "cut away"),
        Kind::Measures | Kind::Categories(_) => ("greatest", "least"),
    };
    tick(top, &format!("{}  {most}", number(greatest, places)), INK);
    tick(area.bottom(), &format!("{}  {fewest}", number(least, places)), INK);
    for value in multiples(step, least, greatest) {
        let y = row(value);
        if y - top >= 24 && area.bottom() - y >= 24 {
            tick(y, &number(value, decimals(step)), SOFT_INK);
        }
    }
    area.bottom()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_of_a_scale_have_the_digits_of_its_steps() {
        assert_eq!(
            [(17.0, 2.0), (2.5, 0.5), (0.033, 0.005), (0.01, 0.000_5)].map(|(end, step)| places(end, Some(step))),
            [2, 2, 3, 4]
        );
        assert_eq!([24.0, 0.033, 0.004, 0.0].map(|only| places(only, None)), [2, 4, 5, 2]);
    }
}
