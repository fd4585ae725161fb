//! Closed forms: circle, tube and ellipse (any handbook), square 0.1406 s⁴ and T/0.208 s³ (Timoshenko and Goodier, table of
//! rectangular bars; from memory), thin open sections Σ b t³/3. All other numbers are those of a finite element library.

use std::f64::consts::PI;

use dryturn_geom::angle;

use super::*;
use crate::strength::rays::{Rays, tests::rays};

const BOX: [[f64; 2]; 2] = [[-10.0, 10.0]; 2];

fn disc([y, z]: [f64; 2], radius: f64) -> bool {
    angle::hypot(y, z) < radius
}

fn polygon(sides: usize, flats: f64) -> impl Fn([f64; 2]) -> bool {
    let normals: Vec<(f64, f64)> = (0..sides).map(|k| angle::sin_cos(2.0 * PI * k as f64 / sides as f64)).collect();
    move |[y, z]| normals.iter().all(|(sine, cosine)| y * cosine + z * sine < 0.5 * flats)
}

/// A section of the table by its name.
fn section(name: &str) -> Box<dyn Fn([f64; 2]) -> bool> {
    match name {
        "circle" => Box::new(|p| disc(p, 10.0)),
        "square" => Box::new(polygon(4, 20.0)),
        "hexagon" => Box::new(polygon(6, 20.0)),
        "triangle" => Box::new(polygon(3, 12.0)),
        "ellipse" => Box::new(|[y, z]| disc([y, 2.0 * z], 10.0)),
        "blade" => Box::new(|[y, z]| y.abs() < 10.0 && z.abs() < 2.0),
        "tube" => Box::new(|p| disc(p, 10.0) && !disc(p, 7.0)),
        "bored" => Box::new(|[y, z]| disc([y, z], 10.0) && !disc([y - 3.0, z], 4.0)),
        "keyed" => Box::new(|[y, z]| disc([y, z], 10.0) && !(z > 6.0 && y.abs() < 2.5)),
        "slotted" => Box::new(|[y, z]| disc([y, z], 10.0) && !disc([y, z], 8.0) && !(z > 0.0 && y.abs() < 0.4)),
        "fluted" => {
            Box::new(|[y, z]| disc([y, z], 10.0) && !disc([y - 10.0, z], 4.0) && !disc([y + 5.0, z - 8.660_254], 4.0))
        }
        "off" => Box::new(|[y, z]| disc([y - 5.0, z - 2.0], 4.0)),
        "turned" => Box::new(|[y, z]| {
            let (sine, cosine) = angle::sin_cos(PI / 6.0);
            (y * cosine + z * sine).abs() < 10.0 && (z * cosine - y * sine).abs() < 5.0
        }),
        other => panic!("no section {other}"),
    }
}

/// Bounds wide enough for a section of the table, as narrow as a caller would give them.
fn bounds(name: &str) -> [[f64; 2]; 2] {
    let holds = section(name);
    let axis = |place: &dyn Fn(f64, f64) -> [f64; 2]| {
        let steps = || (-160..=160).map(|k| f64::from(k) * 0.1);
        let hit = |at: f64| steps().any(|across| holds(place(at, across)));
        let least = steps().find(|at| hit(*at)).expect("wood");
        let greatest = steps().rfind(|at| hit(*at)).expect("wood");
        [least - 0.1, greatest + 0.1]
    };
    [axis(&|y, z| [y, z]), axis(&|z, y| [y, z])]
}

#[track_caller]
fn assert_within(value: f64, expected: f64, share: f64, what: &str) {
    assert!(
        (value / expected - 1.0).abs() <= share,
        "{what}: {value} is not {expected}, off by {:.3} %",
        (value / expected - 1.0) * 100.0
    );
}

