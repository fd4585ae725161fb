//! Titles, stations, angles, the jaw face and the scale bar.

use super::canvas::{Align, Area, Canvas};
use super::layout::{Layout, decimals, multiples, round_step};
use super::style::{BODY, HEADING, INK, RULE, SOFT_INK, TITLE};
use crate::map::{Map, Setting};
use crate::text::number;
use dryturn_geom::Side;

pub(super) fn titles(canvas: &mut Canvas, layout: &Layout, map: &Map, setting: &Setting) {
    let (left, right) = (layout.skin.left, layout.width - 48);
    let title = canvas.lettering().fitted(setting.title, TITLE, right - left);
    canvas.write(&title, (left, 62), Align::Left, TITLE, INK);
    let name = canvas.lettering().fitted(map.title, HEADING, right - left);
    canvas.write(&name, (left, 94), Align::Left, HEADING, INK);
    let after = left + canvas.lettering().width(&name, HEADING).ceil() as i32 + 18;
    let view = canvas.lettering().fitted("unrolled, seen from outside, chuck at the left", BODY, right - after);
    canvas.write(&view, (after, 94), Align::Left, BODY, SOFT_INK);
}

pub(super) fn stations(canvas: &mut Canvas, layout: &Layout) {
    let skin = layout.skin;
    let step = round_step(84.0 / layout.scale());
    let last = layout.first + layout.length;
    for station in multiples(step / 5.0, layout.first, last) {
        canvas.rectangle(Area { left: layout.across(station), top: skin.bottom() + 1, width: 1, height: 5 }, RULE);
    }
    for station in multiples(step, layout.first, last) {
        let x = layout.across(station);
        canvas.rectangle(Area { left: x, top: skin.bottom() + 1, width: 1, height: 10 }, INK);
        let label = number(station, decimals(step));
        canvas.write(&label, (x, skin.bottom() + 30), Align::Center, BODY, INK);
    }
    let at = (skin.left, skin.bottom() + 58);
    canvas.write("station, mm from the jaw face", at, Align::Left, BODY, SOFT_INK);
}

pub(super) fn angles(canvas: &mut Canvas, layout: &Layout, chuck: Side) {
    let skin = layout.skin;
    let row = |degrees: i32| {
        let down = (f64::from(skin.height) * f64::from(degrees) / 360.0).round() as i32;
        match chuck {
            Side::Minus => skin.top + down,
            Side::Plus => skin.bottom() - down,
        }
    };
    for degrees in (0..=360).step_by(15) {
        let length = if degrees % 90 == 0 { 10 } else { 5 };
        let colour = if degrees % 90 == 0 { INK } else { RULE };
        let (left, top) = (skin.left - 1 - length, row(degrees).min(skin.bottom() - 1));
        canvas.rectangle(Area { left, top, width: length, height: 1 }, colour);
    }
    for degrees in (0..=360).step_by(90) {
        let label = format!("{degrees}°");
        canvas.write(&label, (skin.left - 18, row(degrees) + 6), Align::Right, BODY, INK);
    }
    way_round(canvas, skin, chuck);
}

/// An arrow beside the angles, the way θ grows.
fn way_round(canvas: &mut Canvas, skin: Area, chuck: Side) {
    let x = skin.left - 70;
    let (top, bottom) = (skin.top + skin.height / 2 - 44, skin.top + skin.height / 2 + 44);
    canvas.rectangle(Area { left: x, top: top + 8, width: 1, height: bottom - top - 16 }, SOFT_INK);
    let (tip, base) = match chuck {
        Side::Minus => (bottom, bottom - 12),
        Side::Plus => (top, top + 12),
    };
    let (x, tip, base) = (x as f32 + 0.5, tip as f32, base as f32);
    canvas.triangle([(x, tip), (x - 5.0, base), (x + 5.0, base)], SOFT_INK);
    let baseline = (top + bottom) / 2 + 6;
    canvas.write("θ", (skin.left - 80, baseline), Align::Right, HEADING, SOFT_INK);
}

/// The mark of station 0, where it lies on the skin.
pub(super) fn jaw_face(canvas: &mut Canvas, layout: &Layout) {
    let skin = layout.skin;
    if layout.first > 1e-9 || layout.first + layout.length < 0.0 {
        return;
    }
    let x = layout.across(0.0);
    canvas.rectangle(Area { left: x - 1, top: skin.top - 24, width: 2, height: skin.height + 34 }, INK);
    canvas.write("jaw face", (x + 8, skin.top - 12), Align::Left, BODY, INK);
}

/// A bar of a round length at the lower right, and whether the way around is drawn to the same scale.
pub(super) fn scale_bar(canvas: &mut Canvas, layout: &Layout, greatest_radius: f64) {
    let skin = layout.skin;
    let step = round_step(70.0 / layout.scale());
    let length = (step * layout.scale()).round() as i32;
    let (right, y) = (skin.right(), skin.bottom() + 94);
    canvas.rectangle(Area { left: right - length, top: y, width: length, height: 2 }, INK);
    canvas.rectangle(Area { left: right - length, top: y - 5, width: 2, height: 12 }, INK);
    canvas.rectangle(Area { left: right - 2, top: y - 5, width: 2, height: 12 }, INK);
    let bar = format!("{} mm", number(step, decimals(step)));
    canvas.write(&bar, (right - length - 10, y + 6), Align::Right, BODY, INK);
    let radius = number(greatest_radius, if greatest_radius.fract().abs() < 1e-9 { 0 } else { 2 });
    let times = |ratio: f64| number(ratio, if ratio < 9.95 { 1 } else { 0 });
    let around = match layout.stretch {
        1.0 => format!("along, and around at radius {radius} mm"),
        wide if wide > 1.0 => format!("along; around drawn {} times as wide", times(wide)),
        narrow => format!("along; around drawn {} times as narrow", times(1.0 / narrow)),
    };
    canvas.write(&around, (right, y + 28), Align::Right, BODY, SOFT_INK);
}
