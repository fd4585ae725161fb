//! The scenes that are named.

use std::path::{Path, PathBuf};

use clap::Args;
use dryturn_check::{KEPT, Rule};
use dryturn_report::plain;
use dryturn_scene::{LoadOptions, Scene};

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
        ..LoadOptions::default()
    };
    Ok(Scene::load(&file_of(named), options)?)
}

/// Whether two names are of one file that is there.
pub(crate) fn same_file(one: &Path, other: &Path) -> bool {
    one.canonicalize().is_ok_and(|one| other.canonicalize().is_ok_and(|other| one == other))
}

/// Spares what a scene is made of: nothing is written over it.
pub(crate) fn spare(scene: &Scene, named: &Path, output: &Path) -> Result<(), Failure> {
    let program = scene.programs.iter().find(|program| same_file(output, &program.path));
    let what = match program {
        Some(program) => format!("{}, a program of the scene", program.file),
        None if same_file(output, &file_of(named)) => "the scene itself".to_owned(),
        None => return Ok(()),
    };
    Err(Failure::Other(plain(&format!("-o names {what}; write to another file"))))
}
