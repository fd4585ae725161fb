//! The program that takes a job up in the middle.
//!
//! # Theory
//!
//! What a line does hangs on all that was said before it. So the program that begins there says it all again: unit, plane,
//! coordinate system, offsets, the length and the turning of the spindle, the feed; and it brings the tip to where it stood,
//! through air: up, over, and straight down into the place it had cut free itself. From there on the lines are the
//! program's own, byte for byte.
//!
//! The proof runs the job as it then happens: the programs before, this one up to the line, the controller reset, the new
//! program on the piece as it stands, and the programs after. The lead-in may neither cut nor hit anything.
//!
//! # Practice
//!
//! [`draft`] takes a job and a line; what cannot be taken up is refused with the reason.

mod error;
mod lead;
mod place;

use dryturn_check::{Proof, RunOptions, Severity, prove};
use dryturn_geom::Motions;
use dryturn_program::listing::AXES;
use dryturn_scene::{Job, JobOptions, Scene};

pub use error::RestartError;
use place::Taken;

/// Where to take up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// Index of the program.
    pub program: usize,
    /// Its line, from 1.
    pub line: u32,
}

/// A program that takes a job up, and its proof.
#[derive(Debug)]
pub struct Restart {
    /// Bytes of the program.
    pub program: Vec<u8>,
    /// Its lines that come before those of the program it takes up.
    pub lead_lines: u32,
    /// What the controller shows before the line: the words that any program commands, in the program's unit and degrees.
    pub shown: Vec<(char, f64)>,
    /// Whether that unit is the inch.
    pub inch: bool,
    /// The coordinate system in force.
    pub system: &'static str,
    /// The cutter in the spindle.
    pub cutter: Option<u32>,
    /// The job as it happens with it: it stands one after the program it takes up.
    pub job: Job,
    /// What comes of it.
    pub proof: Proof,
}

/// Writes the program that takes a job up at a line, and proves it on the piece as it stands there. `file` is what it will
/// be called.
///
/// # Errors
/// [`RestartError`]: there is no such line, it cannot be taken up, or the way to it is not free.
pub fn draft(job: &Job, at: At, file: &str, options: &RunOptions<'_>) -> Result<Restart, RestartError> {
    let taken = Taken::of(job, at)?;
    let (head, lead_lines) = lead::text(job, &taken);
    let source = &job.programs[at.program].source;
    let program = [head.as_bytes(), &source[taken.offset..]].concat();
    let sources = sources(job, &taken, program.clone());
    let scene = with_a_break(&job.scene, &taken, file);
    let shown = place::commanded(job).map(|word| (char::from(AXES[word]), taken.shown[word])).collect();
    let (inch, system) = (taken.modal.inch, lead::system(&taken.modal));
    let job = Job::from_sources(scene, sources, JobOptions::default())?;
    let proof = prove(&job, options)?;
    is_free(&job, &proof, at.program + 1, lead_lines)?;
    Ok(Restart { program, lead_lines, shown, inch, system, cutter: taken.cutter, job, proof })
}

/// The programs as they are run: the one that breaks off is reset by M2 where it does.
fn sources(job: &Job, taken: &Taken, program: Vec<u8>) -> Vec<Vec<u8>> {
    let mut sources: Vec<Vec<u8>> = job.programs.iter().map(|run| run.source.clone()).collect();
    let broken = &mut sources[taken.at.program];
    broken.truncate(taken.offset);
    broken.extend_from_slice(if taken.has_percent { b"\nM2\n%\n" } else { b"\nM2\n" });
    sources.insert(taken.at.program + 1, program);
    sources
}

/// The scene with one more program, after the one that breaks off. What speaks of later programs by number moves on.
fn with_a_break(scene: &Scene, taken: &Taken, file: &str) -> Scene {
    let mut scene = scene.clone();
    let at = taken.at.program;
    let mut entry = scene.programs[at].clone();
    (entry.file, entry.cutter, entry.slip) = (file.to_owned(), taken.cutter, Default::default());
    scene.programs.insert(at + 1, entry);
    let is_later = |number: u32| number as usize > at;
    if let Some(after) = scene.target.as_mut().and_then(|target| target.after.as_mut()) {
        *after += u32::from(is_later(*after));
    }
    // A zero that was touched off for this program is that of its rest too.
    let moved =
        |(program, system): (usize, usize), height: f64| ((program + usize::from(program > at), system), height);
    let mut touched: std::collections::BTreeMap<_, _> =
        scene.touched.iter().map(|(&place, &height)| moved(place, height)).collect();
    touched.extend(
        scene
            .touched
            .iter()
            .filter(|((program, _), _)| *program == at)
            .map(|(&(_, system), &height)| ((at + 1, system), height)),
    );
    scene.touched = touched;
    // Findings were accepted by lines that are others now.
    scene.accept.clear();
    scene
}

/// Refuses a lead-in that cuts or hits something.
fn is_free(job: &Job, proof: &Proof, program: usize, lead_lines: u32) -> Result<(), RestartError> {
    let lead = || job.blocks_of(program).filter(|&block| job.line_of(block) <= lead_lines);
    let removed_mm3: f64 = lead().map(|block| proof.carved.removed_by(block)).sum();
    if removed_mm3 > 0.0 {
        return Err(RestartError::Cuts { removed_mm3 });
    }
    let hits = proof.findings.iter().find(|found| {
        let here = found.program == Some(program) && found.lines.is_some_and(|(first, _)| first <= lead_lines);
        here && found.severity == Severity::Error && found.accepted.is_none()
    });
    let moves = lead().any(|block| job.motion(block).is_some());
    match hits.filter(|_| moves) {
        Some(found) => Err(RestartError::Hits { rule: found.rule, text: found.text.clone() }),
        None => Ok(()),
    }
}
