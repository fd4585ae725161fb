//! What is drawn over the piece: the cursor, the way of the cutter about it, measures, the places of findings.

use std::f64::consts::TAU;

use dryturn_geom::{Motion, Motions, Pose};
use egui::{Painter, Pos2, Rect, Shape, Stroke, Ui, pos2, vec2};

use super::sign;
use crate::desk::Desk;
use crate::eye::Eye;
use crate::field::Field;
use crate::session::Opened;
use crate::spot::Spot;

/// How much of the way is drawn before and after the cursor: at most so many moves that can be told apart, turning the piece
/// by so much, radians, however many blocks that takes.
const BEFORE: Stretch = Stretch { moves: 24.0, turn: 6.0 * TAU };
const AFTER: Stretch = Stretch { moves: 8.0, turn: 2.0 * TAU };
/// Most blocks that are looked through for it.
const BLOCKS: u32 = 3000;
/// From point to point of the way, radians; and the least length of a move that counts as one, points of the screen.
const STEP: f64 = 0.12;
const LONG: f32 = 24.0;
/// Points of it that lie no farther apart on the screen are one.
const APART: f32 = 0.7;

/// How much of the way is drawn.
#[derive(Clone, Copy)]
struct Stretch {
    moves: f64,
    turn: f64,
}

/// Draws all of it.
pub(super) fn draw(desk: &Desk, ui: &Ui, rect: Rect, opened: &Opened) {
    let Some(eye) = desk.eye else { return };
    let painter = ui.painter_at(rect);
    let over = Over { desk, eye, rect, painter };
    if desk.settings.cutter {
        over.way(opened);
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

    /// Where the tip came from, and where it goes next.
    fn way(&self, opened: &Opened) {
        let now = self.desk.session.cursor.blocks;
        let motion = |block: u32| opened.job.motion(block);
        let before = (now.saturating_sub(BLOCKS)..now).rev().filter_map(motion);
        self.stretch(before, BEFORE, true);
        let after = (now..now.saturating_add(BLOCKS).min(opened.blocks())).filter_map(motion);
        self.stretch(after, AFTER, false);
    }

    /// Some motions, the nearest to the cursor first, as far as a stretch goes. Short ones that follow each other are one line.
    fn stretch(&self, motions: impl Iterator<Item = Motion>, mut room: Stretch, is_past: bool) {
        let mut line = Line::default();
        for motion in motions {
            let turned = (motion.to.turn - motion.from.turn).abs();
            let share = if turned > room.turn { room.turn / turned } else { 1.0 };
            let steps = (turned * share / STEP).ceil().max(1.0) as u32;
            let mut long = 0.0;
            for step in 0..=steps {
                let gone = share * f64::from(step) / f64::from(steps);
                let (point, near) = self.tip(&motion.at(if is_past { 1.0 - gone } else { gone }));
                let kind = Kind { cutter: motion.cutter, is_rapid: motion.rapid, is_near: near > 0.0, is_past };
                long += line.add(kind, point, |line| self.line(line));
            }
            room.turn -= turned;
            room.moves -= f64::from((long / LONG).min(1.0));
            if room.turn <= 0.0 || room.moves <= 0.0 {
                break;
            }
        }
        self.line(&line);
    }

    /// Draws a line of the way: before the piece on a ground of its own, so that it stands out; behind it thinly.
    fn line(&self, line: &Line) {
        let Some(Kind { cutter, is_rapid, is_near, is_past }) = line.kind else { return };
        let theme = &self.desk.theme;
        let width = match (is_near, is_past) {
            (true, true) => 2.0,
            (true, false) => 1.4,
            (false, _) => 0.7,
        };
        let stroke = Stroke::new(width, theme.cutter(cutter));
        if is_near {
            let ground = Stroke::new(width + 1.8, theme.paper.gamma_multiply(0.7));
            self.painter.add(Shape::line(line.points.clone(), ground));
        }
        if is_rapid || !is_past {
            self.painter.extend(Shape::dashed_line(&line.points, stroke, if is_rapid { 5.0 } else { 2.5 }, 3.0));
        } else {
            self.painter.add(Shape::line(line.points.clone(), stroke));
        }
    }

    /// Where a tip is seen, and how far before the axis, mm.
    fn tip(&self, pose: &Pose) -> (Pos2, f64) {
        let theta = pose.turn + dryturn_geom::angle::atan2(-pose.y, pose.z);
        let radius = dryturn_geom::angle::hypot(pose.y, pose.z);
        self.at(&Spot { station: pose.x, theta, radius })
    }

    /// The places of findings.
    fn findings(&self) {
        let Some(proof) = self.desk.session.proof.as_ref().filter(|_| self.desk.session.is_proved) else { return };
        for (index, finding) in proof.findings.iter().enumerate() {
            let Some(place) = finding.place else { continue };
            let theta = place.angle_deg.to_radians();
            let spot = Spot { station: place.station_mm, theta, radius: place.radius_mm };
            let is_chosen = self.desk.session.cursor.finding == Some(index);
            if !is_chosen && !self.faces(theta) {
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

/// How a part of the way is drawn.
#[derive(Clone, Copy, PartialEq)]
struct Kind {
    cutter: u16,
    is_rapid: bool,
    /// Whether it lies before the axis.
    is_near: bool,
    is_past: bool,
}

/// A part of the way that is drawn in one go.
#[derive(Default)]
struct Line {
    kind: Option<Kind>,
    points: Vec<Pos2>,
}

impl Line {
    /// Goes on to a point, and hands over what there is where it is drawn otherwise from there on; gives how far it went,
    /// points. What cannot be told from the last point is left out.
    fn add(&mut self, kind: Kind, point: Pos2, draw: impl FnOnce(&Line)) -> f32 {
        let last = self.points.last().copied();
        if self.kind.is_some_and(|now| now != kind) {
            draw(self);
            self.points = last.into_iter().collect();
        }
        self.kind = Some(kind);
        let long = last.map_or(0.0, |last| last.distance(point));
        if last.is_none() || long > APART {
            self.points.push(point);
            return long;
        }
        0.0
    }
}
