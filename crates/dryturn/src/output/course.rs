//! The course of a run and its loads, with programs and lines in place of blocks.

use dryturn_check::{LoadLimits, LoadSummary, Moment, Peak, Proof};
use dryturn_report::{Load, Loads, Series, Slice};
use dryturn_scene::Job;

pub(super) fn loads(job: &Job, loads: &LoadSummary) -> Loads {
    let limits = LoadLimits::of(&job.scene);
    let load = |peak: Option<Peak>, limit: Option<f64>| {
        peak.map(|Peak { block, range }| Load {
            range,
            limit,
            program: job.program_of(block),
            line: job.line_of(block),
            cutter: cutter(job, block),
        })
    };
    Loads {
        power: load(loads.power, limits.power),
        torque: load(loads.torque, limits.torque),
        force: load(loads.force, None),
        spring: load(loads.spring, limits.spring),
    }
}

pub(super) fn series(job: &Job, proof: &Proof) -> Series {
    let told = &proof.told.series;
    let slice = |moment: &Moment| Slice {
        program: job.program_of(moment.block),
        line: job.line_of(moment.block),
        cutter: cutter(job, moment.block),
        moment: *moment,
    };
    Series {
        step_s: told.step_s,
        starts_s: told.starts_s.clone(),
        slices: told.moments.iter().map(slice).collect(),
        found_s: proof.told.found_s.clone(),
    }
}

fn cutter(job: &Job, block: u32) -> Option<u32> {
    let cutter = job.scene.cutters.get(usize::from(job.cutter_index(block)?))?;
    Some(cutter.number)
}
