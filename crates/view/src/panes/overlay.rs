//! What is drawn over the piece: the cursor, the way of the cutter about it, measures, the places of findings.

mod way;

use egui::{Painter, Pos2, Rect, Stroke, Ui, pos2, vec2};

use super::sign;
use crate::desk::Desk;
use crate::eye::Eye;
use crate::field::Field;
use crate::session::{Opened, spot_of};
use crate::spot::Spot;

/// Draws all of it.
pub(super) fn draw(desk: &Desk, ui: &Ui, rect: Rect, opened: &Opened) {
    let Some(eye) = desk.eye else { return };
    let painter = ui.painter_at(rect);
    let over = Over { desk, eye, rect, painter };
    if desk.settings.cutter {
        way::draw(&over, opened);
    }
    over.findings();
    if let Some(shown) = &desk.session.shown {
        over.cursor(&shown.field);
    }
    over.measure();
}

struct Over<'a> {
    desk: &'a Desk,
    eye: Eye,
    rect: Rect,
    painter: Painter,
}

impl Over<'_> {
    fn at(&self, spot: &Spot) -> (Pos2, f64) {
        let point = self.eye.point(spot.station, spot.theta, spot.radius);
        let [x, y, near] = self.eye.seen(point);
        (self.rect.center() + vec2(x as f32, y as f32), near)
    }

    /// Whether a point of the surface looks toward the eye.
    fn faces(&self, theta: f64) -> bool {
        let [_, _, back] = self.eye.axes();
        crate::eye::dot(self.eye.point(0.0, theta, 1.0), back) > 0.0
    }

    /// The outline at the cursor's station, and its point.
    fn cursor(&self, field: &Field) {
        let Some(spot) = self.desk.session.cursor.spot else { return };
        let theme = &self.desk.theme;
        let count = 180;
        let theta = |place: u32| std::f64::consts::TAU * f64::from(place) / f64::from(count);
        for place in 0..count {
            let ends = [place, place + 1].map(|it| {
                let radius = field.radius(spot.station, theta(it));
                self.at(&Spot { station: spot.station, theta: theta(it), radius }).0
            });
            let width = if self.faces(theta(place)) { 1.6 } else { 0.5 };
            self.painter.line_segment(ends, Stroke::new(width, theme.mark));
        }
        let (at, _) = self.at(&spot);
        let is_seen = self.faces(spot.theta);
        self.painter.circle_filled(at, 4.5, if is_seen { theme.mark } else { theme.paper });
        self.painter.circle_stroke(at, 4.5, Stroke::new(1.5, if is_seen { theme.paper } else { theme.mark }));
        let x = at.x;
        self.painter.line_segment(
            [pos2(x, self.rect.bottom()), pos2(x, self.rect.bottom() - 8.0)],
            Stroke::new(1.5, theme.mark),
        );
    }

    /// The places of findings.
    fn findings(&self) {
        let Some(proof) = self.desk.session.proof.as_ref().filter(|_| self.desk.session.is_proved) else { return };
        for (index, finding) in proof.findings.iter().enumerate() {
            let Some(spot) = spot_of(finding) else { continue };
            let is_chosen = self.desk.session.cursor.finding == Some(index);
            if !is_chosen && !self.faces(spot.theta) {
                continue;
            }
            let (at, _) = self.at(&spot);
            self.painter.extend(sign(finding.severity, at, if is_chosen { 9.0 } else { 6.0 }, &self.desk.theme));
        }
    }

    /// From one point to the other.
    fn measure(&self) {
        let cursor = &self.desk.session.cursor;
        let (Some(from), Some(to)) = (cursor.from, cursor.spot) else { return };
        let [a, b] = [from, to].map(|spot| self.at(&spot).0);
        let theme = &self.desk.theme;
        self.painter.line_segment([a, b], Stroke::new(3.5, theme.paper));
        self.painter.line_segment([a, b], Stroke::new(1.5, theme.mark));
        self.painter.circle_stroke(a, 5.0, Stroke::new(2.0, theme.mark));
    }
}
