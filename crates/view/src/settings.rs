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

    /// Reads them key by key; what cannot be used is as at first, and told.
    pub fn load(file: &Path) -> (Settings, Option<Damage>) {
        let bytes = match std::fs::read(file) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return (Settings::default(), None),
            Err(error) => return (Settings::default(), Some(Damage { what: error.to_string(), kept: None })),
        };
        let (settings, what) = Settings::of(&bytes);
        (settings, what.map(|what| Damage { what, kept: keep_beside(file) }))
    }

    /// The settings in the bytes of a file, and what of them could not be used.
    fn of(bytes: &[u8]) -> (Settings, Option<String>) {
        let given: serde_json::Value = match serde_json::from_slice(bytes) {
            Ok(given @ serde_json::Value::Object(_)) => given,
            Ok(_) => return (Settings::default(), Some("there are no settings in it".to_owned())),
            Err(error) => return (Settings::default(), Some(error.to_string())),
        };
        let mut settings = Settings::default();
        let mut wrong = Vec::new();
        let whole = serde_json::to_value(&settings).unwrap_or_default();
        for key in whole.as_object().map(|it| it.keys().cloned().collect::<Vec<_>>()).unwrap_or_default() {
            let Some(value) = given.get(&key) else { continue };
            match settings.with(&key, value) {
                Some(with) => settings = with,
                None => wrong.push(key),
            }
        }
        (settings, (!wrong.is_empty()).then(|| format!("of no use is what it says of {}", wrong.join(", "))))
    }

    /// These settings with one of them as it is given; `None` if that is none, or would leave nothing to be seen.
    fn with(&self, key: &str, value: &serde_json::Value) -> Option<Settings> {
        let mut whole = serde_json::to_value(self).ok()?;
        whole[key] = value.clone();
        serde_json::from_value::<Settings>(whole).ok().filter(Settings::is_within_reason)
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

    /// Whether something can be seen with them.
    fn is_within_reason(&self) -> bool {
        self.zoom.is_none_or(|zoom| (0.5..=3.0).contains(&zoom))
            && (0.3..=0.9).contains(&self.pictures)
            && self.rows.iter().all(|row| (0.05..=1.0).contains(row))
            && self.window.iter().all(|side| (300.0..=20_000.0).contains(side))
            && self.shows_anything()
    }

    /// Whether any pane or the words are shown.
    pub(crate) fn shows_anything(&self) -> bool {
        self.words || self.shown.contains(&true)
    }
}

/// What is wrong with a file of settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// What, in words.
    what: String,
    /// Where the file is kept as it was; `None` where it could not be.
    kept: Option<PathBuf>,
}

impl Damage {
    /// Whether new settings may take the place of the file: not before it is safe.
    pub(crate) fn may_be_replaced(&self) -> bool {
        self.kept.is_some()
    }

    /// All of it in a sentence.
    pub(crate) fn told(&self, file: &Path) -> String {
        let kept = match &self.kept {
            Some(kept) => format!("it is kept as {}", kept.display()),
            None => "nothing will be written over it".to_owned(),
        };
        format!("the settings in {} are not all in force ({}); {kept}", file.display(), self.what)
    }
}

/// Most damaged files that are kept.
const KEPT: u32 = 99;

/// Copies a file to a name beside it that is free; gives that name.
fn keep_beside(file: &Path) -> Option<PathBuf> {
    let name = |number: u32| file.with_extension(format!("damaged-{number}.json"));
    let free = (1..=KEPT).map(name).find(|it| !it.exists())?;
    std::fs::copy(file, &free).ok().map(|_| free)
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
        assert_eq!(Settings::load(&file), (settings, None));
        assert_eq!(Settings::load(&folder.path().join("none")), (Settings::default(), None));
    }

    #[test]
    fn one_wrong_key_costs_only_itself_and_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("view.json");
        let text = r#"{"dark": true, "rows": "tall", "zoom": 90, "cut": "lengthwise", "unheard": 1,
            "shown": [false, false, false], "words": false}"#;
        std::fs::write(&file, text).unwrap();
        let (settings, damage) = Settings::load(&file);
        let shown = [false; 3];
        assert_eq!(settings, Settings { dark: true, cut: Cut::Lengthwise, shown, ..Settings::default() });
        let told = damage.unwrap().told(&file);
        assert!(told.contains("rows, words, zoom") && !told.contains("dark"), "{told}");
        assert_eq!(std::fs::read_to_string(folder.path().join("view.damaged-1.json")).unwrap(), text);
    }

    #[test]
    fn a_file_that_cannot_be_read_is_kept_beside_each_time() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("view.json");
        for (number, text) in ["not json", "[1]", "{\"dark\": tr"].into_iter().enumerate() {
            std::fs::write(&file, text).unwrap();
            let (settings, damage) = Settings::load(&file);
            assert_eq!(settings, Settings::default());
            assert!(damage.unwrap().may_be_replaced());
            let kept = folder.path().join(format!("view.damaged-{}.json", number + 1));
            assert_eq!(std::fs::read_to_string(kept).unwrap(), text);
        }
    }

    #[test]
    fn what_cannot_even_be_opened_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        // A folder where the file should be.
        let (settings, damage) = Settings::load(folder.path());
        let damage = damage.unwrap();
        assert_eq!((settings, damage.may_be_replaced()), (Settings::default(), false));
        assert!(damage.told(folder.path()).contains("nothing will be written over it"));
    }
}
