//! What the names of files in reports start from.

use std::fs;
use std::path::{Path, PathBuf};

use dryturn_report::FileName;

/// The nearest folder above all scenes that holds `.git`; without one the folder they share.
pub(crate) struct Root(PathBuf);

impl Root {
    /// The root of these scene files; those that are not there are left aside.
    pub(crate) fn above(scenes: &[PathBuf]) -> Root {
        let folders = scenes
            .iter()
            .filter(|scene| scene.exists())
            .map(|scene| whole(scene).parent().map(Path::to_owned).unwrap_or_default());
        let shared = folders.reduce(|one, other| shared(&one, &other)).unwrap_or_default();
        let repository = shared.ancestors().find(|folder| folder.join(".git").exists());
        Root(repository.map(Path::to_owned).unwrap_or(shared))
    }

    /// How a file is called from here.
    pub(crate) fn name(&self, file: &Path) -> FileName {
        let file = whole(file);
        match file.strip_prefix(&self.0) {
            Ok(relative) => FileName { path: slashed(relative), inside: true },
            Err(_) => FileName { path: slashed(&file), inside: false },
        }
    }
}

/// The path from the file system's root, links followed where the file is there.
fn whole(path: &Path) -> PathBuf {
    fs::canonicalize(path).or_else(|_| std::path::absolute(path)).unwrap_or_else(|_| path.to_owned())
}

fn shared(one: &Path, other: &Path) -> PathBuf {
    one.components().zip(other.components()).take_while(|(a, b)| a == b).map(|(part, _)| part).collect()
}

/// With forward slashes, and without what marks a whole path on Windows.
fn slashed(path: &Path) -> String {
    let text = path.to_string_lossy();
    if cfg!(windows) { text.replace('\\', "/").trim_start_matches("//?/").to_owned() } else { text.into_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_start_from_the_repository_or_from_what_the_scenes_share() {
        let temporary = tempfile::tempdir().unwrap();
        let path = |name: &str| temporary.path().join(name);
        for name in ["jobs/one/scene.toml", "jobs/two/scene.toml"] {
            fs::create_dir_all(path(name).parent().unwrap()).unwrap();
            fs::write(path(name), "").unwrap();
        }
        let both = ["jobs/one/scene.toml", "jobs/two/scene.toml"].map(path);
        let named = |root: &Root, name: &str| root.name(&path(name)).path;
        assert_eq!(named(&Root::above(&both), "jobs/two/scene.toml"), "two/scene.toml");
        assert_eq!(named(&Root::above(&both[..1]), "jobs/one/scene.toml"), "scene.toml");
        assert_eq!(named(&Root::above(&[both[0].clone(), path("gone.toml")]), "jobs/one/scene.toml"), "scene.toml");
        assert!(!Root::above(&both[..1]).name(&both[1]).inside);
        fs::create_dir(path(".git")).unwrap();
        assert_eq!(named(&Root::above(&both), "jobs/two/scene.toml"), "jobs/two/scene.toml");
        assert_eq!(named(&Root::above(&both), "jobs/gone.toml"), "jobs/gone.toml");
    }
}
