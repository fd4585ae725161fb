//! `set-up`: which lines of an earlier set-up made the surface that the jaws grip.

use std::collections::BTreeMap;

use dryturn_geom::{Maker, Stock};
use dryturn_scene::{Chuck, Grip, Jaws, Scene};

use crate::bodies::{jaw_angles, within};
use crate::digits::mm;
use crate::evidence::plain;
use crate::finding::{Finding, Severity};

/// What lies less than this under the highest place within a jaw is touched by it, mm.
const TOUCHED: f64 = 0.02;

/// Told of every blank that was kept and is held in jaws from outside.
pub(super) fn finding(scene: &Scene, chuck: &Chuck) -> Option<Finding> {
    let jaws = chuck.jaws.as_ref().filter(|jaws| jaws.grip == Grip::Outside)?;
    if scene.blank.programs_before().is_empty() {
        return None;
    }
    let gripped = Gripped::by(jaws, scene);
    let on = gripped.told()?;
    Some(Finding {
        value: Some(gripped.across),
        unit: Some("mm"),
        text: format!("The jaws grip {} across, on {on}.", mm(gripped.across)),
        cure: "Nothing to do if that is where they should grip.".to_owned(),
        ..plain("set-up", Severity::Note)
    })
}

/// What jaws touch of a blank that was kept.
#[derive(Default)]
struct Gripped<'a> {
    /// Across between the middles of the jaws, mm: on a piece off centre they stand unequally far from the axis.
    across: f64,
    /// First and last line of each program.
    lines: BTreeMap<usize, (Maker<'a>, [u32; 2])>,
    /// Whether they touch what no line has made.
    is_raw: bool,
}

impl<'a> Gripped<'a> {
    fn by(jaws: &Jaws, scene: &'a Scene) -> Gripped<'a> {
        let stock = scene.stock();
        let mut gripped = Gripped::default();
        for theta in jaw_angles(jaws) {
            let rays: Vec<(f64, Option<u32>)> =
                within(jaws, &stock, theta).filter_map(|place| outermost(&stock, place)).collect();
            let top = rays.iter().map(|ray| ray.0).fold(0.0, f64::max);
            let middle = within(jaws, &stock, theta).filter(|place| place.1 == theta);
            let across = middle.filter_map(|place| outermost(&stock, place)).map(|ray| 2.0 * ray.0).fold(0.0, f64::max);
            gripped.across += across / f64::from(jaws.count);
            let touched = rays.iter().filter(|ray| ray.0 > top - TOUCHED);
            touched.for_each(|ray| gripped.add(ray.1.and_then(|maker| scene.blank.maker(maker))));
        }
        gripped
    }

    fn add(&mut self, maker: Option<Maker<'a>>) {
        let Some(maker) = maker else { return self.is_raw = true };
        let (_, [first, last]) = self.lines.entry(maker.index).or_insert((maker, [maker.line; 2]));
        (*first, *last) = ((*first).min(maker.line), (*last).max(maker.line));
    }

    fn told(&self) -> Option<String> {
        let line = |(maker, [first, last]): &(Maker<'_>, [u32; 2])| {
            let Maker { program, set_up, .. } = maker;
            let lines = if first == last { format!("line {first}") } else { format!("lines {first} to {last}") };
            format!("what {lines} of {program} cut in the set-up \"{set_up}\"")
        };
        let raw = self.is_raw.then(|| "what nothing has cut".to_owned());
        let all: Vec<String> = self.lines.values().map(line).chain(raw).collect();
        (!all.is_empty()).then(|| all.join(" and on "))
    }
}

/// How far a ray reaches, mm, and who made its end.
fn outermost(stock: &Stock, (station, theta): (f64, f64)) -> Option<(f64, Option<u32>)> {
    let made = stock.made(station, theta)?;
    made.last().map(|made| (made.outer, made.by[1]))
}
