//! Carving again after an edit, against carving all of it.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::sync::atomic::{AtomicBool, Ordering};

use common::{bits, carve_checked, cutter, everything, numbered, pose};
use dryturn_carve::{Again, CarveError, Cutter, Dimple, Grid, Job, Kept, RunOptions, carve_again};
use dryturn_geom::{Motion, Shape, Stock, angle};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

const TILE: (usize, usize) = (8, 24);

/// A blank, its cutters, and what passes over it.
#[derive(Clone)]
struct Shop {
    stock: Stock,
    dimple: Option<Dimple>,
    cutters: Vec<Cutter>,
    motions: Vec<Motion>,
}

impl Shop {
    /// Thirty short cuts along the blank, one every 2 mm and 47° farther round.
    fn new() -> Shop {
        let motion = |k: u8| {
            let (x, a) = (2.0 * f64::from(k) + 1.0, 47.0 * f64::from(k));
            let (from, to) = (pose(x, 0.0, 8.0, a), pose(x + 1.0, 0.0, 7.0, a + 10.0));
            Motion { from, to, arc: None, block: 0, cutter: u16::from(k % 2), rapid: false }
        };
        Shop {
            stock: Stock::round(10.0, 60.0),
            dimple: None,
            cutters: vec![cutter(Shape::Flat, 1.0, 10.0), cutter(Shape::Ball, 1.0, 10.0)],
            motions: numbered((0..30).map(motion).collect()),
        }
    }

    /// Carves with what is kept and all of it, compares, and tells what had to be carved.
    fn carve(&self, kept: &mut Kept) -> Again {
        let Shop { stock, dimple, cutters, motions } = self;
        let job = Job { stock, dimple: *dimple, cutters, motions };
        let grid = Grid::over(stock, 0.5);
        let options = RunOptions { tile: Some(TILE), threads: 2, ..RunOptions::default() };
        let (carved, again) = carve_again(&job, &grid, &options, kept).unwrap();
        let count = self.motions.len() as u32;
        let straight = carve_checked(&job, &grid, &RunOptions::default());
        assert_eq!(bits(&carved, count), bits(&straight, count));
        assert_eq!(again.carved_tiles + again.kept_tiles, tiles(&grid));
        again
    }

    /// How many tiles have rays within 1 mm of where a cut stands and 1 mm beyond on each side, and less than 30° from it:
    /// more than a cutter of radius 1 whose end is 7 mm over the axis can see.
    fn tiles_near(&self, motions: &[Motion]) -> usize {
        let grid = Grid::over(&self.stock, 0.5);
        let is_near = |row: usize, column: usize| {
            motions.iter().any(|motion| {
                let along = (motion.from.x - 1.0..=motion.to.x + 1.0).contains(&grid.station(row));
                let middle = 0.5 * (motion.from.turn + motion.to.turn);
                let off = angle::wrapped(grid.theta(column) - middle);
                along && off.min(std::f64::consts::TAU - off) < angle::radians(30.0)
            })
        };
        let rays = |first: usize, size: usize, end: usize| first * size..((first + 1) * size).min(end);
        let (down, across) = (grid.stations.div_ceil(TILE.0), grid.angles.div_ceil(TILE.1));
        let all = (0..down).flat_map(|i| (0..across).map(move |j| (i, j)));
        all.filter(|&(i, j)| {
            let mut rows = rays(i, TILE.0, grid.stations);
            rows.any(|row| rays(j, TILE.1, grid.angles).any(|column| is_near(row, column)))
        })
        .count()
    }
}

fn tiles(grid: &Grid) -> usize {
    grid.stations.div_ceil(TILE.0) * grid.angles.div_ceil(TILE.1)
}

#[test]
fn the_same_job_is_not_carved_again() {
    let (shop, mut kept) = (Shop::new(), Kept::default());
    let all = shop.carve(&mut kept);
    assert_eq!(all.kept_tiles, 0);
    assert!(kept.bytes() > 0);
    assert_eq!(shop.carve(&mut kept), Again { carved_tiles: 0, kept_tiles: all.carved_tiles });
}

#[test]
fn an_edit_carves_the_tiles_it_reaches() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    for lines in [10..11, 3..6, 29..30] {
        let before = shop.motions[lines.clone()].to_vec();
        shop.motions[lines.clone()].iter_mut().for_each(|motion| motion.to.z -= 0.25);
        let reached = shop.tiles_near(&before);
        let again = shop.carve(&mut kept);
        assert!((1..=reached).contains(&again.carved_tiles), "{lines:?}: {again:?}, at most {reached}");
        assert!(2 * reached < again.carved_tiles + again.kept_tiles, "{reached} tiles prove nothing");
    }
}

#[test]
fn lines_put_in_or_taken_out_leave_all_else_alone() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    // A block that moves nothing where it can reach only numbers the others anew.
    let far = pose(300.0, 0.0, 20.0, 0.0);
    shop.motions.insert(0, Motion { from: far, to: far, ..shop.motions[0] });
    shop.motions = numbered(shop.motions);
    assert_eq!(shop.carve(&mut kept).carved_tiles, 0);

    let taken = shop.motions.remove(12);
    shop.motions = numbered(shop.motions);
    let reached = shop.tiles_near(&[taken]);
    let again = shop.carve(&mut kept);
    assert!((1..=reached).contains(&again.carved_tiles), "{again:?}, at most {reached}");

    shop.motions.splice(20..20, [taken, taken]);
    shop.motions = numbered(shop.motions);
    let again = shop.carve(&mut kept);
    assert!((1..=reached).contains(&again.carved_tiles), "{again:?}, at most {reached}");
}

