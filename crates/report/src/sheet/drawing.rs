//! The holding from the side, to scale: what holds the blank, the blank, the piece in it, and where things are.

use dryturn_check::contact::{FixedBody, FixedShape};
use dryturn_check::{WindowLimit, holding};
use dryturn_geom::{Side, Stock, angle};
use dryturn_scene::Scene;

use super::svg::{Anchor, Svg};
use crate::run::Run;
use crate::text::trimmed;

/// Width and greatest height of the drawn bodies on the paper, mm.
const WIDTH: f64 = 178.0;
const HEIGHT: f64 = 60.0;
/// Scales that a rule can be laid on.
const SCALES: [f64; 12] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 10.0, 20.0, 50.0];
/// From one line of labels to the next, and a margin, mm on the paper.
const LANE: f64 = 5.0;
const MARGIN: f64 = 1.0;
/// Of what lies far behind, this much is drawn, mm.
const FAR: f64 = 130.0;
/// Most zeros that are pointed at; programs name their own in the order of work.
const MOST_ZEROS: usize = 4;
/// Stations and angles at which the blank's own outline is taken.
const STEPS: u32 = 80;

/// From stations and heights to the paper.
struct Paper {
    first: f64,
    /// mm for a millimetre of paper.
    scale: f64,
    /// Where the axis lies, mm from the top.
    axis: f64,
    /// Greatest height that is drawn, mm.
    top: f64,
    width: f64,
}

impl Paper {
    fn x(&self, station: f64) -> f64 {
        MARGIN + (station - self.first) / self.scale
    }

    fn y(&self, height: f64) -> f64 {
        self.axis - height.clamp(-self.top, self.top) / self.scale
    }

    fn at(&self, station: f64, height: f64) -> [f64; 2] {
        [self.x(station), self.y(height)]
    }
}

/// The drawing, and its scale in words.
pub(super) fn side_view(run: &Run, scene: &Scene) -> (String, String) {
    let (bodies, stock) = (holding(scene), scene.stock());
    let labels = labels(run, scene);
    let paper = paper(&bodies, &stock, labels.len() as f64 * LANE + 3.0);
    let mut svg = Svg::new();
    let (inside, beside): (Vec<_>, Vec<_>) = bodies.iter().partition(|body| is_inside(body, &stock));
    beside.iter().for_each(|body| draw(&mut svg, &paper, body, "jaw"));
    blank(&mut svg, &paper, &stock);
    piece(&mut svg, &paper, run);
    bore(&mut svg, &paper, &stock);
    inside.iter().for_each(|body| draw(&mut svg, &paper, body, "hidden"));
    let foot = paper.axis + paper.top / paper.scale;
    svg.line("axis", [0.0, paper.axis], [paper.width, paper.axis]);
    (0..).zip(&labels).for_each(|(lane, label)| label.draw(&mut svg, &paper, f64::from(lane) * LANE + 3.0));
    ruler(&mut svg, &paper, &stock, foot + 2.5);
    sense(&mut svg, &paper, scene, foot + 12.5);
    let told = format!("1 : {}", trimmed(paper.scale, 1));
    let name = format!("The holding from the side, {told}, stations to the right");
    (svg.finish(paper.width, foot + 15.0, &name), told)
}

/// A scale at which everything has room.
fn paper(bodies: &[FixedBody], stock: &Stock, above: f64) -> Paper {
    let ends = bodies.iter().map(|body| span(&body.shape));
    let (mut first, mut last) = (stock.start, stock.end());
    for [from, to] in ends {
        (first, last) = (first.min(from.max(stock.start - FAR)), last.max(to.min(stock.end() + FAR)));
    }
    let swept = stock.swept_radius();
    let top = bodies.iter().map(|body| reach(&body.shape, swept)).fold(swept, f64::max) + 2.0;
    let fits = |scale: &&f64| (last - first) / **scale <= WIDTH - 2.0 * MARGIN && 2.0 * top / **scale <= HEIGHT;
    let scale = SCALES.iter().find(fits).copied().unwrap_or(SCALES[SCALES.len() - 1]);
    let width = ((last - first) / scale + 2.0 * MARGIN).max(110.0);
    // A short set-up stands in the middle of its labels.
    let first = first - 0.5 * (width - 2.0 * MARGIN - (last - first) / scale) * scale;
    Paper { first, scale, axis: above + top / scale, top, width }
}

/// Stations of a body.
fn span(shape: &FixedShape) -> [f64; 2] {
    match *shape {
        FixedShape::CylinderX { from, to, .. } | FixedShape::Screw { from, to, .. } => [from, to],
        FixedShape::ConeX { apex, half_angle, radius } => [apex, apex + radius / angle::tan(half_angle)],
        FixedShape::Box { x, .. } | FixedShape::Jaw { x, .. } => x,
        FixedShape::Below { .. } => [f64::INFINITY, f64::NEG_INFINITY],
    }
}

