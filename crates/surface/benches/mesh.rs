//! How long meshes take: a row a scene, with the time to build it, by threads, and to thin it.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a table for people")]
#![allow(missing_docs, reason = "a program")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::f64::consts::PI;
use std::time::Instant;

use common::carving::{Program, cutter, pose};
use common::{Scene, flats, holes, passed};
use dryturn_carve::{Grid, Replay, RunOptions, carve};
use dryturn_geom::{Shape, Side, Stock};
use dryturn_surface::build;

/// Times that each scene is built; the least counts.
const ROUNDS: usize = 3;

/// A helix of short blocks over a relief, its cusps a few hundredths of a millimetre high.
fn relief() -> Scene {
    let stock = Stock::round(16.0, 60.0);
    let place = |turn: f64| {
        let x = 2.0 + 0.4 * turn;
        pose(x, 0.0, 13.0 + (0.5 * x).sin() + (3.0 * turn * PI * 2.0 + x).cos(), 360.0 * turn)
    };
    let mut program = Program::new(place(0.0));
    for k in 1..=72 * 140 {
        program.feed(place(f64::from(k) / 72.0));
    }
    let cutters = vec![cutter(Shape::Ball, 1.5, 40.0)];
    Scene { name: "relief", stock, cutters, motions: program.motions, ..flats().swap_remove(0) }
}

fn least(mut run: impl FnMut()) -> f64 {
    let times = (0..ROUNDS).map(|_| {
        let started = Instant::now();
        run();
        started.elapsed().as_secs_f64()
    });
    times.fold(f64::INFINITY, f64::min)
}

fn main() {
    println!(
        "| scene | pitch | columns | triangles | 1 thread | 2 threads | s a million columns, 1 thread | to 5 µm |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let scenes = [passed().swap_remove(0), flats().swap_remove(1), holes().swap_remove(0), relief()];
    for scene in scenes {
        for pitch in [0.5, 0.25] {
            let (job, grid) = (scene.job(), Grid::over(&scene.stock, pitch));
            let options = |threads| RunOptions { threads, ..RunOptions::default() };
            let carved = carve(&job, &grid, &options(0)).unwrap();
            let replay = Replay::new(&job, &options(0)).unwrap();
            let mesh = build(&carved, &replay, Side::Minus, &options(0)).unwrap();
            let [one, two] =
                [1, 2].map(|threads| least(|| drop(build(&carved, &replay, Side::Minus, &options(threads)))));
            let thin = least(|| drop(mesh.thinned(0.005, &options(1))));
            println!(
                "| {} | {pitch} | {} | {} | {one:.2} s | {two:.2} s | {:.2} | {thin:.2} s |",
                scene.name,
                grid.rays(),
                mesh.triangles.len(),
                1e6 * one / grid.rays() as f64
            );
        }
    }
}
