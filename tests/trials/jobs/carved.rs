//! Windows through tubes, holes across, and lines engraved on the skin: work without a model of the shape.

use super::{layers, round, tube};
use crate::program::Program;
use crate::program::Word::{A, X, Y, Z};
use crate::shape::stations;
use crate::shop::{Blank, Cutter, Form, Job, Kind, Section, Setting};

/// Windows right through the wall of a tube, all of the wood in them cut to chips: stations of their ends, width across,
/// angles.
fn windowed(name: &'static str, blank: Blank, setting: Setting, ends: [f64; 2], across: f64, around: &[f64]) -> Job {
    let mut job = Job::new(name, Kind::Openwork, blank, setting);
    let (surface, floor) = wall(&blank);
    let half = across / 2.0 - 2.0;
    let mut program = Program::new("windows", 1, surface + 5.0);
    program.indexed = true;
    for &angle in around {
        program.rapid([A(angle)]);
        program.rapid([X(ends[0] + 2.0), Y(-half)]);
        for height in layers(surface, floor, 2.5) {
            program.feed([Z(height)], 250.0);
            let mut along = [ends[0] + 2.0, ends[1] - 2.0];
            for across in stations([-half, half], 3.0) {
                program.feed([Y(across)], 900.0);
                program.feed([X(along[1])], 900.0);
                along.swap(0, 1);
            }
            program.feed([X(ends[0] + 2.0)], 900.0);
            program.feed([Y(-half)], 900.0);
        }
        program.retract();
    }
    job.cutters.push(Cutter::new(1, Form::Flat, 4.0));
    job.programs.push(program.end());
    job
}

/// The surface of a tube, and a height at which a cutter is through its wall wherever it stands in a window.
fn wall(blank: &Blank) -> (f64, f64) {
    let Section::Tube(bore) = blank.section else { panic!("a tube is wanted") };
    (blank.across / 2.0, bore / 2.0 - 2.0)
}

/// Slots that wind around a tube and go right through.
fn twisted(name: &'static str, blank: Blank, setting: Setting, ends: [f64; 2], turn: f64, count: usize) -> Job {
    let mut job = Job::new(name, Kind::Openwork, blank, setting);
    let (surface, floor) = wall(&blank);
    let mut program = Program::new("slots", 1, surface + 5.0);
    for index in 0..count {
        let first = 360.0 / count as f64 * index as f64;
        let mut ways = [(ends[0], first), (ends[1], first + turn)];
        program.rapid([A(first)]);
        program.rapid([X(ends[0]), Y(0.0)]);
        for height in layers(surface, floor, 2.0) {
            program.feed([Z(height)], 250.0);
            program.feed([X(ways[1].0), A(ways[1].1)], 900.0);
            ways.swap(0, 1);
        }
        program.retract();
    }
    job.cutters.push(Cutter::new(1, Form::Flat, 4.0));
    job.programs.push(program.end());
    job
}

/// Holes right across the axis: stations and angles.
fn drilled(name: &'static str, blank: Blank, setting: Setting, holes: &[(f64, f64)]) -> Job {
    let mut job = Job::new(name, Kind::Drilled, blank, setting);
    if blank.length > 110.0 {
        job = job.with_tailstock();
    }
    let surface = blank.across / 2.0;
    let mut program = Program::new("holes", 1, surface + 5.0);
    program.indexed = true;
    for &(station, angle) in holes {
        program.rapid([A(angle)]);
        program.rapid([X(station), Y(0.0)]);
        program.rapid([Z(surface + 1.0)]);
        let pecks = layers(surface, -surface - 2.0, 8.0);
        for (index, height) in pecks.iter().enumerate() {
            program.feed([Z(*height)], 200.0);
            program.rapid([Z(surface + 1.0)]);
            if index + 1 < pecks.len() {
                program.rapid([Z(height + 0.5)]);
            }
        }
        program.retract();
    }
    job.cutters.push(Cutter::new(1, Form::Drill, 5.0));
    job.programs.push(program.end());
    job
}

/// Lines engraved on the skin: strokes of station and angle.
fn lettered(name: &'static str, blank: Blank, setting: Setting, strokes: &[Vec<[f64; 2]>]) -> Job {
    let mut job = Job::new(name, Kind::Lettered, blank, setting);
    let surface = blank.across / 2.0;
    let mut program = Program::new("lines", 1, surface + 5.0);
    for stroke in strokes {
        program.rapid([X(stroke[0][0]), A(stroke[0][1])]);
        program.rapid([Z(surface + 1.0)]);
        program.feed([Z(surface - 1.0)], 250.0);
        for &[station, angle] in &stroke[1..] {
            program.feed([X(station), A(angle)], 800.0);
        }
        program.retract();
    }
    job.cutters.push(Cutter::new(1, Form::Vee(60.0), 6.0));
    job.programs.push(program.end());
    job
}

/// A line along the blank every so many degrees, every fifth a longer one.
fn graduations(station: f64, count: usize) -> Vec<Vec<[f64; 2]>> {
    let line = |index: usize| {
        let angle = 360.0 / count as f64 * index as f64;
        vec![[station, angle], [station + if index.is_multiple_of(5) { 12.0 } else { 7.0 }, angle]]
    };
    (0..count).map(line).collect()
}

/// A zigzag right around.
fn zigzag(station: f64, teeth: usize) -> Vec<[f64; 2]> {
    let corner = |index: usize| {
        [station + if index.is_multiple_of(2) { 0.0 } else { 10.0 }, 180.0 / teeth as f64 * index as f64]
    };
    (0..=2 * teeth).map(corner).collect()
}

pub(super) fn jobs() -> Vec<Job> {
    let mm = Setting::plain();
    let letter = [vec![[20.0, 0.0], [40.0, 0.0]], vec![[40.0, 0.0], [40.0, 40.0]], vec![[31.0, 0.0], [31.0, 26.0]]];
    let bands = [zigzag(14.0, 9), zigzag(32.0, 9)];
    vec![
        windowed("lantern", tube(60.0, 44.0, 90.0), mm, [10.0, 46.0], 14.0, &[0.0, 90.0, 180.0, 270.0]),
        windowed("pencil cup", tube(54.0, 42.0, 88.0), mm.inch(), [9.0, 40.0], 10.0, &[0.0, 120.0, 240.0]),
        twisted("openwork candle tube", tube(50.0, 36.0, 92.0), mm.on_surface(25.0), [10.0, 56.0], 100.0, 3),
        twisted("bird feeder", tube(56.0, 42.0, 96.0), mm.along_y().reversed(), [10.0, 60.0], -140.0, 2),
        drilled("peg rail hub", round(36.0, 90.0), mm, &[(20.0, 0.0), (36.0, 90.0), (52.0, 45.0)]),
        drilled("coat stand post", round(44.0, 130.0), mm.inch(), &[(24.0, 0.0), (40.0, 120.0), (56.0, 240.0)]),
        drilled(
            "thread rack",
            round(32.0, 82.0),
            mm.on_surface(16.0).chuck_right().zero_at(60.0),
            &[(18.0, 0.0), (18.0, 90.0), (40.0, 0.0), (40.0, 90.0)],
        ),
        lettered("napkin ring", round(44.0, 80.0), mm.wrapped(44.0), &letter),
        lettered("timer knob", round(40.0, 72.0), mm.inch().wrapped(40.0), &graduations(16.0, 20)),
        lettered("drum band", round(50.0, 78.0), mm.along_y().wrapped(50.0), &bands),
        lettered("dial handle", round(46.0, 76.0), mm.on_surface(23.0), &graduations(18.0, 24)),
    ]
}
