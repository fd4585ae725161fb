//! The course of a run and its loads, with programs and lines in place of blocks.

use dryturn_check::{BlockTime, LoadLimits, LoadSummary, Moment, Peak, Proof};
use dryturn_report::{BlockRow, Blocks, Load, Loads, Series, Slice};
use dryturn_scene::Job;

pub(super) fn loads(job: &Job, loads: &LoadSummary) -> Loads {
    let limits = LoadLimits::of(&job.scene);
    let load = |peak: Option<Peak>, limit: Option<f64>| {
        peak.map(|Peak { block, range, breaks }| Load {
            range,
            breaks,
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
        axial: load(loads.axial, limits.axial),
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

pub(super) fn blocks(job: &Job, proof: &Proof) -> Blocks {
    let told = &proof.told.blocks;
    let row = |times: &BlockTime| BlockRow {
        program: job.program_of(times.block),
        line: job.line_of(times.block),
        times: *times,
    };
    Blocks { a_row: told.a_row, rows: told.rows.iter().map(row).collect() }
}

fn cutter(job: &Job, block: u32) -> Option<u32> {
    let cutter = job.scene.cutters.get(usize::from(job.cutter_index(block)?))?;
    Some(cutter.number)
}
