//! The kernel against a slow reference that certifies itself and shares no code with it, on random rays under random
//! motions of every cutter: near the axis, below it, off it, over many turns. Run with `--nocapture` for the table; the
//! example `exactness` does the same for any number of rays.

#![expect(clippy::print_stdout, clippy::tests_outside_test_module, reason = "the worst errors are for reading")]

mod reference;

use rayon::prelude::*;
use reference::compare::{CLAIM, Summary, compared};
use reference::walks::{FAMILIES, number};

/// Rays of each family.
const RAYS: u32 = 2000;

#[test]
fn every_ray_end_is_within_a_micron() {
    let mut failures = Vec::new();
    println!("{}", Summary::HEADING);
    for family in FAMILIES {
        let numbers = (0..RAYS).into_par_iter().map(|k| number(0, k));
        let summary = numbers
            .fold(Summary::default, |sum, number| sum.and(compared(family, number)))
            .reduce(Summary::default, Summary::with);
        println!("{}", summary.row(family));
        assert!(summary.met * 2 >= summary.rays, "{family:?}: only {} rays are met", summary.met);
        let failing = summary.told.iter().filter(|ray| ray.error > CLAIM || ray.undecided);
        failures.extend(failing.map(|ray| format!("{family:?} {ray:?}")));
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
