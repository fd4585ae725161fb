//! What the run is told by, in lanes beside the way of the cutter.

use dryturn_check::Moment;
use egui::{Align2, Rect, Stroke, Ui, pos2, vec2};

use super::{Pane, RunCache, curve};
use crate::desk::Desk;
use crate::panes::haloed;
use crate::theme::{self, number};

/// Farther than this no distance matters, mm.
const FAR: f64 = 20.0;

/// Room for the name of a lane.
const HEAD: f32 = 35.0;

/// A number that goes with the time.
struct Lane {
    name: &'static str,
    unit: &'static str,
    /// What it is, in a sentence.
    hint: &'static str,
    /// When, seconds, and how much.
    points: Vec<(f64, f64)>,
    greatest: f64,
}

/// Draws the lanes.
pub(super) fn draw(desk: &Desk, ui: &Ui, pane: &Pane, rows: &RunCache) {
    let theme = &desk.theme;
    let painter = ui.painter_at(pane.lanes);
    painter.rect_filled(pane.lanes, 0.0, theme.sheet.gamma_multiply(0.85));
    let lanes = lanes(desk, pane, rows);
    let wide = pane.lanes.width() / lanes.len().max(1) as f32;
    for (place, lane) in lanes.iter().enumerate() {
        let left = pane.lanes.left() + wide * place as f32;
        let area = Rect::from_min_max(pos2(left, pane.lanes.top()), pos2(left + wide, pane.lanes.bottom()));
        painter.line_segment([area.left_top(), area.left_bottom()], Stroke::new(1.0, theme.rule));
        bars(desk, ui, pane, area, lane);
        let hint =
            ui.interact(area.with_max_y(area.top() + HEAD), ui.scope_id().with(("lane", place)), egui::Sense::hover());
        hint.on_hover_text(lane.hint);
        let head = area.with_max_y(area.top() + HEAD);
        painter.rect_filled(head.shrink2(vec2(1.0, 0.0)), 0.0, theme.sheet);
        let at = area.left_top() + vec2(6.0, 4.0);
        let wide = painter.layout_no_wrap(lane.name.to_owned(), theme::text(), theme.ink).size().x;
        let font = if wide > area.width() - 8.0 { theme::small() } else { theme::text() };
        let name = haloed(ui, at, Align2::LEFT_TOP, lane.name, font, theme.ink, theme.sheet);
        let most = if lane.points.is_empty() {
            "…".to_owned()
        } else {
            format!("{} {}", number(lane.greatest, if lane.greatest < 10.0 { 1 } else { 0 }), lane.unit)
        };
        let at = pos2(area.left() + 6.0, name.bottom());
        haloed(ui, at, Align2::LEFT_TOP, &most, theme::small(), theme.soft, theme.sheet);
    }
}

/// A line for each moment, as long as its number is great.
fn bars(desk: &Desk, ui: &Ui, pane: &Pane, area: Rect, lane: &Lane) {
    let painter = ui.painter_at(area);
    let room = f64::from(area.width() - 10.0);
    let x = |value: f64| area.left() + 3.0 + (room * (value / lane.greatest.max(1e-9)).clamp(0.0, 1.0)) as f32;
    let ends = lane.points.iter().skip(1).map(|point| point.0).chain([pane.span[1]]);
    let color = curve(&desk.theme);
    let is_distance = lane.name == "Distance";
    for ((seconds, value), end) in lane.points.iter().zip(ends) {
        let (top, bottom) = (pane.y(*seconds), pane.y(end));
        if bottom < area.top() || top > area.bottom() {
            continue;
        }
        let near = is_distance && *value <= 2.0;
        let fill = if near { desk.theme.mark } else { color.gamma_multiply(0.55) };
        let bar = Rect::from_min_max(
            pos2(area.left() + 3.0, top),
            pos2(x(*value).max(area.left() + 4.0), bottom.max(top + 0.8)),
        );
        painter.rect_filled(bar, 0.0, fill);
    }
}

fn lanes(desk: &Desk, pane: &Pane, rows: &RunCache) -> Vec<Lane> {
    let series = desk.session.proof.as_ref().map(|proof| &proof.told.series);
    let moments: &[Moment] = series.map_or(&[], |series| &series.moments);
    let told = |of: &dyn Fn(&Moment) -> Option<f64>| -> Vec<(f64, f64)> {
        moments.iter().map(|moment| (moment.time_s, of(moment).unwrap_or(0.0))).collect()
    };
    // Least distance of any two bodies; how high the tip is over the blank; what the spindle, or the wood, is asked for.
    let distances = moments.iter().map(|moment| (moment.time_s, moment.clearance_mm.unwrap_or(FAR).min(FAR)));
    let has_power = moments.iter().any(|moment| moment.power.is_some());
    let load = if has_power {
        told(&|moment| moment.power.map(|power| power[1]))
    } else {
        told(&|moment| Some(moment.removal_mm3_s))
    };
    let slice = (pane.span[1] - pane.span[0]) / rows.rows.len().max(1) as f64;
    let over =
        rows.rows.iter().enumerate().map(|(place, row)| (pane.span[0] + slice * place as f64, row.over.max(0.0)));
    let lane = |name, unit, points: Vec<(f64, f64)>| {
        let greatest = points.iter().map(|point| point.1).fold(0.0, f64::max);
        let hint = match name {
            "Distance" => "Least distance of any two bodies; what is near stands out.",
            "Height" => "How high the tip is over the blank.",
            "Power" => "Power at the spindle, the high end of what is known.",
            _ => "Wood taken, the mean of each slice of time.",
        };
        Lane { name, unit, hint, points, greatest }
    };
    vec![
        Lane { greatest: FAR, ..lane("Distance", "mm", distances.collect()) },
        lane("Height", "mm", over.collect()),
        if has_power { lane("Power", "W", load) } else { lane("Wood", "mm³/s", load) },
    ]
}
