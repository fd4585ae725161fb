//! Laws of pieces that are kept and put back: a set-up broken in two is the set-up, a piece is a rigid body, and no file
//! that is damaged is taken for one.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::TAU;
use std::path::PathBuf;
use std::sync::Arc;

use common::{Program, carve_checked, cutter, pose, solid, worst_between};
use dryturn_carve::{
    Carved, Cutter, Dimple, EARLIER, Grid, Job, Keeping, KeptError, KeptPiece, KeptSolid, Programs, PutBack, Replay,
    RunOptions, Source, Span, UNTOUCHED, is_block,
};
use dryturn_geom::{AnySolid, Arc as Circle, Axis, Bow, Lean, Motion, Offset, Section, Shape, Stock, angle, disc_span};
use tempfile::TempDir;

/// A piece put back may differ from one that was never taken out by the dead band of either carve, and by the chords that
/// stand for a swing, mm.
const SAME: f64 = 4e-4;

const PITCH: f64 = 0.7;

/// A hexagon that neither runs true nor is straight, in jaws and on a center.
fn bar() -> Stock {
    Stock {
        section: Section::Polygon { apothem: 14.0, sides: 6 },
        start: -6.0,
        turned: 0.2,
        near: Offset { y: 0.4, z: -0.3 },
        far: Offset { y: -0.2, z: 0.5 },
        bow: Bow { amount: 0.3, angle: 1.1 },
        ..Stock::round(14.0, 41.0)
    }
}

fn dimple() -> Dimple {
    Dimple { apex: 27.0, slope: 0.25 }
}

fn cutters() -> Vec<Cutter> {
    vec![
        cutter(Shape::Flat, 3.0, 25.0),
        cutter(Shape::Ball, 2.0, 25.0),
        cutter(Shape::Form { profile: vec![(0.0, 2.5), (1.0, 2.5), (1.5, 1.0), (25.0, 1.0)] }, 2.5, 25.0),
        cutter(Shape::Vee { half_angle: angle::radians(30.0), tip_radius: 0.0 }, 3.0, 25.0),
    ]
}

/// Turning, a helix beside the axis, a slot right through, an arc over the skin, an undercut, and an end that is faced off.
fn first() -> Vec<Motion> {
    let mut program = Program::new(pose(4.0, 0.0, 13.0, 0.0));
    program.feed(pose(26.0, 0.0, 13.0, 360.0 * 8.0));
    program.resume(pose(8.0, 1.5, 11.0, 20.0), 1).feed(pose(24.0, -1.0, 10.5, 700.0));
    program
        .resume(pose(14.0, 0.3, 20.0, 75.0), 0)
        .rapid(pose(14.0, 0.3, 16.0, 75.0))
        .feed(pose(14.0, 0.3, -16.0, 75.0));
    program.feed(pose(18.0, 0.3, -16.0, 75.0));
    program.resume(pose(20.0, 0.0, 9.0, 200.0), 2).feed(pose(24.0, 0.0, 9.0, 260.0));
    program.resume(pose(32.5, 0.0, 1.0, 0.0), 0).feed(pose(32.5, 0.0, 1.0, 360.0));
    program.resume(pose(36.0, 0.0, -1.0, 0.0), 0).feed(pose(36.0, 0.0, -1.0, 360.0));
    let arc = Circle {
        axes: [Axis::X, Axis::Turn],
        center: [10.0, 5.0],
        reach: [3.0, 0.4],
        start: 0.0,
        sweep: TAU,
        lean: Lean { across: 0.01, up: -0.02 },
    };
    let on_arc = pose(13.0, 0.0, 12.0, 5.0f64.to_degrees());
    let block = program.motions.len() as u32;
    program.motions.push(Motion { from: on_arc, to: on_arc, arc: Some(arc), block, cutter: 3, rapid: false });
    program.motions
}

