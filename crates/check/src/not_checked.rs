//! What a run did not look at: what the scene leaves out, and what only shows in the programs.

use dryturn_program::EventKind;
use dryturn_scene::Job;

use crate::finding::NotChecked;
use crate::prove::ProgramSummary;
use crate::told::Told;

pub(crate) fn not_checked(job: &Job, programs: &[ProgramSummary], told: &Told) -> Vec<NotChecked> {
    let of_scene = job.scene.not_checked.iter().map(|row| NotChecked {
        what: row.what.clone(),
        because: row.because.clone(),
        how_to_add: row.how_to_add.clone(),
    });
    of_scene.chain(changes(programs)).chain(loading(job)).chain(speed(job, told)).collect()
}

fn changes(programs: &[ProgramSummary]) -> Option<NotChecked> {
    let untold = programs.iter().filter(|program| program.times.change_s.is_none());
    let count: u32 = untold.map(|program| program.times.changes).sum();
    (count > 0).then(|| NotChecked {
        what: "time of cutter changes".to_owned(),
        because: format!("The scene does not say how long a change takes; {count} of them are not counted."),
        how_to_add: "# seconds\n[machine]\nchange = 60".to_owned(),
    })
}

fn loading(job: &Job) -> Option<NotChecked> {
    let is_untold = job.scene.batch.is_some_and(|batch| batch.loading_seconds.is_none());
    is_untold.then(|| NotChecked {
        what: "time of loading".to_owned(),
        because: "The scene does not say how long a piece takes to be changed; the batch is told without it."
            .to_owned(),
        how_to_add: "# seconds a piece\n[batch]\nloading = 120".to_owned(),
    })
}

/// Power needs no speed, forces do.
fn speed(job: &Job, told: &Told) -> Option<NotChecked> {
    let is_untold = told.loads.power.is_some() && told.loads.force.is_none();
    let events = || job.programs.iter().flat_map(|run| &run.program.events);
    let names_one = events().any(|event| matches!(event.kind, EventKind::SpindleSpeed(_)));
    let (because, how_to_add) = if names_one {
        // What a program names holds, whatever the scene says.
        (
            "Where wood is cut no spindle speed over 0 is in force, as after S0 or before the first S, so nobody knows what \
          a tooth takes; write an S before the cuts.",
            "",
        )
    } else {
        (
            "Neither the programs nor the scene name a spindle speed, so nobody knows what a tooth takes.",
            "# turns a minute\n[machine]\nspindle_speed = 18000",
        )
    };
    is_untold.then(|| NotChecked {
        what: "forces, torque and spring".to_owned(),
        because: because.to_owned(),
        how_to_add: how_to_add.to_owned(),
    })
}
