//! Turned work: the blank turns while the cutter follows a meridian, a shoulder or a ring.

use std::f64::consts::PI;

use super::{in_one_file, layers, round, square, with_lengths};
use crate::program::Program;
use crate::program::Word::{A, X, Y, Z};
use crate::shape::{Target, stations, touching};
use crate::shop::Section;
use crate::shop::{Blank, Cutter, Form, Holding, Job, Kind, Setting};

/// A piece turned to a meridian.
struct Turned {
    name: &'static str,
    radius: fn(f64) -> f64,
    span: [f64; 2],
    blank: Blank,
    setting: Setting,
    tailstock: bool,
    finish: Cutter,
    /// Stations gained with each turn of the last program.
    advance: f64,
    /// Radius to which square stock is brought first.
    rounded: f64,
    /// Station and radius of a tab that the piece is parted to.
    part: Option<(f64, f64)>,
}

fn ball(diameter: f64) -> Cutter {
    Cutter::new(3, Form::Ball, diameter)
}

fn bull(diameter: f64, corner: f64) -> Cutter {
    Cutter::new(3, Form::Bull(corner), diameter)
}

const MM: fn() -> Setting = Setting::plain;

fn wave(station: f64, from: f64, length: f64) -> f64 {
    (2.0 * PI * (station - from) / length).cos()
}

impl Turned {
    fn plain(name: &'static str, radius: fn(f64) -> f64, span: [f64; 2], blank: Blank) -> Turned {
        let rounded = blank.across / 2.0 - 0.5;
        let tailstock = blank.length > 120.0;
        let (setting, finish, advance) = (MM(), ball(6.0), 1.2);
        Turned { name, radius, span, blank, setting, tailstock, finish, advance, rounded, part: None }
    }

    fn job(self) -> Job {
        let square = self.blank.section == Section::Square;
        let surface = if square { self.rounded } else { self.blank.across / 2.0 };
        let mut job = Job::new(self.name, Kind::Turned, self.blank, self.setting);
        job.pitch = 2.0;
        if self.tailstock {
            job = job.with_tailstock();
        }
        let [from, to] = self.span;
        if square {
            job.cutters.push(Cutter::new(1, Form::Flat, 10.0));
            job.programs.push(rounding(self.blank.corner(), surface, [from, to]));
        }
        let rough = Cutter::new(2, Form::Flat, 6.0);
        job.cutters.extend([rough, self.finish]);
        let ways = |cutter: Cutter, extra: f64| move |station| touching(&cutter, self.radius, station) + extra;
        let safe = surface + 5.0;
        job.programs.push(roughing(surface, safe, self.span, ways(rough, 0.6)));
        job.programs.push(finishing(safe, self.span, self.advance, ways(self.finish, 0.0)));
        if let Some((station, tab)) = self.part {
            job.programs.push(parting(surface, safe, station, tab));
        }
        // On a slope a ball cuts beside its middle: the last of the way at both ends is half cut.
        job.target = Some(Target::turned(self.radius, [from + 3.0, to - 3.0]));
        job
    }
}

/// Brings square stock to round, there and back in layers.
fn rounding(corner: f64, radius: f64, [from, to]: [f64; 2]) -> Program {
    let mut program = Program::new("round", 1, corner + 6.0);
    program.shapes = false;
    program.rapid([X(from), Y(0.0), A(0.0)]);
    let turns = ((to - from) / 6.0).round() * 360.0;
    let mut ends = [to, from];
    for (index, height) in layers(corner, radius, 3.5).into_iter().enumerate() {
        let sense = if index % 2 == 0 { 1.0 } else { -1.0 };
        program.feed([Z(height)], 400.0);
        program.feed([program.turned(360.0 * sense)], 2500.0);
        program.feed([X(ends[0]), program.turned(turns * sense)], 2500.0);
        program.feed([program.turned(360.0 * sense)], 2500.0);
        ends.swap(0, 1);
    }
    program.end()
}

/// Takes the wood down in layers, there and back, never under the height the cutter may go to at a station.
fn roughing(surface: f64, safe: f64, span: [f64; 2], lowest: impl Fn(f64) -> f64) -> Program {
    let mut program = Program::new("rough", 2, safe);
    program.shapes = false;
    let mut ways = stations(span, 3.0);
    let floor = ways.iter().map(|&station| lowest(station)).fold(f64::MAX, f64::min);
    program.rapid([X(ways[0]), Y(0.0), A(0.0)]);
    for (index, layer) in layers(surface, floor, 3.5).into_iter().enumerate() {
        let sense = if index % 2 == 0 { 360.0 } else { -360.0 };
        program.feed([Z(lowest(ways[0]).max(layer))], 400.0);
        program.feed([program.turned(sense)], 2000.0);
        for &station in &ways[1..] {
            program.feed([X(station), Z(lowest(station).max(layer)), program.turned(sense)], 2000.0);
        }
        program.feed([program.turned(sense)], 2000.0);
        ways.reverse();
    }
    program.end()
}

