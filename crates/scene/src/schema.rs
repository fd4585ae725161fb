//! The keys of scene format 1, table by table.
//!
//! One list serves the reader, the search for the nearest key, the search for the table a key belongs to, and the JSON
//! schema that editors complete from.

mod json;
mod keys;

pub use json::schema;

use crate::read::Bound;
use keys::TABLES;

/// A table of the format: its path and the keys it may hold.
pub(crate) struct TableKeys {
    /// Dotted path; `[]` stands for any entry of an array of tables.
    pub(crate) path: &'static str,
    pub(crate) keys: &'static [Key],
}

/// A key of a table.
pub(crate) struct Key {
    pub(crate) name: &'static str,
    pub(crate) form: Form,
    /// What it means, with its unit.
    pub(crate) told: &'static str,
}

/// What a key may hold.
#[derive(Clone, Copy)]
pub(crate) enum Form {
    /// A length: a number in the unit of the file, or a text with its own.
    Length(Bound),
    /// A length a minute, in the same way.
    Rate(Bound),
    /// A plain number.
    Number(Bound),
    /// A whole number between two.
    Count(u64, u64),
    /// True or false.
    Flag,
    /// Any text.
    Text,
    /// One of these words.
    Words(&'static [&'static str]),
    /// A list of any length.
    List(&'static Form),
    /// A list of two.
    Pair(&'static Form),
    /// A list of six.
    Six(&'static Form),
    /// Any of several.
    Either(&'static [Form]),
    /// The table of a schema path.
    Table(&'static str),
    /// A list of tables of a schema path.
    Tables(&'static str),
    /// A table whose keys are names of the user's own.
    Named(&'static Form),
}

/// The keys of the table at a schema path; an empty list for a path that is not in the format.
pub(crate) fn keys_of(path: &str) -> impl Iterator<Item = &'static str> {
    TABLES.iter().filter(move |t| t.path == path).flat_map(|t| t.keys.iter().map(|key| key.name))
}

/// The known key nearest to a misspelt one, if any is near enough.
pub(crate) fn nearest(key: &str, path: &str) -> Option<&'static str> {
    nearest_word(key, keys_of(path))
}

/// Longer words than this are not misspelt, bytes.
const LONGEST_WORD: usize = 40;

/// The known word nearest to a misspelt one, if any is near enough: one change, and one more for every four letters.
pub fn nearest_word<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    if word.len() > LONGEST_WORD {
        return None;
    }
    let allowed = 1 + word.chars().count() / 4;
    known
        .map(|known| (strsim::osa_distance(word, known), known))
        .filter(|&(distance, known)| distance <= allowed && distance < known.len())
        .min()
        .map(|(_, known)| known)
}

/// The table another table's key belongs to, as it is written in a scene (`[machine]`, `[[cutter]]`).
pub(crate) fn home_of(key: &str) -> Option<String> {
    TABLES
        .iter()
        .filter(|t| !t.path.is_empty() && t.path != "zero.system")
        .find(|t| t.keys.iter().any(|known| known.name == key))
        .map(|t| header(t.path))
}

/// A schema path as the header a scene would carry.
pub(crate) fn header(path: &str) -> String {
    if path == "zero.system" {
        return "[zero.g55]".to_owned();
    }
    match path.strip_suffix("[]") {
        Some(array) => format!("[[{array}]]"),
        None => format!("[{}]", path.replace("[]", "")),
    }
}
