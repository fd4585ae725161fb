//! The kernel against a slow reference that certifies itself and shares no code with it, on random rays under random
//! motions of every cutter: near the axis, below it, off it, over many turns. Run with `--nocapture` for the table; the
//! example `exactness` does the same for any number of rays.

#![expect(clippy::print_stdout, clippy::tests_outside_test_module, reason = "the worst errors are for reading")]

mod reference;

use rayon::prelude::*;
use reference::carved::{BATCH, batch};
use reference::compare::{AGREED, Summary, compared};
use reference::walks::{FAMILIES, Family, number};

/// Rays of each family, one by one and by whole carves.
const RAYS: u32 = 2000;
const CARVED_RAYS: u32 = 4 * BATCH as u32;

#[test]
fn every_ray_end_is_within_a_tenth_of_a_micron() {
    let by_rays = |family| {
        let numbers = (0..RAYS).into_par_iter().map(|k| number(0, k));
        let each = numbers.fold(Summary::default, |sum, number| sum.and(compared(family, number)));
        each.reduce(Summary::default, Summary::with)
    };
    expect_exact(by_rays);
}

#[test]
fn every_carved_ray_end_is_within_a_micron() {
    let by_batches = |family| {
        let firsts = (0..CARVED_RAYS).step_by(BATCH as usize).map(|k| number(0, k));
        let rays = firsts.flat_map(|first| batch(family, first).expect("nothing stops this carve"));
        rays.fold(Summary::default(), Summary::and)
    };
    expect_exact(by_batches);
}

/// Prints the table and names every ray that is wrong.
fn expect_exact(run: impl Fn(Family) -> Summary) {
    let mut failures = Vec::new();
    println!("{}", Summary::HEADING);
    for family in FAMILIES {
        let summary = run(family);
        println!("{}", summary.row(family));
        assert!(summary.met * 2 >= summary.rays, "{family:?}: only {} rays are met", summary.met);
        let failing = summary.told.iter().filter(|ray| ray.error > AGREED || ray.undecided);
        failures.extend(failing.map(|ray| format!("{family:?} {ray:?}")));
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
