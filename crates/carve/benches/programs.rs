//! Whole programs on a blank of ⌀60 × 200 mm, as a shop would run them. `cargo bench -p dryturn-carve`.

use std::f64::consts::TAU;

use divan::Bencher;
use divan::counter::ItemsCount;
use dryturn_carve::{Cutter, Grid, Job, RunOptions, carve};
use dryturn_geom::{Flutes, Motion, Pose, Shape, Stock};

fn main() {
    divan::main();
}

fn cutter(shape: Shape, diameter: f64) -> Vec<Cutter> {
    let flutes = Flutes::new(shape, 0.5 * diameter, 4.0 * diameter).expect("a plain cutter");
    vec![Cutter { flutes, uppers: vec![] }]
}

/// A helix of `blocks` blocks of `degrees` each, `lead` mm a turn, with the tip at `height(turns)`.
fn helix(blocks: u32, degrees: f64, lead: f64, height: impl Fn(f64) -> f64) -> Vec<Motion> {
    let pose = |k: u32| {
        let turns = f64::from(k) * degrees / 360.0;
        Pose { x: lead * turns, y: 0.0, z: height(turns), turn: turns * TAU }
    };
    (0..blocks)
        .map(|k| Motion { from: pose(k), to: pose(k + 1), arc: None, block: k, cutter: 0, rapid: false })
        .collect()
}

/// 20 000 blocks of 1.2°, 3 mm a turn, 4 mm deep and a little more where the profile dips.
fn roughing() -> Vec<Motion> {
    helix(20_000, 1.2, 3.0, |turns| 26.0 - 4.0 * (turns * 0.1).sin().powi(2))
}

/// 200 000 blocks of 1.2°, 0.3 mm a turn, 0.3 to 0.8 mm deep over a wavy profile.
fn finishing() -> Vec<Motion> {
    helix(200_000, 1.2, 0.3, |turns| 29.7 - 0.5 * (turns * 0.05).sin().powi(2))
}

fn run(bencher: Bencher, motions: &Vec<Motion>, cutters: &[Cutter], pitch: f64, threads: usize) {
    let stock = Stock::round(30.0, 200.0);
    let grid = Grid::over(&stock, pitch);
    let job = Job { stock: &stock, dimple: None, cutters, motions };
    let options = RunOptions { threads, ..RunOptions::default() };
    bencher
        .counter(ItemsCount::new(motions.len()))
        .bench(|| carve(&job, &grid, &options).expect("nothing cancels it").left_mm3());
}

#[divan::bench(args = [1, 2], sample_count = 3, sample_size = 1)]
fn roughing_helix_flat_12(bencher: Bencher, threads: usize) {
    run(bencher, &roughing(), &cutter(Shape::Flat, 12.0), 0.25, threads);
}

#[divan::bench(args = [1, 2], sample_count = 3, sample_size = 1)]
fn finishing_helix_ball_3(bencher: Bencher, threads: usize) {
    run(bencher, &finishing(), &cutter(Shape::Ball, 3.0), 0.25, threads);
}