/// What comes after: over old walls and new wood.
fn second() -> Vec<Motion> {
    let mut program = Program::new(pose(2.0, 0.0, 12.0, 100.0));
    program.resume(pose(2.0, -0.5, 11.5, 100.0), 1).feed(pose(28.0, 0.5, 10.0, 800.0));
    program.resume(pose(12.0, 0.0, 8.0, 10.0), 3).feed(pose(27.0, 2.0, 7.5, 90.0));
    program.motions
}

/// Blocks one after the other, numbered anew.
fn joined(parts: [Vec<Motion>; 2]) -> Vec<Motion> {
    common::numbered(parts.concat())
}

/// Folder that files of a test lie in.
struct Bench(TempDir);

impl Bench {
    fn new() -> Bench {
        Bench(tempfile::tempdir().unwrap())
    }

    fn file(&self, bytes: &[u8]) -> PathBuf {
        let path = self.0.path().join("kept.npz");
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// A piece that has been through a file.
    fn through(&self, bytes: &[u8]) -> KeptPiece {
        KeptPiece::read(&self.file(bytes)).unwrap_or_else(|error| panic!("{error}"))
    }
}

fn written(job: &Job<'_>, carved: &Carved, set_up: &str, frame: (f64, bool)) -> Vec<u8> {
    let programs = Programs {
        sources: vec![Source { set_up: set_up.to_owned(), program: format!("{set_up}.nc") }],
        line_of: &|block| (0, block + 10),
    };
    let keeping = Keeping::of(job, carved, programs, frame, &RunOptions::default()).unwrap().unwrap();
    let mut bytes = Vec::new();
    keeping.write(&mut bytes).unwrap();
    bytes
}

/// A set-up: its blank, and what is run over it.
struct SetUp {
    stock: Stock,
    dimple: Option<Dimple>,
    cutters: Vec<Cutter>,
    motions: Vec<Motion>,
}

impl SetUp {
    fn of_bar(motions: Vec<Motion>) -> SetUp {
        SetUp { stock: bar(), dimple: Some(dimple()), cutters: cutters(), motions }
    }

    /// What goes on with a piece that is held so that its end lies at a station.
    fn goes_on(piece: KeptPiece, start: f64, motions: Vec<Motion>) -> SetUp {
        let length = piece.length();
        let solid = AnySolid(Arc::new(
            KeptSolid::new(piece, &|_| unreachable!("no blank here is a mesh"), &RunOptions::default()).unwrap(),
        ));
        let stock = Stock { section: Section::Solid(solid), start, ..Stock::round(1.0, length) };
        SetUp { stock, dimple: None, cutters: cutters(), motions }
    }

    fn job(&self) -> Job<'_> {
        Job { stock: &self.stock, dimple: self.dimple, cutters: &self.cutters, motions: &self.motions }
    }

    fn carved(&self, pitch: f64) -> Carved {
        carve_checked(&self.job(), &Grid::over(&self.stock, pitch), &RunOptions::default())
    }

    fn kept(&self, set_up: &str, pitch: f64) -> Vec<u8> {
        written(&self.job(), &self.carved(pitch), set_up, (pitch, false))
    }

    fn replay(&self) -> Replay<'_> {
        Replay::new(&self.job(), &RunOptions::default()).unwrap()
    }
}

/// The piece that the first programs leave, through a file.
fn piece(bench: &Bench) -> KeptPiece {
    bench.through(&SetUp::of_bar(first()).kept("first", PITCH))
}

/// The station of the bar at which its kept piece begins: its own end, for that is not cut off.
const START: f64 = -6.0;

fn spans(carved: &Carved, row: usize, column: usize) -> Vec<Span> {
    carved.spans(row, column).collect()
}

fn ends(spans: &[Span]) -> Vec<[u32; 2]> {
    spans.iter().map(|span| [span.inner.to_bits(), span.outer.to_bits()]).collect()
}

