//! What came of several scenes, for the files that speak of all of them.

use std::collections::BTreeMap;
use std::hash::Hasher;

use dryturn_check::{Finding, Rule};
use siphasher::sip128::{Hasher128, SipHasher13};

use crate::cost::rank;
use crate::run::Run;
use crate::text::cut;

/// A file as others may find it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileName {
    /// Path with forward slashes: from the root, or absolute where it lies outside.
    pub path: String,
    /// Whether it lies below the root.
    pub inside: bool,
}

/// What came of one scene.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The scene file; with a bare program that program.
    pub scene: FileName,
    /// What was found, or why nothing could be.
    pub result: Result<Proved, Vec<Refusal>>,
}

/// A scene that was proved.
#[derive(Clone, Debug)]
pub struct Proved {
    /// The results.
    pub run: Run,
    /// The rules that could look, by what the scene describes.
    pub rules: Vec<&'static Rule>,
    /// The programs' files, in the order of the run's programs.
    pub files: Vec<FileName>,
    /// The lines of each finding, in the order of the run's findings; `None` where it has no lines.
    pub quotes: Vec<Option<Quote>>,
}

/// What is kept of a finding's lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quote {
    /// The start of its first line.
    pub text: String,
    /// Characters of its last line.
    pub last_length: usize,
}

/// Why a scene, or a line of its files, was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The file.
    pub file: FileName,
    /// The line, from 1, where it is one.
    pub line: Option<usize>,
    /// What is wrong, and the way out.
    pub text: String,
}

/// Characters kept of a quoted line.
const KEPT: usize = 400;

impl Quote {
    /// From the texts of the first and the last line.
    pub fn new(first: &str, last: &str) -> Quote {
        Quote { text: cut(first, KEPT), last_length: last.chars().count() }
    }
}

/// A finding with all that names its place.
#[derive(Clone, Debug)]
pub(crate) struct Told<'a> {
    pub(crate) found: &'a Finding,
    pub(crate) quote: Option<&'a Quote>,
    /// The program's file, or the scene where it belongs to no program.
    pub(crate) file: &'a FileName,
    /// Stays the same from run to run, and differs from that of every other finding: 32 hexadecimal digits.
    pub(crate) fingerprint: String,
}

impl Told<'_> {
    /// First and last line; the first of the file where it belongs to no line.
    pub(crate) fn lines(&self) -> (u32, u32) {
        self.found.lines.unwrap_or((1, 1))
    }
}

impl Proved {
    fn told<'a>(&'a self, scene: &'a FileName) -> impl Iterator<Item = (&'a Finding, Option<&'a Quote>, &'a FileName)> {
        self.run.findings.iter().enumerate().map(move |(index, found)| {
            let file = found.program.and_then(|program| self.files.get(program)).unwrap_or(scene);
            (found, self.quotes.get(index).and_then(Option::as_ref), file)
        })
    }
}

/// The findings of all scenes: what is not accepted first, the dearest first.
pub(crate) fn told(outcomes: &[Outcome]) -> Vec<Told<'_>> {
    let mut seen = BTreeMap::new();
    let mut all = Vec::new();
    for outcome in outcomes {
        let Ok(proved) = &outcome.result else { continue };
        for (found, quote, file) in proved.told(&outcome.scene) {
            let text = quote.map_or("", |quote| quote.text.trim());
            let [rule, scene, file_path] = [found.rule, &outcome.scene.path, &file.path];
            let subject = hashed(&format!("{rule}\0{scene}\0{file_path}\0{:?}\0{text}", found.cutter));
            // The same again on the same text gets the next number, so that no two are taken for one.
            let ordinal = seen.entry(subject).and_modify(|count| *count += 1).or_insert(0_u32);
            let fingerprint = format!("{:032x}", hashed(&format!("{subject}\0{ordinal}")));
            all.push(Told { found, quote, file, fingerprint });
        }
    }
    all.sort_by_key(|told| (told.found.accepted.is_some(), rank(told.found)));
    all
}

/// The fingerprint of a refusal.
pub(crate) fn refusal_fingerprint(refusal: &Refusal) -> String {
    format!("{:032x}", hashed(&format!("{}\0{}", refusal.file.path, refusal.text)))
}

/// The same on every machine: unlike that of the standard library this hash is fixed.
fn hashed(text: &str) -> u128 {
    let mut hasher = SipHasher13::new();
    hasher.write(text.as_bytes());
    hasher.finish128().as_u128()
}
