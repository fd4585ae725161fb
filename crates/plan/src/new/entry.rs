//! The keys of a scene that is being sketched, each with what speaks for it.

use std::fmt::Write;

/// How a key came to stand in a sketch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It follows from what was asked for.
    Plain,
    /// The programs speak for it.
    Guessed,
    /// Nothing speaks for it, but a scene needs it.
    StandsIn,
    /// Nothing speaks for it; it is left out, in a comment.
    Open,
}

/// A key.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its name within its part.
    pub key: &'static str,
    /// Its value as TOML; of an open one an example.
    pub value: String,
    /// What speaks for it, as sentences; may be empty for a plain one.
    pub because: String,
    /// How it came to stand here.
    pub standing: Standing,
}

impl Entry {
    pub(super) fn plain(key: &'static str, value: impl Into<String>) -> Entry {
        Entry { key, value: value.into(), because: String::new(), standing: Standing::Plain }
    }

    pub(super) fn guessed(key: &'static str, value: impl Into<String>, because: impl Into<String>) -> Entry {
        Entry { key, value: value.into(), because: because.into(), standing: Standing::Guessed }
    }

    pub(super) fn stands_in(key: &'static str, value: impl Into<String>, because: impl Into<String>) -> Entry {
        Entry { key, value: value.into(), because: because.into(), standing: Standing::StandsIn }
    }

    pub(super) fn open(key: &'static str, value: impl Into<String>, because: impl Into<String>) -> Entry {
        Entry { key, value: value.into(), because: because.into(), standing: Standing::Open }
    }
}

/// A table of the scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its header without brackets; empty for the top.
    pub name: String,
    /// Whether it is one of several: `[[cutter]]`.
    pub is_entry: bool,
    /// Lines of the programs that may be about it, each with its file and line.
    pub copied: Vec<String>,
    /// Its keys.
    pub entries: Vec<Entry>,
}

/// Characters of a comment line.
const WIDTH: usize = 100;

impl Part {
    pub(super) fn new(name: impl Into<String>, is_entry: bool, entries: Vec<Entry>) -> Part {
        Part { name: name.into(), is_entry, copied: Vec::new(), entries }
    }

    /// Writes the table; one of which nothing is known becomes a comment as a whole.
    pub(super) fn write(&self, text: &mut String) {
        let is_open = self.entries.iter().all(|entry| entry.standing == Standing::Open);
        let mark = if is_open { "# " } else { "" };
        if !self.name.is_empty() {
            let (open, close) = if self.is_entry { ("[[", "]]") } else { ("[", "]") };
            let _ = writeln!(text, "\n{mark}{open}{}{close}", self.name);
        }
        for line in &self.copied {
            let _ = writeln!(text, "# {}", harmless(line));
        }
        for entry in &self.entries {
            let said = match entry.standing {
                Standing::StandsIn => format!("STANDS IN: {}", entry.because),
                _ => entry.because.clone(),
            };
            for line in folded(&harmless(&said)) {
                let _ = writeln!(text, "# {line}");
            }
            let mark = if entry.standing == Standing::Open { "# " } else { "" };
            let _ = writeln!(text, "{mark}{} = {}", entry.key, entry.value);
        }
    }
}

/// Without anything that a comment may not hold.
fn harmless(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn folded(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < WIDTH => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