#[test]
fn a_piece_put_back_as_it_was_goes_on_with_the_same_bits() {
    let bench = Bench::new();
    let whole = SetUp::of_bar(joined([first(), second()])).carved(PITCH);
    let later = SetUp::goes_on(piece(&bench), START, second()).carved(PITCH);
    assert_eq!(whole.grid().angles, later.grid().angles);
    assert_eq!(
        (whole.grid().station(0), whole.grid().station_step),
        (later.grid().station(0), later.grid().station_step)
    );
    let count = first().len() as u32;
    let mut owners = 0;
    for row in 0..later.grid().stations {
        for column in 0..later.grid().angles {
            let (a, b) = (spans(&whole, row, column), spans(&later, row, column));
            assert_eq!(ends(&a), ends(&b), "row {row}, column {column}");
            for (one, other) in a.iter().zip(&b).flat_map(|(a, b)| [(a.inner_by, b.inner_by), (a.outer_by, b.outer_by)])
            {
                let expected = match one {
                    block if is_block(block) && block < count => EARLIER + block,
                    block if is_block(block) => block - count,
                    UNTOUCHED => UNTOUCHED,
                    _ => EARLIER + count,
                };
                assert_eq!(other, expected, "row {row}, column {column}");
                owners += u32::from(other >= EARLIER && other != UNTOUCHED);
            }
        }
    }
    // The end that is faced off is not there any more.
    assert!(later.grid().stations < whole.grid().stations);
    assert!(owners > 1000, "{owners}");
}

#[test]
fn flipped_twice_a_piece_is_what_it_was() {
    let bench = Bench::new();
    let flip = PutBack { flip: true, ..PutBack::default() };
    let once = SetUp::goes_on(piece(&bench).put_back(&flip), 0.0, Vec::new());
    let twice = SetUp::goes_on(bench.through(&once.kept("flip", PITCH)).put_back(&flip), 0.0, Vec::new()).carved(PITCH);
    let (never, once) = (SetUp::goes_on(piece(&bench), 0.0, Vec::new()).carved(PITCH), once.carved(PITCH));
    assert_eq!(never.grid(), twice.grid());
    let (stations, angles) = (never.grid().stations, never.grid().angles);
    let mut changed = 0;
    for (row, column) in (0..stations).flat_map(|row| (0..angles).map(move |column| (row, column))) {
        assert_eq!(spans(&never, row, column), spans(&twice, row, column), "row {row}, column {column}");
        let other = spans(&once, stations - 1 - row, (angles - column) % angles);
        assert_eq!(spans(&never, row, column), other, "row {row}, column {column}");
        changed += u32::from(spans(&once, row, column) != other);
    }
    assert!(changed > 1000, "{changed}");
}

#[test]
fn turned_by_whole_columns_the_rays_change_places() {
    let bench = Bench::new();
    let never = SetUp::goes_on(piece(&bench), 0.0, Vec::new()).carved(PITCH);
    let angles = never.grid().angles;
    let how = PutBack { turn: 17.0 * TAU / angles as f64, ..PutBack::default() };
    let turned = SetUp::goes_on(piece(&bench).put_back(&how), 0.0, Vec::new()).carved(PITCH);
    for (row, column) in (0..never.grid().stations).flat_map(|row| (0..angles).map(move |column| (row, column))) {
        assert_eq!(
            spans(&never, row, column),
            spans(&turned, row, (column + 17) % angles),
            "row {row}, column {column}"
        );
    }
}

