//! The skin, unrolled: what faces the eye lies in the middle, and it goes on round and round.

use egui::{Align2, Color32, ColorImage, Pos2, Rect, Sense, Stroke, TextureHandle, TextureOptions, Ui, pos2, vec2};

use super::piece::grow;
use super::{focus_ring, haloed, named, sign, with_shift};
use crate::desk::Desk;
use crate::eye::Eye;
use crate::session::{Aim, Opened, Shown};
use crate::spot::Spot;
use crate::theme::{self, number, round_step};
use dryturn_report::{Key, KeyScale};

/// Most pixels along a side of a texture.
const SIDE: usize = 4096;

/// The skin as a picture, and of which piece it is.
#[derive(Default)]
pub(crate) struct SkinCache {
    texture: Option<TextureHandle>,
    of: Option<(usize, String)>,
}

/// The pane of the skin.
pub(crate) fn skin(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    let response = ui.interact(rect, ui.scope_id().with("skin"), Sense::click_and_drag());
    named(&response, "Skin", desk.session.map().to_owned());
    ui.painter().rect_filled(rect, 0.0, desk.theme.sheet);
    handle(desk, ui, rect, &response);
    draw(desk, ui, rect);
    if let Some(eye) = desk.eye {
        angles(desk, ui, rect, &eye);
        marks(desk, ui, rect, &eye);
    }
    words(desk, ui, rect, opened);
    focus_ring(ui, rect, &response, &desk.theme);
}

/// How high a radian is.
fn radian(rect: Rect) -> f32 {
    rect.height() / std::f32::consts::TAU
}

fn place(eye: &Eye, rect: Rect, station: f64, theta: f64) -> Pos2 {
    let off = dryturn_geom::angle::signed(theta - eye.facing);
    let down = (eye.down() * off) as f32 * radian(rect);
    pos2(rect.center().x + eye.across(station) as f32, rect.center().y + down)
}

fn spot_at(eye: &Eye, rect: Rect, at: Pos2) -> (f64, f64) {
    let off = f64::from((at.y - rect.center().y) / radian(rect)) * eye.down();
    (eye.station_at(f64::from(at.x - rect.center().x)), dryturn_geom::angle::wrapped(eye.facing + off))
}

fn handle(desk: &mut Desk, ui: &Ui, rect: Rect, response: &egui::Response) {
    let Some(mut eye) = desk.eye else { return };
    let before = eye;
    if response.dragged() {
        let delta = response.drag_delta();
        eye.station -= f64::from(delta.x) / eye.scale;
        eye.facing -= eye.down() * f64::from(delta.y / radian(rect));
    }
    if let Some(pointer) = response.hover_pos() {
        grow(ui, &mut eye, vec2(pointer.x - rect.center().x, 0.0));
    }
    desk.eye = Some(eye);
    if eye != before {
        desk.moves(ui.ctx());
    }
    if let Some(pointer) = response.interact_pointer_pos().filter(|_| response.clicked()) {
        response.request_focus();
        let (station, theta) = spot_at(&eye, rect, pointer);
        let field = desk.session.shown.as_ref().map(|shown| &shown.field);
        if let Some(field) = field.filter(|field| field.nearest(station, theta).is_some()) {
            let spot = Spot { station, theta, radius: field.radius(station, theta) };
            desk.session.pick(spot, Aim::Skin, with_shift(ui));
        }
    }
    if response.double_clicked() {
        desk.session.go_to_maker();
    }
}

