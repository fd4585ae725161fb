//! The way of the cutter about the cursor: where its tip came from and where it goes next, and how wide it swept.

use std::f64::consts::TAU;

use dryturn_geom::{Motion, Motions, Pose, angle};
use egui::{Mesh, Pos2, Shape, Stroke};

use super::Over;
use crate::session::Opened;
use crate::spot::Spot;

/// How much is drawn before and after the cursor, and how much of it as wide as the cutter: so far as the piece turns,
/// radians, and so many moves that do not turn it, however many blocks that takes.
const BEFORE: Room = Room { turn: 6.0 * TAU, moves: 24.0 };
const AFTER: Room = Room { turn: 2.0 * TAU, moves: 8.0 };
const SWEPT: Room = Room { turn: TAU, moves: 8.0 };
/// Most blocks that are looked through for it.
const BLOCKS: u32 = 3000;
/// From point to point of the way, radians; and the least length of a move that counts as one, points of the screen.
const STEP: f64 = 0.12;
const LONG: f32 = 24.0;
/// Points of it that lie no farther apart on the screen are one.
const APART: f32 = 0.7;
/// Points under the tip between which the sweep is seen to go on; cosine of the bend at which it begins anew; and how much of
/// the piece it covers.
const SEEN: f32 = 3.0;
const BEND: f64 = 0.7;
const TINT: f32 = 0.3;

/// How much is drawn.
#[derive(Clone, Copy)]
struct Room {
    turn: f64,
    moves: f64,
}

impl Room {
    /// The share of a motion that there is room for, 0 … 1; takes up that room.
    fn take(&mut self, motion: &Motion, long: f32) -> f64 {
        if self.turn <= 0.0 || self.moves <= 0.0 {
            return 0.0;
        }
        let turned = (motion.to.turn - motion.from.turn).abs();
        let around = turned * motion.to.z.abs().max(motion.from.z.abs());
        if around <= (motion.to.x - motion.from.x).abs() {
            self.moves -= f64::from((long / LONG).min(1.0));
        }
        let share = if turned > self.turn { self.turn / turned } else { 1.0 };
        self.turn -= turned;
        share
    }
}

/// Draws all of it.
pub(super) fn draw(over: &Over<'_>, opened: &Opened) {
    let now = over.desk.session.cursor.blocks;
    let motion = |block: u32| opened.job.motion(block);
    let before = || (now.saturating_sub(BLOCKS)..now).rev().filter_map(motion);
    sweep(over, opened, before());
    stretch(over, before(), BEFORE, true);
    stretch(over, (now..now.saturating_add(BLOCKS).min(opened.blocks())).filter_map(motion), AFTER, false);
}

/// The point of the piece under the tip.
fn under(pose: &Pose) -> Spot {
    let theta = pose.turn + angle::atan2(-pose.y, pose.z);
    Spot { station: pose.x, theta, radius: angle::hypot(pose.y, pose.z) }
}

/// Points of a motion from its one end, in steps, as far as there is room; from its last where it is past.
fn steps(over: &Over<'_>, motion: &Motion, room: &mut Room, is_past: bool) -> Vec<Spot> {
    let end = |share: f64| under(&motion.at(if is_past { 1.0 - share } else { share }));
    let long = over.at(&end(0.0)).0.distance(over.at(&end(1.0)).0);
    let share = room.take(motion, long);
    let turned = (motion.to.turn - motion.from.turn).abs() * share;
    let count = (turned / STEP).ceil().max(1.0) as u32;
    if share == 0.0 {
        return Vec::new();
    }
    (0..=count).map(|step| end(share * f64::from(step) / f64::from(count))).collect()
}

/// Some motions, the nearest to the cursor first. Short ones that follow each other are one line.
fn stretch(over: &Over<'_>, motions: impl Iterator<Item = Motion>, mut room: Room, is_past: bool) {
    let mut line = Line::default();
    for motion in motions {
        let steps = steps(over, &motion, &mut room, is_past);
        if steps.is_empty() {
            break;
        }
        for spot in steps {
            let (point, near) = over.at(&spot);
            let kind = Kind { cutter: motion.cutter, is_rapid: motion.rapid, is_near: near > 0.0, is_past };
            line.add(kind, point, |line| draw_line(over, line));
        }
    }
    draw_line(over, &line);
}