#[test]
fn held_by_whole_stations_more_the_rows_stand_elsewhere_and_nothing_else() {
    let bench = Bench::new();
    let never = SetUp::goes_on(piece(&bench), 0.0, Vec::new()).carved(PITCH);
    let step = never.grid().station_step;
    let along = |by: f64| {
        move |motion: Motion| {
            let mut motion = motion;
            (motion.from.x, motion.to.x) = (motion.from.x + by, motion.to.x + by);
            motion
        }
    };
    let shifted = SetUp::goes_on(piece(&bench), -9.0 * step, Vec::new()).carved(PITCH);
    let cut = |start: f64| {
        let motions = second().into_iter().map(along(start)).collect();
        SetUp::goes_on(piece(&bench), start, motions).carved(PITCH)
    };
    let (one, other) = (cut(0.0), cut(-9.0 * step));
    for (row, column) in (0..never.grid().stations).flat_map(|row| (0..never.grid().angles).map(move |c| (row, c))) {
        assert_eq!(spans(&never, row, column), spans(&shifted, row, column), "row {row}, column {column}");
    }
    assert!((shifted.grid().station(9) - never.grid().station(0)).abs() < 1e-9);
    assert!(worst_between(&one, &other, |row, column| Some((row, column))).value < SAME);
}

#[test]
fn a_cylinder_seen_off_its_axis_is_a_disc_off_the_axis() {
    let bench = Bench::new();
    let mut turned = Program::new(pose(-3.0, 0.0, 10.0, 0.0));
    turned.feed(pose(33.0, 0.0, 10.0, 360.0 * 12.0));
    let set_up = SetUp {
        stock: Stock::round(12.0, 30.0),
        dimple: None,
        cutters: vec![cutter(Shape::Flat, 4.0, 20.0)],
        motions: turned.motions,
    };
    let off = Offset { y: 0.3, z: -0.4 };
    let how = PutBack { off, ..PutBack::default() };
    let back = SetUp::goes_on(bench.through(&set_up.kept("round", PITCH)).put_back(&how), -5.0, Vec::new());
    assert!((back.stock.corner_radius() - 10.5).abs() < 1e-4, "{}", back.stock.corner_radius());
    let check = |theta: f64, found: f64| {
        let expected = disc_span(off, theta, 10.0).unwrap().1;
        assert!((found - expected).abs() < SAME, "θ {theta}: {found}, not {expected}");
    };
    for pitch in [PITCH, 0.4] {
        let carved = back.carved(pitch);
        for column in 0..carved.grid().angles {
            check(carved.grid().theta(column), f64::from(carved.radius(carved.grid().stations / 2, column)));
        }
    }
    let replay = back.replay();
    for k in 0..50 {
        let theta = 0.1237 * f64::from(k);
        check(theta, replay.ray(7.7, theta).solid[0].outer);
    }
    let surface = replay.surface(replay.ray(7.7, 1.0).solid[0].outer_by, 7.7, 1.0, 10.0).unwrap();
    let (y, z) = (-10.0 * 1f64.sin() - off.y, 10.0 * 1f64.cos() - off.z);
    assert!((surface.height - (y.hypot(z) - 10.0)).abs() < 1e-3, "{surface:?}");
}

#[test]
fn at_another_pitch_a_piece_is_as_exact_as_if_it_had_never_been_kept() {
    let bench = Bench::new();
    let (never, back) = (SetUp::of_bar(first()), SetUp::goes_on(piece(&bench), START, Vec::new()));
    let carved = back.carved(0.43);
    let direct = carve_checked(&never.job(), carved.grid(), &RunOptions::default());
    assert!(worst_between(&direct, &carved, |row, column| Some((row, column))).value < SAME);
    let (one, other) = (never.replay(), back.replay());
    for k in 0..400 {
        let (station, theta) = (-5.0 + 0.091 * f64::from(k), 0.377 * f64::from(k));
        let spans = |replay: &Replay<'_>| -> common::Solid {
            replay.ray(station, theta).solid.iter().rev().map(|it| (it.inner, it.outer)).collect()
        };
        assert!(common::difference(&spans(&one), &spans(&other)) < SAME, "station {station}, θ {theta}");
    }
    let mut walls = 0;
    for (station, theta) in [16.0, 22.0].into_iter().flat_map(|x| (0..125).map(move |k| (x, 0.05 * f64::from(k)))) {
        let places = |replay: &Replay<'_>| -> Vec<f64> {
            replay.walls((station, theta), (station, theta + 0.05)).iter().map(|wall| wall.theta).collect()
        };
        let (a, b) = (places(&one), places(&other));
        assert_eq!(a.len(), b.len(), "station {station}, θ {theta}");
        assert!(a.iter().zip(&b).all(|(a, b)| (a - b).abs() < 1e-6), "{a:?} and {b:?}");
        walls += a.len();
    }
    assert!(walls > 5, "{walls}");
}

