//! The kernel against its reference on as many random rays as wanted.
//!
//! ```text
//! cargo run --release -p dryturn-carve --example exactness -- --count 1000000 --seed 1 --record
//! ```
//!
//! prints a table of all families of cutters, then every ray that is off, as `family seed:number`. No two seeds share a
//! ray, so that runs add up. `--family F --seed S --case N` shows a single ray; `--record` adds a row to the table in
//! `DEVELOPERS.md`.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "the table is for reading")]
#![allow(missing_docs, reason = "an example has no users but its reader")]

#[path = "../../tests/reference/mod.rs"]
mod reference;

mod record;

use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use clap::Parser;
use indicatif::ProgressBar;
use rayon::prelude::*;
use record::Run;
use reference::carved::{Answer, BATCH, answers, batch};
use reference::compare::{Compared, Summary, compared, held_against_reference, kernel};
use reference::walks::{Case, FAMILIES, Family, case, number};

#[derive(Parser)]
#[command(about = "Holds the kernel against a reference that certifies itself, on random rays")]
struct Arguments {
    /// Rays of each family
    #[arg(long, default_value_t = 2000)]
    count: u32,
    /// Which rays: no two seeds share any
    #[arg(long, default_value_t = 0)]
    seed: u16,
    /// Only this family
    #[arg(long, value_parser = family)]
    family: Option<Family>,
    /// Shows the ray of this number instead (needs --family)
    #[arg(long, requires = "family")]
    case: Option<u32>,
    /// By whole carves of small blanks rather than ray by ray
    #[arg(long)]
    carved: bool,
    /// Adds a row to the table in DEVELOPERS.md
    #[arg(long)]
    record: bool,
}

static STOPPED: AtomicBool = AtomicBool::new(false);

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    if let (Some(family), Some(k)) = (arguments.family, arguments.case) {
        show(family, arguments.seed, k, arguments.carved);
        return ExitCode::SUCCESS;
    }
    if let Err(error) = ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed)) {
        eprintln!("note: Ctrl-C will end the run at once: {error}");
    }
    let families = arguments.family.map_or(FAMILIES.to_vec(), |family| vec![family]);
    println!("{}   ms of a core", Summary::HEADING);
    let going_on = |_: &Family| !STOPPED.load(Ordering::Relaxed);
    let each = families.into_iter().take_while(going_on).map(|family| (family, run(family, &arguments)));
    let found: Vec<(Family, Summary)> = each.collect();
    for (family, summary) in &found {
        summary.told.iter().for_each(|ray| println!("{}", told(*family, ray)));
    }
    if STOPPED.load(Ordering::Relaxed) {
        eprintln!("stopped: the figures are of the rays counted");
        return ExitCode::from(130);
    }
    let run = Run { seed: arguments.seed, carved: arguments.carved };
    if arguments.record
        && let Err(error) = record::add(&run, &found)
    {
        eprintln!("not recorded: {error}");
        return ExitCode::FAILURE;
    }
    let fine = found.iter().all(|(_, summary)| summary.wrong == 0 && summary.undecided == 0);
    if fine { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn family(name: &str) -> Result<Family, String> {
    let named = |family: &Family| format!("{family:?}").eq_ignore_ascii_case(name);
    FAMILIES.into_iter().find(named).ok_or_else(|| format!("the families are {FAMILIES:?}"))
}

/// Compares all rays of a family, on all cores, until stopped; prints its row.
fn run(family: Family, arguments: &Arguments) -> Summary {
    let bar = ProgressBar::new(u64::from(arguments.count));
    let started = Instant::now();
    let summary = if arguments.carved { by_batches(family, arguments, &bar) } else { by_rays(family, arguments, &bar) };
    bar.finish_and_clear();
    let core_time = started.elapsed().as_secs_f64() * rayon::current_num_threads() as f64;
    println!("{} {:>14.3}", summary.row(family), 1e3 * core_time / summary.rays.max(1) as f64);
    summary
}

fn by_rays(family: Family, arguments: &Arguments, bar: &ProgressBar) -> Summary {
    (0..arguments.count)
        .into_par_iter()
        .filter(|_| !STOPPED.load(Ordering::Relaxed))
        .fold(Summary::default, |sum, k| {
            bar.inc(1);
            sum.and(compared(family, number(arguments.seed, k)))
        })
        .reduce(Summary::default, Summary::with)
}

/// The carve uses all cores itself.
fn by_batches(family: Family, arguments: &Arguments, bar: &ProgressBar) -> Summary {
    let mut sum = Summary::default();
    for k in (0..arguments.count).step_by(BATCH as usize) {
        if STOPPED.load(Ordering::Relaxed) {
            break;
        }
        match batch(family, number(arguments.seed, k)) {
            Ok(rays) => sum = rays.into_iter().fold(sum, Summary::and),
            Err(error) => eprintln!("{family:?} {}:{k}: not carved: {error}", arguments.seed),
        }
        bar.inc(BATCH);
    }
    sum
}

/// One line about a ray that is off.
fn told(family: Family, ray: &Compared) -> String {
    let (seed, k) = (ray.number >> 32, ray.number & u64::from(u32::MAX));
    let kind = match (ray.undecided, ray.grazing) {
        (true, _) => ", undecided",
        (_, true) => ", grazing",
        _ => "",
    };
    format!("{family:?} {seed}:{k}: {:?}, off by {:.4} µm{kind}", case(family, ray.number).regime, 1e3 * ray.error)
}

/// All about one ray.
fn show(family: Family, seed: u16, k: u32, carved: bool) {
    let row = k % BATCH as u32;
    let first = number(seed, k - row);
    let number = number(seed, k);
    let (asked, answers) = if carved {
        match answers(family, first) {
            Ok(mut rows) => {
                let Answer { case, taken } = rows.swap_remove(row as usize);
                (case.clone(), vec![(case.outer, taken), (case.outer, kernel(&case, case.outer).to_vec())])
            }
            Err(error) => return eprintln!("not carved: {error}"),
        }
    } else {
        let (case, cut) = (case(family, number), compared(family, number).cut);
        let lengths = [case.outer, cut];
        (case.clone(), lengths.map(|outer| (outer, kernel(&case, outer).to_vec())).to_vec())
    };
    println!("{asked:#?}");
    let Case { ref flutes, ref from, ref to, station, theta, outer, .. } = asked;
    let truth = reference::removed(flutes, from, to, station, theta, outer);
    println!("reference {:?}, to {} mm", truth.spans, truth.bracket);
    println!("  grown   {:?}\n  shrunk  {:?}", truth.most, truth.least);
    for (outer, answer) in answers {
        let shorter = Case { outer, ..asked.clone() };
        let ray = held_against_reference(number, &shorter, |_| vec![(outer, answer.clone().into())]);
        println!("kernel up to {outer}: {answer:?}, {}", told(family, &ray));
    }
}
