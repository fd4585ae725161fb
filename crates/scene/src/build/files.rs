//! Paths in a scene, and the small files they name.

use std::path::{Component, Path, PathBuf};

use super::Seen;
use super::kept::KeptReader;
use crate::model::Origin;
use crate::read::Item;

/// Largest profile file that is read, bytes.
const PROFILE_LIMIT: u64 = 1 << 20;

/// Where relative paths start, and how far they may lead.
pub(crate) struct Files<'a> {
    /// The scene's folder; what a library names starts from the library's.
    pub(crate) folder: &'a Path,
    pub(crate) allow_outside: bool,
    pub(crate) programs_at_hand: bool,
    pub(crate) kept: Option<KeptReader>,
    pub(crate) seen: Option<&'a Seen>,
}

impl Files<'_> {
    /// The path of a file named in the scene or a library. It must exist, and lie in the folder of what names it unless
    /// that is waived.
    pub(crate) fn path(&self, item: &Item<'_>) -> Option<PathBuf> {
        let text = item.text()?;
        let refuse = |message: String, help: Option<&str>| {
            item.problem(message, help.map(str::to_owned));
            None
        };
        if text.trim().is_empty() || text.contains('\0') {
            return refuse(format!("`{}` must name a file", item.path()), None);
        }
        let relative = Path::new(text);
        let plain = relative.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !plain && !self.allow_outside {
            return refuse(format!("`{text}` leads out of the {}'s folder", owner(item)), Some(OUTSIDE));
        }
        let folder = &item.source().folder;
        let path = folder.join(relative);
        Seen::note(self.seen, &path);
        if !path.is_file() {
            let what = if path.is_dir() { "is a folder, not a file" } else { "does not exist" };
            return refuse(
                format!("`{text}` {what}"),
                Some(&format!("paths start from the {}'s own folder", owner(item))),
            );
        }
        if !self.allow_outside && !lies_in(&path, folder) {
            return refuse(format!("`{text}` is a link that leads out of the {}'s folder", owner(item)), Some(OUTSIDE));
        }
        Some(path)
    }

    /// The path of a program. Its file need not be there where its bytes are at hand.
    pub(crate) fn program(&self, item: &Item<'_>) -> Option<PathBuf> {
        if self.programs_at_hand { Some(self.folder.join(item.text()?)) } else { self.path(item) }
    }

    /// A file's path as the scene itself would have to name it.
    pub(crate) fn written(&self, item: &Item<'_>) -> Option<String> {
        let text = item.text()?;
        let source = item.source();
        if source.folder == self.folder {
            return Some(text.to_owned());
        }
        let path = source.folder.join(text);
        match path.strip_prefix(self.folder) {
            Ok(inside) => Some(inside.display().to_string()),
            Err(_) => Some(path.canonicalize().unwrap_or(path).display().to_string()),
        }
    }

    /// The profile of a form cutter: rows of height, radius; lines that begin with `#` and one heading are passed over.
    pub(crate) fn profile(&self, item: &Item<'_>) -> Option<Vec<(f64, f64)>> {
        let path = self.path(item)?;
        let refuse = |message: String| {
            item.problem(message, Some("a profile is a CSV file of height, radius from the tip up".into()));
            None
        };
        if path.metadata().map_or(u64::MAX, |data| data.len()) > PROFILE_LIMIT {
            return refuse("the profile file is larger than 1 MiB".into());
        }
        let mut reader = match csv::ReaderBuilder::new()
            .has_headers(false)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .flexible(true)
            .from_path(&path)
        {
            Ok(reader) => reader,
            Err(error) => return refuse(format!("the profile cannot be read: {error}")),
        };
        let unit = item.source().units().in_mm();
        let mut rows = Vec::new();
        for (index, record) in reader.records().enumerate() {
            let record = match record {
                Ok(record) => record,
                Err(error) => return refuse(format!("the profile cannot be read: {error}")),
            };
            let numbers: Vec<Option<f64>> = record.iter().map(|field| field.parse().ok()).collect();
            match numbers[..] {
                [Some(height), Some(radius)] => rows.push((height * unit, radius * unit)),
                [None, ..] if index == 0 => {}
                _ => {
                    let line = record.position().map_or(0, |place| place.line());
                    return refuse(format!("line {line} of the profile is not a height and a radius"));
                }
            }
        }
        Some(rows)
    }
}

/// What the file is that names another.
fn owner(item: &Item<'_>) -> &'static str {
    if matches!(item.source().origin, Origin::Library(_)) { "library" } else { "scene" }
}

/// Whether a file, links followed, lies in a folder.
pub(super) fn lies_in(path: &Path, folder: &Path) -> bool {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    match (path.canonicalize(), folder.canonicalize()) {
        (Ok(path), Ok(folder)) => path.starts_with(folder),
        _ => false,
    }
}

const OUTSIDE: &str = "keep the job's files beside the scene, or run with --allow-outside";
