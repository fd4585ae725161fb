//! The same bits, whatever the threads, the tiles and the instructions.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::hash::{DefaultHasher, Hash, Hasher};

use common::{Program, carve_checked, cutter, one_of_each, pose};
use dryturn_carve::{Carved, Cutter, Dimple, Grid, Instructions, Job, Reach, RunOptions, Upper, UpperBody};
use dryturn_geom::{Arc, Axis, Motion, Offset, Shape, Stock};

const THREADS: [usize; 3] = [1, 2, 7];
const TILES: [(usize, usize); 5] = [(8, 64), (32, 128), (64, 256), (1000, 4000), (5, 17)];

/// All bits of a result, hashed.
fn bits(carved: &Carved, blocks: u32) -> u64 {
    let mut hasher = DefaultHasher::new();
    let grid = carved.grid();
    for (row, column) in (0..grid.stations).flat_map(|row| (0..grid.angles).map(move |column| (row, column))) {
        for span in carved.spans(row, column) {
            (span.inner.to_bits(), span.outer.to_bits(), span.inner_by, span.outer_by).hash(&mut hasher);
        }
        (u32::MAX, carved.radius(row, column).to_bits(), carved.cut_by(row, column)).hash(&mut hasher);
    }
    for block in 0..blocks {
        carved.removed_by(block).to_bits().hash(&mut hasher);
    }
    let mut hash_all = |reaches: &[Reach]| {
        reaches.len().hash(&mut hasher);
        for reach in reaches {
            (reach.block, reach.depth.to_bits(), reach.radius.to_bits(), reach.row, reach.column).hash(&mut hasher);
        }
    };
    hash_all(&carved.rapids);
    hash_all(&carved.beyond_axis);
    carved.uppers.iter().for_each(|(_, reaches)| hash_all(reaches));
    (carved.blank_mm3().to_bits(), carved.left_mm3().to_bits()).hash(&mut hasher);
    hasher.finish()
}

/// Carves a job with every number of threads and size of tile; gives the result of the first.
fn same_bits(job: &Job<'_>, pitch: f64) -> Carved {
    let grid = Grid::over(job.stock, pitch);
    let first = carve_checked(job, &grid, &RunOptions { threads: 1, ..RunOptions::default() });
    let count = job.motions.count();
    let expected = bits(&first, count);
    for (index, tile) in TILES.into_iter().enumerate() {
        for instructions in [Instructions::Common, Instructions::Wide] {
            let threads = THREADS[index % THREADS.len()];
            let options =
                RunOptions { threads, tile: Some(tile), instructions: Some(instructions), ..RunOptions::default() };
            let other = bits(&carve_checked(job, &grid, &options), count);
            assert_eq!(other, expected, "{threads} threads, tiles of {tile:?}, {instructions:?}");
        }
    }
    for threads in THREADS {
        let other = bits(&carve_checked(job, &grid, &RunOptions { threads, ..RunOptions::default() }), count);
        assert_eq!(other, expected, "{threads} threads");
    }
    first
}

/// A cutter with a shank, a holder and a spindle over its flutes.
fn with_uppers(mut cutter: Cutter) -> Cutter {
    let (length, radius) = (cutter.flutes.length(), cutter.flutes.radius());
    let body = |kind, radius, from: f64, to: f64| UpperBody { kind, radius, from: length + from, to: length + to };
    cutter.uppers = vec![
        body(Upper::Shank, radius + 0.5, 0.0, 1.0),
        body(Upper::Holder, radius + 5.0, 1.0, 3.0),
        body(Upper::Spindle, 20.0, 3.0, 60.0),
    ];
    cutter
}

fn arc_at(from: dryturn_geom::Pose, axes: [Axis; 2], reach: [f64; 2], sweep: f64, rise: f64) -> Motion {
    let mut motion = Motion { from, to: from, arc: None, block: 0, cutter: 0, rapid: false };
    let first = match axes[0] {
        Axis::X => from.x,
        _ => from.z,
    };
    let second = match axes[1] {
        Axis::Y => from.y,
        Axis::X => from.x,
        _ => from.turn,
    };
    motion.arc = Some(Arc { axes, center: [first - reach[0], second], reach, start: 0.0, sweep });
    motion.to = motion.at(1.0 - 1e-12);
    motion.to.z += rise;
    motion
}

