//! The holding seen along the axis from the free end: blank, jaws, screws, the mark, and which way it turns.

use dryturn_check::contact::{FixedBody, FixedShape};
use dryturn_check::holding;
use dryturn_geom::{Along, Axis, Side, Stock, angle};
use dryturn_scene::Scene;

use super::ready::top_goes;
use super::steps::Turning;
use super::svg::{Anchor, Svg};
use crate::text::trimmed;

/// Greatest radius on the paper, and the margin around it for arrows and words, mm.
const RADIUS: f64 = 24.0;
const MARGIN: f64 = 9.0;
const SCALES: [f64; 9] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0];
/// Angles at which the blank's outline is taken.
const RAYS: u32 = 720;

/// From y and z to the paper, as the blank stands with the rotary word at zero.
struct Paper {
    middle: f64,
    scale: f64,
    /// +1 where y runs to the right.
    right: f64,
    /// θ on top, radians.
    top: f64,
}

impl Paper {
    /// The place of a point at an angle θ of the blank, with a distance aside of its ray.
    fn at(&self, theta: f64, radius: f64, aside: f64) -> [f64; 2] {
        let (sine, cosine) = angle::sin_cos(theta - self.top);
        let (y, z) = (-radius * sine - aside * cosine, radius * cosine - aside * sine);
        [self.middle + self.right * y / self.scale, self.middle - z / self.scale]
    }
}

/// The drawing.
pub(super) fn end_view(scene: &Scene) -> String {
    let (bodies, stock) = (holding(scene), scene.stock());
    let held: Vec<&FixedBody> =
        bodies.iter().filter(|body| matches!(body.shape, FixedShape::Jaw { .. } | FixedShape::Screw { .. })).collect();
    let greatest = held.iter().map(|body| reach(&body.shape)).fold(stock.swept_radius(), f64::max);
    let fits = |scale: &&f64| greatest / **scale <= RADIUS;
    let scale = SCALES.iter().find(fits).copied().unwrap_or(50.0);
    let right = if scene.machine.chuck_on == Side::Minus { 1.0 } else { -1.0 };
    let middle = RADIUS + MARGIN;
    let paper = Paper { middle, scale, right, top: scene.zero(0, 0).turn };
    let mut svg = Svg::new();
    let (behind, before): (Vec<_>, Vec<_>) = held.into_iter().partition(|body| is_outside(body, &stock));
    behind.iter().for_each(|body| draw(&mut svg, &paper, body));
    blank(&mut svg, &paper, &stock);
    before.iter().for_each(|body| draw(&mut svg, &paper, body));
    let edge = RADIUS + 1.5;
    svg.line("axis", [middle - edge, middle], [middle + edge, middle]);
    svg.line("axis", [middle, middle - edge], [middle, middle + edge]);
    mark(&mut svg, &paper, &stock);
    turning(&mut svg, scene, &paper);
    // A word that turns the blank moves nothing across it.
    if Turning::of(scene).is_rotary() {
        across(&mut svg, scene, &paper);
    }
    let name = format!("The holding from the free end, 1 : {}", trimmed(scale, 1));
    svg.text([middle, 2.0 * middle + 2.5], Anchor::Middle, &format!("from the free end, 1 : {}", trimmed(scale, 1)));
    svg.finish(2.0 * middle, 2.0 * middle + 4.0, &name)
}

/// Whether a body stands around the blank, not in it.
fn is_outside(body: &FixedBody, stock: &Stock) -> bool {
    matches!(body.shape, FixedShape::Jaw { outer, .. } if outer > stock.bore)
}

fn reach(shape: &FixedShape) -> f64 {
    match *shape {
        FixedShape::Jaw { outer, width, .. } => angle::hypot(outer, 0.5 * width),
        FixedShape::Screw { radius, offset, .. } => offset + radius,
        _ => 0.0,
    }
}

