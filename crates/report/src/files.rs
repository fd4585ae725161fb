//! Writing files whole or not at all.
//!
//! Every file is first written under another name in its own folder and flushed to the disk. Only when all of them are
//! there are they renamed, in the order given, and the folders flushed. Whatever fails or interrupts before the first
//! rename leaves the old files as they were and nothing new behind. A power cut among the renames leaves each file old
//! or new, never half; a file that speaks for the others is best given last.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use tempfile::{NamedTempFile, TempPath};

/// Why nothing, or not everything, was written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The run was interrupted; nothing was written.
    #[error("interrupted: nothing was written")]
    Interrupted,
    /// A name leaves the folder, is empty, or comes twice.
    #[error("{path}: not a name of its own within the folder to write in")]
    Name {
        /// The name.
        path: PathBuf,
    },
    /// The system refused a step.
    #[error("{path}: cannot {step}: {source}; {}", advice(source))]
    System {
        /// The file or folder.
        path: PathBuf,
        /// What was to be done.
        step: Step,
        /// What the system says.
        source: io::Error,
    },
}

/// One thing asked of the system.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Make a folder.
    MakeFolder,
    /// Make a file under its first name.
    MakeFile,
    /// Write into it and flush it.
    Write,
    /// Rename it to its own name.
    Rename,
    /// Flush the folder.
    FlushFolder,
}

impl std::fmt::Display for Step {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(match self {
            Step::MakeFolder => "make this folder",
            Step::MakeFile => "make a file beside it",
            Step::Write => "write it",
            Step::Rename => "put it in its place",
            Step::FlushFolder => "flush this folder to the disk",
        })
    }
}

/// What to do about a refusal.
fn advice(source: &io::Error) -> &'static str {
    match source.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "choose a folder you may write in, or change its permissions (a file open elsewhere is refused too)"
        }
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            "make room on the disk, or choose a folder on another one"
        }
        ErrorKind::AlreadyExists | ErrorKind::NotADirectory => {
            "a file stands where a folder is needed: move it away, or choose another folder"
        }
        ErrorKind::IsADirectory | ErrorKind::DirectoryNotEmpty => {
            "a folder stands where a file is needed: move it away, or choose another folder"
        }
        ErrorKind::ResourceBusy | ErrorKind::ExecutableFileBusy => {
            "close the program that holds it open, then run again"
        }
        _ => "check that the folder is there and can be written in, or choose another one",
    }
}

/// Writes all the files below a folder, or none of them, and returns their paths.
///
/// Names are relative to the folder, which is made when it is not there, as are folders within. New files get the
/// permissions the user's mask leaves; a file that was there is replaced, whatever its own permissions.
///
/// # Errors
///
/// [`WriteError::Interrupted`] when the flag is raised before the first rename; [`WriteError::Name`] for a name that is
/// absolute, leaves the folder or comes twice; [`WriteError::System`] when the system refuses: the error names the path
/// and what to do. After an error nothing is left over; old files are as they were unless renaming had begun.
pub fn write_all(
    dir: &Path,
    files: &[(PathBuf, Vec<u8>)],
    interrupted: &AtomicBool,
) -> Result<Vec<PathBuf>, WriteError> {
    write_watched(dir, files, interrupted, &mut |_, _| Ok(()))
}

/// Writes files that each have a folder of their own: all are whole before the first is put in its place.
///
/// # Errors
///
/// As [`write_all`].
pub fn write_each(files: &[(PathBuf, Vec<u8>)], interrupted: &AtomicBool) -> Result<(), WriteError> {
    let mut all = Vec::new();
    for (path, bytes) in files {
        let name = path.file_name().ok_or_else(|| WriteError::Name { path: path.clone() })?;
        let mut staging = Staging::new(folder_of(path), interrupted);
        staging.file(name.as_ref(), bytes)?;
        all.push(staging);
    }
    all.into_iter().try_for_each(|staging| staging.put_in_place().map(drop))
}

/// The same as [`write_all`], asking before each step whether it may be taken.
fn write_watched(
    dir: &Path,
    files: &[(PathBuf, Vec<u8>)],
    interrupted: &AtomicBool,
    before: &mut (dyn FnMut(Step, &Path) -> io::Result<()> + Send),
) -> Result<Vec<PathBuf>, WriteError> {
    let before = Mutex::new(before);
    let watch = |step: Step, path: &Path| before.lock().unwrap_or_else(PoisonError::into_inner)(step, path);
    let mut staging = Staging::watched(dir, Watch { interrupted, before: &watch });
    for (name, bytes) in files {
        staging.file(name, bytes)?;
    }
    staging.put_in_place()
}

/// Files on their way into a folder, to appear there all together or not at all.
///
/// Each is written as a [`Draft`] under another name; dropped before [`Staging::put_in_place`] has begun, nothing is left
/// of any. Drafts must be dropped first.
pub struct Staging<'a> {
    dir: PathBuf,
    watch: Watch<'a>,
    names: BTreeSet<PathBuf>,
    /// Folders made on the way, outer ones first.
    made: Vec<PathBuf>,
    /// Files that are whole, in the order they will be put in their places.
    whole: Vec<Whole>,
}

/// A file that is being written; several may be written at once.
pub struct Draft<'a> {
    file: NamedTempFile,
    path: PathBuf,
    watch: Watch<'a>,
}

/// A file that is whole and flushed to the disk, but not yet in its place.
pub struct Whole {
    // Closed before it is renamed: some systems refuse to rename an open file.
    temporary: TempPath,
    path: PathBuf,
}

