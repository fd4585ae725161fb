//! `dryturn restart`: the program that takes a job up in the middle.

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use clap::Args;
use dryturn_check::read;
use dryturn_plan::restart::{self, At, Restart};
use dryturn_report::{CAUTION, plain};
use dryturn_scene::{Job, JobOptions};

use crate::arguments::Color;
use crate::failure::Failure;
use crate::print;
use crate::running::{Running, threads};
use crate::scenes::{self, Places};

/// What `dryturn restart --help` says at its end.
pub(crate) const HELP: &str = "\
A program that was broken off cannot simply be begun at a later line: unit, plane, offsets, feed and spindle would not be \
those it was written under, and the cutter would go to that line's place straight through the wood. The program written \
here says all that again, goes up, over and straight down to where the cutter stood, and then goes on with the lines as \
they are. It is proved on the piece as it stood there; a way down that is not free is refused.

The zeros must be those of the broken program, that of the rotary axis too, and the piece must not have moved.

Example:
  dryturn restart scenes/marble-lift/scene-fixed.toml --program 2 --line 12 -o rest.nc

Exit codes: 0 written · 2 usage, or a line that cannot be taken up · 130 interrupted";

#[derive(Args, Debug)]
pub(crate) struct RestartArguments {
    /// A scene file, or a folder that holds a scene.toml
    #[arg(value_name = "SCENE")]
    scene: PathBuf,

    /// The program that was broken off: its number in the scene, or its file
    #[arg(long, value_name = "P")]
    program: String,

    /// The line to take it up at: the first that was not done, or one before it
    #[arg(long, value_name = "N")]
    line: u32,

    /// The program to write; one that is there is replaced
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,

    #[command(flatten)]
    places: Places,

    /// Number of threads; 0 takes one for each core
    #[arg(long, default_value_t = 0, value_name = "N", value_parser = clap::value_parser!(u16).range(0..=1024))]
    threads: u16,

    /// Print nothing but errors
    #[arg(long, short)]
    quiet: bool,
}

/// Writes the program; gives the exit code.
pub(crate) fn run(arguments: &RestartArguments, interrupted: &AtomicBool) -> u8 {
    let (threads, quiet) = (threads(arguments.threads), arguments.quiet);
    match written(arguments, &Running { threads, memory: u64::MAX, is_pitch_typed: false, quiet, interrupted }) {
        Ok(_) if quiet => 0,
        Ok(text) => print(&text),
        Err(failure) => failure.told(Color::Auto),
    }
}

fn written(arguments: &RestartArguments, running: &Running<'_>) -> Result<String, Failure> {
    let scene = scenes::load_sparing(&arguments.scene, &arguments.places, &[&arguments.output])?;
    let job = running.stage("read", |options| read(scene, JobOptions::default(), options))?;
    let at = At { program: program_of(&job, &arguments.program)?, line: arguments.line };
    let name = arguments.output.file_name().unwrap_or_default().to_string_lossy();
    let restart = running.stage("restart", |options| restart::draft(&job, at, &name, options))?;
    dryturn_report::write_each(&[(arguments.output.clone(), restart.program.clone())], running.interrupted)?;
    Ok(told(arguments, &job, at, &restart))
}

fn refused(message: String) -> Failure {
    Failure::Other(plain(&message))
}

/// Index of the program that is named, by its number or its file.
fn program_of(job: &Job, named: &str) -> Result<usize, Failure> {
    if let Ok(number) = named.parse::<usize>() {
        return number.checked_sub(1).ok_or_else(|| refused("programs are counted from 1".to_owned()));
    }
    let file = |file: &str| Path::new(file) == Path::new(named) || Path::new(file).file_name() == Some(named.as_ref());
    let found: Vec<usize> = (0..job.programs.len()).filter(|&index| file(&job.programs[index].file)).collect();
    match found[..] {
        [index] => Ok(index),
        [] => {
            let files = job.programs.iter().zip(1..).map(|(run, number)| format!("{number}, {}", run.file));
            let files = files.collect::<Vec<_>>().join("; ");
            Err(refused(format!("no program of the scene is called {named}: there is {files}")))
        }
        _ => Err(refused(format!("several programs of the scene are called {named}: name it by its number"))),
    }
}

fn told(arguments: &RestartArguments, job: &Job, at: At, restart: &Restart) -> String {
    let cutter = restart.cutter.map_or("no cutter".to_owned(), |number| format!("cutter {number}"));
    let shown: String = restart.shown.iter().map(|(letter, value)| format!(" {letter} {value:.3}")).collect();
    let unit = if restart.inch { ", in inches" } else { "" };
    let text = format!(
        "Takes up {} at line {}, with {cutter} in the spindle.\nBefore that line the controller shows{shown} in \
         {}{unit}; the first {} lines of the file lead there, through air.\nWritten: {}\n\n{CAUTION}\n",
        job.programs[at.program].file,
        at.line,
        restart.system,
        restart.lead_lines,
        arguments.output.display(),
    );
    plain_lines(&text)
}

/// Each line without anything that could steer a terminal.
fn plain_lines(text: &str) -> String {
    text.lines().map(|line| plain(line) + "\n").collect()
}
