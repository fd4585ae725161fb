//! How fast any block of a run is shown, and how fast a job is carved again after three of its lines have changed, on one
//! thread: `cargo bench -p dryturn-carve --bench history -- --help`.
//!
//! The job is a roughing helix, 4 to 4.5 mm deep, and a finishing helix 0.3 mm under it: 220 000 blocks in all.

#![allow(clippy::print_stdout, reason = "the figures are for reading")]

use std::time::Instant;

use clap::Parser;
use dryturn_carve::{CarveError, Grid, History, Job, Kept, RunOptions, carve, carve_again};
use dryturn_geom::{Motion, Stock};

#[path = "work/mod.rs"]
mod work;

/// Goes to random blocks of a run on a blank of diameter 60, 200 long, and carves it again after an edit.
#[derive(Parser)]
struct Arguments {
    /// Pitches, mm.
    #[arg(long, value_delimiter = ',', default_value = "0.25,0.1")]
    pitch: Vec<f64>,
    /// Touches of rays between two checkpoints.
    #[arg(long, default_value_t = History::EVERY)]
    every: u64,
    /// Ways of each kind.
    #[arg(long, default_value_t = 40)]
    ways: u32,
    /// What cargo hands every benchmark.
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() -> Result<(), CarveError> {
    let arguments = Arguments::parse();
    let stock = Stock::round(30.0, 200.0);
    let cutters = [work::flat(12.0), work::ball(3.0)].concat();
    let motions = both_helices();
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    println!("Times in ms: median / nine in ten / worst.\n");
    for &pitch in &arguments.pitch {
        let grid = Grid::over(&stock, pitch);
        println!("pitch {pitch}: carved in {:.0}", timed(|| carve(&job, &grid, &one_thread()))?.1);
        show(&job, &grid, &arguments)?;
        edit(&job, &grid, &motions)?;
    }
    Ok(())
}

fn both_helices() -> Vec<Motion> {
    // So flat that the wide cutter leaves wood for the narrow one everywhere.
    let height = |x: f64| 26.0 - 0.5 * (0.03 * x).sin().powi(2);
    let rough = work::helix(20_000, 1.2, 3.0, |turns| height(3.0 * turns));
    let fine = work::helix(200_000, 1.2, 0.3, |turns| height(0.3 * turns) - 0.3);
    let fine = fine.into_iter().map(|motion| Motion { cutter: 1, ..motion });
    (0..).zip(rough.into_iter().chain(fine)).map(|(block, motion)| Motion { block, ..motion }).collect()
}

fn one_thread<'a>() -> RunOptions<'a> {
    RunOptions { threads: 1, ..RunOptions::default() }
}

/// What it gives, and the milliseconds it took.
fn timed<T>(work: impl FnOnce() -> Result<T, CarveError>) -> Result<(T, f64), CarveError> {
    let start = Instant::now();
    let made = work()?;
    Ok((made, start.elapsed().as_secs_f64() * 1e3))
}

fn show(job: &Job<'_>, grid: &Grid, arguments: &Arguments) -> Result<(), CarveError> {
    let (mut history, recorded) = timed(|| History::record(job, grid, arguments.every, &one_thread()))?;
    let (checkpoints, saves) = (history.checkpoints().len(), history.saves());
    let megabytes = history.bytes() as f64 / 1e6;
    println!("  recorded in {recorded:.0}: {checkpoints} checkpoints, {saves} saves of tiles, {megabytes:.1} MB");
    let count = history.blocks();
    let mut place = 12_345_u64;
    let mut anywhere = |_| {
        // Knuth's linear congruence (MMIX).
        place = place.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((place >> 33) % u64::from(count)) as u32
    };
    ways(&mut history, "anywhere", (0..arguments.ways).map(&mut anywhere))?;
    ways(&mut history, "100 blocks on", (0..arguments.ways).map(|k| count / 2 + 100 * k))?;
    ways(&mut history, "100 blocks back", (0..arguments.ways).map(|k| count / 2 - 100 * k))?;
    ways(&mut history, "from end to end", (0..arguments.ways).map(|k| if k % 2 == 0 { 0 } else { count - 1 }))
}

fn ways(history: &mut History<'_>, name: &str, blocks: impl Iterator<Item = u32>) -> Result<(), CarveError> {
    let times = blocks.map(|block| timed(|| history.at(block, None).map(|_| ())).map(|(_, time)| time));
    let mut times = times.collect::<Result<Vec<f64>, _>>()?;
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times.get((share * times.len() as f64) as usize).or(times.last()).copied().unwrap_or(0.0);
    println!("  {name:16} {:.1} / {:.1} / {:.1}", at(0.5), at(0.9), at(1.0));
    Ok(())
}

fn edit(job: &Job<'_>, grid: &Grid, motions: &[Motion]) -> Result<(), CarveError> {
    let mut kept = Kept::default();
    let first = timed(|| carve_again(job, grid, &one_thread(), &mut kept))?.1;
    println!("  carved and kept in {first:.0}: {:.1} MB", kept.bytes() as f64 / 1e6);
    let mut motions = motions.to_vec();
    for line in [5_000, 120_000] {
        motions[line..line + 3].iter_mut().for_each(|motion| motion.to.z -= 0.1);
        let edited = Job { motions: &motions, ..*job };
        let ((_, again), time) = timed(|| carve_again(&edited, grid, &one_thread(), &mut kept))?;
        let (carved, all) = (again.carved_tiles, again.carved_tiles + again.kept_tiles);
        println!("  three lines from {line} changed: {carved} of {all} tiles carved again, {time:.0}");
    }
    Ok(())
}
