//! Mistake trials: good jobs of everyday trade, each of which is to pass, and the mistakes that shops make, each of which
//! is to be found and called by its name.
//!
//! `cargo test --profile ci -p dryturn --test trials -- --nocapture` prints the figures.

#![expect(clippy::print_stdout, reason = "the figures are what the trials are for")]

mod jobs;
mod loads;
mod mistakes;
mod program;
mod shape;
mod shop;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::{iter, thread};

use dryturn_check::{Finding, RunOptions, Severity, prove};
use dryturn_scene::{JobOptions, LoadOptions, Scene, SceneError};

use mistakes::Mistake;
use shop::Job;

/// Least share of mistakes that must be found under a right rule.
const CAUGHT: f64 = 0.97;

/// What a run finds that is an error or a warning.
fn found(job: &Job) -> Result<Vec<Finding>, SceneError> {
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    if let Some(target) = &job.target {
        std::fs::write(folder.path().join(target.file()), target.bytes()).expect("it can be written to");
    }
    let sources: Vec<Vec<u8>> = job.programs.iter().map(|program| program.post(&job.posted).into_bytes()).collect();
    for (program, source) in job.programs.iter().zip(&sources) {
        std::fs::write(folder.path().join(format!("{}.nc", program.name)), source).expect("it can be written to");
    }
    let scene = Scene::parse(&job.scene(), "scene.toml", folder.path(), LoadOptions::default())?;
    let read = dryturn_scene::Job::from_sources(scene, sources, JobOptions::default())?;
    let proof = prove(&read, &RunOptions { threads: 1, ..RunOptions::default() }).expect("a small job can be carved");
    Ok(proof.findings.into_iter().filter(|finding| finding.severity != Severity::Note).collect())
}

/// A mistake in a job, and the rules that spoke of it.
struct Trial {
    mistake: usize,
    job: &'static str,
    rules: BTreeSet<&'static str>,
}

impl Trial {
    fn run(mistake: usize, job: &Job) -> Option<Trial> {
        let wrong = (mistakes::ALL[mistake].make)(job)?;
        let rules = match found(&wrong) {
            Ok(findings) => findings.iter().map(|finding| finding.rule).collect(),
            Err(_) => BTreeSet::from(["(refused)"]),
        };
        Some(Trial { mistake, job: job.name, rules })
    }

    fn mistake(&self) -> &'static Mistake {
        &mistakes::ALL[self.mistake]
    }

    fn caught(&self) -> bool {
        self.mistake().right.iter().any(|rule| self.rules.contains(rule))
    }
}

/// What comes of each item, in their order. A run waits for threads of its own, so those of a pool, which take up other
/// work while they wait, would go ever deeper.
fn side_by_side<I: Sync, O: Send>(items: &[I], work: impl Fn(&I) -> O + Sync) -> Vec<O> {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mine = iter::from_fn(|| {
            let index = next.fetch_add(1, Ordering::Relaxed);
            Some((index, work(items.get(index)?)))
        });
        mine.collect::<Vec<_>>()
    };
    let mut done: Vec<(usize, O)> = thread::scope(|scope| {
        let count = thread::available_parallelism().map_or(1, |count| count.get());
        let workers: Vec<_> = (0..count).map(|_| scope.spawn(worker)).collect();
        workers.into_iter().flat_map(|worker| worker.join().expect("a worker that panics fails the test")).collect()
    });
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, outcome)| outcome).collect()
}

/// The alarms on good jobs, a text each.
fn false_alarms(jobs: &[Job]) -> Vec<String> {
    let alarms = |job: &Job| -> Vec<String> {
        match found(job) {
            Ok(findings) => {
                let text = |finding: &Finding| format!("{}: {}: {}", job.name, finding.rule, finding.text);
                findings.iter().map(text).collect()
            }
            Err(error) => vec![format!("{}: {}", job.name, error.render(false))],
        }
    };
    side_by_side(jobs, alarms).concat()
}

fn trials(jobs: &[Job]) -> Vec<Trial> {
    let pairs: Vec<(usize, &Job)> =
        (0..mistakes::ALL.len()).flat_map(|mistake| jobs.iter().map(move |job| (mistake, job))).collect();
    side_by_side(&pairs, |&(mistake, job)| Trial::run(mistake, job)).into_iter().flatten().collect()
}

/// A row for each mistake: caught of applied, and which other rules spoke how often.
fn print_table(trials: &[Trial]) {
    println!("{:<40} {:>7}   others that spoke", "mistake", "caught");
    for (index, mistake) in mistakes::ALL.iter().enumerate() {
        let of_mistake: Vec<&Trial> = trials.iter().filter(|trial| trial.mistake == index).collect();
        let caught = of_mistake.iter().filter(|trial| trial.caught()).count();
        let mut others = BTreeMap::new();
        for rule in of_mistake.iter().flat_map(|trial| &trial.rules).filter(|rule| !mistake.right.contains(rule)) {
            *others.entry(rule).or_insert(0) += 1;
        }
        let others: Vec<String> = others.iter().map(|(rule, count)| format!("{rule} {count}")).collect();
        println!("{:<40} {caught:>3}/{:<3}   {}", mistake.name, of_mistake.len(), others.join(", "));
    }
}

#[test]
fn mistakes_are_caught_and_good_jobs_pass() {
    let jobs = jobs::all();
    let names: BTreeSet<&str> = jobs.iter().map(|job| job.name).collect();
    assert_eq!(names.len(), jobs.len(), "every job has a name of its own");
    let alarms = false_alarms(&jobs);
    let trials = trials(&jobs);
    print_table(&trials);

    let missed: Vec<&Trial> = trials.iter().filter(|trial| !trial.caught()).collect();
    for trial in &missed {
        println!("missed: {}, {}: {:?}", trial.mistake().name, trial.job, trial.rules);
    }
    alarms.iter().for_each(|alarm| println!("false alarm: {alarm}"));
    let share = 1.0 - missed.len() as f64 / trials.len() as f64;
    println!(
        "{} good jobs, {} mistakes, {} pairs: {:.1} % caught under the right rule, {} false alarms",
        jobs.len(),
        mistakes::ALL.len(),
        trials.len(),
        100.0 * share,
        alarms.len()
    );
    assert!(jobs.len() >= 40 && mistakes::ALL.len() >= 20, "the trials are too few");
    assert_eq!(alarms.len(), 0, "a good job gives no error and no warning");
    assert!(share >= CAUGHT, "{:.1} % caught under the right rule", 100.0 * share);
}
