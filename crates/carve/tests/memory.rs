//! The bound on memory: what is counted, what is packed, and what is refused.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::TAU;

use common::{Program, bits, cutter, pose};
use dryturn_carve::{CarveError, Carved, Grid, Job, Needs, Replay, RunOptions, carve};
use dryturn_geom::{Motion, Shape, Stock};

const PITCH: f64 = 0.1;

/// A helix under a ball, a groove and a hole straight through.
fn program() -> Vec<Motion> {
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    program.feed(pose(0.0, 0.0, 9.0, 0.0));
    for k in 0..400u16 {
        let share = f64::from(k) / 400.0;
        program.feed(pose(30.0 * share, 0.0, 9.0 + 0.2 * (share * 50.0).sin(), 60.0 * TAU * share));
    }
    program.resume(pose(15.0, 2.0, 20.0, 0.0), 0).feed(pose(15.0, 2.0, -12.0, 0.0));
    program.motions
}

fn with_job(test: impl Fn(&Job<'_>, &Grid)) {
    let stock = Stock::round(10.0, 30.0);
    let (cutters, motions) = ([cutter(Shape::Ball, 1.5, 30.0)], program());
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    test(&job, &Grid::over(&stock, PITCH));
}

fn within(job: &Job<'_>, grid: &Grid, memory: Option<u64>) -> Result<Carved, CarveError> {
    carve(job, grid, &RunOptions { threads: 2, memory, ..RunOptions::default() })
}

#[test]
fn a_blank_carved_in_little_memory_is_the_same_and_a_fraction_as_large() {
    with_job(|job, grid| {
        let count = job.motions.count();
        let needs = Needs::of(grid, count, &RunOptions { threads: 2, ..RunOptions::default() });
        let open = within(job, grid, None).unwrap();
        let ample = within(job, grid, Some(needs.ample())).unwrap();
        let packed = within(job, grid, Some(needs.least())).unwrap();
        assert_eq!((bits(&packed, count), bits(&ample, count)), (bits(&open, count), bits(&open, count)));
        assert!(packed.bytes() <= needs.least() && open.bytes() <= needs.ample(), "{needs:?}");
        assert!(packed.bytes() < open.bytes() / 6, "{} of {}", packed.bytes(), open.bytes());
        assert_eq!(ample.bytes(), open.bytes());
        for (row, column) in [(0, 0), (150, 60), (299, grid.angles - 1)] {
            assert!(packed.spans(row, column).eq(open.spans(row, column)));
            assert_eq!(packed.cut_by(row, column), open.cut_by(row, column));
        }
        let reader = packed.reader();
        for (row, column) in (0..grid.stations).step_by(7).flat_map(|row| (0..grid.angles).map(move |at| (row, at))) {
            assert!(reader.look(row, column, |dexel| dexel.spans()).eq(open.spans(row, column)));
            let beside = (row + 3).min(grid.stations - 1);
            assert_eq!(reader.look(beside, column, |dexel| dexel.radius()), open.radius(beside, column));
            assert_eq!(reader.look(row, column, |dexel| dexel.cut_by()), open.cut_by(row, column));
        }
        packed.check_integrity(10.0).unwrap();
    });
}

#[test]
fn what_does_not_fit_packed_is_refused() {
    with_job(|job, grid| {
        let packed = within(job, grid, Some(1 << 21)).unwrap();
        for bound in [0, 1, packed.bytes() / 2, packed.bytes()] {
            // Beside what is kept there are the tiles in flight.
            let refused = within(job, grid, Some(bound));
            assert!(matches!(refused, Err(CarveError::Memory { bound: told }) if told == bound), "{bound}");
        }
    });
}

#[test]
fn volumes_are_the_same_of_a_packed_blank() {
    with_job(|job, _| {
        let grid = Grid::over(job.stock, 0.5);
        let options = RunOptions { threads: 2, ..RunOptions::default() };
        let needs = Needs::of(&grid, job.motions.count(), &options);
        let replay = Replay::new(job, &options).unwrap();
        let of = |memory| replay.volumes(&within(job, &grid, memory).unwrap(), 1e-2, &options).unwrap();
        assert_eq!(of(Some(needs.ample() - 1)), of(None));
    });
}
