//! SARIF 2.1.0, the OASIS standard for what analysis tools find: one run, however many scenes were proved.
//!
//! What a scene accepts is there as suppressed, with the reason. Services take only so much, so that no more than 5 000
//! results are written, the dearest, and a notification says how many there were.

mod rows;

use dryturn_check::{Cost, Rule};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

use crate::json::{JsonError, Number, packed, place};
use crate::markdown::escaped;
use crate::outcome::{FileName, Outcome, Refusal, Told, told};
use crate::rule_page::{rule_markdown, rule_page};
use crate::summary::CAUTION;
use crate::text::plain;
use rows::*;

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";
/// Most results that are written.
const MOST: usize = 5000;
/// Characters a line of help has.
const HELP_WIDTH: usize = 80;

/// The text of a SARIF file.
///
/// # Errors
///
/// [`JsonError::NotFinite`] when a result is infinite or not a number.
pub fn sarif(outcomes: &[Outcome]) -> Result<String, JsonError> {
    let all = told(outcomes);
    let mut notifications: Vec<Notification> =
        outcomes.iter().filter_map(|outcome| outcome.result.as_ref().err()).flatten().map(refused).collect();
    let executed = notifications.is_empty();
    if all.len() > MOST {
        let text = format!("{} findings are not told here: of {} these are the dearest.", all.len() - MOST, all.len());
        notifications.push(Notification { level: "note", message: Text { text }, locations: Vec::new() });
    }
    packed(&Log {
        schema: SCHEMA,
        version: "2.1.0",
        runs: [Run {
            tool: Tool { driver: driver() },
            invocations: [Invocation { execution_successful: executed, tool_execution_notifications: notifications }],
            original_uri_base_ids: BaseIds { root: BaseId { description: Text { text: ROOT.to_owned() } } },
            column_kind: "unicodeCodePoints",
            results: all.iter().take(MOST).map(result).collect(),
            properties: RunProperties { caution: CAUTION, scenes: outcomes.iter().filter_map(scene).collect() },
        }],
    })
}

const ROOT: &str = "The nearest folder above the scenes that holds .git; without one the scenes' own folder.";

fn scene(outcome: &Outcome) -> Option<SceneProperties<'_>> {
    let run = &outcome.result.as_ref().ok()?.run;
    Some(SceneProperties { scene: &outcome.scene.path, title: &run.title, verdict: run.verdict.word() })
}

fn driver() -> Driver {
    Driver {
        name: "dryturn",
        semantic_version: env!("CARGO_PKG_VERSION"),
        rules: Rule::all().map(descriptor).collect(),
    }
}

fn descriptor(rule: &'static Rule) -> Descriptor {
    Descriptor {
        id: rule.name,
        short_description: Text { text: rule.summary.to_owned() },
        full_description: Text { text: rule.when.to_owned() },
        help: Message { text: rule_page(rule, HELP_WIDTH), markdown: rule_markdown(rule) },
        default_configuration: Configuration { level: rule.gravest.word() },
        properties: Tags { tags: [rule.cost.word()] },
    }
}

fn refused(refusal: &Refusal) -> Notification {
    let region = refusal.line.map(|line| Region {
        start_line: line as u64,
        start_column: None,
        end_line: None,
        end_column: None,
    });
    let location = PhysicalLocation { artifact_location: artifact(&refusal.file), region };
    Notification {
        level: "error",
        message: Text { text: plain(&refusal.text) },
        locations: vec![Location { physical_location: location }],
    }
}

fn result<'a>(told: &Told<'a>) -> rows::Outcome<'a> {
    let found = told.found;
    let location = PhysicalLocation { artifact_location: artifact(told.file), region: Some(region(told)) };
    rows::Outcome {
        rule_id: found.rule,
        rule_index: Rule::all().position(|rule| rule.name == found.rule),
        level: found.severity.word(),
        message: message(&found.text, &found.cure),
        locations: [Location { physical_location: location }],
        partial_fingerprints: Fingerprints { primary_location_line_hash: told.fingerprint.clone() },
        suppressions: found.accepted.iter().map(|why| suppression(why)).collect(),
        properties: Properties {
            costs: Cost::of(found.rule).word(),
            blocks: found.blocks,
            cutter: found.cutter,
            place: found.place.as_ref().map(place),
            value: found.value.map(Number),
            unit: found.unit,
            cure: &found.cure,
        },
    }
}

fn suppression(why: &str) -> Suppression {
    Suppression { kind: "external", status: "accepted", justification: plain(why) }
}

/// What is wrong and what to do, as text and as markdown: some readers show only one of the two.
fn message(text: &str, cure: &str) -> Message {
    let (text, cure) = (plain(text), plain(cure));
    if cure.is_empty() {
        return Message { markdown: escaped(&text), text };
    }
    Message {
        markdown: format!("{}\n\n**What to do:** {}", escaped(&text), escaped(&cure)),
        text: format!("{text} {cure}"),
    }
}

/// Whole lines, from the first character of the first to behind the last of the last.
fn region(told: &Told<'_>) -> Region {
    let (first, last) = told.lines();
    let end_column = told.quote.map(|quote| quote.last_length as u64 + 1);
    Region { start_line: first.into(), start_column: end_column.map(|_| 1), end_line: Some(last.into()), end_column }
}

/// What may stand in a path of a URI as it is (RFC 3986).
const PATH: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'.').remove(b'_').remove(b'~');

fn artifact(file: &FileName) -> ArtifactLocation {
    let path = utf8_percent_encode(&file.path, PATH);
    if file.inside {
        return ArtifactLocation { uri: path.to_string(), uri_base_id: Some("%SRCROOT%") };
    }
    let slash = if file.path.starts_with('/') { "" } else { "/" };
    ArtifactLocation { uri: format!("file://{slash}{path}"), uri_base_id: None }
}

#[cfg(test)]
mod tests;
