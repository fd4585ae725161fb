//! Flutes along the blank, with it standing still, and spirals around it.

use super::{in_one_file, layers, round, with_lengths};
use crate::program::Program;
use crate::program::Word::{A, X, Y, Z};
use crate::shape::{Target, angles, stations};
use crate::shop::{Blank, Cutter, Form, Job, Kind, Setting};

/// Grooves that are alike: how many, cut with what, how deep, and by how many degrees a mm they wind.
struct Grooves {
    count: usize,
    cutter: Cutter,
    depth: f64,
    twist: f64,
    /// Angle of the first, where it passes station 0.
    first: f64,
}

impl Grooves {
    fn around(&self) -> impl Iterator<Item = f64> {
        let (apart, first) = (360.0 / self.count as f64, self.first);
        (0..self.count).map(move |index| first + apart * index as f64)
    }

    /// There and back in layers, each groove by itself.
    fn program(&self, name: &'static str, surface: f64, span: [f64; 2]) -> Program {
        let mut program = Program::new(name, self.cutter.number, surface + 5.0);
        program.indexed = self.twist == 0.0;
        for angle in self.around() {
            let mut ends = span;
            program.rapid([A(angle + self.twist * ends[0])]);
            program.rapid([X(ends[0]), Y(0.0)]);
            program.rapid([Z(surface + 1.0)]);
            for height in layers(surface, surface - self.depth, 1.8) {
                program.feed([Z(height)], 300.0);
                if self.twist == 0.0 {
                    program.feed([X(ends[1])], 1200.0);
                } else {
                    program.feed([X(ends[1]), A(angle + self.twist * ends[1])], 1200.0);
                }
                ends.swap(0, 1);
            }
            program.retract();
        }
        program.end()
    }

    /// Radius left at an angle off the middle of a groove, in a section across the axis.
    fn radius(&self, surface: f64, off: f64) -> f64 {
        let tip = surface - self.depth;
        let off = off.to_radians();
        if off.cos() <= 0.0 {
            return surface;
        }
        if let Form::Vee(angle) = self.cutter.form {
            let left = off.cos() - off.sin().abs() / (angle / 2.0).to_radians().tan();
            return if left > 0.0 { surface.min(tip / left) } else { surface };
        }
        let (ball, mut radius) = (self.cutter.diameter / 2.0, surface);
        let center = tip + ball;
        // The ball passes the section while its middle is up to its radius away along the axis.
        for away in stations([-ball, ball], 0.02) {
            let turned = off - (self.twist * away).to_radians();
            let inside = ball * ball - away * away - (center * turned.sin()).powi(2);
            if inside >= 0.0 {
                radius = radius.min(center * turned.cos() - inside.sqrt());
            }
        }
        radius
    }

    /// Half the angle that a groove takes of a section, and a little more.
    fn window(&self, surface: f64) -> f64 {
        (0..900).map(|step| f64::from(step) * 0.1).find(|&off| self.radius(surface, off) >= surface).unwrap_or(90.0)
            + 0.5
    }
}

/// A column with one or two sets of grooves, the second with a cutter of its own.
fn grooved(name: &'static str, blank: Blank, setting: Setting, span: [f64; 2], sets: Vec<Grooves>) -> Job {
    let kind = if sets[0].twist == 0.0 { Kind::Fluted } else { Kind::Spiral };
    let mut job = Job::new(name, kind, blank, setting);
    if blank.length > 110.0 {
        job = job.with_tailstock();
    }
    let surface = blank.across / 2.0;
    for (set, name) in sets.iter().zip(["grooves", "second"]) {
        job.programs.push(set.program(name, surface, span));
        job.cutters.push(set.cutter);
    }
    job.target = Some(target(surface, span, &sets));
    job
}