#[test]
fn a_block_that_moves_carves_where_it_was_and_where_it_goes() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    let before = shop.motions[4];
    let motion = &mut shop.motions[4];
    (motion.from.x, motion.to.x) = (motion.from.x + 30.0, motion.to.x + 30.0);
    let reached = shop.tiles_near(&[before, shop.motions[4]]);
    let again = shop.carve(&mut kept);
    assert!((2..=reached).contains(&again.carved_tiles), "{again:?}, at most {reached}");
}

#[test]
fn the_order_of_two_cuts_counts_where_both_reach() {
    let mut shop = Shop::new();
    shop.motions[1] = Motion { to: pose(2.0, 0.0, 6.0, 12.0), ..shop.motions[0] };
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    shop.motions.swap(0, 1);
    shop.motions = numbered(shop.motions);
    assert!(shop.carve(&mut kept).carved_tiles > 0);
    // Cuts far from each other may change places.
    shop.motions = numbered(vec![shop.motions[5], shop.motions[25]]);
    shop.carve(&mut kept);
    shop.motions.swap(0, 1);
    shop.motions = numbered(shop.motions);
    assert_eq!(shop.carve(&mut kept).carved_tiles, 0);
}

#[test]
fn a_cutter_that_changes_carves_where_it_cuts() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    shop.cutters.swap(0, 1);
    shop.motions.iter_mut().for_each(|motion| motion.cutter = 1 - motion.cutter);
    assert_eq!(shop.carve(&mut kept).carved_tiles, 0, "only the numbers of the cutters changed");

    shop.cutters[1] = cutter(Shape::Flat, 0.9, 10.0);
    let with_it: Vec<Motion> = shop.motions.iter().copied().filter(|motion| motion.cutter == 1).collect();
    let reached = shop.tiles_near(&with_it);
    let again = shop.carve(&mut kept);
    assert!((10..=reached).contains(&again.carved_tiles), "{again:?}, at most {reached}");
    // So does a body above the flutes.
    shop.cutters[1] = common::with_uppers(shop.cutters[1].clone());
    assert!(shop.carve(&mut kept).carved_tiles > 0);
}

#[test]
fn another_blank_is_carved_anew() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    let all = shop.carve(&mut kept).carved_tiles;
    let changes: [fn(&mut Shop); 4] = [
        |shop| shop.stock.bore = 3.0,
        |shop| shop.stock.near.y = 0.2,
        |shop| shop.stock.bow.amount = 0.1,
        |shop| shop.dimple = Some(Dimple { apex: 55.0, slope: 0.6 }),
    ];
    for change in changes {
        change(&mut shop);
        assert!(shop.carve(&mut kept).carved_tiles >= all);
    }
}

#[test]
fn what_is_watched_is_kept_too() {
    let (cutters, motions) = everything();
    let mut shop = Shop { stock: Stock::round(12.0, 44.0), dimple: None, cutters, motions };
    let mut kept = Kept::default();
    let all = shop.carve(&mut kept).carved_tiles;
    let last = shop.motions.len() - 1;
    shop.motions.remove(last);
    shop.motions.insert(0, Motion { rapid: true, ..shop.motions[2] });
    shop.motions = numbered(shop.motions);
    let again = shop.carve(&mut kept);
    assert!((1..all).contains(&again.carved_tiles), "{again:?}");
    // A feed that becomes a rapid takes the same wood but is noted.
    shop.motions[0].rapid = false;
    assert!(shop.carve(&mut kept).carved_tiles > 0);
}

#[test]
fn a_run_that_is_cancelled_takes_nothing_away() {
    let mut shop = Shop::new();
    let mut kept = Kept::default();
    shop.carve(&mut kept);
    let stop = AtomicBool::new(true);
    let job = Job { stock: &shop.stock, dimple: None, cutters: &shop.cutters, motions: &shop.motions };
    let options = RunOptions { cancel: Some(&stop), ..RunOptions::default() };
    let grid = Grid::over(&shop.stock, 0.5);
    assert!(matches!(carve_again(&job, &grid, &options, &mut kept), Err(CarveError::Cancelled)));
    let midway = AtomicBool::new(false);
    let tell = |share: f64| midway.store(share > 0.5, Ordering::Relaxed);
    let options = RunOptions { cancel: Some(&midway), progress: Some(&tell), threads: 1, ..RunOptions::default() };
    assert!(matches!(carve_again(&job, &grid, &options, &mut kept), Err(CarveError::Cancelled)));
    assert_eq!(shop.carve(&mut kept).carved_tiles, 0);
    shop.motions.clear();
    shop.carve(&mut kept);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24, failure_persistence: None, rng_seed: RngSeed::Fixed(7), ..ProptestConfig::default()
    })]

    #[test]
    fn any_edits(edits in prop::collection::vec((0u8..5, 0usize..29, -1.0f64..1.0), 1..8)) {
        let mut shop = Shop::new();
        let mut kept = Kept::default();
        shop.carve(&mut kept);
        for (kind, line, by) in edits {
            let line = line % shop.motions.len();
            match kind {
                0 => shop.motions[line].from.z += by,
                1 => shop.motions[line].to.turn += by,
                2 => drop(shop.motions.remove(line)),
                3 => shop.motions.insert(line, Motion { rapid: true, ..shop.motions[line] }),
                _ => shop.motions[line].to.x += 10.0 * by,
            }
            shop.motions = numbered(shop.motions);
            shop.carve(&mut kept);
        }
    }
}