fn draw(svg: &mut Svg, paper: &Paper, body: &FixedBody) {
    match body.shape {
        FixedShape::Jaw { inner, outer, width, angle, .. } => {
            let half = 0.5 * width;
            let corners = [(inner, half), (outer, half), (outer, -half), (inner, -half)];
            svg.polygon("jaw", &corners.map(|(radius, aside)| paper.at(angle, radius, aside)));
        }
        FixedShape::Screw { radius, offset, angle, .. } => {
            svg.circle("hidden", paper.at(angle, offset, 0.0), radius / paper.scale);
        }
        _ => {}
    }
}

/// The blank's section at station 0, its bore with it.
fn blank(svg: &mut Svg, paper: &Paper, stock: &Stock) {
    let station = stock.start.max(0.0) + 1e-6 * stock.length;
    let point = |k: u32, is_outer: bool| {
        let theta = std::f64::consts::TAU * f64::from(k) / f64::from(RAYS);
        let spans = stock.spans(station, theta);
        let (inner, outer) = *spans.as_slice().last()?;
        Some(paper.at(theta, if is_outer { outer } else { inner }, 0.0))
    };
    svg.polygon("blank", &(0..RAYS).filter_map(|k| point(k, true)).collect::<Vec<_>>());
    if stock.bore > 0.0 {
        svg.polygon("bore", &(0..RAYS).filter_map(|k| point(k, false)).collect::<Vec<_>>());
    }
}

/// The ray θ = 0, where the mark is.
fn mark(svg: &mut Svg, paper: &Paper, stock: &Stock) {
    let outer = stock.swept_radius();
    let [from, to] = [outer, outer + 3.5 * paper.scale].map(|radius| paper.at(0.0, radius, 0.0));
    svg.line("room", from, to);
    svg.head(from, [from[0] - to[0], from[1] - to[1]]);
}

/// Which way the blank turns as its word grows.
fn turning(svg: &mut Svg, scene: &Scene, paper: &Paper) {
    let frame = scene.frame_as_set(0);
    let found = (0..6).find_map(|word| Some((word, frame.drive(word).filter(|drive| drive.axis == Axis::Turn)?)));
    let Some((word, drive)) = found else { return };
    // The top goes toward y where the angle on top grows.
    let way = paper.right * drive.scale.signum();
    let radius = RADIUS + 4.5;
    let place = |degrees: f64| {
        let (sine, cosine) = angle::sin_cos(angle::radians(degrees));
        [paper.middle + way * radius * sine, paper.middle - radius * cosine]
    };
    let ([x1, y1], [x2, y2]) = (place(18.0), place(62.0));
    let sweep = u8::from(way > 0.0);
    svg.path("leader", &format!("M{x1:.2} {y1:.2} A{radius:.2} {radius:.2} 0 0 {sweep} {x2:.2} {y2:.2}"));
    let before = place(58.0);
    svg.head([x2, y2], [x2 - before[0], y2 - before[1]]);
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    svg.text([x2 + way * 0.8, y2 - 1.6], anchor, &format!("{}+", ['X', 'Y', 'Z', 'A', 'B', 'C'][word]));
}

/// Which way the word across the axis runs.
fn across(svg: &mut Svg, scene: &Scene, paper: &Paper) {
    let word = if scene.machine.along == Along::X { 'Y' } else { 'X' };
    // The way of the word in terms of y, and of that on the paper.
    let way = paper.right * if top_goes(scene, 1.0).ends_with('+') { 1.0 } else { -1.0 };
    let (x, y) = (paper.middle + way * (RADIUS + MARGIN - 1.0), paper.middle);
    svg.head([x, y], [way, 0.0]);
    svg.line("leader", [paper.middle + way * (RADIUS + 1.5), y], [x, y]);
    let anchor = if way > 0.0 { Anchor::End } else { Anchor::Start };
    svg.text([x, y + 3.6], anchor, &format!("{word}+"));
}
