//! `dryturn view`: the window.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use dryturn_carve::Band;
use dryturn_check::Proof;
use dryturn_render::Finish;
use dryturn_report::{Key, Staging, plain};
use dryturn_scene::{Job, Scene, Seen};
use dryturn_surface::write_stl;
use dryturn_view::{Held, Host, MapName, MapOf, Read};

use crate::arguments::{Color, ViewArguments};
use crate::failure::Failure;
use crate::memory::{Bound, Memory};
use crate::output::{self, layers};
use crate::piece::Piece;
use crate::running::{Running, threads};
use crate::{holding, scenes, still};

/// Chords of round bodies of the holding, mm.
const ROUND: f64 = 0.02;
/// Farthest that a mesh is off the piece, mm.
const WITHIN: f64 = 0.005;

/// Opens the window; gives the exit code once it is closed.
pub(crate) fn run(arguments: &ViewArguments) -> u8 {
    let going = dryturn_view::Going {
        threads: threads(arguments.going.threads),
        memory: arguments.going.memory,
        lenient: arguments.going.lenient,
    };
    let command = Command { arguments: arguments.clone() };
    if scenes::is_other(&arguments.scene) || !command.file().exists() {
        // What is no scene at all is told where it was typed.
        if let Err(failure) = scenes::load(&arguments.scene, &arguments.going.places) {
            return failure.told(Color::Auto);
        }
    }
    match dryturn_view::open(Arc::new(command), going, arguments.adapter.clone()) {
        Ok(()) => 0,
        Err(error) => Failure::Other(plain(&error.to_string())).told(Color::Auto),
    }
}

/// What the command does for the window.
struct Command {
    arguments: ViewArguments,
}

impl Command {
    /// Writes bytes into a file of the working folder under the scene's name; an older file of that name stays, and nothing of
    /// one that is given up.
    fn write(&self, title: &str, ending: &str, bytes: &[u8], cancel: &AtomicBool) -> Result<String, Failure> {
        let name = free_name(Path::new("."), &slug(title), ending);
        let mut staging = Staging::new(Path::new("."), cancel);
        staging.file(name.as_ref(), bytes)?;
        staging.put_in_place()?;
        Ok(name)
    }

    fn mesh(&self, job: &Job, blocks: u32, cancel: &AtomicBool) -> Result<String, Failure> {
        let mut running = Running::new(&self.arguments.going, cancel);
        running.quiet = true;
        let title = output::title(job);
        let piece = Piece::carve(job.clone(), blocks, &running)?;
        let mesh = piece.mesh(&running)?;
        let mesh = running.stage("thinning", |options| mesh.thinned(WITHIN, options))?;
        let mut bytes = Vec::new();
        write_stl(&mesh, &mut bytes).map_err(|error| Failure::Other(error.to_string()))?;
        self.write(&title, "stl", &bytes, cancel)
    }
}

impl Host for Command {
    fn file(&self) -> PathBuf {
        scenes::file_of(&self.arguments.scene)
    }

    fn read(&self) -> Read {
        let seen = Seen::default();
        let loaded = scenes::load_seen(&self.arguments.scene, &self.arguments.going.places, &seen);
        let scene = loaded.map(|scene| self.arguments.going.at_pitch(scene)).map_err(|failure| failure.text());
        Read { scene, files: seen.files() }
    }

    fn title(&self, job: &Job) -> String {
        output::title(job)
    }

    fn cutter(&self, job: &Job, index: u16) -> String {
        let cutter = job.scene.cutters.get(usize::from(index));
        cutter.map_or_else(|| "unknown".to_owned(), output::cutter_name)
    }

    fn room(&self, job: &Job) -> Result<u64, String> {
        let never = AtomicBool::new(false);
        let running = Running::new(&self.arguments.going, &never);
        let memory = Memory::within(&running, false, job).map_err(|failure| failure.text())?;
        Ok(memory.for_carving())
    }

    fn beyond_room(&self, job: &Job) -> String {
        let never = AtomicBool::new(false);
        Bound::new(&Running::new(&self.arguments.going, &never), job.scene.grid.pitch).passed()
    }

    fn held(&self, scene: &Scene) -> Vec<Held> {
        let held = |it: holding::Held| Held {
            finish: Finish::of(it.material, false),
            name: it.name,
            turns: it.turns,
            mesh: it.mesh,
        };
        holding::holding(scene, ROUND).into_iter().map(held).collect()
    }

    fn finish(&self, scene: &Scene) -> Finish {
        still::finish(scene)
    }

    fn maps(&self, job: &Job, proof: Option<&Proof>) -> Vec<MapName> {
        layers::named(job, proof).collect()
    }

    fn map(&self, of: &MapOf<'_>, band: &Band<'_>) -> Vec<f32> {
        layers::numbers(of, band)
    }

    fn key(&self, name: &str, job: &Job, numbers: &[f32]) -> Key {
        layers::key(name, job, numbers)
    }

    fn save_mesh(&self, job: &Job, blocks: u32, cancel: &AtomicBool) -> Result<String, String> {
        self.mesh(job, blocks, cancel).map_err(|failure| failure.text())
    }

    fn save_picture(&self, title: &str, [width, height]: [u32; 2], rgba: &[u8]) -> Result<String, String> {
        let png = still::png(width, height, rgba).map_err(|failure| failure.text())?;
        self.write(title, "png", &png, &AtomicBool::new(false)).map_err(|failure| failure.text())
    }
}

/// A title as a name of a file: small letters, digits and hyphens.
fn slug(title: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { ' ' };
    let words: String = title.chars().map(plain).collect();
    let slug = words.split_whitespace().collect::<Vec<_>>().join("-");
    if slug.is_empty() { "piece".to_owned() } else { slug.chars().take(60).collect() }
}

/// The first of name.end, name-2.end, name-3.end and so on that is not there yet.
fn free_name(folder: &Path, name: &str, ending: &str) -> String {
    let numbered = |number: u32| match number {
        1 => format!("{name}.{ending}"),
        number => format!("{name}-{number}.{ending}"),
    };
    (1..10_000).map(numbered).find(|it| !folder.join(it).exists()).unwrap_or_else(|| numbered(10_000))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_become_names_of_files() {
        assert_eq!(slug("Winch handle, Ø38 / 2"), "winch-handle-38-2");
        assert_eq!(slug("../…"), "piece");
    }

    #[test]
    fn nothing_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(free_name(folder.path(), "peg", "stl"), "peg.stl");
        std::fs::write(folder.path().join("peg.stl"), "").unwrap();
        assert_eq!(free_name(folder.path(), "peg", "stl"), "peg-2.stl");
    }
}