fn draw(desk: &mut Desk, ui: &Ui, rect: Rect) {
    let (Some(eye), Some(shown)) = (desk.eye, &desk.session.shown) else { return };
    let of = (std::ptr::from_ref(&**shown) as usize, desk.session.map().to_owned());
    if desk.skin.of.as_ref() != Some(&of) || desk.skin.texture.is_none() {
        let image = image(shown);
        let options = TextureOptions { wrap_mode: egui::TextureWrapMode::Repeat, ..TextureOptions::LINEAR };
        match &mut desk.skin.texture {
            Some(texture) => texture.set(image, options),
            None => desk.skin.texture = Some(ui.ctx().load_texture("skin", image, options)),
        }
        desk.skin.of = Some(of);
    }
    let Some(texture) = &desk.skin.texture else { return };
    let [from, to] = shown.field.ends.map(|end| rect.center().x + eye.across(end) as f32);
    let area = Rect::from_x_y_ranges(from..=to, rect.y_range());
    let half = 0.5 * f64::from(rect.height() / radian(rect));
    let turn = |side: f64| ((eye.facing + side * eye.down() * half) / std::f64::consts::TAU) as f32;
    // Half a ray before the first one begins its cell.
    let half_ray = 0.5 / shown.field.columns as f32;
    let uv = Rect::from_min_max(pos2(0.0, turn(-1.0) + half_ray), pos2(1.0, turn(1.0) + half_ray));
    let tint = if desk.session.refused.is_some() { Color32::from_gray(150) } else { Color32::WHITE };
    ui.painter_at(rect).image(texture.id(), area, uv, tint);
}

/// The colours with light on them: columns along, angles down.
fn image(shown: &Shown) -> ColorImage {
    let field = &shown.field;
    let (by_row, by_column) = (field.rows.div_ceil(SIDE), field.columns.div_ceil(SIDE));
    let (width, height) = (field.rows.div_ceil(by_row), field.columns.div_ceil(by_column));
    let mut pixels = vec![Color32::TRANSPARENT; width * height];
    for (y, line) in pixels.chunks_exact_mut(width).enumerate() {
        for (x, pixel) in line.iter_mut().enumerate() {
            let ray = x * by_row * field.columns + y * by_column;
            let color = shown.colors.get(ray).copied().unwrap_or([214, 205, 190]);
            let light = u32::from(shown.relief.get(ray).copied().unwrap_or(255));
            let [r, g, b] = color.map(|part| (u32::from(part) * light / 255) as u8);
            *pixel = Color32::from_rgb(r, g, b);
            if field.layers[0][ray].is_empty() {
                *pixel = gone(x, y);
            }
        }
    }
    ColorImage::new([width, height], pixels)
}

/// Where nothing is left: a lattice.
fn gone(x: usize, y: usize) -> Color32 {
    let is_line = (x + y).is_multiple_of(7) || (x + 7 * y - y).is_multiple_of(7);
    if is_line { Color32::from_rgb(150, 150, 146) } else { Color32::from_rgb(236, 233, 226) }
}

fn angles(desk: &Desk, ui: &Ui, rect: Rect, eye: &Eye) {
    let theme = &desk.theme;
    let painter = ui.painter_at(rect);
    let step = if rect.height() > 260.0 {
        30
    } else if rect.height() > 120.0 {
        45
    } else {
        90
    };
    for degrees in (0..360).step_by(step) {
        let at = place(eye, rect, 0.0, f64::from(degrees).to_radians());
        if (at.y - rect.top()).min(rect.bottom() - at.y) < 9.0 {
            continue;
        }
        painter.line_segment([pos2(rect.right() - 5.0, at.y), pos2(rect.right(), at.y)], Stroke::new(1.0, theme.ink));
        let at = pos2(rect.right() - 8.0, at.y);
        haloed(ui, at, Align2::RIGHT_CENTER, &format!("{degrees}°"), theme::small(), theme.ink, theme.sheet);
    }
}

