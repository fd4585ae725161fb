//! The files that a scene hangs on.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The files that are looked for while a scene is read, whether they are there or not: whoever waits for one of them to
/// change knows when to read it again.
#[derive(Debug, Default)]
pub struct Seen(Mutex<Vec<PathBuf>>);

impl Seen {
    /// The files in the order in which they were looked for, each once.
    pub fn files(self) -> Vec<PathBuf> {
        self.0.into_inner().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes a file down, where somebody wants to know.
    pub(super) fn note(seen: Option<&Seen>, file: &Path) {
        let Some(Seen(files)) = seen else { return };
        let mut files = files.lock().unwrap_or_else(PoisonError::into_inner);
        if !files.iter().any(|known| known == file) {
            files.push(file.to_owned());
        }
    }
}
