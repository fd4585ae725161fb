//! The scale of stations that all pictures share.

use egui::{Align2, Rect, Stroke, Ui, pos2};

use crate::desk::Desk;
use crate::theme::{self, number, round_step};

/// The least room between two numbers, points.
const ROOM: f64 = 64.0;

/// Draws it across the pictures.
pub(crate) fn ruler(desk: &Desk, ui: &Ui, rect: Rect) {
    let Some(eye) = desk.eye else { return };
    let theme = &desk.theme;
    let painter = ui.painter_at(rect.expand2(egui::vec2(0.0, 1.0)));
    let x = |station: f64| rect.center().x + eye.across(station) as f32;
    let [from, to] = [-0.5, 0.5].map(|side| eye.station_at(side * f64::from(rect.width())));
    let step = round_step(ROOM / eye.scale);
    let digits = if step >= 1.0 { 0 } else { (-step.log10().floor()) as usize };
    let fine = step / 5.0;
    painter.line_segment([rect.left_top(), rect.right_top()], Stroke::new(1.0, theme.ink));
    for tick in (from / fine).ceil() as i64..=(to / fine).floor() as i64 {
        let is_long = tick % 5 == 0;
        let at = x(tick as f64 * fine);
        let end = rect.top() + if is_long { 7.0 } else { 3.5 };
        painter.line_segment([pos2(at, rect.top()), pos2(at, end)], Stroke::new(1.0, theme.soft));
        if is_long {
            let text = painter.layout_no_wrap(number(tick as f64 * fine, digits), theme::small(), theme.soft);
            let left = at - 0.5 * text.size().x;
            // What has no room is left out, not cut off.
            if left >= rect.left() && at < rect.right() - 84.0 {
                painter.galley(pos2(left, rect.top() + 8.0), text, theme.soft);
            }
        }
    }
    painter.text(rect.right_top() + egui::vec2(0.0, 8.0), Align2::RIGHT_TOP, "station, mm", theme::small(), theme.soft);
    if let Some(spot) = desk.session.cursor.spot {
        let at = x(spot.station);
        let text = number(spot.station, 2);
        let galley = painter.layout_no_wrap(text, theme::small(), theme.paper);
        let tag = Rect::from_center_size(pos2(at, rect.top() + 13.0), galley.size() + egui::vec2(8.0, 3.0));
        painter.rect_filled(tag, 2.0, theme.mark);
        painter.galley(tag.min + egui::vec2(4.0, 1.5), galley, theme.paper);
    }
}
