//! What the programs ask of the controller beyond the common.

use dryturn_program::CodeName;
use dryturn_program::describe::Feature;

use super::Reading;
use super::entry::Entry;

/// Codes by the key that lets them through; G as ten times its number.
const CODES: [(&str, &str, &[u32]); 2] = [
    ("canned", "true", &[810, 820, 830, 840, 850, 860, 870, 880, 890, 980, 990]),
    ("tool_length", "\"table\"", &[430]),
];

/// The keys of `[controller]` that the programs need, each with the line that needs it.
pub(super) fn needs(readings: &[Reading]) -> Vec<Entry> {
    let seen = |is: &dyn Fn(&Feature) -> bool| {
        readings.iter().find_map(|reading| {
            let found = reading.told.uncommon.iter().find(|one| is(&one.what))?;
            let what = match found.what {
                Feature::Code(code) => code.to_string(),
                Feature::Formulas => "a parameter or a formula".to_owned(),
                Feature::Flow => "a subprogram or a loop".to_owned(),
            };
            Some(format!("{}:{} uses {what}, so the controller must take it.", reading.file, found.seen.line))
        })
    };
    let mut entries = Vec::new();
    for (key, value, codes) in CODES {
        let is_one = |what: &Feature| matches!(what, Feature::Code(CodeName::G(code)) if codes.contains(code));
        entries.extend(seen(&is_one).map(|because| Entry::guessed(key, value, because)));
    }
    entries
        .extend(seen(&|what| *what == Feature::Formulas).map(|because| Entry::guessed("expressions", "true", because)));
    let is_flow = |what: &Feature| matches!(what, Feature::Flow | Feature::Code(CodeName::M(97..=99)));
    entries.extend(seen(&is_flow).map(|because| Entry::guessed("subprograms", "true", because)));
    let compensated = readings.iter().find_map(|reading| Some((reading, reading.told.compensation?)));
    entries.extend(compensated.map(|(reading, seen)| {
        let because = format!("{}:{} uses G41 or G42, so the controller must take it.", reading.file, seen.line);
        Entry::guessed("compensation", "true", because)
    }));
    entries
}
