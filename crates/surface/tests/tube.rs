//! A tube with slots, held against its closed form in both directions.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::f64::consts::TAU;

use common::carving::{Program, cutter, numbered, pose};
use common::{Scene, sound};
use dryturn_geom::{Shape, Stock};
use dryturn_scene::{Mesh as Target, MeshSurface};

/// Radii of the tube, its length; where its slots begin and end, half of their width, and how many there are.
const OUTER: f64 = 15.0;
const BORE: f64 = 9.0;
const LENGTH: f64 = 40.0;
const FROM: f64 = 12.0;
const TO: f64 = 27.0;
const HALF: f64 = 3.0;
const SLOTS: u32 = 3;

/// Outside the slot that is on top: rounded at both ends, and open to the bore.
fn outside_slot([x, y, z]: [f64; 3]) -> f64 {
    ((x - x.clamp(FROM, TO)).hypot(y) - HALF).max(4.0 - z)
}

/// The point with a slot's own angle turned to the top.
fn on_top([x, y, z]: [f64; 3], slot: u32) -> [f64; 3] {
    let (sine, cosine) = (TAU * f64::from(slot) / f64::from(SLOTS)).sin_cos();
    [x, y * cosine + z * sine, z * cosine - y * sine]
}

fn outside(point: [f64; 3]) -> f64 {
    let [x, y, z] = point;
    let tube = (y.hypot(z) - OUTER).max(BORE - y.hypot(z)).max(-x).max(x - LENGTH);
    (0..SLOTS).map(|slot| -outside_slot(on_top(point, slot))).fold(tube, f64::max)
}

fn tube() -> Scene {
    let mut program = Program::new(pose(FROM, 0.0, 30.0, 0.0));
    for slot in 0..SLOTS {
        let angle = 360.0 / f64::from(SLOTS) * f64::from(slot);
        program.resume(pose(FROM, 0.0, 30.0, angle), 0).feed(pose(FROM, 0.0, 4.0, angle));
        program.feed(pose(TO, 0.0, 4.0, angle)).feed(pose(TO, 0.0, 30.0, angle));
    }
    Scene {
        name: "slotted tube",
        stock: Stock { bore: BORE, ..Stock::round(OUTER, LENGTH) },
        cutters: vec![cutter(Shape::Flat, HALF, 60.0)],
        motions: numbered(program.motions),
        left: 0.0,
        genus: i64::from(SLOTS) + 1,
        outside: Box::new(outside),
        most: (0.0, 0.0),
    }
}

/// Points on all of the solid's faces.
fn truth() -> Vec<[f64; 3]> {
    let steps = |count: u32| (0..count).map(move |k| (f64::from(k) + 0.5) / f64::from(count));
    let around = |radius: f64, share: f64| [radius * (TAU * share).sin(), radius * (TAU * share).cos()];
    let grid = |one: u32, other: u32| steps(one).flat_map(move |a| steps(other).map(move |b| (a, b)));
    let mut points = Vec::new();
    for (a, b) in grid(160, 300) {
        for radius in [OUTER, BORE] {
            let [y, z] = around(radius, b);
            points.push([LENGTH * a, y, z]);
        }
    }
    for (a, b) in grid(30, 200) {
        let [y, z] = around(BORE + (OUTER - BORE) * a, b);
        points.extend([[0.0, y, z], [LENGTH, y, z]]);
    }
    for (a, b) in grid(200, 40) {
        let up = 6.0 + (OUTER - 6.0) * b;
        let [across, along] = around(HALF, a);
        let end = if along > 0.0 { TO } else { FROM };
        let straight = [FROM + (TO - FROM) * a, HALF, up];
        points.extend((0..SLOTS).flat_map(|slot| {
            let [x, y, z] = straight;
            [[end + along, across, up], straight, [x, -y, z]].map(|point| on_top(point, slot))
        }));
    }
    points.retain(|point| outside(*point).abs() < 1e-9);
    points
}

#[test]
fn a_slotted_tube_is_where_its_closed_form_is() {
    let scene = tube();
    for (pitch, most) in [(0.5, 0.02), (0.25, 0.005)] {
        let mesh = scene.mesh(pitch);
        assert_eq!(sound(scene.name, &mesh).genus, scene.genus);
        let surface = MeshSurface::new(&Target { corners: mesh.vertices.clone(), triangles: mesh.triangles.clone() });
        let points = truth();
        assert!(points.len() > 100_000, "{}", points.len());
        let there = points.iter().map(|point| surface.nearest(*point, 1.0).distance.abs()).fold(0.0, f64::max);
        let back = scene.worst(&mesh);
        println!("at {pitch}: {:.2} µm to the mesh, {:.2} µm from it", 1e3 * there, 1e3 * back);
        assert!(there.max(back) < most, "at {pitch}: {there} to the mesh, {back} from it");
        assert!(scene.worst_edge(&mesh) < 5e-5, "{}", scene.worst_edge(&mesh));
    }
}
