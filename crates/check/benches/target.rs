//! Half a million rays beside a mesh of a hundred thousand triangles, and beside a profile.

use std::f64::consts::{PI, TAU};

use divan::Bencher;
use dryturn_carve::{Carved, Cutter, Grid, Job, Replay, RunOptions, carve};
use dryturn_check::target::{Limits, Surface, Wanted, compare};
use dryturn_geom::{Flutes, Motion, Pose, Shape, Stock};
use dryturn_scene::{Mesh, TargetShape};

fn main() {
    divan::main();
}

const LENGTH: f64 = 200.0;

/// Radius of the target: waves along the axis, of less than a millimetre.
fn radius(station: f64) -> f64 {
    26.0 + 0.8 * (station / 6.0).sin()
}

fn profile() -> TargetShape {
    TargetShape::Profile((0..=2000).map(|k| f64::from(k) * 0.1).map(|x| [x, radius(x)]).collect())
}

/// 500 rings of 100 corners.
fn mesh() -> TargetShape {
    let (rings, sides) = (500usize, 100usize);
    let mut corners = Vec::new();
    for ring in 0..rings {
        let station = LENGTH * ring as f64 / (rings - 1) as f64;
        corners.extend((0..sides).map(|side| {
            let theta = TAU * side as f64 / sides as f64;
            [station, -radius(station) * theta.sin(), radius(station) * theta.cos()]
        }));
    }
    let at = |ring: usize, side: usize| (ring * sides + side % sides) as u32;
    let mut triangles = Vec::new();
    for side in 0..sides {
        for ring in 0..rings - 1 {
            let [a, b, c, d] = [at(ring, side), at(ring, side + 1), at(ring + 1, side + 1), at(ring + 1, side)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
        triangles.push([corners.len() as u32, at(0, side + 1), at(0, side)]);
        triangles.push([corners.len() as u32 + 1, at(rings - 1, side), at(rings - 1, side + 1)]);
    }
    corners.extend([[0.0; 3], [LENGTH, 0.0, 0.0]]);
    TargetShape::Mesh(Mesh { corners, triangles })
}

/// A helix with a ball of ⌀6, half a millimetre a turn, that follows the target; `steps` of it are shoulders instead.
fn finishing(has_steps: bool) -> Vec<Motion> {
    let turns = (LENGTH / 0.5) as u32;
    let per_turn = 120u32;
    let pose = |k: u32| {
        let x = 0.5 * f64::from(k) / f64::from(per_turn);
        let z = if has_steps { 25.0 + (x / 10.0).floor() % 2.0 } else { radius(x) };
        Pose { x, y: 0.0, z, turn: TAU * f64::from(k) / f64::from(per_turn) }
    };
    let motion =
        |block: u32| Motion { from: pose(block), to: pose(block + 1), arc: None, block, cutter: 0, rapid: false };
    (0..turns * per_turn).map(motion).collect()
}

fn run(bencher: Bencher<'_, '_>, shape: &TargetShape, has_steps: bool) {
    let stock = Stock::round(30.0, LENGTH);
    let cutters = [Cutter { flutes: Flutes::new(Shape::Ball, 3.0, 20.0).expect("a cutter"), uppers: vec![] }];
    let motions = finishing(has_steps);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let options = RunOptions { threads: 2, ..RunOptions::default() };
    let carved: Carved = carve(&job, &Grid::over(&stock, 0.25), &options).expect("it is carved");
    let replay = Replay::new(&job, &options).expect("it can be replayed");
    bencher.bench_local(|| {
        let surface = Surface::new(shape);
        let wanted = Wanted {
            surface: &surface,
            limits: Limits { gouge: 0.05, leftover: 0.3, allowance: 0.0 },
            span: [0.0, LENGTH],
            cutters: vec![&cutters[0].flutes],
        };
        let comparison = compare(&carved, &replay, &wanted, &options).expect("it is compared");
        assert!(comparison.gap.len() as f64 >= 4.0 * LENGTH * PI * 60.0);
        comparison
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn finished_beside_a_mesh(bencher: Bencher<'_, '_>) {
    run(bencher, &mesh(), false);
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn finished_beside_a_profile(bencher: Bencher<'_, '_>) {
    run(bencher, &profile(), false);
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn unlike_a_mesh_with_steps(bencher: Bencher<'_, '_>) {
    run(bencher, &mesh(), true);
}
