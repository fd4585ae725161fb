//! The part of SARIF 2.1.0 that is written, as structs: the standard's names, in the order of its examples.

use serde::Serialize;

#[derive(Serialize)]
pub(super) struct Log<'a> {
    #[serde(rename = "$schema")]
    pub(super) schema: &'static str,
    pub(super) version: &'static str,
    pub(super) runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Run<'a> {
    pub(super) tool: Tool,
    pub(super) invocations: [Invocation; 1],
    pub(super) original_uri_base_ids: BaseIds,
    pub(super) column_kind: &'static str,
    pub(super) results: Vec<Outcome<'a>>,
    pub(super) properties: RunProperties<'a>,
}

#[derive(Serialize)]
pub(super) struct BaseIds {
    #[serde(rename = "%SRCROOT%")]
    pub(super) root: BaseId,
}

#[derive(Serialize)]
pub(super) struct BaseId {
    pub(super) description: Text,
}

#[derive(Serialize)]
pub(super) struct Text {
    pub(super) text: String,
}

#[derive(Serialize)]
pub(super) struct Message {
    pub(super) text: String,
    pub(super) markdown: String,
}

#[derive(Serialize)]
pub(super) struct Tool {
    pub(super) driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Driver {
    pub(super) name: &'static str,
    pub(super) semantic_version: &'static str,
    pub(super) rules: Vec<Descriptor>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Descriptor {
    pub(super) id: &'static str,
    pub(super) short_description: Text,
    pub(super) full_description: Text,
    pub(super) help: Message,
    pub(super) default_configuration: Configuration,
    pub(super) properties: Tags,
}

#[derive(Serialize)]
pub(super) struct Configuration {
    pub(super) level: &'static str,
}

#[derive(Serialize)]
pub(super) struct Tags {
    pub(super) tags: [&'static str; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Invocation {
    pub(super) execution_successful: bool,
    pub(super) tool_execution_notifications: Vec<Notification>,
}

#[derive(Serialize)]
pub(super) struct Notification {
    pub(super) level: &'static str,
    pub(super) message: Text,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) locations: Vec<Location>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Location {
    pub(super) physical_location: PhysicalLocation,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct PhysicalLocation {
    pub(super) artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) region: Option<Region>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactLocation {
    pub(super) uri: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) uri_base_id: Option<&'static str>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    pub(super) start_line: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) start_column: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) end_line: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) end_column: Option<u64>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Outcome<'a> {
    pub(super) rule_id: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) rule_index: Option<usize>,
    pub(super) level: &'static str,
    pub(super) message: Message,
    pub(super) locations: [Location; 1],
    pub(super) partial_fingerprints: Fingerprints,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) suppressions: Vec<Suppression>,
    pub(super) properties: Properties<'a>,
}

/// The one name that code scanning keeps alerts by.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fingerprints {
    pub(super) primary_location_line_hash: String,
}

#[derive(Serialize)]
pub(super) struct Suppression {
    pub(super) kind: &'static str,
    pub(super) status: &'static str,
    pub(super) justification: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Properties<'a> {
    pub(super) costs: &'static str,
    pub(super) blocks: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) cutter: Option<u32>,
    #[serde(rename = "where", skip_serializing_if = "Option::is_none")]
    pub(super) place: Option<crate::json::PlaceRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) value: Option<crate::json::Number>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) unit: Option<&'static str>,
    #[serde(skip_serializing_if = "str::is_empty")]
    pub(super) cure: &'a str,
}

#[derive(Serialize)]
pub(super) struct RunProperties<'a> {
    pub(super) caution: &'static str,
    pub(super) scenes: Vec<SceneProperties<'a>>,
}

#[derive(Serialize)]
pub(super) struct SceneProperties<'a> {
    pub(super) scene: &'a str,
    pub(super) title: &'a str,
    pub(super) verdict: &'static str,
}