/// Draws a line of the way: before the piece on a ground of its own, so that it stands out; behind it thinly.
fn draw_line(over: &Over<'_>, line: &Line) {
    let Some(Kind { cutter, is_rapid, is_near, is_past }) = line.kind else { return };
    let theme = &over.desk.theme;
    let width = match (is_near, is_past) {
        (true, true) => 2.0,
        (true, false) => 1.4,
        (false, _) => 0.7,
    };
    let stroke = Stroke::new(width, theme.cutter(cutter));
    if is_near {
        let ground = Stroke::new(width + 1.8, theme.paper.gamma_multiply(0.7));
        over.painter.add(Shape::line(line.points.clone(), ground));
    }
    if is_rapid || !is_past {
        over.painter.extend(Shape::dashed_line(&line.points, stroke, if is_rapid { 5.0 } else { 2.5 }, 3.0));
    } else {
        over.painter.add(Shape::line(line.points.clone(), stroke));
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
    /// Goes on to a point, and hands over what there is where it is drawn otherwise from there on. What cannot be told from
    /// the last point is left out.
    fn add(&mut self, kind: Kind, point: Pos2, draw: impl FnOnce(&Line)) {
        let last = self.points.last().copied();
        if self.kind.is_some_and(|now| now != kind) {
            draw(self);
            self.points = last.into_iter().collect();
        }
        self.kind = Some(kind);
        if last.is_none_or(|last| last.distance(point) > APART) {
            self.points.push(point);
        }
    }
}

/// What was swept last, as wide as the cutter.
fn sweep(over: &Over<'_>, opened: &Opened, motions: impl Iterator<Item = Motion>) {
    let mut room = SWEPT;
    let mut band = Band { over, cutter: 0, edges: Vec::new(), last: None, way: [0.0; 2] };
    for motion in motions {
        let steps = steps(over, &motion, &mut room, true);
        if motion.rapid {
            band.end();
            band.last = None;
        }
        let cutter = opened.job.scene.cutters.get(usize::from(motion.cutter));
        let Some(cutter) = cutter.filter(|_| !steps.is_empty()) else { break };
        for spot in steps.into_iter().filter(|_| !motion.rapid) {
            band.go_on(motion.cutter, cutter.flutes.radius(), spot);
        }
    }
    band.end();
}

/// A stretch of the surface that was swept in about one direction, as far as it is seen.
struct Band<'a> {
    over: &'a Over<'a>,
    cutter: u16,
    /// On the screen, what lies at either side of the tip.
    edges: Vec<[Pos2; 2]>,
    last: Option<Spot>,
    /// The direction along the axis and around it.
    way: [f64; 2],
}

impl Band<'_> {
    /// Goes on to a point under the tip of a cutter of a radius, mm.
    fn go_on(&mut self, cutter: u16, radius: f64, spot: Spot) {
        let Some(last) = self.last else { return self.last = Some(spot) };
        if self.over.at(&last).0.distance(self.over.at(&spot).0) < SEEN {
            return;
        }
        self.last = Some(spot);
        let is_seen = [last, spot].iter().all(|it| self.over.at(it).1 > 0.0);
        let measure = last.to(&spot);
        let long = measure.along.hypot(measure.around);
        let way = [measure.along / long, measure.around / long];
        let is_straight = self.way[0] * way[0] + self.way[1] * way[1] > BEND;
        if self.cutter != cutter || !is_seen || !is_straight {
            self.end();
        }
        (self.cutter, self.way) = (cutter, way);
        // What only goes down sweeps no band.
        if is_seen && long > measure.depth.abs() {
            let edges = |spot: &Spot| {
                let side = |by: f64| Spot {
                    station: spot.station - by * way[1],
                    theta: spot.theta + by * way[0] / spot.radius.max(radius),
                    ..*spot
                };
                [-radius, radius].map(|by| self.over.at(&side(by)).0)
            };
            let [from, to] = [edges(&last), edges(&spot)];
            if self.edges.is_empty() {
                self.edges.push(from);
            }
            self.edges.push(to);
        }
    }

    /// Draws it, and begins anew.
    fn end(&mut self) {
        let edges = std::mem::take(&mut self.edges);
        let color = self.over.desk.theme.cutter(self.cutter);
        let mut mesh = Mesh::default();
        for pair in edges.windows(2) {
            let base = mesh.vertices.len() as u32;
            for corner in [pair[0][0], pair[0][1], pair[1][0], pair[1][1]] {
                mesh.colored_vertex(corner, color.gamma_multiply(TINT));
            }
            mesh.add_triangle(base, base + 1, base + 2);
            mesh.add_triangle(base + 1, base + 3, base + 2);
        }
        self.over.painter.add(Shape::mesh(mesh));
        for side in [0, 1] {
            let line = edges.iter().map(|edge| edge[side]).collect();
            self.over.painter.add(Shape::line(line, Stroke::new(1.0, color)));
        }
    }
}
