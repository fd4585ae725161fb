//! Ending a run early, and being told how far it is.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use common::{Program, carve_checked, cutter, pose};
use dryturn_carve::{CarveError, Grid, Job, RunOptions, carve};
use dryturn_geom::{Shape, Stock};

fn rings() -> Program {
    let mut program = Program::new(pose(0.0, 0.0, 10.0, 0.0));
    for k in 0..10 {
        program.ring(f64::from(k), 0.0, 10.0);
    }
    program
}

#[test]
fn a_run_that_is_cancelled_gives_nothing() {
    let (stock, cutters, motions) = (Stock::round(12.0, 10.0), [cutter(Shape::Flat, 2.0, 20.0)], rings().motions);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let grid = Grid::over(&stock, 0.5);
    let before = AtomicBool::new(true);
    let options = RunOptions { cancel: Some(&before), ..RunOptions::default() };
    assert!(matches!(carve(&job, &grid, &options), Err(CarveError::Cancelled)));

    let midway = AtomicBool::new(false);
    let stop = |share: f64| midway.store(share > 0.2, Ordering::Relaxed);
    let options = RunOptions { cancel: Some(&midway), progress: Some(&stop), threads: 1, ..RunOptions::default() };
    assert!(matches!(carve(&job, &grid, &options), Err(CarveError::Cancelled)));
}

/// A block of a million turns, of which the carve would take hours, with the tip on the axis and away from it: a run that
/// asked only between blocks would never end.
#[test]
fn a_run_is_cancelled_within_a_block_too() {
    let (stock, cutters) = (Stock::round(12.0, 10.0), [cutter(Shape::Flat, 2.0, 20.0)]);
    let grid = Grid::over(&stock, 0.5);
    for height in [0.0, 4.0] {
        let mut program = Program::new(pose(2.0, 0.0, 10.0, 0.0));
        program.feed(pose(2.0, 0.0, height, 0.0));
        program.feed(pose(8.0, 0.0, height, 360e6));
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
        let cancel = AtomicBool::new(false);
        let options = RunOptions { cancel: Some(&cancel), threads: 2, ..RunOptions::default() };
        let outcome = std::thread::scope(|scope| {
            scope.spawn(|| {
                std::thread::sleep(Duration::from_millis(200));
                cancel.store(true, Ordering::Relaxed);
            });
            carve(&job, &grid, &options)
        });
        assert!(matches!(outcome, Err(CarveError::Cancelled)));
    }
}

#[test]
fn progress_grows_to_one_and_changes_nothing() {
    let (stock, cutters) = (Stock::round(12.0, 10.0), [cutter(Shape::Flat, 2.0, 20.0)]);
    let grid = Grid::over(&stock, 0.5);
    for motions in [rings().motions, vec![]] {
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
        let plain = carve_checked(&job, &grid, &RunOptions::default());
        for threads in [1, 3] {
            let told = Mutex::new(Vec::new());
            let tell = |share: f64| told.lock().unwrap().push(share);
            let (never, tile) = (AtomicBool::new(false), Some((5, 50)));
            let options =
                RunOptions { threads, tile, cancel: Some(&never), progress: Some(&tell), ..RunOptions::default() };
            let followed = carve_checked(&job, &grid, &options);
            assert_eq!(followed.left_mm3(), plain.left_mm3());
            let told = told.into_inner().unwrap();
            assert!(told.iter().all(|share| *share > 0.0 && *share <= 1.0));
            assert_eq!(told.iter().filter(|share| **share == 1.0).count(), 1);
            assert!(threads > 1 || told.is_sorted());
        }
    }
}
