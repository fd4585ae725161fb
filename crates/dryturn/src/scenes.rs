//! The scenes that are named.

use std::path::{Path, PathBuf};

use clap::Args;
use dryturn_check::{KEPT, Rule};
use dryturn_report::plain;
use dryturn_scene::{LoadOptions, Scene, Seen};

use crate::failure::Failure;

/// What every command takes that reads a scene: where its files may be.
#[derive(Args, Clone, Debug)]
pub(crate) struct Places {
    /// Allow scenes to name files outside their own folder
    #[arg(long)]
    pub(crate) allow_outside: bool,

    /// Folder of the libraries that scenes name as "shop:…" [default: DRYTURN_SHOP, or the nearest folder at or above the
    /// scene's that holds shop.toml]
    #[arg(long, value_name = "DIR")]
    pub(crate) shop: Option<PathBuf>,
}

impl Places {
    /// The shop's folder, where somebody says so.
    fn shop(&self) -> Option<PathBuf> {
        let set = || std::env::var_os("DRYTURN_SHOP").filter(|folder| !folder.is_empty()).map(PathBuf::from);
        self.shop.clone().or_else(set)
    }
}

/// The file a scene is read from: itself, or the `scene.toml` in a folder.
pub(crate) fn file_of(named: &Path) -> PathBuf {
    if named.is_dir() { named.join("scene.toml") } else { named.to_owned() }
}

/// Whether a file is there and is no scene.
pub(crate) fn is_other(file: &Path) -> bool {
    file.is_file() && !file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
}

/// Loads the scene that is named.
pub(crate) fn load(named: &Path, places: &Places) -> Result<Scene, Failure> {
    load_seen(named, places, &Seen::default())
}

/// Loads the scene that is named, and tells which files were looked for.
pub(crate) fn load_seen(named: &Path, places: &Places, seen: &Seen) -> Result<Scene, Failure> {
    load_with(named, places, seen, LoadOptions::default())
}

/// Loads a scene for what holds the blank: its programs need not be there yet.
pub(crate) fn load_holding(named: &Path, places: &Places, outputs: &[&Path]) -> Result<Scene, Failure> {
    let seen = Seen::default();
    let scene = load_with(named, places, &seen, LoadOptions { programs_at_hand: true, ..LoadOptions::default() })?;
    let programs = scene.programs.iter().map(|entry| entry.path.clone());
    spare(&seen.files().into_iter().chain(programs).collect::<Vec<_>>(), outputs)?;
    Ok(scene)
}

fn load_with<'a>(named: &Path, places: &'a Places, seen: &'a Seen, options: LoadOptions<'a>) -> Result<Scene, Failure> {
    if is_other(named) {
        return Err(Failure::Other(format!(
            "{}: not a scene file (.toml); `dryturn prove --blank --cutter --save` makes one for a bare program",
            plain(&named.display().to_string())
        )));
    }
    let (rules, shop) = (Rule::names(), places.shop());
    let options = LoadOptions {
        allow_outside: places.allow_outside,
        shop: shop.as_deref(),
        rules: Some(&rules),
        kept: Some(KEPT),
        seen: Some(seen),
        ..options
    };
    Ok(Scene::load(&file_of(named), options)?)
}

/// Whether two names are of one file that is there.
pub(crate) fn same_file(one: &Path, other: &Path) -> bool {
    one.canonicalize().is_ok_and(|one| other.canonicalize().is_ok_and(|other| one == other))
}

/// Loads the scene that is named, for a command that is going to write files: none that the scene is made of.
pub(crate) fn load_sparing(named: &Path, places: &Places, outputs: &[&Path]) -> Result<Scene, Failure> {
    let seen = Seen::default();
    let scene = load_seen(named, places, &seen)?;
    spare(&seen.files(), outputs)?;
    Ok(scene)
}

/// Refuses to write over any of the files that a job is made of.
pub(crate) fn spare(files: &[PathBuf], outputs: &[&Path]) -> Result<(), Failure> {
    if let Some(output) = outputs.iter().find(|output| files.iter().any(|file| same_file(output, file))) {
        let output = plain(&output.display().to_string());
        return Err(Failure::Other(format!("{output}: the scene is made of it; name another file to write")));
    }
    Ok(())
}
