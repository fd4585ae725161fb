//! Reference pictures: seven jobs drawn and compared with `tests/pictures`.
//!
//! `DRYTURN_BLESS=1 cargo test -p dryturn-report` writes the references anew. A picture that differs is left in the
//! build folder as `NAME.expected.png`, `NAME.actual.png` and `NAME.diff.png` (differing pixels black).

#![allow(clippy::unwrap_used)] // A test may fail where it stands.

use dryturn_geom::Side;
use dryturn_geom::angle::{radians, sin_cos};
use dryturn_report::{BORE, Band, Kind, Map, Setting, UNTOUCHED, Values, picture};
use std::path::{Path, PathBuf};
use tiny_skia::Pixmap;

/// A grid over a blank: stations at the middles of their cells.
struct Job {
    title: &'static str,
    chuck: Side,
    radius: f64,
    start: f64,
    rows: usize,
    columns: usize,
    step: f64,
    remaining: Vec<f32>,
}

impl Job {
    fn new(title: &'static str, chuck: Side, radius: f64, span: [f64; 2], grid: [usize; 2]) -> Job {
        let [rows, columns] = grid;
        let step = (span[1] - span[0]) / rows as f64;
        Job { title, chuck, radius, start: span[0], rows, columns, step, remaining: vec![0.0; rows * columns] }
    }

    /// A value for each ray from its station (mm) and θ (degrees).
    fn each<T>(&self, value: impl Fn(f64, f64) -> T) -> Vec<T> {
        let place = |ray: usize| {
            let station = self.start + self.step * ((ray / self.columns) as f64 + 0.5);
            (station, 360.0 * (ray % self.columns) as f64 / self.columns as f64)
        };
        (0..self.rows * self.columns).map(place).map(|(station, theta)| value(station, theta)).collect()
    }

    fn picture(&self, title: &str, unit: &str, kind: Kind<'_>, values: Values<'_>) -> Vec<u8> {
        let map = Map {
            name: "test",
            title,
            unit,
            rows: self.rows,
            columns: self.columns,
            station_first: self.start + 0.5 * self.step,
            station_step: self.step,
            angle_step: 360.0 / self.columns as f64,
            kind,
        };
        let setting = Setting { title: self.title, chuck: self.chuck, greatest_radius: self.radius };
        picture(&map, &setting, &Band { values, remaining: &self.remaining }).unwrap()
    }
}

