//! Paths in a scene, and the small files they name.

use std::path::{Component, Path, PathBuf};

use dryturn_geom::units::LengthUnit;

use crate::read::Item;

/// Largest profile file that is read, bytes.
const PROFILE_LIMIT: u64 = 1 << 20;

/// Where relative paths start, and how far they may lead.
pub(crate) struct Files<'a> {
    pub(crate) folder: &'a Path,
    pub(crate) allow_outside: bool,
    pub(crate) programs_at_hand: bool,
    pub(crate) units: LengthUnit,
}

impl Files<'_> {
    /// The path of a file named in the scene. It must exist, and lie in the scene's folder unless that is waived.
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
            return refuse(format!("`{text}` leads out of the scene's folder"), Some(OUTSIDE));
        }
        let path = self.folder.join(relative);
        if !path.is_file() {
            let what = if path.is_dir() { "is a folder, not a file" } else { "does not exist" };
            return refuse(format!("`{text}` {what}"), Some("paths are relative to the scene's own folder"));
        }
        if !self.allow_outside && !self.stays_inside(&path) {
            return refuse(format!("`{text}` is a link that leads out of the scene's folder"), Some(OUTSIDE));
        }
        Some(path)
    }

    /// The path of a program. Its file need not be there where its bytes are at hand.
    pub(crate) fn program(&self, item: &Item<'_>) -> Option<PathBuf> {
        if self.programs_at_hand { Some(self.folder.join(item.text()?)) } else { self.path(item) }
    }

    fn stays_inside(&self, path: &Path) -> bool {
        let folder = if self.folder.as_os_str().is_empty() { Path::new(".") } else { self.folder };
        match (path.canonicalize(), folder.canonicalize()) {
            (Ok(path), Ok(folder)) => path.starts_with(folder),
            _ => false,
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
        let mut rows = Vec::new();
        for (index, record) in reader.records().enumerate() {
            let record = match record {
                Ok(record) => record,
                Err(error) => return refuse(format!("the profile cannot be read: {error}")),
            };
            let numbers: Vec<Option<f64>> = record.iter().map(|field| field.parse().ok()).collect();
            match numbers[..] {
                [Some(height), Some(radius)] => rows.push((height * self.units.in_mm(), radius * self.units.in_mm())),
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

const OUTSIDE: &str = "keep the job's files beside the scene, or run with --allow-outside";
