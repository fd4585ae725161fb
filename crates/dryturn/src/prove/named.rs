//! The scenes that were named, and where what is written of them goes.

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use dryturn_scene::Scene;

use crate::arguments::ProveArguments;
use crate::failure::Failure;
use crate::output::{KEPT_FILE, RESOLVED_FILE};
use crate::scenes::{self, file_of};

pub(super) fn scene_of(arguments: &ProveArguments, named: &Path) -> Result<Scene, Failure> {
    let outputs = outputs(arguments, named);
    let outputs: Vec<&Path> = outputs.iter().map(PathBuf::as_path).collect();
    if let (Some(blank), Some(cutter)) = (&arguments.blank, &arguments.cutter) {
        if named.is_dir() {
            let name = dryturn_report::plain(&named.display().to_string());
            return Err(Failure::Other(format!("{name}: a folder; with --blank and --cutter name a program")));
        }
        if let Some(file) = &arguments.save {
            save(named, blank, cutter, file)?;
        }
        scenes::spare(&[named.to_owned()], &outputs)?;
        return Ok(Scene::from_flags(named, blank, cutter)?);
    }
    let file = file_of(named);
    if scenes::is_other(&file) {
        return Err(Failure::Other(format!(
            "{}: not a scene file (.toml); to prove a bare program add --blank 64x200 --cutter flat:6",
            dryturn_report::plain(&file.display().to_string())
        )));
    }
    scenes::load_sparing(named, &arguments.going.places, &outputs)
}

/// The files that a run may write over one it has read: what another set-up starts from may lie where this one would keep its
/// own piece.
fn outputs(arguments: &ProveArguments, named: &Path) -> Vec<PathBuf> {
    let folder = folder_for(arguments, named);
    let written = folder.iter().flat_map(|folder| [KEPT_FILE, RESOLVED_FILE].map(|name| folder.join(name)));
    let reports = [&arguments.sarif, &arguments.junit, &arguments.markdown].into_iter().flatten().cloned();
    written.chain(reports).collect()
}

fn save(program: &Path, blank: &str, cutter: &str, file: &Path) -> Result<(), Failure> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let text = Scene::flags_to_toml(program, blank, cutter, folder)?;
    let name = file.file_name().map(PathBuf::from).unwrap_or_default();
    if file.exists() {
        return Err(Failure::Other(format!("{}: is there already; choose another name", file.display())));
    }
    dryturn_report::write_all(folder, &[(name, text.into_bytes())], &AtomicBool::new(false))
        .map(drop)
        .map_err(|error| Failure::Other(error.to_string()))
}

/// Where a scene's files go: the folder asked for, or one in it for each scene where there are several.
pub(super) fn folder_for(arguments: &ProveArguments, named: &Path) -> Option<PathBuf> {
    let out = arguments.out.as_ref()?;
    if arguments.scenes.len() == 1 {
        return Some(out.clone());
    }
    let number = arguments.scenes.iter().position(|scene| scene == named).unwrap_or(0) + 1;
    let own = if named.file_name().is_some_and(|name| name == "scene.toml") { named.parent() } else { Some(named) };
    let name = own.and_then(Path::file_stem).map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    Some(out.join(format!("{number:02}-{name}")))
}
