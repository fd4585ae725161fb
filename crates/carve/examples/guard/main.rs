//! Whether one commit is slower than another.
//!
//! ```text
//! cargo run --release -p dryturn-carve --example guard -- BASE [HEAD] [--filter PART] [--rounds N]
//! ```
//!
//! builds the benchmark of programs of both commits, each in a worktree of its own, and runs them in turn, so that what
//! else the machine does falls on both. The least time of each row counts, as other work only ever adds to it. A row is
//! slower if it passes a relative and an absolute bound: a share alone would warn of a millisecond, a time alone of
//! every long row.
//!
//! Exit code: 0 if no row is slower, 1 if one is, 2 if there is no answer, 130 if stopped.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "the table is for reading")]
#![allow(missing_docs, reason = "an example has no users but its reader")]

mod bench;
mod child;
mod rows;
mod worktree;

use std::process::{Command, ExitCode};

use bench::Bench;
use child::output;
use clap::Parser;
use rows::{Bounds, Times, compare};
use worktree::Workshop;

#[derive(Parser)]
#[command(about = "Compares the speed of two commits, interleaved; exit code 1 if the second is slower")]
struct Arguments {
    /// Commit to compare with
    base: String,
    /// Commit in question
    #[arg(default_value = "HEAD")]
    head: String,
    /// Only work whose name holds this
    #[arg(long)]
    filter: Option<String>,
    /// Runs of each, of which the least time of each row counts
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..))]
    rounds: u32,
    /// Numbers of threads to run with
    #[arg(long, default_value = "1")]
    threads: String,
    /// Pitches, mm
    #[arg(long, default_value = "0.25")]
    pitch: String,
    /// A row is slower only if it takes so much longer, %
    #[arg(long, default_value_t = 5.0)]
    percent: f64,
    /// and also so much longer, ms
    #[arg(long, default_value_t = 10.0)]
    ms: f64,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match child::stop_on_signals().and_then(|()| guard(&arguments)) {
        Ok(0) => ExitCode::SUCCESS,
        Ok(slower) => {
            eprintln!("warning: {slower} slower by over {} % and {} ms", arguments.percent, arguments.ms);
            ExitCode::FAILURE
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(if child::is_stopped() { 130 } else { 2 })
        }
    }
}

/// The number of slower rows.
fn guard(arguments: &Arguments) -> Result<usize, String> {
    let names = [&arguments.base, &arguments.head];
    let commits = [commit(names[0])?, commit(names[1])?];
    let workshop = Workshop::open()?;
    let mut benches = Vec::new();
    for (k, commit) in commits.iter().enumerate() {
        eprintln!("building {} ({})", names[k], short(commit));
        benches.push(Bench::build(&workshop, ["base", "head"][k], commit)?);
    }
    let mut asked = vec!["--threads", &arguments.threads, "--pitch", &arguments.pitch];
    asked.extend(arguments.filter.as_deref());
    let mut times = [Times::default(), Times::default()];
    for round in 0..arguments.rounds {
        eprintln!("round {} of {}", round + 1, arguments.rounds);
        // Whoever goes first in one round goes last in the next.
        let order = if round % 2 == 0 { [0, 1] } else { [1, 0] };
        for k in order {
            times[k].add(&benches[k].run(&asked)?)?;
        }
    }
    let bounds = Bounds { share: 0.01 * arguments.percent, seconds: 1e-3 * arguments.ms };
    let compared = compare(&times[0], &times[1], &bounds);
    if compared.is_empty() {
        return Err("nothing was measured".into());
    }
    println!("| work | pitch | threads | {}, s | {}, s | change | |", short(&commits[0]), short(&commits[1]));
    println!("|---|---|---|---|---|---|---|");
    compared.iter().for_each(|row| println!("{row}"));
    Ok(compared.iter().filter(|row| row.is_slower).count())
}

/// The full name of a commit.
fn commit(name: &str) -> Result<String, String> {
    let name = format!("{name}^{{commit}}");
    let found = output(Command::new("git").args(["rev-parse", "--verify", "--end-of-options", &name]))?;
    Ok(found.trim().to_owned())
}

fn short(commit: &str) -> &str {
    commit.get(..8).unwrap_or(commit)
}
