//! The carve's side of a comparison with mesh Booleans: `crates/carve/benches/side_by_side.py` runs it.
//!
//! Prints JSON: the blocks, the cutter, and for each pitch the seconds and the volume of a carve on one thread. With
//! `--truth` also the volume without the error of a grid.

#![expect(clippy::print_stdout, reason = "the figures are for the script")]
#![allow(missing_docs, reason = "an example has no users but its reader")]

use std::time::Instant;

use clap::Parser;
use dryturn_carve::{CarveError, Grid, Job, Replay, RunOptions, carve};
use dryturn_geom::{Motion, Stock};
use serde_json::{Value, json};

#[path = "../benches/work/mod.rs"]
mod work;

use work::{ball, flat, helix};

/// The first 400 blocks of 1.2° of a groove 4 mm deep, on a blank of diameter 60, 40 long.
#[derive(Parser)]
struct Arguments {
    /// Carves, of which the median counts.
    #[arg(long, default_value_t = 5)]
    runs: usize,
    /// Also the volume without the error of a grid.
    #[arg(long)]
    truth: bool,
}

const PITCHES: [f64; 2] = [0.25, 0.1];
const BLOCKS: u32 = 400;
/// Where the groove begins, so that all of it lies within the blank, mm.
const START: f64 = 10.0;
/// So far a turn that no cutter comes back into its own groove, mm.
const LEAD: f64 = 15.0;
/// Share of a millimetre by which the surface of any cell may be off in the volume called true.
const ACCURACY: f64 = 1e-3;

fn main() -> Result<(), CarveError> {
    let arguments = Arguments::parse();
    let (radius, length) = (30.0, 40.0);
    let stock = Stock::round(radius, length);
    let motions: Vec<Motion> = helix(BLOCKS, 1.2, LEAD, |_| 26.0).into_iter().map(from_start).collect();
    let mut poses: Vec<_> = motions.iter().map(|motion| motion.from).collect();
    poses.extend(motions.last().map(|motion| motion.to));
    let poses: Vec<_> = poses.into_iter().map(|pose| [pose.x, pose.y, pose.z, pose.turn]).collect();
    let mut works = Vec::new();
    for (name, cutters, diameter) in [("flat 12", flat(12.0), 12.0), ("ball 3", ball(3.0), 3.0)] {
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
        let carves: Result<Vec<Value>, CarveError> =
            PITCHES.iter().map(|&pitch| timed(&job, pitch, arguments.runs)).collect();
        let flutes = 4.0 * diameter;
        let truth = if arguments.truth { Some(truth(&job)?) } else { None };
        works.push(json!({
            "name": name, "diameter": diameter, "length": flutes, "carves": carves?, "true_mm3": truth,
        }));
    }
    let blank = json!({ "radius": radius, "length": length });
    println!("{}", json!({ "blank": blank, "poses": poses, "works": works }));
    Ok(())
}

fn from_start(mut motion: Motion) -> Motion {
    motion.from.x += START;
    motion.to.x += START;
    motion
}

/// From blocks to the volume removed, on one thread.
fn timed(job: &Job<'_>, pitch: f64, runs: usize) -> Result<Value, CarveError> {
    let options = RunOptions { threads: 1, ..RunOptions::default() };
    let mut removed = 0.0;
    let mut seconds = Vec::new();
    for _ in 0..runs.max(1) {
        let start = Instant::now();
        removed = carve(job, &Grid::over(job.stock, pitch), &options)?.removed_mm3(0..BLOCKS);
        seconds.push(start.elapsed().as_secs_f64());
    }
    seconds.sort_by(f64::total_cmp);
    Ok(json!({ "pitch": pitch, "seconds": seconds[seconds.len() / 2], "removed_mm3": removed }))
}

fn truth(job: &Job<'_>) -> Result<f64, CarveError> {
    let options = RunOptions::default();
    let carved = carve(job, &Grid::over(job.stock, PITCHES[0]), &options)?;
    Ok(Replay::new(job, &options)?.volumes(&carved, ACCURACY, &options)?.removed_mm3())
}