/// Every kind of cutter with bodies above it, one after the other: rings, helices, plunges, rapids, arcs.
fn everything() -> (Vec<Cutter>, Vec<Motion>) {
    let cutters: Vec<Cutter> = one_of_each(2.0, 0.4).into_iter().map(|(_, cutter)| with_uppers(cutter)).collect();
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for index in 0..cutters.len() {
        let (k, x) = (index as f64, 2.5 * index as f64 + 1.0);
        program
            .resume(pose(x, 0.3 * k - 1.0, 20.0, 40.0 * k), index as u16)
            .rapid(pose(x, 0.3 * k - 1.0, 11.5, 40.0 * k))
            .feed(pose(x + 1.0, 0.0, 8.0 - 0.6 * k, 40.0 * k + 100.0))
            .feed(pose(x + 2.0, 1.0, 6.0, 40.0 * k + 130.0))
            .rapid(pose(x + 3.0, 1.0, 7.0, 40.0 * k + 131.0))
            .feed(pose(x + 3.0, 0.0, 9.0, 40.0 * k + 331.0))
            .feed(pose(x + 3.0, 0.0, -1.0, 40.0 * k + 335.0));
        let arcs = [
            arc_at(pose(x, 1.0, 9.0, 70.0 * k), [Axis::X, Axis::Y], [2.0, 2.0], 4.0, -1.0),
            arc_at(pose(x, 0.0, 10.0, 70.0 * k), [Axis::Z, Axis::X], [1.5, 1.5], -3.0, 0.0),
            arc_at(pose(x, 0.0, 9.5, 70.0 * k), [Axis::X, Axis::Turn], [2.0, 0.2], 6.0, 0.0),
        ];
        for arc in arcs {
            program.motions.push(Motion { block: program.motions.len() as u32, cutter: index as u16, ..arc });
        }
    }
    (cutters, program.motions)
}

#[test]
fn every_cutter_and_everything_that_is_watched() {
    let (cutters, motions) = everything();
    let off = Offset { y: 0.5, z: 0.3 };
    let stock = Stock { near: off, far: Offset { z: -0.4, ..off }, start: -4.0, ..Stock::round(12.0, 44.0) };
    let job =
        Job { stock: &stock, dimple: Some(Dimple { apex: 36.0, slope: 0.6 }), cutters: &cutters, motions: &motions };
    let carved = same_bits(&job, 1.5);
    let [rapids, beyond] = [carved.rapids.len(), carved.beyond_axis.len()];
    let uppers: Vec<usize> = carved.uppers.iter().map(|(_, reaches)| reaches.len()).collect();
    println!("{rapids} rapids in wood, {beyond} blocks beyond the axis, bodies in wood {uppers:?}");
    assert!(rapids > 3 && beyond > 3 && uppers.iter().all(|count| *count > 3));
}

#[test]
fn a_tube_with_windows() {
    let stock = Stock { bore: 6.0, ..Stock::round(12.0, 40.0) };
    let cutters = [with_uppers(cutter(Shape::Flat, 3.0, 30.0)), with_uppers(cutter(Shape::Ball, 1.5, 12.0))];
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for k in 0..4u8 {
        let (x, a) = (5.0 + 9.0 * f64::from(k), 50.0 * f64::from(k));
        program.resume(pose(x, 0.0, 20.0, a), 0).feed(pose(x, 0.0, -14.0, a)).feed(pose(x + 3.0, 2.0, -14.0, a + 35.0));
        // A groove in the wall, from the side of the window.
        program.resume(pose(x, 5.0, 8.0, a), 1).feed(pose(x + 4.0, 5.0, 8.0, a + 200.0)).rapid(pose(x, 0.0, 9.0, a));
    }
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let carved = same_bits(&job, 0.5);
    let grid = carved.grid();
    let rays = (0..grid.stations).flat_map(|row| (0..grid.angles).map(move |column| (row, column)));
    let counts: Vec<usize> = rays.map(|(row, column)| carved.spans(row, column).count()).collect();
    assert!(counts.contains(&0) && counts.contains(&2), "no ray is pierced and none is split");
}

#[test]
fn a_tip_below_the_axis() {
    let stock = Stock::round(10.0, 30.0);
    let cutters = [cutter(Shape::Ball, 2.0, 9.0), cutter(Shape::Vee { half_angle: 0.4, tip_radius: 0.0 }, 3.0, 12.0)];
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for k in 0..6u8 {
        let (x, a) = (4.0 + 4.0 * f64::from(k), 33.0 * f64::from(k));
        program.resume(pose(x, 1.0, 4.0, a), u16::from(k % 2)).feed(pose(x, -1.0, -5.0, a + 10.0)).feed(pose(
            x + 1.0,
            0.5,
            -3.0,
            a + 400.0,
        ));
    }
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let carved = same_bits(&job, 0.8);
    assert_eq!(carved.beyond_axis.len(), 12);
}