fn marks(desk: &Desk, ui: &Ui, rect: Rect, eye: &Eye) {
    let theme = &desk.theme;
    let painter = ui.painter_at(rect);
    if let Some(proof) = desk.session.proof.as_ref().filter(|_| desk.session.is_proved) {
        for (index, finding) in proof.findings.iter().enumerate() {
            let Some(found) = finding.place else { continue };
            let at = place(eye, rect, found.station_mm, found.angle_deg.to_radians());
            let size = if desk.session.cursor.finding == Some(index) { 9.0 } else { 6.0 };
            painter.extend(sign(finding.severity, at, size, theme));
        }
    }
    if let Some(from) = desk.session.cursor.from {
        painter.circle_stroke(place(eye, rect, from.station, from.theta), 5.0, Stroke::new(2.0, theme.mark));
    }
    let Some(spot) = desk.session.cursor.spot else { return };
    let at = place(eye, rect, spot.station, spot.theta);
    for (a, b) in [
        (pos2(at.x, rect.top()), pos2(at.x, at.y - 6.0)),
        (pos2(at.x, at.y + 6.0), pos2(at.x, rect.bottom())),
        (pos2(rect.left(), at.y), pos2(at.x - 6.0, at.y)),
        (pos2(at.x + 6.0, at.y), pos2(rect.right(), at.y)),
    ] {
        painter.line_segment([a, b], Stroke::new(3.0, theme.sheet.gamma_multiply(0.6)));
        painter.line_segment([a, b], Stroke::new(1.2, theme.mark));
    }
    painter.circle_stroke(at, 5.0, Stroke::new(2.0, theme.mark));
}

/// The name of the map, and what its colours stand for.
fn words(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    let theme = desk.theme;
    let at = rect.left_top() + vec2(6.0, 5.0);
    let maps = desk.session.host().maps(&opened.job, desk.session.proof.as_deref());
    let title = maps.iter().find(|map| map.name == desk.session.map()).map_or("Skin", |map| map.title);
    let galley = ui.painter().layout_no_wrap(title.to_owned(), theme::heading(), theme.ink);
    let area = Rect::from_min_size(at, galley.size() + vec2(28.0, 4.0));
    let response = ui.interact(area, ui.scope_id().with("map"), Sense::click());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Map: {title}")));
    let fill = if response.hovered() || response.has_focus() { theme.wash } else { theme.sheet };
    ui.painter().rect_filled(area, 2.0, fill.gamma_multiply(0.92));
    focus_ring(ui, area, &response, &theme);
    ui.painter().galley(at + vec2(5.0, 2.0), galley, theme.ink);
    let tip = area.right_center() + vec2(-12.0, 3.0);
    let arrow = vec![tip + vec2(-4.5, -5.0), tip + vec2(4.5, -5.0), tip];
    ui.painter().add(egui::Shape::convex_polygon(arrow, theme.soft, Stroke::NONE));
    let mut chosen = None;
    egui::Popup::menu(&response).show(|ui| {
        for map in &maps {
            let unit = if map.unit.is_empty() { String::new() } else { format!(", {}", map.unit) };
            let is_now = map.name == desk.session.map();
            if ui.selectable_label(is_now, format!("{}{unit}", map.title)).clicked() {
                chosen = Some(map.name);
            }
        }
    });
    if let Some(name) = chosen {
        desk.choose_map(name);
    }
}

/// What the colours of the skin stand for, beside it.
pub(crate) fn legend(desk: &Desk, ui: &Ui, rect: Rect) {
    let Some(key) = desk.session.shown.as_ref().and_then(|shown| shown.key.as_ref()) else { return };
    let area = rect.shrink2(vec2(14.0, 6.0));
    match &key.scale {
        KeyScale::Rising { least, greatest } => bar(desk, ui, area, key, [*least, *greatest]),
        KeyScale::Signed { limit } => bar(desk, ui, area, key, [-limit, *limit]),
        KeyScale::Named(names) => swatches(desk, ui, area, key, names),
    }
}

/// Height of a row of names.
const ROW: f32 = 19.0;