fn target(surface: f64, span: [f64; 2], sets: &[Grooves]) -> Target {
    let marks: usize = sets.iter().map(|set| set.count).sum();
    let window = sets.iter().map(|set| set.window(surface)).fold(0.0, f64::max);
    let first = sets[0].first;
    let around: Vec<f64> = angles(marks, window, 0.5, 2.0).into_iter().map(|angle| angle + first).collect();
    let left = |angle: f64| {
        let of_set = |set: &Grooves| {
            let apart = 360.0 / set.count as f64;
            let off = (angle - set.first + apart / 2.0).rem_euclid(apart) - apart / 2.0;
            set.radius(surface, off)
        };
        sets.iter().map(of_set).fold(surface, f64::min)
    };
    let section: Vec<(f64, f64)> = around.iter().map(|&angle| (angle, left(angle))).collect();
    let radius = |_: f64, angle: f64| section.iter().find(|row| row.0 == angle).expect("an angle of the section").1;
    // Where a ball goes in and out the groove has not its full section yet.
    let half = sets.iter().map(|set| set.cutter.diameter / 2.0).fold(0.0, f64::max);
    let step = if sets[0].twist == 0.0 { 500.0 } else { 1.0 };
    Target::carved(radius, &around, sets[0].twist, [span[0] + half, span[1] - half], step)
}

fn ball(number: u32, diameter: f64) -> Cutter {
    Cutter::new(number, Form::Ball, diameter)
}

fn grooves(count: usize, cutter: Cutter, depth: f64) -> Grooves {
    Grooves { count, cutter, depth, twist: 0.0, first: 0.0 }
}

/// Grooves that wind once in so many mm; to the left where that is less than zero.
fn spiral(count: usize, cutter: Cutter, depth: f64, lead: f64) -> Grooves {
    Grooves { count, cutter, depth, twist: 360.0 / lead, first: 20.0 }
}

pub(super) fn jobs() -> Vec<Job> {
    let mm = Setting::plain();
    let vee = Cutter::new(1, Form::Vee(90.0), 10.0);
    // The second set stands in the middle between the first.
    let between =
        |count: usize, cutter, depth| Grooves { first: 180.0 / count as f64, ..grooves(count, cutter, depth) };
    vec![
        grooved("fluted column", round(50.0, 130.0), mm, [9.0, 90.0], vec![grooves(8, ball(1, 8.0), 3.0)]),
        grooved("lamp column", round(44.0, 98.0), mm.inch(), [8.0, 62.0], vec![grooves(12, ball(1, 6.0), 2.5)]),
        grooved("trophy stem", round(36.0, 90.0), mm, [8.0, 54.0], vec![grooves(6, vee, 3.0)]),
        grooved(
            "pilaster",
            round(60.0, 140.0),
            mm.along_y().chuck_right().zero_at(100.0),
            [10.0, 80.0],
            vec![grooves(5, ball(1, 10.0), 4.0), between(5, ball(2, 6.0), 2.5)],
        ),
        in_one_file(with_lengths(grooved(
            "curtain rod end",
            round(40.0, 94.0),
            mm.reversed(),
            [8.0, 58.0],
            vec![grooves(6, ball(1, 6.0), 2.8), between(6, ball(2, 4.0), 1.8)],
        ))),
        grooved("twist newel", round(50.0, 130.0), mm, [8.0, 70.0], vec![spiral(1, ball(1, 10.0), 4.5, 150.0)]),
        grooved(
            "barley twist leg",
            round(46.0, 130.0),
            mm.inch(),
            [9.0, 72.0],
            vec![spiral(2, ball(1, 10.0), 4.0, -160.0)],
        ),
        grooved(
            "rope baluster",
            round(48.0, 96.0),
            mm.on_surface(24.0).reversed(),
            [8.0, 60.0],
            vec![spiral(4, ball(1, 8.0), 3.5, 140.0)],
        ),
        grooved(
            "walking stick grip",
            round(34.0, 92.0),
            mm.chuck_right().zero_at(60.0).reversed(),
            [8.0, 58.0],
            vec![spiral(3, ball(1, 6.0), 2.5, -120.0)],
        ),
        grooved(
            "bobbin screw",
            round(42.0, 125.0),
            mm.along_y().inch(),
            [8.0, 60.0],
            vec![spiral(1, ball(1, 8.0), 3.5, 60.0)],
        ),
        with_lengths(grooved(
            "candle twist",
            round(50.0, 98.0),
            mm,
            [9.0, 62.0],
            vec![spiral(3, ball(1, 10.0), 4.0, 180.0), Grooves { first: 80.0, ..spiral(3, ball(2, 6.0), 2.5, 180.0) }],
        )),
    ]
}