/// Follows the meridian once.
fn finishing(safe: f64, span: [f64; 2], advance: f64, height: impl Fn(f64) -> f64) -> Program {
    let mut program = Program::new("finish", 3, safe);
    program.rapid([X(span[0]), Y(0.0), A(0.0)]);
    program.feed([Z(height(span[0]))], 300.0);
    program.feed([program.turned(360.0)], 1500.0);
    for station in &stations(span, advance / 2.0)[1..] {
        program.feed([X(*station), Z(height(*station)), program.turned(180.0)], 1500.0);
    }
    program.feed([program.turned(360.0)], 1500.0);
    program.end()
}

/// Parts down to a tab, a turn a layer.
fn parting(surface: f64, safe: f64, station: f64, tab: f64) -> Program {
    let mut program = Program::new("part", 2, safe);
    (program.shapes, program.tab) = (false, Some(2.0 * tab));
    program.rapid([X(station), Y(0.0), A(0.0)]);
    for height in layers(surface, tab, 2.5) {
        program.feed([Z(height)], 300.0);
        program.feed([program.turned(360.0)], 1500.0);
    }
    program.end()
}

fn meridians() -> Vec<Job> {
    let surface = |radius| MM().on_surface(radius);
    let plain = Turned::plain;
    let jobs = [
        plain("table leg", |x| 24.0 - 0.05 * x, [8.0, 90.0], round(50.0, 130.0)),
        Turned {
            setting: MM().inch(),
            ..plain("baluster", |x| 16.0 + 5.0 * wave(x, 50.0, 60.0), [10.0, 80.0], round(46.0, 130.0))
        },
        Turned {
            setting: surface(22.0),
            advance: 0.9,
            ..plain("finial", |x| 4.0 + 16.0 / (1.0 + ((x - 22.0) / 15.0).powi(2)), [10.0, 60.0], round(44.0, 88.0))
        },
        Turned {
            setting: MM().chuck_right().zero_at(70.0),
            advance: 0.8,
            ..plain("bed knob", |x| (900.0 - (x - 34.0).powi(2)).sqrt() - 8.0, [12.0, 56.0], round(48.0, 86.0))
        },
        Turned {
            setting: MM().along_y(),
            ..plain("candlestick", |x| 15.0 + 4.0 * wave(x, 8.0, 30.0), [8.0, 70.0], round(42.0, 125.0))
        },
        Turned {
            setting: MM().reversed(),
            finish: bull(6.0, 1.5),
            ..plain("awl handle", |x| 11.0 + 3.0 * wave(x, 40.0, 66.0), [7.0, 60.0], round(32.0, 92.0))
        },
        plain("newel post", |x| 23.0 + 4.0 * wave(x, 20.0, 50.0), [9.0, 100.0], square(60.0, 140.0)),
        Turned {
            setting: MM().inch(),
            ..plain("pepper mill", |x| 19.0 + 3.0 * wave(x, 60.0, 70.0), [9.0, 80.0], square(50.0, 125.0))
        },
        Turned {
            part: Some((9.0, 4.0)),
            ..plain("chess pawn", |x| 12.0 + 4.0 * wave(x, 22.0, 28.0), [20.0, 58.0], round(36.0, 90.0))
        },
        Turned {
            setting: surface(19.0).along_y().inch(),
            part: Some((10.0, 5.0)),
            ..plain("darning egg", |x| 12.0 + 5.0 * wave(x, 45.0, 52.0), [20.0, 66.0], round(38.0, 96.0))
        },
    ];
    jobs.map(Turned::job).into()
}

/// On a faceplate, without a tailstock.
fn on_faceplate() -> Vec<Job> {
    let plate = Holding::Faceplate { screw_circle: 12.0, screw_length: 12.0 };
    let lamp = Turned {
        tailstock: false,
        ..Turned::plain("lamp base", |x| 26.0 + 8.0 * wave(x, 18.0, 44.0), [18.0, 52.0], square(76.0, 70.0))
    };
    let pull = Turned {
        setting: MM().on_surface(28.0),
        ..Turned::plain("drawer pull", |x| 20.0 + 4.0 * wave(x, 46.0, 52.0), [20.0, 44.0], round(56.0, 56.0))
    };
    [lamp, pull].map(|turned| turned.job().held_by(plate)).into()
}