/// A point (station, y, z) of a piece of a length, put back.
fn put_back([x, y, z]: [f64; 3], how: &PutBack, length: f64) -> [f64; 3] {
    let [x, y] = if how.flip { [length - x, -y] } else { [x, y] };
    let y = if how.mirrored { -y } else { y };
    let (s, c) = how.turn.sin_cos();
    [x, y * c - z * s + how.off.y, y * s + z * c + how.off.z]
}

/// Whether a point holds wood; `None` within a hair of the surface.
fn holds(replay: &Replay<'_>, [x, y, z]: [f64; 3]) -> Option<bool> {
    let ray = replay.ray(x, (-y).atan2(z));
    let radius = y.hypot(z);
    let is_clear = ray.ends().all(|end| (end.radius - radius).abs() > 0.01);
    is_clear.then(|| ray.holds(radius))
}

#[test]
fn a_piece_is_a_rigid_body_through_three_set_ups() {
    let bench = Bench::new();
    let ways = [
        PutBack { flip: true, turn: 0.9, off: Offset { y: -0.7, z: 0.2 }, mirrored: false },
        PutBack { flip: true, turn: -2.0, off: Offset { y: 0.1, z: 0.4 }, mirrored: true },
    ];
    let start = SetUp::of_bar(first());
    let piece = piece(&bench);
    let first_length = piece.length();
    let middle = SetUp::goes_on(piece.put_back(&ways[0]), 0.0, Vec::new());
    let piece = bench.through(&middle.kept("middle", 0.5));
    let length = piece.length();
    // Nothing was cut, so what is kept of the second is as long.
    assert!((length - first_length).abs() < 2e-3, "{length}, {first_length}");
    let end = SetUp::goes_on(piece.put_back(&ways[1]), 0.0, Vec::new());
    let replays = [&start, &middle, &end].map(SetUp::replay);
    let (mut inside, mut outside) = (0, 0);
    for k in 0..3000u32 {
        let part = |step: f64| (f64::from(k) * step).fract();
        let point = [
            0.05 + part(0.618_034) * (first_length - 0.1),
            30.0 * part(0.754_878) - 15.0,
            30.0 * part(0.569_84) - 15.0,
        ];
        let next = put_back(point, &ways[0], first_length);
        let last = put_back(next, &ways[1], length);
        let found = [[point[0] + START, point[1], point[2]], next, last];
        let found = [0, 1, 2].map(|k| holds(&replays[k], found[k]));
        if let [Some(a), Some(b), Some(c)] = found {
            assert_eq!((a, b), (b, c), "{point:?}");
            (inside, outside) = (inside + u32::from(a), outside + u32::from(!a));
        }
    }
    assert!(inside > 500 && outside > 500, "{inside} {outside}");
}

#[test]
fn whoever_made_a_surface_is_known_for_ever() {
    let bench = Bench::new();
    let later = SetUp::goes_on(piece(&bench), START, second());
    let solid = |set_up: &SetUp, maker: u32| {
        set_up.stock.solid().unwrap().maker(maker).map(|it| (it.set_up.to_owned(), it.program.to_owned(), it.line))
    };
    let told = |name: &str, line| Some((name.to_owned(), format!("{name}.nc"), line));
    assert_eq!(solid(&later, 2), told("first", 12));
    let flip = PutBack { flip: true, ..PutBack::default() };
    let last = SetUp::goes_on(bench.through(&later.kept("second", PITCH)).put_back(&flip), 0.0, Vec::new());
    let count = first().len() as u32;
    assert_eq!((solid(&last, 2), solid(&last, count)), (told("first", 12), told("second", 10)));
    let carved = last.carved(PITCH);
    let mut by: Vec<u32> = (0..carved.grid().stations)
        .flat_map(|row| (0..carved.grid().angles).map(move |column| (row, column)))
        .map(|(row, column)| carved.cut_by(row, column))
        .collect();
    by.sort_unstable();
    by.dedup();
    assert!(by.contains(&(EARLIER + count)) && by.contains(&EARLIER), "{by:?}");
    // Holes of live centers and bores are nobody's line.
    assert_eq!(solid(&last, count + second().len() as u32), None);
}

