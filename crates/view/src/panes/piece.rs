//! The piece, seen square to its axis.

use egui::{Align2, Color32, PointerButton, Rect, Sense, Ui, pos2, vec2};

use super::listing::named_line;
use super::{focus_ring, haloed, named, overlay, with_shift};
use crate::desk::{Desk, TITLE};
use crate::eye::{Eye, Plane, dot};
use crate::session::{Aim, Opened};
use crate::spot::Spot;
use crate::theme::{self, number};

/// What lies no farther from the plane of a section is met in it, mm.
const ON_PLANE: f64 = 1e-3;

/// The pane of the piece.
pub(crate) fn piece(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    let response = ui.interact(rect, ui.scope_id().with("piece"), Sense::click_and_drag());
    named(&response, "Piece", spoken(desk));
    handle(desk, ui, rect, &response);
    match (&desk.painted.texture, &desk.session.unpainted) {
        (_, Some(why)) => {
            let why = format!("The piece is not drawn: {why}");
            let job = ui.painter().layout(why, theme::text(), desk.theme.soft, rect.width() - 40.0);
            ui.painter().galley(rect.left_top() + vec2(20.0, 40.0), job, desk.theme.soft);
        }
        (Some(texture), None) => {
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            ui.painter_at(rect).image(texture.id(), picture(desk, rect), whole, Color32::WHITE);
        }
        (None, None) => {}
    }
    overlay::draw(desk, ui, rect, opened);
    words(desk, ui, rect, opened);
    focus_ring(ui, rect, &response, &desk.theme);
}

/// Where the picture that is there belongs: until another is drawn, under the scale that stations have by now.
fn picture(desk: &Desk, rect: Rect) -> Rect {
    let Some((eye, drawn)) = desk.eye.as_ref().zip(desk.painted.drawn.as_ref()) else { return rect };
    let [middle, half] = eye.lies(&drawn.extent).map(|[x, y]| vec2(x as f32, y as f32));
    Rect::from_center_size(rect.center() + middle, 2.0 * half)
}

/// The name of the picture, and how it is looked at.
fn words(desk: &Desk, ui: &Ui, rect: Rect, opened: &Opened) {
    let theme = &desk.theme;
    let at = rect.left_top() + vec2(0.0, 1.0 - TITLE);
    let name = haloed(ui, at, Align2::LEFT_TOP, "Piece", theme::heading(), theme.ink, theme.paper);
    let wanted = desk.session.cursor.blocks;
    // What is drawn is told, not what is wanted.
    let picture = desk.painted.drawn.as_ref().filter(|_| desk.session.unpainted.is_none());
    let drawn = picture.and_then(|drawn| drawn.blocks).unwrap_or(wanted);
    let mut told = moment(opened, drawn);
    if drawn != wanted {
        told += &format!(" · {} is on its way", moment(opened, wanted));
    }
    if let Some(shown) = desk.session.shown.as_ref().filter(|shown| shown.is_coarse && desk.session.is_busy()) {
        told += &format!(" · coarse, every {} mm", number(shown.field.step, 2));
    }
    if let Some(eye) = desk.eye.filter(|eye| eye.swing != 0.0) {
        told += &format!(" · swung by {}°, F looks square on", number(eye.swing.to_degrees(), 0));
    }
    super::told(ui, Rect::from_min_max(at, rect.right_top()), egui::Role::Caption, &format!("Piece {told}"));
    let at = pos2(name.right() + 10.0, name.bottom() - 2.0);
    haloed(ui, at, Align2::LEFT_BOTTOM, &told, theme::text(), theme.soft, theme.paper);
}

/// A moment of the run, in words.
fn moment(opened: &Opened, blocks: u32) -> String {
    match blocks.checked_sub(1) {
        None => "before the first block".to_owned(),
        Some(_) if blocks >= opened.blocks() => "after the last block".to_owned(),
        Some(last) => format!("after {}", named_line(opened, last)),
    }
}