/// How far a body reaches upward; of a tailstock below the axis no more than what else there is.
fn reach(shape: &FixedShape, swept: f64) -> f64 {
    match *shape {
        FixedShape::CylinderX { radius, .. } | FixedShape::ConeX { radius, .. } => radius,
        FixedShape::Jaw { outer, .. } => outer,
        FixedShape::Box { z, .. } => z[1],
        FixedShape::Screw { .. } | FixedShape::Below { .. } => swept,
    }
}

/// Whether a body is drawn over the wood that it stands in.
fn is_inside(body: &FixedBody, stock: &Stock) -> bool {
    match body.shape {
        FixedShape::Screw { .. } | FixedShape::ConeX { .. } => true,
        FixedShape::Jaw { outer, .. } => outer <= stock.bore,
        _ => false,
    }
}

fn draw(svg: &mut Svg, paper: &Paper, body: &FixedBody, jaw: &str) {
    match body.shape {
        FixedShape::CylinderX { from, to, radius } => svg.rect("steel", paper.at(from, radius), paper.at(to, -radius)),
        FixedShape::Box { x, z, .. } => svg.rect("steel", paper.at(x[0], z[1]), paper.at(x[1], z[0])),
        FixedShape::Jaw { x, inner, outer, width, angle } => {
            let (sine, cosine) = angle::sin_cos(angle);
            let corner = |radius: f64, aside: f64| radius * cosine + aside * sine;
            let half = 0.5 * width;
            let all = [corner(inner, half), corner(inner, -half), corner(outer, half), corner(outer, -half)];
            let (low, high) = all.iter().fold((f64::MAX, f64::MIN), |(low, high), z| (low.min(*z), high.max(*z)));
            svg.rect(jaw, paper.at(x[0], high), paper.at(x[1], low));
        }
        FixedShape::Screw { from, to, radius, offset, angle } => {
            let height = offset * angle::sin_cos(angle).1;
            svg.rect("hidden", paper.at(from, height + radius), paper.at(to, height - radius));
        }
        FixedShape::ConeX { apex, half_angle, radius } => {
            let base = apex + radius / angle::tan(half_angle);
            svg.polygon("center", &[paper.at(apex, 0.0), paper.at(base, radius), paper.at(base, -radius)]);
        }
        FixedShape::Below { height } => {
            svg.line("steel", paper.at(paper.first, height), [paper.width, paper.y(height)])
        }
    }
}

/// The blank as it stands with the rotary word at zero.
fn blank(svg: &mut Svg, paper: &Paper, stock: &Stock) {
    let station = |k: u32| stock.start + stock.length * (f64::from(k) + 1e-6) / (f64::from(STEPS) + 2e-6);
    let edge = |station: f64, side: f64| {
        let heights = (0..4 * STEPS).filter_map(|k| {
            let theta = std::f64::consts::TAU * f64::from(k) / f64::from(4 * STEPS);
            Some(stock.spans(station, theta).as_slice().last()?.1 * angle::sin_cos(theta).1)
        });
        side * heights.map(|height| side * height).fold(0.0, f64::max)
    };
    let upper = (0..=STEPS).map(|k| paper.at(station(k), edge(station(k), 1.0)));
    let lower = (0..=STEPS).rev().map(|k| paper.at(station(k), edge(station(k), -1.0)));
    svg.polygon("blank", &upper.chain(lower).collect::<Vec<_>>());
}

/// A bore, behind the wood.
fn bore(svg: &mut Svg, paper: &Paper, stock: &Stock) {
    for side in [1.0, -1.0].into_iter().filter(|_| stock.bore > 0.0) {
        svg.line("hidden", paper.at(stock.start, side * stock.bore), paper.at(stock.end(), side * stock.bore));
    }
}

/// The outermost of what is left.
fn piece(svg: &mut Svg, paper: &Paper, run: &Run) {
    let Some(wood) = run.preparation.as_ref().and_then(|ready| ready.wood.as_ref()) else { return };
    let upper = wood.outline.iter().map(|[station, radius]| paper.at(*station, *radius));
    let lower = wood.outline.iter().rev().map(|[station, radius]| paper.at(*station, -radius));
    svg.polygon("piece", &upper.chain(lower).collect::<Vec<_>>());
}

/// Something that is pointed at from a line of its own above the drawing.
struct Label {
    text: String,
    station: f64,
    height: f64,
    /// How far to either side, where that is told: the value, and whether something is met there.
    window: Option<[(f64, bool); 2]>,
}

/// All of them, so that no line to a place crosses the words of another: those nearer to the holding stand higher.
fn labels(run: &Run, scene: &Scene) -> Vec<Label> {
    let mut labels = zeros(run, scene);
    if let Some(cut) = run.preparation.as_ref().and_then(|ready| ready.first_cut) {
        let file = run.programs.get(cut.program).map_or("", |program| program.file.as_str());
        let text = format!("first cut: cutter {}, {file}:{}", cut.cutter, cut.line);
        labels.push(Label { text, station: cut.station_mm, height: cut.height_mm, window: None });
    }
    labels.sort_by(|one, other| one.station.total_cmp(&other.station));
    labels
}

