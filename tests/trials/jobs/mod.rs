//! The good jobs: things a shop makes every day, each described and programmed so that it may be run.

mod carved;
mod faceted;
mod fluted;
mod turned;

use crate::program::{Program, Step};
use crate::shop::{Blank, Job, Section};

/// All of them.
pub(crate) fn all() -> Vec<Job> {
    let mut all = turned::jobs();
    all.extend(faceted::jobs());
    all.extend(fluted::jobs());
    all.extend(carved::jobs());
    all
}

fn round(across: f64, length: f64) -> Blank {
    Blank { section: Section::Round, across, length }
}

fn square(across: f64, length: f64) -> Blank {
    Blank { section: Section::Square, across, length }
}

fn tube(across: f64, bore: f64, length: f64) -> Blank {
    Blank { section: Section::Tube(bore), across, length }
}

/// Heights from a surface down to a floor, none deeper than `depth` under the one before; the surface left out.
fn layers(surface: f64, floor: f64, depth: f64) -> Vec<f64> {
    crate::shape::stations([surface, floor], depth)[1..].to_vec()
}

/// The job with all its programs in one file, the cutter changed by the program.
fn in_one_file(mut job: Job) -> Job {
    let mut programs = std::mem::take(&mut job.programs).into_iter();
    let mut whole = programs.next().expect("a job has programs");
    for program in programs {
        whole.steps.push(Step::Change(program.cutter));
        whole.steps.extend(program.steps);
        whole.tab = whole.tab.or(program.tab);
    }
    job.programs.push(whole);
    job
}

/// The job with the cutters' lengths taken from the controller's table.
fn with_lengths(mut job: Job) -> Job {
    for program in &mut job.programs {
        insert_length(program);
    }
    job
}

fn insert_length(program: &mut Program) {
    program.steps.insert(0, Step::Length(program.cutter));
}