fn spoken(desk: &Desk) -> String {
    let spot = desk.session.cursor.spot;
    spot.map_or_else(
        || "no point chosen".to_owned(),
        |spot| {
            format!(
                "station {:.2} mm, angle {:.1}°, radius {:.3} mm",
                spot.station,
                spot.theta.to_degrees(),
                spot.radius
            )
        },
    )
}

/// Turning, sliding, growing, picking.
fn handle(desk: &mut Desk, ui: &Ui, rect: Rect, response: &egui::Response) {
    let ctx = ui.ctx();
    let Some(mut eye) = desk.eye else { return };
    let before = eye;
    let delta = response.drag_delta();
    let (dx, dy) = (f64::from(delta.x), f64::from(delta.y));
    let shift = ui.input(|input| input.modifiers.shift);
    if response.dragged_by(PointerButton::Primary) && !shift {
        // The surface goes with the finger: along the axis it slides, around it rolls.
        eye.station -= dx / eye.scale;
        let radius = desk.session.shown.as_ref().map_or(20.0, |shown| shown.field.greatest().max(1.0));
        eye.facing -= eye.down() * (dy / (eye.scale * radius)).clamp(-0.3, 0.3);
    } else if response.dragged_by(PointerButton::Secondary) || response.dragged() && shift {
        eye.swing = (eye.swing + dx * 0.006).clamp(-1.5, 1.5);
        eye.facing -= eye.down() * dy * 0.006;
    } else if response.dragged_by(PointerButton::Middle) {
        eye.station -= dx / eye.scale;
        eye.rise += dy / eye.scale;
    }
    if let Some(pointer) = response.hover_pos() {
        grow(ui, &mut eye, pointer - rect.center());
    }
    desk.eye = Some(eye);
    if eye != before {
        desk.moves(ctx);
    }
    let pointer = response.interact_pointer_pos();
    if let Some(pointer) = pointer.filter(|_| response.clicked()) {
        response.request_focus();
        pick(desk, rect, pointer, with_shift(ui));
    }
    if response.double_clicked() {
        desk.session.go_to_maker();
    }
}

/// Zooms about the pointer, given from the middle of the pane, as the wheel or two fingers say.
pub(super) fn grow(ui: &Ui, eye: &mut Eye, pointer: egui::Vec2) {
    let (scroll, zoom) = ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
    let by = f64::from(zoom) * (f64::from(scroll.y) * 0.0035).exp();
    let slid = f64::from(scroll.x);
    if (by - 1.0).abs() > 1e-6 {
        eye.zoom(by, [f64::from(pointer.x), f64::from(pointer.y)]);
    }
    eye.station -= slid / eye.scale;
}

fn pick(desk: &mut Desk, rect: Rect, pointer: egui::Pos2, is_measured: bool) {
    let (Some(eye), Some(shown)) = (desk.eye, &desk.session.shown) else { return };
    let off = pointer - rect.center();
    let station = desk.session.cursor.spot.map_or(eye.station, |spot| spot.station);
    let plane: Option<Plane> = eye.plane(desk.settings.cut, station);
    if let Some(spot) = eye.met(&shown.field, [f64::from(off.x), f64::from(off.y)], plane) {
        desk.session.pick(spot, aim(&eye, &spot, plane), is_measured);
    }
}

/// Which side of the wood is meant where the eye meets a point.
fn aim(eye: &Eye, spot: &Spot, plane: Option<Plane>) -> Aim {
    let point = eye.point(spot.station, spot.theta, spot.radius);
    let is_section = plane.is_some_and(|(normal, limit)| dot(point, normal) > limit - ON_PLANE);
    let [_, _, back] = eye.axes();
    let outward = eye.point(0.0, spot.theta, 1.0);
    if is_section || dot(outward, back) <= 0.0 { Aim::Inside } else { Aim::Piece }
}
