//! From a scene to its job, where a zero is touched off on what earlier programs have left.

use dryturn_carve::{CarveError, Replay, RunOptions};
use dryturn_scene::{Job, JobOptions, Scene, SceneError};

use crate::work::Work;

/// Why a job could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The scene or one of its programs is not what it should be.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// The wood to touch off on could not be carved.
    #[error(transparent)]
    Carve(#[from] CarveError),
}

/// Reads the programs of a scene, and lets the cutter down on the wood wherever a program's zero is touched off on what
/// the programs before it have left.
///
/// # Errors
/// [`ReadError::Scene`] as [`Job::read`], and where there is nothing to come down on; [`ReadError::Carve`] if told to stop.
pub fn read(mut scene: Scene, reading: JobOptions, options: &RunOptions<'_>) -> Result<Job, ReadError> {
    while let Some(at) = scene.next_touch_off() {
        let job = Job::read(scene.before(at.program), reading)?;
        let work = Work::of(&job.scene);
        let replay = Replay::new(&work.job(&job), options)?;
        scene.touch_off(&at, &|station, theta| Some(replay.ray(station, theta).solid.first()?.outer))?;
    }
    Ok(Job::read(scene, reading)?)
}
