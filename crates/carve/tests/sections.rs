//! Sections of the wood left, against closed forms.
//!
//! From memory, as in any handbook: a disc has π R²/4 · R² for either second moment, a regular polygon of inradius a and n
//! sides the area n a² tan(π/n) and n a⁴ (3 t + t³)/12 with t = tan(π/n) for either second moment.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::PI;

use common::{Program, cutter, pose};
use dryturn_carve::{Course, Cutter, Grid, Job, RunOptions, Section, carve_recorded};
use dryturn_geom::{Motion, Section as Outline, Shape, Stock};

const PITCH: f64 = 0.25;

fn recorded(stock: &Stock, cutters: &[Cutter], motions: &Vec<Motion>, moments: &[u32]) -> (Grid, Course) {
    let job = Job { stock, dimple: None, cutters, motions };
    let grid = Grid::over(stock, PITCH);
    let (_, course) = carve_recorded(&job, &grid, moments, &RunOptions::default()).unwrap();
    (grid, course)
}

/// Checks area and second moments yy, zz, yz, and that the centroid lies on the axis, all relative to the size of the section.
fn expect(found: &Section, area: f64, second: [f64; 3], within: f64) {
    assert!((found.area / area - 1.0).abs() < within, "{found:?}, area {area}");
    let size = second[0].max(second[1]);
    for (found, second) in found.second.iter().zip(second) {
        assert!((found - second).abs() < within * size, "{found} {second} of {size}");
    }
    assert!(found.first.iter().all(|first| first.abs() < within * area * found.reach), "{found:?}");
}

fn uncut(stock: &Stock) -> Section {
    recorded(stock, &[], &vec![], &[]).1.section(10, 0)
}

fn disc(radius: f64) -> (f64, f64) {
    (PI * radius.powi(2), 0.25 * PI * radius.powi(4))
}

#[test]
fn round_bars_and_tubes() {
    let (area, second) = disc(20.0);
    let whole = uncut(&Stock::round(20.0, 30.0));
    expect(&whole, area, [second, second, 0.0], 1e-12);
    assert_eq!((whole.reach, whole.ring), (20.0, [0.0, 20.0]));
    let (hole, hole_second) = disc(14.0);
    let tube = uncut(&Stock { bore: 14.0, ..Stock::round(20.0, 30.0) });
    expect(&tube, area - hole, [second - hole_second, second - hole_second, 0.0], 1e-12);
    assert_eq!(tube.ring, [14.0, 20.0]);
    assert!((tube.walls / (6f64.powi(3) * 2.0 * PI * 17.0) - 1.0).abs() < 1e-12, "{tube:?}");
}

/// A slot 2 wide opens the ring: its rays are empty from asin(1/20) on, and shorter up to asin(1/14).
#[test]
fn a_tube_slit_along_goes_all_round_no_longer() {
    let (stock, cutters) = (Stock { bore: 14.0, ..Stock::round(20.0, 30.0) }, [cutter(Shape::Flat, 1.0, 20.0)]);
    let groove = |height: f64| {
        let mut program = Program::new(pose(-10.0, 0.0, height, 0.0));
        program.feed(pose(40.0, 0.0, height, 0.0));
        let (_, course) = recorded(&stock, &cutters, &program.motions, &[]);
        [0, 1].map(|moment| course.section(60, moment))
    };
    let [closed, thinner] = groove(17.0);
    assert!((thinner.ring[1] - 17.0).abs() < 0.05 && thinner.ring[0] == 14.0, "{thinner:?}");
    let [_, slit] = groove(10.0);
    assert!(slit.ring[1] == 0.0, "{slit:?}");
    let open = |width: f64| 1.0 - width.asin() / PI;
    assert!((open(1.0 / 14.0)..open(1.0 / 20.0)).contains(&(slit.walls / closed.walls)), "{slit:?}");
}

#[test]
fn polygons() {
    for sides in [3u32, 4, 6, 8] {
        for turned in [0.0, 0.3] {
            let section = Outline::Polygon { apothem: 15.0, sides };
            let stock = Stock { section, turned, ..Stock::round(15.0, 30.0) };
            let (n, t) = (f64::from(sides), (PI / f64::from(sides)).tan());
            let (area, second) = (n * 15.0f64.powi(2) * t, n * 15.0f64.powi(4) * (3.0 * t + t.powi(3)) / 12.0);
            let found = uncut(&stock);
            expect(&found, area, [second, second, 0.0], 1e-3);
            assert!((found.reach - 15.0 / (PI / n).cos()).abs() < PITCH, "{found:?}");
        }
    }
}

