//! The piece cut across at the cursor, as it is seen from the free end: what faces the eye lies at the left.

use egui::{Align2, Pos2, Rect, Shape, Stroke, Ui, pos2, vec2};

use crate::desk::Desk;
use crate::eye::dot;
use crate::field::{Field, Solid};
use crate::session::Aim;
use crate::spot::Spot;
use crate::theme::{self, number};

/// Draws it beside the piece.
pub(crate) fn section(desk: &Desk, ui: &Ui, rect: Rect) {
    let (Some(eye), Some(shown)) = (desk.eye, &desk.session.shown) else { return };
    let theme = &desk.theme;
    let painter = ui.painter_at(rect);
    let station = desk.session.cursor.spot.map_or(eye.station, |spot| spot.station);
    let title = format!("across at {} mm", number(station, 1));
    let caliper = match desk.session.answer() {
        Some(known) => known.diameter,
        None => desk.session.cursor.spot.and_then(|spot| caliper(desk, &shown.field, &spot)),
    };
    let caliper = caliper.map(|across| format!("Ø {} mm", number(across, 2)));
    let spoken = [Some(title.clone()), caliper.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ");
    super::told(ui, rect, egui::Role::Image, &format!("Section {spoken}"));
    painter.text(rect.left_top() + vec2(14.0, 8.0), Align2::LEFT_TOP, title, theme::text(), theme.soft);
    let room = (0.5 * rect.width() - 16.0).min(0.5 * rect.height() - 26.0);
    let greatest = shown.field.greatest();
    if room < 16.0 || greatest <= 0.0 {
        return;
    }
    let scale = f64::from(room) / greatest;
    let middle = rect.center() + vec2(0.0, 6.0);
    let [_, up, back] = crate::eye::Eye { swing: 0.0, ..eye }.axes();
    let at = |theta: f64, radius: f64| {
        let point = eye.point(0.0, theta, radius);
        middle + vec2((-scale * dot(point, back)) as f32, (-scale * dot(point, up)) as f32)
    };
    outline(&painter, &shown.field, station, &at, theme);
    let line = Stroke::new(1.0, theme.rule);
    painter.line_segment([middle - vec2(5.0, 0.0), middle + vec2(5.0, 0.0)], line);
    painter.line_segment([middle - vec2(0.0, 5.0), middle + vec2(0.0, 5.0)], line);
    if let Some(spot) = desk.session.cursor.spot {
        let end = at(spot.theta, spot.radius);
        painter.line_segment([middle, end], Stroke::new(1.2, theme.mark));
        painter.circle_filled(end, 4.0, theme.mark);
        let rim = pos2(rect.center().x, rect.bottom() - 4.0);
        painter.text(rim, Align2::CENTER_BOTTOM, caliper.unwrap_or_default(), theme::text(), theme.ink);
    }
}

/// What a caliper reads on the outermost wood, mm, until it is known to the last digit. The place of a finding may lie off the
/// surface; a caliper's jaws do not. Which wood is meant by a point that was picked on the piece is not known before.
fn caliper(desk: &Desk, field: &Field, spot: &Spot) -> Option<f64> {
    let is_outermost = !matches!(desk.session.cursor.aim, Aim::Piece | Aim::Inside);
    let half = |half: f64| field.radius(spot.station, spot.theta + half);
    is_outermost.then(|| half(0.0) + half(std::f64::consts::PI))
}

/// The solid, ray by ray, and its edge.
fn outline(
    painter: &egui::Painter,
    field: &Field,
    station: f64,
    at: &dyn Fn(f64, f64) -> Pos2,
    theme: &crate::theme::Theme,
) {
    let Some(first) = field.nearest(station, 0.0) else { return };
    let row = first / field.columns * field.columns;
    let theta = |column: usize| column as f64 * field.turn;
    let solids = |column: usize| {
        let ray = row + column % field.columns;
        field.layers.iter().map(move |rays| rays[ray]).filter(|solid| !solid.is_empty())
    };
    let fill = theme.wash.lerp_to_gamma(theme.rule, 0.35);
    let mut mesh = egui::Mesh::default();
    for column in 0..field.columns {
        for solid in solids(column) {
            let base = mesh.vertices.len() as u32;
            // A little wider than a ray, so that no ground shines through between them.
            for side in [-0.52, 0.52] {
                for radius in [solid.inner, solid.outer] {
                    mesh.colored_vertex(at(theta(column) + side * field.turn, f64::from(radius)), fill);
                }
            }
            mesh.add_triangle(base, base + 1, base + 2);
            mesh.add_triangle(base + 1, base + 3, base + 2);
        }
    }
    painter.add(Shape::mesh(mesh));
    for column in 0..field.columns {
        let [a, b]: [Vec<_>; 2] = [column, column + 1].map(|it| solids(it).collect());
        for [from, to] in edges(&a, &b) {
            let ends = [at(theta(column), from), at(theta(column + 1), to)];
            painter.line_segment(ends, Stroke::new(1.3, theme.ink));
        }
    }
}

/// The edge from one ray to the next, as pairs of radii, mm: end by end where both have as many; else the outermost and
/// the innermost, for between those a groove begins or ends.
fn edges(a: &[Solid], b: &[Solid]) -> Vec<[f64; 2]> {
    let pair = |a: f32, b: f32| [f64::from(a), f64::from(b)];
    let pairs: Vec<[f64; 2]> = if a.len() == b.len() {
        a.iter().zip(b).flat_map(|(a, b)| [pair(a.inner, b.inner), pair(a.outer, b.outer)]).collect()
    } else {
        let ends = |solids: &[Solid]| Some([solids.last()?.inner, solids.first()?.outer]);
        ends(a).zip(ends(b)).map_or_else(Vec::new, |(a, b)| vec![pair(a[0], b[0]), pair(a[1], b[1])])
    };
    // The axis is no edge.
    pairs.into_iter().filter(|pair| pair.iter().all(|radius| *radius > 0.0)).collect()
}
