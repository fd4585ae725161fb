//! What it costs to tell times, loads, spring, necks and parts of a job, beside carving it: a finishing helix of 200 000
//! blocks, one thread. Counted is all of it: the run that is told over the carve alone, what a material and limits to hold
//! its loads against add to the proof, and the totals. Told is the time that processors worked, which hangs little on what
//! else runs; each part is run several times in turn, and its least time counts.

#![allow(clippy::print_stdout, reason = "the figures are for reading")]

use std::fmt::Write;

use dryturn_carve::{Course, Cutter, Grid, Job as Work, carve, carve_recorded};
use dryturn_check::{CarveError, Run, RunOptions, SERIES_POINTS, Times, prove};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};
use rustix::time::{ClockId, clock_gettime};

const ROUNDS: usize = 5;

/// What makes loads of the strokes, and of the loads something to say: material, limits of the cutter, of the machine.
const WITH_LOADS: [&str; 3] = [
    ", material = \"black walnut\"",
    ", teeth = 2, chip = [0.001, 1], depth = 3, width = 6, plunge = 900",
    "spindle_power = 800\nrotary_torque = 20",
];

/// Turns of 1.2° that advance by 0.3 mm a turn over a wavy profile, 0.3 to 0.8 mm deep.
fn job([material, limits, machine]: [&str; 3]) -> Job {
    let scene = format!(
        "format = 1
        blank = {{ diameter = 60, length = 230 {material} }}
        program = [{{ file = \"helix.nc\", cutter = 1 }}]
        cutter = [{{ diameter = 6, shape = \"ball\", stickout = 35 {limits} }}]
        grid = {{ pitch = 0.25 }}
        chuck = {{ hold = 25 }}
        tailstock = {{ center = {{ diameter = 12, quill = 16, extension = 3 }} }}
        [machine]
        {machine}
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
    let (plain, loaded) = (job([""; 3]), job(WITH_LOADS));
    let stock = plain.scene.stock();
    let cutters: Vec<Cutter> =
        plain.scene.cutters.iter().map(|it| Cutter { flutes: it.flutes.clone(), uppers: vec![] }).collect();
    let work = Work { stock: &stock, dimple: None, cutters: &cutters, motions: &plain };
    let grid = Grid::over(&stock, plain.scene.grid.pitch);
    let mut best = [f64::INFINITY; 9];
    for _ in 0..ROUNDS {
        let (carved, carving) = timed(|| carve(&work, &grid, &options))?;
        let (moments, choosing) = timed(|| Course::choose_moments(&work, &grid, &options))?;
        let (_, recording) = timed(|| carve_recorded(&work, &grid, &moments, &options))?;
        let (times, timing) = timed(|| Ok(Times::of(&plain)))?;
        let (_, parting) = timed(|| carved.parts(None))?;
        let (run, running) = timed(|| Run::of(&plain, (&work, &grid), SERIES_POINTS, &options))?;
        let air = |block| run.air(block);
        let (_, adding) =
            timed(|| Ok((times.cutters(air), times.program(0, air), times.by_block(SERIES_POINTS, air))))?;
        let [(_, bare), (_, whole)] = [timed(|| prove(&plain, &options))?, timed(|| prove(&loaded, &options))?];
        let seconds = [carving, choosing, recording, timing, parting, running, adding, bare, whole];
        best.iter_mut().zip(seconds).for_each(|(best, seconds)| *best = best.min(seconds));
    }
    let [carving, choosing, recording, timing, parting, running, adding, bare, whole] = best;
    let recording = choosing + recording - carving;
    println!("carve {carving:.3} s; recording {recording:.3} s more, times {timing:.3} s, parts {parting:.3} s");
    println!("so told {running:.3} s; totals {adding:.3} s; the proof {bare:.3} s, with loads and limits {whole:.3} s");
    let more = (running - carving) + adding + (whole - bare);
    println!("all that a run is told by costs {:.1} % over the carve alone", 100.0 * more / carving);
    Ok(())
}

/// What a call gives, and the seconds that processors work for it.
fn timed<T>(run: impl FnOnce() -> Result<T, CarveError>) -> Result<(T, f64), CarveError> {
    let start = worked();
    Ok((run()?, worked() - start))
}

/// Seconds that processors have worked for this process, whatever else they did.
fn worked() -> f64 {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    time.tv_sec as f64 + 1e-9 * time.tv_nsec as f64
}
