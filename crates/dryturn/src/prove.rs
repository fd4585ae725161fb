//! `dryturn prove`: from a scene to a verdict.

mod named;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use dryturn_carve::CarveError;
use dryturn_check::{Proof, RunOptions, gravest, prove_in_slices};
use dryturn_report::{Run, Stage, Summary};
use dryturn_scene::Job;

use crate::arguments::ProveArguments;
use crate::failure::Failure;
use crate::memory::Memory;
use crate::output::{self, Gathered};
use crate::piece;
use crate::running::Running;
use crate::scenes::file_of;
use crate::{FINDINGS, INTERRUPTED, REFUSED, print, tell, width};

/// Proves all scenes that were named; the dearest exit code wins: 130, then 2, 1, 0.
pub(crate) fn run_all(arguments: &ProveArguments, interrupted: &AtomicBool) -> u8 {
    if let Some(message) = output::clash(arguments) {
        tell(&format!("error: {}", dryturn_report::plain(&message)));
        return REFUSED;
    }
    let files: Vec<PathBuf> = arguments.scenes.iter().map(|named| file_of(named)).collect();
    let mut gathered = Gathered::new(arguments, &files);
    let mut worst = 0;
    for (index, (scene, file)) in arguments.scenes.iter().zip(&files).enumerate() {
        if index > 0 && !arguments.going.quiet && output::shows_text(arguments) {
            print("\n");
        }
        worst = worst.max(match one(arguments, scene, interrupted) {
            Ok((code, job, run)) => {
                gathered.proved(file, &job, &run);
                code
            }
            Err(failure) => match refused(failure, file, arguments, &mut gathered) {
                INTERRUPTED => return INTERRUPTED,
                code => code,
            },
        });
    }
    match gathered.write(interrupted).map_err(Failure::from) {
        Ok(code) => worst.max(code),
        Err(failure) => worst.max(failure.told(arguments.color)),
    }
}

/// Tells why a scene gave no verdict, and keeps it for the files; gives the exit code.
fn refused(failure: Failure, file: &Path, arguments: &ProveArguments, gathered: &mut Gathered<'_>) -> u8 {
    match &failure {
        Failure::Interrupted => {}
        Failure::Scene(error) => gathered.refused(file, error),
        Failure::Other(message) => gathered.failed(file, message),
    }
    failure.told(arguments.color)
}

/// Proves one scene; gives its exit code and what it comes to.
fn one(arguments: &ProveArguments, named: &Path, interrupted: &AtomicBool) -> Result<(u8, Job, Run), Failure> {
    let started = Instant::now();
    let mut stages = Vec::new();
    let mut stage = |name, since: Instant| stages.push(Stage { name, seconds: since.elapsed().as_secs_f64() });

    let running = Running::new(&arguments.going, interrupted);
    let job = piece::read_scene(named::scene_of(arguments, named)?, &arguments.going, &running)?;
    let memory = Memory::within(&running, arguments.out.is_some(), &job)?;
    stage("read", started);

    let proving = Instant::now();
    let proof = carve_and_check(&job, arguments.series, &memory, &running)?;
    stage("prove", proving);

    let run = output::run_of(&job, &proof);
    let written = match named::folder_for(arguments, named) {
        Some(folder) => {
            let count = write(&folder, &job, &proof, &run, stages, &running)?;
            Some((folder, count))
        }
        None if interrupted.load(Ordering::Relaxed) => return Err(Failure::Interrupted),
        None => None,
    };
    let shown = show(arguments, &job, &run, written.as_ref(), started.elapsed().as_secs_f64());
    let code = if arguments.fail_on.fails(gravest(&run.findings)) { FINDINGS } else { 0 };
    Ok((shown.max(code), job, run))
}

/// Writes the files of one scene; gives how many they are.
fn write(
    folder: &Path,
    job: &Job,
    proof: &Proof,
    run: &Run,
    stages: Vec<Stage>,
    running: &Running<'_>,
) -> Result<usize, Failure> {
    running.stage("maps", |options| output::write(folder, job, proof, run, stages, running.interrupted, options))
}

/// Carves a job and lets the rules speak, while a bar tells how far it is.
pub(crate) fn carve_and_check(
    job: &Job,
    series: u32,
    memory: &Memory,
    running: &Running<'_>,
) -> Result<Proof, Failure> {
    running.stage(&dryturn_report::plain(&output::title(job)), |options| {
        let options = RunOptions { memory: Some(memory.for_carving()), ..*options };
        prove_in_slices(job, &options, series).map_err(|error| match error {
            CarveError::Memory { .. } => Failure::Other(memory.passed()),
            error => error.into(),
        })
    })
}

/// Prints what was found; gives an exit code.
fn show(arguments: &ProveArguments, job: &Job, run: &Run, written: Option<&(PathBuf, usize)>, seconds: f64) -> u8 {
    if !output::shows_text(arguments) {
        return 0;
    }
    if arguments.going.quiet {
        return print(&format!("{}  {}\n", run.verdict.word(), dryturn_report::plain(&run.title)));
    }
    let terminal = std::io::stdout().is_terminal();
    let quote = |program: usize, line: u32| Some(job.line_text(program, line).into_owned());
    let folder = written.map(|(folder, count)| (folder.display().to_string(), *count));
    let summary = Summary {
        run,
        quote: &quote,
        written: folder.as_ref().map(|(folder, count)| (folder.as_str(), *count)),
        seconds: Some(seconds),
        width: width(),
        colour: arguments.color.on(terminal),
    };
    print(&summary.text())
}