fn swatches(desk: &Desk, ui: &Ui, area: Rect, key: &Key, names: &[(usize, String)]) {
    let theme = &desk.theme;
    let painter = ui.painter_at(area);
    for (place, (index, name)) in names.iter().enumerate() {
        let [r, g, b] = key.color(*index as f64);
        let at = area.left_top() + vec2(0.0, ROW * place as f32);
        let swatch = Rect::from_min_size(at + vec2(0.0, 3.0), vec2(13.0, 13.0));
        painter.rect_filled(swatch, 1.0, Color32::from_rgb(r, g, b));
        painter.rect_stroke(swatch, 1.0, Stroke::new(1.0, theme.ink), egui::StrokeKind::Inside);
        let name = dryturn_report::plain(name);
        painter.text(at + vec2(20.0, 9.0), Align2::LEFT_CENTER, name, theme::text(), theme.ink);
    }
}

/// What differs by less is alike.
const FINEST: f64 = 1e-3;

/// A bar from the greatest number at the top to the least, with round numbers beside it.
fn bar(desk: &Desk, ui: &Ui, area: Rect, key: &Key, [least, greatest]: [f64; 2]) {
    let theme = &desk.theme;
    let painter = ui.painter_at(area.expand(4.0));
    let bar = Rect::from_min_size(area.left_top() + vec2(0.0, 18.0), vec2(14.0, (area.height() - 26.0).max(10.0)));
    let (_, unit) = key.title.rsplit_once(", ").unwrap_or(("", ""));
    painter.text(area.left_top(), Align2::LEFT_TOP, unit, theme::text(), theme.soft);
    let y = |value: f64| bar.bottom() - bar.height() * ((value - least) / (greatest - least).max(1e-12)) as f32;
    let count = 64;
    for step in 0..count {
        let value = least + (greatest - least) * (f64::from(step) + 0.5) / f64::from(count);
        let is_stripe = key.is_striped(value) && step % 4 == 0;
        let [r, g, b] = if is_stripe { key.stripe(value) } else { key.color(value) };
        let high = bar.height() / count as f32;
        let cell =
            Rect::from_min_size(pos2(bar.left(), bar.bottom() - high * (step + 1) as f32), vec2(14.0, high + 0.5));
        painter.rect_filled(cell, 0.0, Color32::from_rgb(r, g, b));
    }
    painter.rect_stroke(bar, 0.0, Stroke::new(1.0, theme.ink), egui::StrokeKind::Outside);
    let tick = |value: f64, y: f32, digits: usize| {
        painter.line_segment([pos2(bar.right(), y), pos2(bar.right() + 4.0, y)], Stroke::new(1.0, theme.ink));
        let at = pos2(bar.right() + 8.0, y);
        painter.text(at, Align2::LEFT_CENTER, number(value, digits), theme::text(), theme.ink);
    };
    let step = round_step((greatest - least).max(FINEST) * 26.0 / f64::from(bar.height().max(26.0)));
    let digits = if step >= 1.0 { 0 } else { (-step.log10().floor()) as usize };
    if greatest - least < FINEST {
        // All of it is alike.
        tick(least, bar.center().y, 3);
    } else {
        let ticks = (least / step).ceil() as i64..=(greatest / step).floor() as i64;
        ticks.map(|place| place as f64 * step).for_each(|value| tick(value, y(value), digits));
    }
    here(desk, &painter, bar, y);
}

/// What the map says at the cursor, where it is the radius.
fn here(desk: &Desk, painter: &egui::Painter, bar: Rect, y: impl Fn(f64) -> f32) {
    let Some(spot) = desk.session.cursor.spot.filter(|_| desk.session.map() == crate::session::FIRST_MAP) else {
        return;
    };
    let at = pos2(bar.left() - 1.0, y(spot.radius).clamp(bar.top(), bar.bottom()));
    let points = vec![at, at + vec2(-7.0, -4.5), at + vec2(-7.0, 4.5)];
    painter.add(egui::Shape::convex_polygon(points, desk.theme.mark, Stroke::NONE));
}