/// `tests/data/torsion.py` made the table.
#[test]
fn sections_of_a_finite_element_library() {
    let table = include_str!("../../../tests/data/torsion.csv");
    for line in table.lines().skip(2) {
        let cells: Vec<&str> = line.split(',').collect();
        let found = torsion(bounds(cells[0]), section(cells[0])).expect("a section");
        assert_within(found.constant, cells[1].parse().expect("a number"), 0.01, cells[0]);
        if !cells[2].is_empty() {
            assert_within(found.stress, cells[2].parse().expect("a number"), 0.01, cells[0]);
        }
    }
}

#[test]
fn closed_forms() {
    let of = |name: &str| torsion(bounds(name), section(name)).expect("a section");
    assert_within(of("circle").constant, PI * 1e4 / 2.0, 2e-3, "circle");
    assert_within(of("circle").stress, 2.0 / (PI * 1e3), 6e-3, "circle");
    assert_within(of("square").constant, 0.1406 * 16e4, 2e-3, "square");
    assert_within(of("square").stress, 1.0 / (0.208 * 8e3), 5e-3, "square");
    // Half axes a, b: π a³ b³/(a² + b²), and 2/(π a b²) at the ends of the short axis.
    assert_within(of("ellipse").constant, PI * 1e3 * 125.0 / 125.0, 3e-3, "ellipse");
    assert_within(of("ellipse").stress, 2.0 / (PI * 10.0 * 25.0), 1e-2, "ellipse");
    assert_within(of("tube").constant, PI * (1e4 - 7f64.powi(4)) / 2.0, 5e-3, "tube");
    // A thin tube cut open: no more than a strip as long as its middle line.
    let length = 2.0 * PI * 9.0 - 0.8;
    assert_within(of("slotted").constant, length * 8.0 / 3.0, 0.03, "slotted");
}

/// Each halving of the mesh halves the error and more.
#[test]
fn it_converges() {
    for (name, constant, stress) in
        [("square", 0.140_577_0 * 16e4, 1.0 / (0.208_173 * 8e3)), ("circle", PI * 5e3, 2.0 / (PI * 1e3))]
    {
        let off = |nodes: usize| {
            let found = at_resolution(nodes, bounds(name), section(name)).expect("a section");
            [found.constant / constant - 1.0, found.stress / stress - 1.0].map(f64::abs)
        };
        let [coarse, fine] = [off(40), off(160)];
        assert!(fine[0] < 0.25 * coarse[0] && fine[0] < 1e-3, "{name}: {coarse:?} {fine:?}");
        assert!(fine[1] < 0.5 * coarse[1].max(2e-3), "{name}: {coarse:?} {fine:?}");
    }
}

/// The stress at a sharp inner corner stays what it is when the mesh becomes finer.
#[test]
fn a_sharp_corner_has_a_stress() {
    let of = |nodes: usize| at_resolution(nodes, bounds("keyed"), section("keyed")).expect("a section").stress;
    assert!(of(128) > 1.2 * torsion(bounds("circle"), section("circle")).expect("a section").stress);
    assert_within(of(256), of(128), 0.05, "keyed");
}

/// Rays at a usual pitch say the same as the shape itself, and a hole stays one.
#[test]
fn rays_of_a_section() {
    let tube = rays(240, |_| vec![(7.0, 10.0)]);
    let of = |rays: &Rays| torsion(rays.bounds().expect("wood"), |point| rays.holds(point)).expect("a section");
    assert_within(of(&tube).constant, PI * (1e4 - 7f64.powi(4)) / 2.0, 1e-2, "tube");
    let mut open = tube.clone();
    open.0[17].clear();
    assert!(of(&open).constant < 0.2 * of(&tube).constant);
    assert_eq!(torsion(BOX, |_| false), None);
    assert_eq!(torsion([[0.0, 0.0]; 2], |_| true), None);
}

/// A neck of ⌀6 under 750 N·mm: 16 T/π d³.
#[test]
fn a_round_neck() {
    let neck = torsion([[-3.0, 3.0]; 2], |point| disc(point, 3.0)).expect("a section");
    assert_within(750.0 * neck.stress, 17.683_88, 6e-3, "neck");
    assert_within(neck.constant, 127.234_5, 2e-3, "neck");
}
