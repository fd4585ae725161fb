//! What it costs to tell times, loads, spring and parts of a job, beside carving it: a finishing helix of 200 000 blocks, one
//! thread. Loads, spring and necks are the difference that a material makes to the whole proof.

#![allow(clippy::print_stdout, reason = "the figures are for reading")]

use std::fmt::Write;
use std::time::Instant;

use dryturn_carve::{Course, Cutter, Grid, Job as Work, carve, carve_recorded};
use dryturn_check::{CarveError, RunOptions, Times, prove};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

const ROUNDS: usize = 5;

/// Turns of 1.2° that advance by 0.3 mm a turn over a wavy profile, 0.3 to 0.8 mm deep.
fn job(material: &str) -> Job {
    let scene = format!(
        "format = 1
        blank = {{ diameter = 60, length = 230 {material} }}
        program = [{{ file = \"helix.nc\", cutter = 1 }}]
        cutter = [{{ diameter = 6, shape = \"ball\" }}]
        grid = {{ pitch = 0.25 }}
        chuck = {{ hold = 25 }}
        tailstock = {{ center = {{ diameter = 12, quill = 16, extension = 3 }} }}
        [machine]
        start = {{ x = 0, y = 0, z = 60, a = 0 }}
        accel = {{ x = 400, y = 400, z = 200, a = 1500 }}"
    );
    let mut program = "M3 S18000\nG0 X1 Z40\nG1 Z29.5 F900\n".to_owned();
    for k in 1..=200_000 {
        let turns = f64::from(k) / 300.0;
        let height = 29.45 + 0.25 * (turns / 40.0).sin();
        let _ = writeln!(program, "X{:.4} Z{height:.4} A{:.3}", 1.0 + 0.3 * turns, 360.0 * turns);
    }
    let folder = tempfile::tempdir().expect("a folder for the job");
    std::fs::write(folder.path().join("helix.nc"), program).expect("the program is written");
    Scene::parse(&scene, "scene.toml", folder.path(), LoadOptions::default())
        .and_then(|scene| Job::read(scene, JobOptions::default()))
        .unwrap_or_else(|error| panic!("{}", error.render(false)))
}

fn main() -> Result<(), CarveError> {
    let options = RunOptions { threads: 1, ..RunOptions::default() };
    let (plain, wooden) = (job(""), job(", material = \"black walnut\""));
    let stock = plain.scene.stock();
    let cutters: Vec<Cutter> =
        plain.scene.cutters.iter().map(|it| Cutter { flutes: it.flutes.clone(), uppers: vec![] }).collect();
    let work = Work { stock: &stock, dimple: None, cutters: &cutters, motions: &plain };
    let grid = Grid::over(&stock, plain.scene.grid.pitch);
    let mut best = [f64::INFINITY; 6];
    for _ in 0..ROUNDS {
        let (carved, carving) = timed(|| carve(&work, &grid, &options))?;
        let recording = || carve_recorded(&work, &grid, &Course::choose_moments(&work, &grid, &options)?, &options);
        let (_, recording) = timed(recording)?;
        let (_, timing) = timed(|| Ok(Times::of(&plain).end()))?;
        let (_, parting) = timed(|| carved.parts(None))?;
        let [(_, bare), (_, loaded)] = [timed(|| prove(&plain, &options))?, timed(|| prove(&wooden, &options))?];
        let seconds = [carving, recording, timing, parting, bare, loaded];
        best.iter_mut().zip(seconds).for_each(|(best, seconds)| *best = best.min(seconds));
    }
    let [carving, recording, timing, parting, bare, loaded] = best;
    println!("carve {carving:.3} s, the same recorded {recording:.3} s, times {timing:.3} s, parts {parting:.3} s");
    println!("the whole proof {bare:.3} s, with loads and spring {loaded:.3} s");
    let more = (recording - carving) + timing + parting + (loaded - bare);
    println!("all that a run is told by costs {:.0} % over the carve alone", 100.0 * more / carving);
    Ok(())
}

/// What a call gives, and the seconds it takes.
fn timed<T>(run: impl FnOnce() -> Result<T, CarveError>) -> Result<(T, f64), CarveError> {
    let start = Instant::now();
    Ok((run()?, start.elapsed().as_secs_f64()))
}
