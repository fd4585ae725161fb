//! Ending a run early, and being told how far it is.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

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
