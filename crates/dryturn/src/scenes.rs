//! The scenes that are named.

use std::path::{Path, PathBuf};

use dryturn_check::Rule;
use dryturn_report::plain;
use dryturn_scene::{LoadOptions, Scene};

use crate::failure::Failure;

/// The file a scene is read from: itself, or the `scene.toml` in a folder.
pub(crate) fn file_of(named: &Path) -> PathBuf {
    if named.is_dir() { named.join("scene.toml") } else { named.to_owned() }
}

/// Whether a file is there and is no scene.
pub(crate) fn is_other(file: &Path) -> bool {
    file.is_file() && !file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
}

/// Loads the scene that is named.
pub(crate) fn load(named: &Path, allow_outside: bool) -> Result<Scene, Failure> {
    if is_other(named) {
        return Err(Failure::Other(format!(
            "{}: not a scene file (.toml); `dryturn prove --blank --cutter --save` makes one for a bare program",
            plain(&named.display().to_string())
        )));
    }
    let rules = Rule::names();
    let options = LoadOptions { allow_outside, rules: Some(&rules), ..LoadOptions::default() };
    Ok(Scene::load(&file_of(named), options)?)
}