/// About how wide a letter is, mm on the paper.
const LETTER: f64 = 1.45;

impl Label {
    fn draw(&self, svg: &mut Svg, paper: &Paper, y: f64) {
        let x = paper.x(self.station).clamp(0.0, paper.width);
        let has_room = x + LETTER * self.text.chars().count() as f64 <= paper.width;
        let (anchor, aside) = if has_room { (Anchor::Start, 1.0) } else { (Anchor::End, -1.0) };
        svg.line("leader", [x, y - 2.4], [x, paper.y(self.height)]);
        svg.circle("mark", [x, paper.y(self.height)], 0.7);
        if let Some(window) = self.window {
            bracket(svg, paper, self.station, window, y);
        }
        svg.text([x + aside, y - 0.8], anchor, &self.text);
    }
}

/// How far a zero may be off, as a bar with an end where something is met and an arrow where nothing is.
fn bracket(svg: &mut Svg, paper: &Paper, station: f64, window: [(f64, bool); 2], y: f64) {
    let ends = window.map(|(off, _)| paper.x(station + off).clamp(0.0, paper.width));
    svg.line("room", [ends[0], y], [ends[1], y]);
    for ((x, (_, is_met)), way) in ends.into_iter().zip(window).zip([-1.0, 1.0]) {
        if is_met {
            svg.line("room", [x, y - 1.0], [x, y + 1.0]);
        } else {
            svg.head([x, y], [way, 0.0]);
        }
    }
}

/// Where the programs' zeros along the axis stand, each told once.
fn zeros(run: &Run, scene: &Scene) -> Vec<Label> {
    let word = if scene.machine.along == dryturn_geom::Along::X { 'X' } else { 'Y' };
    let mut rows: Vec<(Label, Vec<usize>)> = Vec::new();
    for program in 0..scene.programs.len() {
        let system = run.programs.get(program).and_then(|program| program.systems.first());
        let zero = scene.zero(program, system.copied().unwrap_or(0));
        match rows.iter_mut().find(|(label, _)| (label.station, label.height) == (zero.x, zero.z)) {
            Some((_, programs)) => programs.push(program + 1),
            None => {
                let label = Label { text: String::new(), station: zero.x, height: zero.z, window: None };
                rows.push((label, vec![program + 1]));
            }
        }
    }
    let is_one = rows.len() == 1;
    let text = |programs: &[usize]| of_programs(word, programs, is_one);
    let labels = rows.into_iter().map(|(label, programs)| Label { text: text(&programs), ..label });
    let mut labels: Vec<Label> = labels.take(MOST_ZEROS).collect();
    let window = run.zero_window.as_ref().filter(|window| !super::ready::is_hit(window));
    if let (Some(label), Some(window)) = (labels.first_mut(), window) {
        label.window = Some(window.x.each_ref().map(|limit: &WindowLimit| (limit.value, limit.ended_by.is_some())));
        label.text += &format!("; nothing is hit with {word} off by {}", super::ready::between(&window.x));
    }
    labels
}

fn of_programs(word: char, programs: &[usize], is_one: bool) -> String {
    let numbers: Vec<String> = programs.iter().map(usize::to_string).collect();
    match (is_one, programs.len()) {
        (true, _) => format!("{word}0 and Z0"),
        (false, 1) => format!("{word}0 and Z0 of program {}", numbers[0]),
        (false, _) => format!("{word}0 and Z0 of programs {}", numbers.join(", ")),
    }
}

/// Stations under the drawing.
fn ruler(svg: &mut Svg, paper: &Paper, stock: &Stock, y: f64) {
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];
    let step = step.into_iter().find(|step| step / paper.scale >= 11.0).unwrap_or(1000.0);
    let [first, last] = [stock.start.min(0.0), stock.end()].map(|station| (station / step).trunc() as i32);
    svg.line("rule", [paper.x(stock.start), y], [paper.x(stock.end()), y]);
    for k in first..=last {
        let x = paper.x(f64::from(k) * step);
        svg.line("rule", [x, y], [x, y + 1.4]);
        svg.text([x, y + 4.4], Anchor::Middle, &trimmed(f64::from(k) * step, 0));
    }
    svg.line("station", [paper.x(0.0), paper.axis - paper.top / paper.scale], [paper.x(0.0), y + 1.4]);
}

/// Which way the word along the axis runs, and what the ruler counts.
fn sense(svg: &mut Svg, paper: &Paper, scene: &Scene, y: f64) {
    let word = if scene.machine.along == dryturn_geom::Along::X { 'X' } else { 'Y' };
    let way = if scene.machine.chuck_on == Side::Minus { 1.0 } else { -1.0 };
    let (middle, half) = (14.0, 6.0);
    svg.line("leader", [middle - half, y - 0.9], [middle + half, y - 0.9]);
    svg.head([middle + way * half, y - 0.9], [way, 0.0]);
    svg.text([middle + half + 2.0, y], Anchor::Start, &format!("{word}+"));
    svg.text([paper.width - MARGIN, y], Anchor::End, "station, mm from the holding's front");
}