#[test]
fn with_the_chuck_on_the_plus_side_the_piece_is_the_same() {
    let bench = Bench::new();
    let set_up = SetUp::of_bar(first());
    let carved = set_up.carved(PITCH);
    let bytes = written(&set_up.job(), &carved, "first", (PITCH, true));
    let how = PutBack { mirrored: true, ..PutBack::default() };
    let back = SetUp::goes_on(bench.through(&bytes).put_back(&how), START, Vec::new());
    let again = back.carved(PITCH);
    for (row, column) in (0..again.grid().stations).flat_map(|row| (0..again.grid().angles).map(move |c| (row, c))) {
        assert_eq!(ends(&spans(&carved, row, column)), ends(&spans(&again, row, column)), "row {row}, column {column}");
    }
    let (one, other) = (set_up.replay(), back.replay());
    let outer = |replay: &Replay<'_>| replay.ray(11.3, 2.2).solid[0].outer;
    assert!((outer(&one) - outer(&other)).abs() < SAME);
}

#[test]
fn how_a_piece_was_carved_does_not_show_in_the_file() {
    let set_up = SetUp::of_bar(first());
    let grid = Grid::over(&set_up.stock, PITCH);
    let bytes = |options: &RunOptions<'_>| {
        written(&set_up.job(), &carve_checked(&set_up.job(), &grid, options), "first", (PITCH, false))
    };
    let plain = bytes(&RunOptions::default());
    assert!(plain == bytes(&RunOptions { threads: 3, tile: Some((5, 40)), ..RunOptions::default() }));
    assert!(plain == bytes(&RunOptions { memory: Some(600_000), ..RunOptions::default() }));
}

#[test]
fn nothing_is_kept_of_nothing() {
    let gone = SetUp {
        motions: {
            let mut program = Program::new(pose(-6.0, 0.0, -0.5, 0.0));
            program.feed(pose(45.0, 0.0, -0.5, 360.0 * 60.0));
            program.motions
        },
        stock: Stock::round(2.0, 30.0),
        dimple: None,
        cutters: vec![cutter(Shape::Flat, 6.0, 20.0)],
    };
    let carved = gone.carved(1.0);
    let programs = Programs { sources: Vec::new(), line_of: &|_| (0, 1) };
    assert!(Keeping::of(&gone.job(), &carved, programs, (1.0, false), &RunOptions::default()).unwrap().is_none());
}

/// What reading such bytes says.
fn refusal(bench: &Bench, bytes: &[u8]) -> KeptError {
    match KeptPiece::read(&bench.file(bytes)) {
        Err(error) => error,
        Ok(_) => panic!("it was taken"),
    }
}