/// Area, first moments across and along the slot, and second ones of a disc with a slot in it, by strips.
fn slotted(radius: f64, half_width: f64, bottom: f64) -> (f64, [f64; 2], [f64; 2]) {
    let (mut area, mut first, mut across, mut up) = disc_of(radius);
    let strips = 100_000;
    for k in 0..strips {
        let y = half_width * (2.0 * (f64::from(k) + 0.5) / f64::from(strips) - 1.0);
        let dy = 2.0 * half_width / f64::from(strips);
        let top = (radius * radius - y * y).sqrt();
        area -= (top - bottom) * dy;
        first -= 0.5 * (top * top - bottom * bottom) * dy;
        across -= y * y * (top - bottom) * dy;
        up -= (top.powi(3) - bottom.powi(3)) / 3.0 * dy;
    }
    (area, [0.0, first], [across, up])
}

fn disc_of(radius: f64) -> (f64, f64, f64, f64) {
    let (area, second) = disc(radius);
    (area, 0.0, second, second)
}

/// The axes of the blank frame: a slot cut at θ = 90° lies toward −y, one at 180° toward −z.
#[test]
fn a_keyed_bar() {
    let (stock, cutters) = (Stock::round(20.0, 30.0), [cutter(Shape::Flat, 4.0, 20.0)]);
    let (area, [_, toward], [across, up]) = slotted(20.0, 4.0, 15.0);
    let cases = [
        (0.0, [0.0, toward], [across, up, 0.0]),
        (90.0, [-toward, 0.0], [up, across, 0.0]),
        (180.0, [0.0, -toward], [across, up, 0.0]),
        (45.0, [-toward * 0.5f64.sqrt(), toward * 0.5f64.sqrt()], {
            [0.5 * (across + up), 0.5 * (across + up), -0.5 * (up - across)]
        }),
    ];
    for (degrees, first, second) in cases {
        let mut program = Program::new(pose(-10.0, 0.0, 15.0, degrees));
        program.feed(pose(40.0, 0.0, 15.0, degrees));
        let (_, course) = recorded(&stock, &cutters, &program.motions, &[]);
        assert_eq!(course.moments(), [0, 1]);
        assert!((course.section(60, 0).area / disc(20.0).0 - 1.0).abs() < 1e-12);
        let found = course.section(60, 1);
        assert!((found.area / area - 1.0).abs() < 2e-3, "{degrees}: {found:?} {area}");
        for (found, expected) in found.first.iter().zip(first) {
            assert!((found - expected).abs() < 0.01 * toward.abs(), "{degrees}: {found} {expected}");
        }
        for (found, expected) in found.second.iter().zip(second) {
            assert!((found - expected).abs() < 3e-3 * up, "{degrees}: {found} {expected}");
        }
    }
}

/// A ball with a hole through it, square to the axis: at the middle of the hole two segments are left.
#[test]
fn a_ball_with_a_hole_through_it() {
    let (radius, hole, middle) = (20.0, 6.0, 25.0);
    let stock = Stock::round(20.0, 50.0);
    let cutters = [cutter(Shape::Flat, 1.0, 60.0), cutter(Shape::Flat, hole, 60.0)];
    let mut program = Program::new(pose(0.0, 0.0, 30.0, 0.0));
    // The ball, turned in rings on either side of the middle.
    for k in 1..=190u8 {
        let x = 0.1 * f64::from(k);
        let height = (radius * radius - x * x).sqrt();
        program.ring(middle - x - 1.0, 0.0, height).ring(middle + x + 1.0, 0.0, height);
    }
    let balled = program.motions.len() as u32;
    program.resume(pose(middle, 0.0, 30.0, 0.0), 1).feed(pose(middle, 0.0, -30.0, 0.0));
    let (grid, course) = recorded(&stock, &cutters, &program.motions, &[balled]);
    assert_eq!(course.moments(), [0, balled, balled + 1]);
    let row = ((middle - grid.station_first) / grid.station_step).round() as usize;
    let off = (grid.station(row) - middle).abs();
    let ball = (radius * radius - off * off).sqrt();
    let (area, second) = disc(ball);
    expect(&course.section(row, 1), area, [second, second, 0.0], 2e-3);
    // Two segments beyond y = ±d, integrated over y strip by strip.
    let d = (hole * hole - off * off).sqrt();
    let (angle, chord) = ((d / ball).acos(), (ball * ball - d * d).sqrt());
    let segments = 2.0 * (ball * ball * angle - d * chord);
    let far = 0.5 * (ball.powi(4) * angle - d * chord * (2.0 * d * d - ball * ball));
    let found = course.section(row, 2);
    assert!((found.area / segments - 1.0).abs() < 5e-3, "{found:?} {segments}");
    assert!((found.second[0] / far - 1.0).abs() < 5e-3, "{found:?} {far}");
    let up = (1.5 * ball.powi(4) * angle - d * chord * (2.5 * ball * ball - d * d)) / 3.0;
    assert!((found.second[1] / up - 1.0).abs() < 5e-3, "{found:?} {up}");
}