/// Between centers, from a table of lengths, and all in one file.
fn otherwise_run() -> Vec<Job> {
    let pin = Turned::plain("rolling pin", |x| 22.0 - 0.0015 * (x - 57.0).powi(2), [14.0, 100.0], round(48.0, 125.0));
    let spindle = Turned {
        setting: MM().on_surface(17.0 * 2_f64.sqrt()),
        ..Turned::plain("chair spindle", |x| 11.0 + 2.0 * wave(x, 60.0, 80.0), [12.0, 50.0], square(34.0, 105.0))
    };
    let mallet = Turned::plain("mallet head", |x| 27.0 - 2.0 * wave(x, 40.0, 90.0), [10.0, 60.0], square(62.0, 90.0));
    vec![pin.job().held_by(Holding::Centers), with_lengths(spindle.job()), in_one_file(with_lengths(mallet.job()))]
}

/// Shoulders with a flat cutter: stations from, to and the radius between them; the rest of the span stays as it is.
fn stepped(name: &'static str, blank: Blank, setting: Setting, steps: &[[f64; 3]]) -> Job {
    let mut job = Job::new(name, Kind::Stepped, blank, setting);
    if blank.length > 100.0 {
        job = job.with_tailstock();
    }
    let radius = blank.across / 2.0;
    job.cutters.push(Cutter::new(1, Form::Flat, 6.0));
    let mut program = Program::new("steps", 1, radius + 5.0);
    let mut rows = vec![[steps[0][0] - 2.0, radius]];
    for &[from, to, floor] in steps {
        rows.extend([[from, radius], [from, floor], [to, floor], [to, radius]]);
        let mut ends = [from + 3.0, to - 3.0];
        program.retract();
        program.rapid([X(ends[0]), Y(0.0)]);
        for (index, height) in layers(radius, floor, 3.0).into_iter().enumerate() {
            let sense = if index % 2 == 0 { 360.0 } else { -360.0 };
            program.feed([Z(height)], 300.0);
            program.feed([program.turned(sense)], 1800.0);
            let turns = ((ends[1] - ends[0]).abs() / 4.0).ceil();
            program.feed([X(ends[1]), program.turned(sense * turns)], 1800.0);
            program.feed([program.turned(sense)], 1800.0);
            ends.swap(0, 1);
        }
    }
    rows.push([steps[steps.len() - 1][1] + 2.0, radius]);
    job.programs.push(program.end());
    let span = [steps[0][0] - 2.0, steps[steps.len() - 1][1] + 2.0];
    job.target = Some(Target::new(crate::shape::Shape::Profile(rows), span));
    job
}

/// Rings cut with a vee: stations, and the depth of all.
fn ringed(name: &'static str, blank: Blank, setting: Setting, angle: f64, depth: f64, rings: &[f64]) -> Job {
    let mut job = Job::new(name, Kind::Ringed, blank, setting);
    if blank.length > 3.0 * blank.across {
        job = job.with_tailstock();
    }
    let (surface, cutter) = (blank.across / 2.0, Cutter::new(1, Form::Vee(angle), 10.0));
    let mut program = Program::new("rings", 1, surface + 5.0);
    for &station in rings {
        program.rapid([X(station), Y(0.0)]);
        program.rapid([Z(surface + 1.0)]);
        program.feed([Z(surface - depth)], 250.0);
        program.feed([program.turned(360.0)], 1200.0);
        program.retract();
    }
    job.programs.push(program.end());
    job.cutters.push(cutter);
    job.pitch = 0.5;
    let radius = |station: f64| {
        let groove = |ring: &f64| surface - depth + cutter.rise((station - ring).abs());
        rings.iter().map(groove).fold(surface, f64::min)
    };
    job.target = Some(Target::turned(radius, [rings[0] - 5.0, rings[rings.len() - 1] + 5.0]));
    job
}

pub(super) fn jobs() -> Vec<Job> {
    let mut jobs = meridians();
    jobs.extend(on_faceplate());
    jobs.extend(otherwise_run());
    jobs.extend([
        stepped("bench dog", round(36.0, 80.0), MM(), &[[6.0, 26.0, 13.0], [34.0, 50.0, 10.0]]),
        stepped("chair stretcher", round(34.0, 160.0), MM().inch(), &[[8.0, 30.0, 12.0], [100.0, 122.0, 12.0]]),
        stepped(
            "pulley",
            round(52.0, 74.0),
            MM().on_surface(26.0).reversed(),
            &[[8.0, 18.0, 20.0], [22.0, 32.0, 18.0]],
        ),
        ringed("pen barrel", round(20.0, 100.0), MM(), 90.0, 1.5, &[20.0, 30.0, 40.0, 60.0]),
        ringed("rolling stamp", round(50.0, 80.0), MM().inch(), 60.0, 2.5, &[14.0, 24.0, 34.0, 44.0]),
    ]);
    jobs
}
