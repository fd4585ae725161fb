//! What a feed comes to by what it is counted over.

use crate::wood::{job, near};
use dryturn_check::Times;

/// Seconds of a block that turns the blank once and goes 3 mm along it.
fn seconds(counts: &str, block: &str) -> f64 {
    let scene = format!(
        "blank = {{ diameter = 50, length = 60 }}
        cutter = [{{ diameter = 6 }}]
        [machine]
        feed_counts = \"{counts}\"
        rapid = {{ x = 100000, y = 100000, z = 100000, a = 10000000 }}
        start = {{ x = 0, y = 0, z = 25, a = 0 }}"
    );
    let job = job(&scene, &[("cutter = 1", &format!("M3 S9000\nG1 {block}\n"))]);
    Times::of(&job).seconds(0)
}

/// The way over the wood is √((2π·25)² + 3²); at 2000 mm/min it takes so many minutes.
fn minutes() -> f64 {
    (std::f64::consts::TAU * 25.0).hypot(3.0) / 2000.0
}

#[test]
fn the_same_speed_over_the_wood_is_three_feeds() {
    let minutes = minutes();
    let feeds = [3.0 / minutes, 360f64.hypot(3.0) / minutes, 1.0 / minutes];
    for (feed, told) in feeds.iter().zip([38.2, 4583.0, 12.73]) {
        near(*feed, told, 5e-4 * told);
    }
    near(seconds("linear", &format!("X3 A360 F{}", feeds[0])), 60.0 * minutes, 1e-3);
    near(seconds("all", &format!("X3 A360 F{}", feeds[1])), 60.0 * minutes, 1e-3);
    near(seconds("linear", &format!("G93 X3 A360 F{}", feeds[2])), 60.0 * minutes, 1e-3);
    near(60.0 * minutes, 4.7, 0.02);
}

#[test]
fn counted_the_other_way_it_races_or_crawls() {
    let minutes = minutes();
    let raced = seconds("linear", &format!("X3 A360 F{}", 360f64.hypot(3.0) / minutes));
    near(360.0 / (raced / 60.0), 550_000.0, 500.0);
    near(seconds("all", &format!("X3 A360 F{}", 3.0 / minutes)), 566.0, 1.0);
}
