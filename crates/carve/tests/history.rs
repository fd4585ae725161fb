//! Any block of a run, however one comes there, against a run that ends there.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::sync::atomic::{AtomicBool, Ordering};

use common::{Program, bits, carve_checked, cutter, everything, pose};
use dryturn_carve::{CarveError, Dimple, Grid, History, Job, RunOptions};
use dryturn_geom::{Motion, Offset, Shape, Stock};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// The bits of a run of the first `block` blocks of a job.
fn straight(job: &Job<'_>, grid: &Grid, motions: &[Motion], block: u32) -> u64 {
    let first = motions[..block as usize].to_vec();
    bits(&carve_checked(&Job { motions: &first, ..*job }, grid, &RunOptions::default()), block)
}

fn small_tiles<'a>() -> RunOptions<'a> {
    RunOptions { tile: Some((7, 40)), ..RunOptions::default() }
}

/// A roughing helix and a finer one after it.
fn two_helices() -> (Vec<dryturn_carve::Cutter>, Vec<Motion>) {
    let mut program = Program::new(pose(0.0, 0.0, 10.0, 0.0));
    for (cutter, lead, height) in [(0u16, 2.0, 9.0), (1, 1.0, 8.5)] {
        let at = |k: u32| {
            let turns = f64::from(k) / 12.0;
            pose(lead * turns, 0.1 * f64::from(cutter), height - 0.05 * turns, 360.0 * turns)
        };
        program.resume(at(0), cutter);
        (1..=120).for_each(|k| {
            program.feed(at(k));
        });
    }
    (vec![cutter(Shape::Flat, 2.0, 20.0), cutter(Shape::Ball, 1.0, 8.0)], program.motions)
}

#[test]
fn every_block_forward_and_backward() {
    let (cutters, motions) = two_helices();
    let stock = Stock::round(10.0, 22.0);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let grid = Grid::over(&stock, 0.8);
    let mut history = History::record(&job, &grid, 5_000, &small_tiles()).unwrap();
    assert!(history.checkpoints().len() > 10, "{:?}", history.checkpoints());
    // Each part of a helix is cut in few of the stretches between checkpoints; no tile is saved after the others.
    let tiles = grid.stations.div_ceil(7) * grid.angles.div_ceil(40);
    let most = history.checkpoints().len() * tiles / 2;
    assert!((history.checkpoints().len()..most).contains(&history.saves()), "{} saves", history.saves());
    let count = history.blocks();
    let expected: Vec<u64> = (0..=count).map(|block| straight(&job, &grid, &motions, block)).collect();
    for block in (0..=count).chain((0..=count).rev()) {
        let shown = history.at(block, None).unwrap();
        assert_eq!(bits(shown, block), expected[block as usize], "before block {block}");
    }
    assert_eq!(bits(history.at(u32::MAX, None).unwrap(), count), expected[count as usize]);
}

#[test]
fn what_is_watched_is_told_up_to_the_block() {
    let (cutters, motions) = everything();
    let off = Offset { y: 0.5, z: 0.3 };
    let stock = Stock { near: off, far: Offset { z: -0.4, ..off }, start: -4.0, ..Stock::round(12.0, 44.0) };
    let job =
        Job { stock: &stock, dimple: Some(Dimple { apex: 36.0, slope: 0.6 }), cutters: &cutters, motions: &motions };
    let grid = Grid::over(&stock, 1.5);
    let mut history = History::record(&job, &grid, 10_000, &small_tiles()).unwrap();
    for block in [0, 7, 90, 31, 32, 12, 107, 60, 1] {
        let shown = history.at(block, None).unwrap();
        assert_eq!(bits(shown, block), straight(&job, &grid, &motions, block), "before block {block}");
    }
}

#[test]
fn one_save_for_all_and_one_for_each_block_show_the_same() {
    let (cutters, motions) = two_helices();
    let stock = Stock::round(10.0, 22.0);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let grid = Grid::over(&stock, 1.0);
    let mut rare = History::record(&job, &grid, u64::MAX, &RunOptions::default()).unwrap();
    let mut dense = History::record(&job, &grid, 0, &small_tiles()).unwrap();
    assert_eq!(rare.checkpoints(), [0]);
    assert_eq!(dense.checkpoints().len(), motions.len());
    assert!(dense.bytes() > rare.bytes());
    for block in [200, 3, 100, 101, 99, 240] {
        assert_eq!(bits(rare.at(block, None).unwrap(), block), bits(dense.at(block, None).unwrap(), block));
    }
}

#[test]
fn a_way_that_is_cancelled_can_be_gone_again() {
    let (cutters, motions) = two_helices();
    let stock = Stock::round(10.0, 22.0);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let grid = Grid::over(&stock, 1.0);
    let (stop, go_on) = (AtomicBool::new(true), AtomicBool::new(false));
    let options = RunOptions { cancel: Some(&stop), ..RunOptions::default() };
    assert!(matches!(History::record(&job, &grid, 5_000, &options), Err(CarveError::Cancelled)));
    let midway = AtomicBool::new(false);
    let tell = |share: f64| midway.store(share > 0.3, Ordering::Relaxed);
    let options = RunOptions { cancel: Some(&midway), progress: Some(&tell), threads: 1, ..small_tiles() };
    assert!(matches!(History::record(&job, &grid, 5_000, &options), Err(CarveError::Cancelled)));

    let mut history = History::record(&job, &grid, 5_000, &RunOptions::default()).unwrap();
    for block in [100, 30, 240] {
        assert!(matches!(history.at(block, Some(&stop)), Err(CarveError::Cancelled)));
        let shown = history.at(block, Some(&go_on)).unwrap();
        assert_eq!(bits(shown, block), straight(&job, &grid, &motions, block));
    }
}

#[test]
fn an_empty_run_shows_the_blank() {
    let (stock, motions) = (Stock::round(10.0, 5.0), Vec::<Motion>::new());
    let job = Job { stock: &stock, dimple: None, cutters: &[], motions: &motions };
    let mut history = History::record(&job, &Grid::over(&stock, 1.0), 1, &RunOptions::default()).unwrap();
    let shown = history.at(3, None).unwrap();
    assert_eq!(shown.left_mm3(), shown.blank_mm3());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, rng_seed: RngSeed::Fixed(5), ..ProptestConfig::default() })]

    #[test]
    fn any_order_of_blocks(
        blocks in prop::collection::vec(0u32..=240, 1..12),
        every in 1_000u64..200_000,
        tile in (1usize..30, 1usize..90),
    ) {
        let (cutters, motions) = two_helices();
        let stock = Stock { bore: 2.0, ..Stock::round(10.0, 22.0) };
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
        let grid = Grid::over(&stock, 1.2);
        let options = RunOptions { tile: Some(tile), threads: 2, ..RunOptions::default() };
        let mut history = History::record(&job, &grid, every, &options).unwrap();
        for block in blocks {
            let shown = history.at(block, None).unwrap();
            prop_assert_eq!(bits(shown, block), straight(&job, &grid, &motions, block));
            prop_assert!((shown.removed_mm3(0..block) + shown.left_mm3() - shown.blank_mm3()).abs() < 1e-6);
        }
    }
}