/// The files of an archive, one of them given another content.
fn altered(bytes: &[u8], name: &str, with: &dyn Fn(Vec<u8>) -> Vec<u8>) -> Vec<u8> {
    use std::io::{Cursor, Read, Write};
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..from.len() {
        let mut entry = from.by_index(index).unwrap();
        let mut content = Vec::new();
        entry.read_to_end(&mut content).unwrap();
        let own = entry.name().unwrap().into_owned();
        let content = if own == name { with(content) } else { content };
        to.start_file(own, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(&content).unwrap();
    }
    to.finish().unwrap().into_inner()
}

#[test]
fn a_damaged_file_is_refused_and_says_why() {
    let bench = Bench::new();
    let bytes = SetUp::of_bar(first()).kept("first", 1.5);
    for length in (0..bytes.len()).step_by(bytes.len() / 60) {
        let error = refusal(&bench, &bytes[..length]);
        assert!(matches!(error, KeptError::Foreign(_) | KeptError::Damaged(_)), "{length}: {error}");
        assert!(!error.help().is_empty());
    }
    let text = |from: &'static str, to: &'static str| {
        altered(&bytes, "about.json", &move |about| String::from_utf8(about).unwrap().replace(from, to).into_bytes())
    };
    assert!(matches!(refusal(&bench, &text("\"format\": 1", "\"format\": 2")), KeptError::Newer(2)));
    assert!(matches!(refusal(&bench, &text("a piece kept by dryturn", "something")), KeptError::Foreign(_)));
    assert!(matches!(refusal(&bench, &text("\"stations\": ", "\"stations\": 1234567890")), KeptError::TooLarge(_)));
    for (from, to) in [
        ("\"first\": ", "\"first\": 1e300, \"was\": "),
        ("\"sides\": 6", "\"sides\": 2"),
        ("\"apothem\": 14.0", "\"apothem\": 3.0"),
        ("\"radius\": 3.0", "\"radius\": -3.0"),
        ("\"arcs\": 1", "\"arcs\": 2"),
        ("\"outline\"", "\"outlined\""),
        ("\"step\": ", "\"step\": 99"),
    ] {
        let error = refusal(&bench, &text(from, to));
        assert!(matches!(error, KeptError::Damaged(_)), "{from}: {error}");
    }
    let at = |name: &'static str, from_end: usize, with: &'static [u8]| {
        altered(&bytes, name, &move |mut content| {
            let length = content.len();
            content[length - from_end..length - from_end + with.len()].copy_from_slice(with);
            content
        })
    };
    let nan = &[0, 0, 0xc0, 0x7f];
    for (name, from_end, with) in [
        ("ends.npy", 8, &nan[..]),
        ("ends.npy", 4, &[0, 0, 0x80, 0x7f]),
        ("by.npy", 4, &[0, 0, 0, 0x40]),
        ("by.npy", 4, &[0xfa, 0xff, 0xff, 0xff]),
        ("spans.npy", 2, &[9, 9]),
        ("motions.npy", 8, &[0, 0, 0, 0, 0, 0, 0xf0, 0x7f]),
        ("makers.npy", 16, &[99, 0, 0, 0]),
        ("makers.npy", 8, &[99, 0, 0, 0]),
        ("arcs.npy", 88, &[0, 0, 0, 0, 0, 0, 0xf0, 0x40]),
    ] {
        let error = refusal(&bench, &at(name, from_end, with));
        assert!(matches!(error, KeptError::Damaged(_)), "{name}: {error}");
    }
    assert!(matches!(refusal(&bench, b""), KeptError::Foreign(_)));
    assert!(matches!(KeptPiece::read(&bench.0.path().join("none.npz")), Err(KeptError::Read(_))));
    let zip = |name: &str| altered(&bytes, name, &|_| Vec::new());
    assert!(matches!(refusal(&bench, &zip("motions.npy")), KeptError::Damaged(_)));
}

#[test]
fn any_byte_may_be_wrong() {
    let bench = Bench::new();
    let bytes = SetUp::of_bar(first()).kept("first", 2.0);
    for k in 0..600usize {
        let mut wrong = bytes.clone();
        let at = k * 7919 % bytes.len();
        wrong[at] ^= 1 << (k % 8);
        // Whatever is still taken is a piece: it can be put back and asked.
        if let Ok(piece) = KeptPiece::read(&bench.file(&wrong)) {
            let back = SetUp::goes_on(piece.put_back(&PutBack { flip: true, ..PutBack::default() }), 0.0, Vec::new());
            let _ = (solid(&back.carved(2.0), 0, 0), back.replay().ray(5.0, 1.0));
        }
    }
}
