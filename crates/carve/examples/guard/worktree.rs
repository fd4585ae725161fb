//! Commits checked out beside the working tree, for as long as they are needed.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::child::run;

/// The folder in which commits are built. One guard works in it at a time; what is built of foreign crates stays.
pub(crate) struct Workshop {
    repository: PathBuf,
    folder: PathBuf,
    /// Locked until it is closed, by the system if by no one else.
    _lock: File,
}

impl Workshop {
    pub(crate) fn open() -> Result<Workshop, String> {
        let repository = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let target = std::env::var_os("CARGO_TARGET_DIR").map_or(repository.join("target"), PathBuf::from);
        let fault = |error: std::io::Error| format!("{}: {error}", target.display());
        std::fs::create_dir_all(target.join("guard")).map_err(fault)?;
        let folder = target.join("guard").canonicalize().map_err(fault)?;
        let lock = File::create(folder.join("lock")).map_err(fault)?;
        lock.try_lock().map_err(|error| format!("{}: another guard may be at work: {error}", folder.display()))?;
        Ok(Workshop { repository, folder, _lock: lock })
    }

    /// Where Cargo is to build one side. Cargo gives a crate the same file names in every worktree, so that in a folder
    /// for both the second build would take the place of the first.
    pub(crate) fn built(&self, name: &str) -> PathBuf {
        self.folder.join(format!("built-{name}"))
    }

    pub(crate) fn check_out(&self, name: &str, commit: &str) -> Result<Worktree<'_>, String> {
        let worktree = Worktree { workshop: self, path: self.folder.join(name) };
        // What a guard has left that was killed.
        worktree.remove();
        run(
            self.git(&["worktree", "add", "--quiet", "--force", "--detach"]).arg(&worktree.path).arg(commit),
            Stdio::null(),
        )?;
        Ok(worktree)
    }

    fn git(&self, arguments: &[&str]) -> Command {
        let mut git = Command::new("git");
        git.arg("-C").arg(&self.repository).args(arguments);
        git
    }
}

/// A commit's files, removed when dropped.
pub(crate) struct Worktree<'a> {
    workshop: &'a Workshop,
    pub(crate) path: PathBuf,
}

impl Worktree<'_> {
    /// Not by [`run`], as it must also work once the guard is stopped. That there may be nothing to remove is no fault.
    fn remove(&self) {
        let mut git = self.workshop.git(&["worktree", "remove", "--force", "--force"]);
        let _ = git.arg(&self.path).stderr(Stdio::null()).status();
        let _ = std::fs::remove_dir_all(&self.path);
    }
}

impl Drop for Worktree<'_> {
    fn drop(&mut self) {
        self.remove();
    }
}
