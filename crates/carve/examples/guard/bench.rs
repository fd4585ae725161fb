//! The benchmark of one commit.

use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

use crate::child::output;
use crate::worktree::{Workshop, Worktree};

/// The benchmark both commits must have.
const NAME: &str = "programs";

/// A benchmark that is built, and the files it was built from.
pub(crate) struct Bench<'a> {
    executable: PathBuf,
    worktree: Worktree<'a>,
}

impl<'a> Bench<'a> {
    pub(crate) fn build(workshop: &'a Workshop, name: &str, commit: &str) -> Result<Bench<'a>, String> {
        let worktree = workshop.check_out(name, commit)?;
        let cargo = std::env::var_os("CARGO").unwrap_or("cargo".into());
        let mut build = Command::new(cargo);
        build.args(["bench", "-p", "dryturn-carve", "--bench", NAME, "--no-run", "--locked", "--message-format=json"]);
        let told = output(build.current_dir(&worktree.path).env("CARGO_TARGET_DIR", workshop.built(name)))?;
        let executable = told.lines().find_map(executable).ok_or(format!("{commit}: no benchmark {NAME}"))?;
        Ok(Bench { executable, worktree })
    }

    /// Its rows, a JSON object a line.
    pub(crate) fn run(&self, asked: &[&str]) -> Result<String, String> {
        let mut command = Command::new(&self.executable);
        command.args(["--json", "--runs", "1"]).args(asked).current_dir(&self.worktree.path);
        output(&mut command)
    }
}

/// The benchmark's path, if this message of Cargo's names it.
fn executable(message: &str) -> Option<PathBuf> {
    let message: Value = serde_json::from_str(message).ok()?;
    (message["target"]["name"] == NAME).then(|| message["executable"].as_str().map(PathBuf::from))?
}