/// Looks whether to go on.
#[derive(Clone, Copy)]
struct Watch<'a> {
    interrupted: &'a AtomicBool,
    before: &'a (dyn Fn(Step, &Path) -> io::Result<()> + Sync),
}

impl Watch<'_> {
    fn go_on(&self) -> Result<(), WriteError> {
        if self.interrupted.load(Ordering::Relaxed) { Err(WriteError::Interrupted) } else { Ok(()) }
    }

    fn step<T>(&self, step: Step, path: &Path, act: impl FnOnce() -> io::Result<T>) -> Result<T, WriteError> {
        (self.before)(step, path).and_then(|()| act()).map_err(|source| WriteError::System {
            path: path.to_owned(),
            step,
            source,
        })
    }
}

/// Bytes written between two looks at whether to go on.
const PORTION: usize = 1 << 22;

impl Draft<'_> {
    /// Writes what follows.
    ///
    /// # Errors
    ///
    /// [`WriteError::Interrupted`] when the flag is raised, [`WriteError::System`] when the system refuses.
    pub fn write(&mut self, bytes: &[u8]) -> Result<(), WriteError> {
        for portion in bytes.chunks(PORTION) {
            self.watch.go_on()?;
            self.watch.step(Step::Write, &self.path, || self.file.write_all(portion))?;
        }
        Ok(())
    }

    /// Flushes the file to the disk; nothing more is written into it.
    ///
    /// # Errors
    ///
    /// As [`Draft::write`].
    pub fn finish(self) -> Result<Whole, WriteError> {
        self.watch.go_on()?;
        self.watch.step(Step::Write, &self.path, || self.file.as_file().sync_all())?;
        Ok(Whole { temporary: self.file.into_temp_path(), path: self.path })
    }
}

impl<'a> Staging<'a> {
    /// Nothing yet, on the way into a folder; the folder is made when the first file needs it.
    pub fn new(dir: &Path, interrupted: &'a AtomicBool) -> Staging<'a> {
        Staging::watched(dir, Watch { interrupted, before: &|_, _| Ok(()) })
    }

    fn watched(dir: &Path, watch: Watch<'a>) -> Staging<'a> {
        Staging { dir: dir.to_owned(), watch, names: BTreeSet::new(), made: Vec::new(), whole: Vec::new() }
    }

    /// Begins a file; the name is relative to the folder.
    ///
    /// # Errors
    ///
    /// As [`write_all`].
    pub fn draft(&mut self, name: &Path) -> Result<Draft<'a>, WriteError> {
        let normal = name.components().all(|part| matches!(part, Component::Normal(_)));
        if !normal || name.file_name().is_none() || !self.names.insert(name.to_owned()) {
            return Err(WriteError::Name { path: name.to_owned() });
        }
        let path = self.dir.join(name);
        self.make_folders(folder_of(&path))?;
        self.watch.go_on()?;
        if path.is_dir() {
            let source = ErrorKind::IsADirectory.into();
            return Err(WriteError::System { path, step: Step::Rename, source });
        }
        let file = self.watch.step(Step::MakeFile, &path, || temporary(folder_of(&path)))?;
        Ok(Draft { file, path, watch: self.watch })
    }

    /// Takes a file that is whole; it will be put in its place after those taken before.
    pub fn take(&mut self, whole: Whole) {
        self.whole.push(whole);
    }

    /// Writes a file in one go and takes it.
    ///
    /// # Errors
    ///
    /// As [`write_all`].
    pub fn file(&mut self, name: &Path, bytes: &[u8]) -> Result<(), WriteError> {
        let mut draft = self.draft(name)?;
        draft.write(bytes)?;
        let whole = draft.finish()?;
        self.take(whole);
        Ok(())
    }

    /// Puts all files that were taken in their places and returns their paths.
    ///
    /// # Errors
    ///
    /// As [`write_all`].
    pub fn put_in_place(mut self) -> Result<Vec<PathBuf>, WriteError> {
        self.watch.go_on()?;
        let mut written = Vec::new();
        for Whole { temporary, path } in std::mem::take(&mut self.whole) {
            self.watch.step(Step::Rename, &path, || temporary.persist(&path).map_err(|error| error.error))?;
            written.push(path);
        }
        let folders: BTreeSet<&Path> = written.iter().map(|path| folder_of(path)).collect();
        for folder in folders.into_iter().chain(self.made.iter().map(|made| folder_of(made))) {
            self.watch.step(Step::FlushFolder, folder, || flush_folder(folder))?;
        }
        Ok(written)
    }

    /// Makes a folder and those above it where they are not there.
    fn make_folders(&mut self, folder: &Path) -> Result<(), WriteError> {
        if folder.is_dir() {
            return Ok(());
        }
        if let Some(above) = folder.parent().filter(|above| !above.as_os_str().is_empty()) {
            self.make_folders(above)?;
        }
        self.watch.step(Step::MakeFolder, folder, || fs::create_dir(folder))?;
        self.made.push(folder.to_owned());
        Ok(())
    }
}

impl Drop for Staging<'_> {
    fn drop(&mut self) {
        self.whole.clear();
        // Only folders made just now, and only if nothing has come into them.
        for folder in self.made.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// The folder a path lies in; the current one for a bare name.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn temporary(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".dryturn-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// Makes renames in a folder last through a power cut, on systems where a folder can be flushed.
fn flush_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

#[cfg(test)]
mod tests;
