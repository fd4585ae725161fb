//! The same bits, whatever the threads, the tiles and the instructions, and after any restart.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use common::{Program, bits, carve_checked, cutter, everything, pose, with_uppers};
use dryturn_carve::{CarveError, Carved, Dimple, Grid, History, Instructions, Job, Needs, RunOptions, carve};
use dryturn_geom::{Offset, Shape, Stock};

const THREADS: [usize; 3] = [1, 2, 7];
const TILES: [(usize, usize); 5] = [(8, 64), (32, 128), (64, 256), (1000, 4000), (5, 17)];

/// The bits of a run that is taken back to each of a few blocks and goes on from there, off its saves and by itself.
fn restarted(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> u64 {
    let count = job.motions.count();
    let mut history = History::record(job, grid, 20_000, options).unwrap();
    assert!(history.checkpoints().len() > 2, "{:?}", history.checkpoints());
    let last = *history.checkpoints().last().unwrap();
    for block in [count / 2, last.saturating_sub(1), 0, last, count - 1] {
        history.at(block, None).unwrap();
    }
    bits(history.at(count, None).unwrap(), count)
}

/// Carves a job with every number of threads, size of tile and kind of instructions; gives the result of the first.
fn same_bits(job: &Job<'_>, pitch: f64) -> Carved {
    let grid = Grid::over(job.stock, pitch);
    let first = carve_checked(job, &grid, &RunOptions { threads: 1, ..RunOptions::default() });
    let count = job.motions.count();
    let expected = bits(&first, count);
    let mut packings = 0;
    for (tile, threads) in TILES.into_iter().flat_map(|tile| THREADS.map(|threads| (tile, threads))) {
        for instructions in Instructions::ALL {
            let options =
                RunOptions { threads, tile: Some(tile), instructions: Some(instructions), ..RunOptions::default() };
            let other = bits(&carve_checked(job, &grid, &options), count);
            assert_eq!(other, expected, "{threads} threads, tiles of {tile:?}, {instructions:?}");
            // Packed tiles that hold many spans may need more than this; how many are in flight hangs on the threads.
            let short = Some(Needs::of(&grid, count, &options).ample() - 1);
            match carve(job, &grid, &RunOptions { memory: short, ..options }) {
                Ok(packed) => {
                    packings += 1;
                    let packed = bits(&packed, count);
                    assert_eq!(packed, expected, "packed, {threads} threads, tiles of {tile:?}, {instructions:?}");
                }
                Err(error) => assert!(matches!(error, CarveError::Memory { .. }), "{error}"),
            }
            let restarted = restarted(job, &grid, &options);
            assert_eq!(restarted, expected, "restarted, {threads} threads, tiles of {tile:?}, {instructions:?}");
        }
    }
    assert!(packings > 30, "{packings} of 45 runs are packed");
    for threads in THREADS {
        let other = bits(&carve_checked(job, &grid, &RunOptions { threads, ..RunOptions::default() }), count);
        assert_eq!(other, expected, "{threads} threads");
    }
    first
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
