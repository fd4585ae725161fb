//! How fast programs of every kind are carved, each beside the least any carve could cost in the same run:
//! `cargo bench -p dryturn-carve --bench programs -- --help`.

#![allow(clippy::print_stdout, reason = "the figures are for reading")]

use std::time::Instant;

use clap::Parser;
use dryturn_carve::{Grid, Job, RunOptions, carve, skim};
use dryturn_geom::Stock;
use serde_json::json;

#[path = "work/mod.rs"]
mod work;

use work::{Work, all};

/// Carves programs of every kind on a blank of diameter 60, 200 long.
#[derive(Parser)]
struct Arguments {
    /// Only work whose name holds this.
    filter: Option<String>,
    /// Numbers of threads to run with.
    #[arg(long, value_delimiter = ',', default_value = "1,2")]
    threads: Vec<usize>,
    /// Pitches, mm.
    #[arg(long, value_delimiter = ',', default_value = "0.25")]
    pitch: Vec<f64>,
    /// Runs, of which the median counts.
    #[arg(long, default_value_t = 3)]
    runs: usize,
    /// Also work that takes tens of seconds.
    #[arg(long)]
    long: bool,
    /// A JSON object a line for programs that read on, rather than a table.
    #[arg(long)]
    json: bool,
    /// What cargo hands every benchmark.
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() {
    let arguments = Arguments::parse();
    if !arguments.json {
        println!("{}\n{HEADING}", at_best(&arguments.threads));
    }
    for work in all(arguments.long) {
        if arguments.filter.as_ref().is_none_or(|part| work.name.contains(part.as_str())) {
            for &pitch in &arguments.pitch {
                let measured = measure(&work, pitch, &arguments);
                println!("{}", if arguments.json { measured.json() } else { measured.row() });
            }
        }
    }
}

const HEADING: &str = "\
ns/touch and the floor are of the first number of threads; the floor loads, compares and stores each ray.

| work | pitch | blocks | touches, of which carved | threads: s | ns/touch | floor s | times floor | blocks/s |
|---|---|---|---|---|---|---|---|---|";

/// What one program took at one pitch.
struct Measured {
    work: &'static str,
    pitch: f64,
    blocks: u32,
    touches: u64,
    /// Numbers of threads and what each took, s.
    seconds: Vec<(usize, f64)>,
    skimmed: u64,
    floor: f64,
}

impl Measured {
    fn row(&self) -> String {
        let first = self.seconds.first().map_or(f64::NAN, |&(_, seconds)| seconds);
        let by_threads: Vec<String> =
            self.seconds.iter().map(|(threads, seconds)| format!("{threads}: {seconds:.3}")).collect();
        format!(
            "| {} | {} | {} | {:.1} M, {:.1} M | {} | {:.1} | {:.3} | {:.1} | {:.0} |",
            self.work,
            self.pitch,
            self.blocks,
            self.skimmed as f64 * 1e-6,
            self.touches as f64 * 1e-6,
            by_threads.join(", "),
            first * 1e9 / self.skimmed as f64,
            self.floor,
            first / self.floor,
            f64::from(self.blocks) / first
        )
    }

    fn json(&self) -> String {
        let seconds: Vec<_> =
            self.seconds.iter().map(|(threads, seconds)| json!({ "threads": threads, "seconds": seconds })).collect();
        json!({ "work": self.work, "pitch": self.pitch, "seconds": seconds }).to_string()
    }
}

fn measure(work: &Work, pitch: f64, arguments: &Arguments) -> Measured {
    let stock = Stock::round(30.0, 200.0);
    let grid = Grid::over(&stock, pitch);
    let job = Job { stock: &stock, dimple: None, cutters: &work.cutters, motions: &*work.motions };
    let first = *arguments.threads.first().unwrap_or(&1);
    let options = |threads| RunOptions { threads, ..RunOptions::default() };
    let mut touches = 0;
    let mut seconds = Vec::new();
    for &threads in &arguments.threads {
        let run = || touches = carve(&job, &grid, &options(threads)).expect("nothing stops it").touches();
        seconds.push((threads, median(arguments.runs, run)));
    }
    let mut skimmed = 0;
    let floor = median(arguments.runs, || skimmed = skim(&job, &grid, &options(first)).expect("nothing stops it"));
    Measured { work: work.name, pitch, blocks: job.motions.count(), touches, seconds, skimmed, floor }
}

/// What so many threads can come to at best on this machine: told by a loop that stays in registers, as cores share their
/// clocks, and some of them their arithmetic.
fn at_best(threads: &[usize]) -> String {
    let times = |threads: usize| median(3, || in_registers(threads));
    let alone = times(1);
    let each: Vec<String> = threads.iter().map(|&it| format!("{it}: {:.2}", alone / times(it))).collect();
    format!("As many times as fast as one thread is a loop that stays in registers, on threads {}\n", each.join(", "))
}

/// The same sums, shared by so many threads.
fn in_registers(threads: usize) {
    const ROUNDS: usize = 50_000_000;
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let mut numbers = std::hint::black_box([1.0f32; 32]);
                for _ in 0..ROUNDS / threads {
                    numbers.iter_mut().for_each(|number| *number = *number * 0.999_9 + 0.1);
                }
                std::hint::black_box(numbers)
            });
        }
    });
}

fn median(runs: usize, mut run: impl FnMut()) -> f64 {
    let mut seconds: Vec<f64> = (0..runs.max(1))
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}
