//! What it costs to record a run, beside the carve alone, one thread; and to look for the parts of what is left:
//! `cargo bench -p dryturn-carve --bench course -- --help`.

#![allow(clippy::print_stdout, reason = "the figures are for reading")]

use std::time::Instant;

use clap::Parser;
use dryturn_carve::{CarveError, Course, Grid, Job, RunOptions, carve, carve_recorded};
use dryturn_geom::Stock;

#[path = "work/mod.rs"]
mod work;

/// Carves programs on a blank of diameter 60, 200 long, without and with a course.
#[derive(Parser)]
struct Arguments {
    /// Only work whose name holds this.
    #[arg(default_value = "finishing helix, ball 3")]
    filter: String,
    /// Pitches, mm.
    #[arg(long, value_delimiter = ',', default_value = "0.25")]
    pitch: Vec<f64>,
    /// Rounds, of which the quickest counts.
    #[arg(long, default_value_t = 5)]
    rounds: usize,
    /// What cargo hands every benchmark.
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() -> Result<(), CarveError> {
    let arguments = Arguments::parse();
    println!("{HEADING}");
    for work in work::all(false).iter().filter(|work| work.name.contains(&arguments.filter)) {
        let stock = Stock::round(30.0, 200.0);
        let job = Job { stock: &stock, dimple: None, cutters: &work.cutters, motions: &*work.motions };
        for &pitch in &arguments.pitch {
            println!("| {} | {pitch} | {}", work.name, row(&job, &Grid::over(&stock, pitch), arguments.rounds)?);
        }
    }
    Ok(())
}

const HEADING: &str = "\
| work | pitch | carve, s | moments | chosen, s | strokes only, s | recorded, s | chosen and recorded, times the carve | parts, ms |
|---|---|---|---|---|---|---|---|---|";

fn row(job: &Job<'_>, grid: &Grid, rounds: usize) -> Result<String, CarveError> {
    let options = RunOptions { threads: 1, ..RunOptions::default() };
    let mut best = [f64::INFINITY; 5];
    let mut count = 0;
    for _ in 0..rounds.max(1) {
        let (carved, alone) = timed(|| carve(job, grid, &options))?;
        let (moments, choosing) = timed(|| Course::choose_moments(job, grid, &options))?;
        let (_, strokes) = timed(|| carve_recorded(job, grid, &[], &options))?;
        let (_, recorded) = timed(|| carve_recorded(job, grid, &moments, &options))?;
        let (_, parts) = timed(|| carved.parts(None))?;
        count = moments.len();
        for (best, seconds) in best.iter_mut().zip([alone, choosing, strokes, recorded, parts]) {
            *best = best.min(seconds);
        }
    }
    let [alone, choosing, strokes, recorded, parts] = best;
    let times = (choosing + recorded) / alone;
    let parts = 1e3 * parts;
    Ok(format!("{alone:.3} | {count} | {choosing:.3} | {strokes:.3} | {recorded:.3} | {times:.3} | {parts:.1} |"))
}

/// What a call gives, and the seconds it takes.
fn timed<T>(run: impl FnOnce() -> Result<T, CarveError>) -> Result<(T, f64), CarveError> {
    let start = Instant::now();
    Ok((run()?, start.elapsed().as_secs_f64()))
}
