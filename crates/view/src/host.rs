//! What the window asks of the command that opened it.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use dryturn_carve::Band;
use dryturn_check::Proof;
use dryturn_check::target::Surface;
use dryturn_render::Finish;
use dryturn_report::Key;
use dryturn_scene::{Job, Scene};
use dryturn_surface::Mesh;

/// What the window asks of the command that opened it: reading, words and files are those of the other commands.
pub trait Host: Send + Sync {
    /// The scene file, as the user named it.
    fn file(&self) -> PathBuf;
    /// Reads the scene.
    fn read(&self) -> Read;
    /// What a job is called.
    fn title(&self, job: &Job) -> String;
    /// What a cutter is called.
    fn cutter(&self, job: &Job, index: u16) -> String;
    /// Most bytes that the piece may take while the job is proved.
    ///
    /// # Errors
    /// Why it cannot be proved on its grid, and what would help.
    fn room(&self, job: &Job) -> Result<u64, String>;
    /// What to say where the proof of a job took more than that, and what would help.
    fn beyond_room(&self, job: &Job) -> String;
    /// What holds the blank.
    fn held(&self, scene: &Scene) -> Vec<Held>;
    /// What the blank is made of.
    fn finish(&self, scene: &Scene) -> Finish;
    /// The maps there are: those before the proof is made need none.
    fn maps(&self, job: &Job, proof: Option<&Proof>) -> Vec<MapName>;
    /// The numbers of a map for rays of a band, row by row; not a number where it says nothing.
    fn map(&self, of: &MapOf<'_>, band: &Band<'_>) -> Vec<f32>;
    /// What the colours of a map stand for, given its numbers.
    fn key(&self, name: &str, job: &Job, numbers: &[f32]) -> Key;
    /// Writes the piece as a mesh, after so many blocks; gives the file's name. `cancel` ends it early when set.
    ///
    /// # Errors
    /// Why it could not be.
    fn save_mesh(&self, job: &Job, blocks: u32, cancel: &AtomicBool) -> Result<String, String>;
    /// Writes a picture of a job of this title, of so many pixels, sRGB with its alpha apart; gives the file's name.
    ///
    /// # Errors
    /// Why it could not be.
    fn save_picture(&self, title: &str, size: [u32; 2], rgba: &[u8]) -> Result<String, String>;
}

/// What came of reading a scene.
pub struct Read {
    /// The scene, or what is wrong with it, as it is told on a terminal.
    pub scene: Result<Scene, String>,
    /// The files that were looked for, whether they are there or not.
    pub files: Vec<PathBuf>,
}

/// What a map is asked about.
pub struct MapOf<'a> {
    /// The map, by its name.
    pub name: &'a str,
    /// The job.
    pub job: &'a Job,
    /// What was found, once it is.
    pub proof: Option<&'a Proof>,
    /// Whether what the proof says of each ray is said of these very rays: on its grid, after the last block.
    pub is_proved: bool,
    /// The target's surface, where there is one.
    pub target: Option<&'a Surface>,
    /// Asked about is one row of the grid in so many, and of it one ray in so many.
    pub every: usize,
}

/// A body that holds the blank, in the piece frame.
#[derive(Clone, Debug)]
pub struct Held {
    /// What it is: `chuck`, `jaw 2`.
    pub name: String,
    /// What it looks like.
    pub finish: Finish,
    /// Whether it turns with the blank.
    pub turns: bool,
    /// Its surface.
    pub mesh: Mesh,
}

/// A map by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MapName {
    /// As the files of a report are called.
    pub name: &'static str,
    /// For people.
    pub title: &'static str,
    /// Unit of its numbers.
    pub unit: &'static str,
    /// Whether it holds the piece against the target, which takes its time.
    pub is_beside_target: bool,
}

/// How the window goes about its work.
#[derive(Clone, Copy, Debug)]
pub struct Going {
    /// Threads to take; 0 for one for each core.
    pub threads: usize,
    /// Most bytes that a piece may take.
    pub memory: u64,
    /// Whether to go on where a program is not understood.
    pub lenient: bool,
}
