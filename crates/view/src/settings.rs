//! What the window remembers from one time to the next.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::eye::Cut;

/// What the window remembers. A key that is missing or wrong costs only itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Whether it is dark.
    pub dark: bool,
    /// How large everything is, 1 being as usual; `None` for what suits the window.
    pub zoom: Option<f32>,
    /// Share of the width that the pictures take.
    pub pictures: f32,
    /// Shares of the height that piece, skin and run take.
    pub rows: [f32; 3],
    /// Which of them are shown.
    pub shown: [bool; 3],
    /// Whether the words are.
    pub words: bool,
    /// The map on the skin.
    pub map: String,
    /// Whether the piece is painted with the map.
    pub painted: bool,
    /// How it is cut open.
    pub cut: Cut,
    /// Whether what holds the blank is drawn.
    pub holding: bool,
    /// Whether the cutter is drawn.
    pub cutter: bool,
    /// Size of the window, points.
    pub window: [f32; 2],
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            dark: false,
            zoom: None,
            pictures: 0.68,
            rows: [0.42, 0.27, 0.31],
            shown: [true; 3],
            words: true,
            map: crate::session::FIRST_MAP.to_owned(),
            painted: false,
            cut: Cut::None,
            holding: true,
            cutter: true,
            window: [1280.0, 800.0],
        }
    }
}

impl Settings {
    /// Where they are kept: `DRYTURN_SETTINGS`, or the folder that the system keeps settings in; `None` where there is none.
    pub fn place() -> Option<PathBuf> {
        let var = |name: &str| std::env::var_os(name).filter(|it| !it.is_empty()).map(PathBuf::from);
        if let Some(file) = var("DRYTURN_SETTINGS") {
            return Some(file);
        }
        let folder = if cfg!(windows) {
            var("APPDATA")
        } else if cfg!(target_os = "macos") {
            var("HOME").map(|home| home.join("Library/Application Support"))
        } else {
            var("XDG_CONFIG_HOME").or_else(|| var("HOME").map(|home| home.join(".config")))
        };
        Some(folder?.join("dryturn").join("view.json"))
    }

    /// Reads them key by key; what cannot be read is as at first.
    pub fn load(file: &Path) -> Settings {
        let text = std::fs::read_to_string(file).unwrap_or_default();
        let given: serde_json::Value = serde_json::from_str(&text).unwrap_or_default();
        let mut whole = serde_json::to_value(Settings::default()).unwrap_or_default();
        let keys: Vec<String> = whole.as_object().map(|it| it.keys().cloned().collect()).unwrap_or_default();
        for key in keys {
            let Some(value) = given.get(&key) else { continue };
            let before = std::mem::replace(&mut whole[&key], value.clone());
            if serde_json::from_value::<Settings>(whole.clone()).is_err() {
                whole[&key] = before;
            }
        }
        serde_json::from_value::<Settings>(whole).unwrap_or_default().within_reason()
    }

    /// Keeps them; the file is whole at every moment.
    ///
    /// # Errors
    /// Why they could not be kept.
    pub fn save(&self, file: &Path) -> Result<(), String> {
        let text = serde_json::to_string_pretty(self).map_err(|error| error.to_string())?;
        let (folder, name) = file.parent().zip(file.file_name()).ok_or("the settings have no place")?;
        std::fs::create_dir_all(folder).map_err(|error| error.to_string())?;
        let never = std::sync::atomic::AtomicBool::new(false);
        let mut staging = dryturn_report::Staging::new(folder, &never);
        staging.file(name.as_ref(), text.as_bytes()).map_err(|error| error.to_string())?;
        staging.put_in_place().map(drop).map_err(|error| error.to_string())
    }

    /// Numbers that would leave nothing to be seen become usual ones.
    fn within_reason(mut self) -> Settings {
        let usual = Settings::default();
        self.zoom = self.zoom.filter(|zoom| (0.5..=3.0).contains(zoom));
        if !(0.3..=0.9).contains(&self.pictures) {
            self.pictures = usual.pictures;
        }
        if !self.rows.iter().all(|row| (0.05..=1.0).contains(row)) {
            self.rows = usual.rows;
        }
        if !self.window.iter().all(|side| (300.0..=20_000.0).contains(side)) {
            self.window = usual.window;
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_comes_back() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deep/view.json");
        let settings = Settings { dark: true, rows: [0.2, 0.3, 0.5], cut: Cut::Across, ..Settings::default() };
        settings.save(&file).unwrap();
        assert_eq!(Settings::load(&file), settings);
    }

    #[test]
    fn one_wrong_key_costs_only_itself() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("view.json");
        std::fs::write(&file, r#"{"dark": true, "rows": "tall", "zoom": 90, "cut": "lengthwise", "unheard": 1}"#)
            .unwrap();
        let expected = Settings { dark: true, cut: Cut::Lengthwise, ..Settings::default() };
        assert_eq!(Settings::load(&file), expected);
        std::fs::write(&file, "not json").unwrap();
        assert_eq!(Settings::load(&file), Settings::default());
        assert_eq!(Settings::load(&folder.path().join("none")), Settings::default());
    }
}
