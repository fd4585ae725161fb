//! The piece as the programs leave it, kept to be the blank of the next set-up.

use dryturn_carve::{Keeping, Programs, Source};
use dryturn_check::{Proof, RunOptions, Work};
use dryturn_geom::Side;
use dryturn_report::Staging;
use dryturn_scene::Job;

use super::{OutputError, title};
use crate::sink::{Sink, SinkError};

/// What the file is called.
pub(crate) const KEPT_FILE: &str = "kept.npz";

/// Writes the piece into a file that is yet to be put in its place; none where nothing is left.
pub(super) fn write(
    staging: &mut Staging<'_>,
    job: &Job,
    proof: &Proof,
    options: &RunOptions<'_>,
) -> Result<(), OutputError> {
    let set_up = title(job);
    let source = |file: &String| Source { set_up: set_up.clone(), program: file.clone() };
    let programs = Programs {
        sources: job.programs.iter().map(|run| source(&run.file)).collect(),
        line_of: &|block| (job.program_of(block) as u32, job.line_of(block)),
    };
    let scene = &job.scene;
    let frame = (scene.grid.pitch, scene.machine.chuck_on == Side::Plus);
    let work = Work::of(scene);
    let Some(keeping) = Keeping::of(&work.job(job), &proof.carved, programs, frame, options)? else {
        return Ok(());
    };
    let mut sink = Sink::new(staging.draft(KEPT_FILE.as_ref())?);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    let written = pool.install(|| keeping.write(&mut sink));
    staging.take(sink.finish(written).map_err(|error| match error {
        SinkError::Refused(error) => OutputError::Write(error),
        SinkError::Writer(error) => OutputError::Xml(error),
    })?);
    Ok(())
}