/// Distance of two angles, degrees.
fn apart(one: f64, other: f64) -> f64 {
    let turn = (one - other).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

/// A turned post with a bead, a cove, a left-over square and a twisted shaft.
fn post() -> Job {
    let mut job = Job::new("Bed-post finial, hard maple", Side::Minus, 32.0, [-15.0, 185.0], [400, 408]);
    job.remaining = job.each(|station, theta| match station {
        s if s < 4.0 => 32.0,
        s if s < 44.0 => 22.0 + 7.0 * sin_cos(radians((s - 4.0) * 4.5)).0 as f32,
        s if s < 70.0 => {
            let facing = apart(theta.rem_euclid(90.0) * 4.0, 0.0) / 4.0;
            (20.0 / sin_cos(radians(facing)).1).min(26.0) as f32
        }
        s if s < 160.0 => 17.0 + 4.0 * sin_cos(radians(4.0 * theta - (s - 70.0) * 8.0)).1 as f32,
        s => (17.0 - 0.02 * (s - 160.0) * (s - 160.0)).max(4.0) as f32,
    });
    job
}

/// A tube with a cord groove and two windows right through the wall.
fn reel() -> (Job, Vec<i16>) {
    let mut job = Job::new("Core of a kite reel, acetal", Side::Plus, 25.0, [-12.0, 78.0], [360, 624]);
    let groove = |station: f64, theta: f64| {
        let lead = (station - theta / 60.0).rem_euclid(6.0);
        station > 2.0 && station < 55.0 && (lead - 3.0).abs() < 1.5
    };
    let window = |station: f64, theta: f64| {
        (60.0..70.0).contains(&station) && (apart(theta, 45.0) < 23.0 || apart(theta, 225.0) < 23.0)
    };
    job.remaining = job.each(|station, theta| match () {
        () if window(station, theta) => 0.0,
        () if groove(station, theta) => 20.0,
        () if station > 73.0 => 15.0,
        () => 25.0,
    });
    let codes = job.each(|station, theta| match () {
        () if groove(station, theta) => 1,
        () if station > 73.0 => BORE as i16,
        () if station > 2.0 && station < 55.0 => 12,
        () if station > 56.0 => 5,
        () => UNTOUCHED as i16,
    });
    (job, codes)
}

fn cutters() -> Vec<u8> {
    let (job, codes) = reel();
    let names = [
        (1, "1  flat 3, cord groove"),
        (5, "5  flat 6, windows and end"),
        (9, "9  never used"),
        (12, "12  ball 6, finishing the outside"),
    ];
    let names: Vec<_> = names.map(|(code, name)| (code, name.to_owned())).to_vec();
    job.picture("Cutter that cut last", "", Kind::Categories(&names), Values::Categories(&codes))
}

fn lines() -> Vec<u8> {
    let mut job = Job::new("Walking stick, ash, spiral of five turns", Side::Minus, 14.0, [-20.0, 880.0], [1800, 192]);
    job.remaining = job.each(|_, _| 11.0);
    let lines = job.each(|station, theta| match () {
        () if station < 2.0 => UNTOUCHED,
        () if apart(theta, station * 2.0) < 30.0 => 4000 + (station * 4.0) as i32,
        () => 12 + (station * 3.0) as i32,
    });
    job.picture("Line that cut last", "", Kind::Lines, Values::Lines(&lines))
}

fn programs() -> Vec<u8> {
    let mut job = Job::new("Wheel blank on the faceplate", Side::Minus, 100.0, [0.0, 14.0], [56, 1200]);
    job.remaining = job.each(|station, theta| if apart(theta, 120.0) < 8.0 && station > 7.0 { 0.0 } else { 96.0 });
    let codes = job.each(|station, theta| (1 + (station / 3.6) as i16 + (theta / 60.0) as i16) % 8 + 1);
    let names: Vec<_> = (1..=8).map(|number| (number, format!("{number}  side-{number}.nc"))).collect();
    job.picture("Program that cut last", "", Kind::Categories(&names), Values::Categories(&codes))
}

/// A baluster beside its target: scallops within what is allowed, a gouge, a bead left too thick, the ends not compared.
fn deviations() -> Vec<u8> {
    let mut job = Job::new("Baluster, ash", Side::Minus, 26.0, [-10.0, 150.0], [640, 648]);
    job.remaining = job.each(|_, _| 20.0);
    let gaps = job.each(|station, theta| match () {
        () if !(5.0..140.0).contains(&station) => f32::NAN,
        () if apart(theta, 200.0) < 3.0 && (60.0..61.0).contains(&station) => -0.9,
        () if (90.0..98.0).contains(&station) => 0.55,
        () if (70.0..80.0).contains(&station) => -0.12,
        () => (0.02 * sin_cos(radians(station * 240.0 + theta)).0 + 0.02) as f32,
    });
    let kind = Kind::Deviations { below: 0.05, over: 0.3 };
    job.picture("Shortest distance to the target", "mm", kind, Values::Measures(&gaps))
}

/// Thin chips of a spiral groove in wood that is not cut elsewhere, with two holes right through it.
fn chips() -> Vec<u8> {
    let mut job = Job::new("Candle cup, cherry", Side::Minus, 20.0, [-10.0, 90.0], [400, 504]);
    let is_hole = |station: f64, theta: f64| (70.0..76.0).contains(&station) && apart(theta, 200.0) < 9.0;
    job.remaining = job.each(|station, theta| if is_hole(station, theta) { 0.0 } else { 20.0 });
    let chips = job.each(|station, theta| match (station - theta / 30.0).rem_euclid(12.0) {
        _ if !(5.0..60.0).contains(&station) => f32::NAN,
        way if way < 6.0 => 0.034 - 0.0004 * station as f32,
        _ => f32::NAN,
    });
    job.picture("Greatest chip of the last cut", "mm", Kind::Measures, Values::Measures(&chips))
}

#[test]
fn the_pictures_are_as_approved() {
    let (post, reel) = (post(), reel().0);
    let remaining = |job: &Job| job.picture("Remaining radius", "mm", Kind::Measures, Values::Measures(&job.remaining));
    let pictures = [
        ("post", remaining(&post)),
        ("reel", remaining(&reel)),
        ("cutters", cutters()),
        ("lines", lines()),
        ("programs", programs()),
        ("deviations", deviations()),
        ("chips", chips()),
    ];
    let differing: Vec<_> = pictures.iter().filter_map(|(name, bytes)| difference(name, bytes)).collect();
    assert!(differing.is_empty(), "{}", differing.join("\n"));
}

#[test]
fn the_same_map_gives_the_same_bytes() {
    assert_eq!(lines(), lines());
}

/// Compares a picture with its reference; what is different, in words.
fn difference(name: &str, actual: &[u8]) -> Option<String> {
    let reference = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/pictures/{name}.png"));
    if std::env::var_os("DRYTURN_BLESS").is_some() {
        std::fs::write(&reference, actual).unwrap();
        return None;
    }
    let Ok(expected) = std::fs::read(&reference) else {
        return Some(format!("{name}: no reference picture"));
    };
    let (old, new) = (Pixmap::decode_png(&expected).unwrap(), Pixmap::decode_png(actual).unwrap());
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    let keep = |kind: &str, bytes: &[u8]| std::fs::write(folder.join(format!("{name}.{kind}.png")), bytes).unwrap();
    if (old.width(), old.height()) != (new.width(), new.height()) {
        keep("expected", &expected);
        keep("actual", actual);
        return Some(format!("{name}: another size; see {}", folder.display()));
    }
    let off: Vec<bool> = old.data().chunks(4).zip(new.data().chunks(4)).map(|(a, b)| differs(a, b)).collect();
    let count = off.iter().filter(|&&off| off).count();
    if count == 0 {
        return None;
    }
    let mut diff = new.clone();
    for (pixel, off) in diff.data_mut().chunks_mut(4).zip(off) {
        pixel.copy_from_slice(if off { &[0, 0, 0, 255] } else { &[235, 235, 235, 255] });
    }
    keep("expected", &expected);
    keep("actual", actual);
    keep("diff", &diff.encode_png().unwrap());
    Some(format!("{name}: {count} pixels differ; see {}", folder.display()))
}

/// Whether two pixels differ by more than one step in a channel.
fn differs(one: &[u8], other: &[u8]) -> bool {
    one.iter().zip(other).any(|(a, b)| a.abs_diff(*b) > 1)
}
