//! What is removed, as a body: all that the blank has and the piece has not.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use common::{Scene, flats, grooves, holes, passed, sound};
use dryturn_carve::{Carved, Replay, RunOptions, uncut};
use dryturn_geom::Side;
use dryturn_surface::{Mesh, build, build_removed};

const PITCH: f64 = 0.25;

struct Bodies {
    carved: Carved,
    blank: Mesh,
    piece: Mesh,
    removed: Mesh,
}

fn bodies(scene: &Scene, options: &RunOptions<'_>) -> Bodies {
    let job = scene.job();
    let carved = scene.carved(PITCH);
    let bar = uncut(&scene.stock, None, carved.grid(), options).unwrap();
    let replay = Replay::new(&job, options).unwrap();
    let nothing: Vec<dryturn_geom::Motion> = Vec::new();
    let before = Replay::new(&dryturn_carve::Job { motions: &nothing, ..job }, options).unwrap();
    Bodies {
        blank: build(&bar, &before, Side::Minus, options).unwrap(),
        piece: build(&carved, &replay, Side::Minus, options).unwrap(),
        removed: build_removed(&bar, &carved, &replay, Side::Minus, options).unwrap(),
        carved,
    }
}

/// Surfaces and handles of what is removed, and whether its surface and volume are right.
fn check(scene: &Scene, surfaces: usize, genus: i64) {
    let name = scene.name;
    let Bodies { carved, blank, piece, removed } = bodies(scene, &RunOptions::default());
    let topology = sound(name, &removed);
    assert_eq!((topology.surfaces, topology.genus), (surfaces, genus), "{name}");
    let whole = blank.volume_mm3();
    let rest = (whole - piece.volume_mm3() - removed.volume_mm3()) / whole;
    assert!(rest.abs() < 5e-6, "{name}: blank less piece and removed is {rest:e} of the blank");
    let counted = carved.blank_mm3() - carved.left_mm3();
    assert!((removed.volume_mm3() / counted - 1.0).abs() < 2e-3, "{name}: {} of {counted}", removed.volume_mm3());
    let exact = carved.blank_mm3() - scene.left;
    assert!((removed.volume_mm3() - exact).abs() < 5e-6 * whole, "{name}: {} of {exact}", removed.volume_mm3());
    // Every vertex lies on the surface of the piece or of the blank.
    let length = scene.stock.length;
    let off = |[x, y, z]: [f64; 3]| {
        let bar = (y.hypot(z) - common::R).max(-x).max(x - length);
        (scene.outside)([x, y, z]).abs().min(bar.abs())
    };
    let worst = removed.vertices.iter().map(|vertex| off(*vertex)).fold(0.0, f64::max);
    assert!(worst < 1e-3 * scene.most.1.max(0.5), "{name}: {worst} mm");
}

#[test]
fn of_a_groove_a_ring() {
    check(&grooves()[1], 1, 1);
}

#[test]
fn of_holes_plugs() {
    check(&holes()[0], 1, 0);
    check(&holes()[1], 1, 0);
}

#[test]
fn of_slots_and_flats_as_many_strips() {
    check(&passed()[0], 6, 0);
    // The corners of the square lie in the bar, those of the hexagon go all round within it.
    check(&flats()[3], 4, 0);
    check(&flats()[1], 1, 1);
}

#[test]
fn of_nothing_nothing_and_the_same_on_any_threads() {
    let blank = &grooves()[0];
    assert_eq!(bodies(blank, &RunOptions::default()).removed, Mesh::default());
    let scene = &holes()[1];
    let on = |threads| bodies(scene, &RunOptions { threads, ..RunOptions::default() }).removed;
    assert_eq!(on(1), on(3));
}
