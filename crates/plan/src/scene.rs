//! The scene that lies beside a program: what the program takes for granted, as text.

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Along, Side, Turns};
use dryturn_scene::{SceneError, cutter_keys};

use crate::blank::Blank;
use crate::measure::trimmed;
use crate::path::{Path, Place};
use crate::writer::{FeedForm, Posting};

/// What a scene says.
pub(crate) struct Setting<'a> {
    pub(crate) title: &'a str,
    pub(crate) blank: &'a Blank,
    /// A row of the material table, if it is known.
    pub(crate) material: Option<&'a str>,
    /// As on the command line, and the unit of numbers in it.
    pub(crate) cutter: (&'a str, LengthUnit),
    pub(crate) posting: &'a Posting,
    /// The program's file.
    pub(crate) file: &'a str,
    /// Whether the blank turns only between cuts.
    pub(crate) indexed: bool,
    /// Where the tip is at the start.
    pub(crate) start: Place,
}

/// Greatest rate of a rotary axis of which nothing is known, degrees/min: the default of scenes.
const USUAL_TURNING: f64 = 3600.0;

/// The text of a scene.
///
/// # Errors
/// [`SceneError::Argument`] where the cutter is none.
pub(crate) fn text(setting: &Setting<'_>, path: &Path) -> Result<String, SceneError> {
    let cutter = cutter_keys(setting.cutter.0, setting.cutter.1)?.replace(", ", "\n");
    let material = setting.material.map_or(String::new(), |name| format!("material = {}\n", quoted(name)));
    let Setting { title, blank, file, .. } = setting;
    let mut text = format!("format = 1\ntitle = {}\n\n", quoted(title));
    text += &machine(setting, path);
    text += &format!("\n[blank]\n{}{material}", blank.keys());
    text += HOLDING;
    text +=
        "\n[zero]\nx = 0            # at the jaw face\ny = 0            # over the rotary axis\nz = \"axis\"\na = 0\n";
    text += &format!("\n[[cutter]]\nnumber = 1\n{cutter}\n{HOLDER}");
    text += &format!("\n[[program]]\nfile = {}\ncutter = 1\n", quoted(file));
    if setting.indexed {
        text += "indexed = true\n";
    }
    Ok(text)
}

const HOLDING: &str = "
# What holds the blank; until it is described nothing is known of jaws, chuck and center.
# With a hold the blank's length counts from its end inside the jaws.
# [chuck]
# hold = 25
# body = { diameter = 80, length = 45 }
# jaws = { count = 4, width = 14, length = 22, height = 18 }
# [tailstock]
# center = { angle = 60, diameter = 12, quill = 16, extension = 3 }
";

const HOLDER: &str = "# stickout = 40
# holder = [[20, 8], [25, 20]]
";

fn machine(setting: &Setting<'_>, path: &Path) -> String {
    let posting = setting.posting;
    let along = posting.along_letter().to_ascii_lowercase();
    let rotary = posting.rotary_letter();
    let side = if posting.chuck_on == Side::Minus { '-' } else { '+' };
    let turns = if posting.turns == Turns::Iso { "iso" } else { "reversed" };
    let counts = if posting.feed == FeedForm::All { "all" } else { "linear" };
    let turning = USUAL_TURNING.max(path.fastest.ceil());
    let [x, y, z, ..] = posting.words(&setting.start);
    let start = if posting.along == Along::X { [x, y] } else { [y, -x] };
    format!(
        "[machine]\nalong = \"{along}\"\nrotary = \"{rotary}\"\nturns = \"{turns}\"\nchuck_on = \"{side}{along}\"\n\
         feed_counts = \"{counts}\"\n# The rotary axis must be able to turn this fast, or the cut slows down.\n\
         rapid = {{ x = 3000, y = 3000, z = 2000, a = {turning} }}\n\
         start = {{ x = {}, y = {}, z = {}, a = 0 }}\n",
        trimmed(start[0], 6),
        trimmed(start[1], 6),
        trimmed(z, 6),
    )
}

/// A TOML string; what is quoted holds no control characters but a file's name may hold anything else.
pub(crate) fn quoted(text: &str) -> String {
    let escaped: String = text
        .chars()
        .flat_map(|c| match c {
            '"' | '\\' => vec!['\\', c],
            c if c.is_control() => format!("\\u{:04X}", u32::from(c)).chars().collect(),
            c => vec![c],
        })
        .collect();
    format!("\"{escaped}\"")
}
