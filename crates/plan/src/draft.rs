//! A program that is written and proved, but not yet kept.

use std::path::Path as FilePath;

use dryturn_check::{Proof, RunOptions, Verdict, prove};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

use crate::error::PlanError;

/// A program with the scene it was proved on.
#[derive(Debug)]
pub struct Draft {
    /// Text of the program.
    pub program: String,
    /// Text of the scene.
    pub scene: String,
    /// The scene with the program read.
    pub job: Job,
    /// What came of it.
    pub proof: Proof,
}

/// What messages call the scene.
const SCENE: &str = "the scene beside the program";

/// The scene of a text, its programs not looked for.
pub(crate) fn scene_of(text: &str) -> Result<Scene, PlanError> {
    let options = LoadOptions { programs_at_hand: true, ..LoadOptions::default() };
    Ok(Scene::parse(text, SCENE, FilePath::new(""), options)?)
}

impl Draft {
    /// Proves a program on a scene.
    pub(crate) fn proved(program: String, scene: String, options: &RunOptions<'_>) -> Result<Draft, PlanError> {
        let job = Job::from_sources(scene_of(&scene)?, vec![program.clone().into_bytes()], JobOptions::default())?;
        let proof = prove(&job, options)?;
        Ok(Draft { program, scene, job, proof })
    }

    /// Whether the proof found nothing that would spoil the piece or break something.
    pub fn is_sound(&self) -> bool {
        self.proof.verdict != Verdict::Stop
    }
}
