//! The same input gives the same bytes, however many threads there are.

use std::collections::BTreeMap;
use std::path::Path;

use crate::workshop::{Workshop, cases, scene};

/// What a run writes, but for the times.
fn written(workshop: &Workshop, threads: usize) -> BTreeMap<String, Vec<u8>> {
    workshop.run(&format!("prove . --threads {threads} --out out --fail-on never"));
    workshop.report("out");
    let out =
        workshop.files().into_iter().filter_map(|(name, bytes)| Some((name.strip_prefix("out/")?.to_owned(), bytes)));
    let files: BTreeMap<_, _> = out.filter(|(name, _)| name != "timings.json").collect();
    assert!(
        ["report.json", "run.png", "run.svg", "maps/depth-of-cut.npy"].iter().all(|name| files.contains_key(*name))
    );
    files
}

fn threads_make_no_difference(folder: &Path) {
    let workshop = Workshop::copy_of(folder);
    if !workshop.read("scene.toml").contains("[grid]") {
        // Coarse, so that it takes no time.
        workshop.write("scene.toml", workshop.read("scene.toml") + "\n[grid]\npitch = 0.5\n");
    }
    let one = written(&workshop, 1);
    for threads in [2, 7] {
        for (name, bytes) in written(&workshop, threads) {
            assert!(bytes == one[&name], "{name} differs between 1 and {threads} threads");
        }
    }
}

#[test]
fn of_the_winch_handle() {
    threads_make_no_difference(&scene("winch-handle"));
}

#[test]
fn of_the_kite_reel() {
    threads_make_no_difference(&scene("kite-reel"));
}

/// A tube off its axis, arcs, cuts below the axis and across it, three cutters, and findings of several rules.
#[test]
fn of_a_bit_of_everything() {
    threads_make_no_difference(&cases("determinism/everything"));
}
