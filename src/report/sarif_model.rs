//! The part of SARIF 2.1.0 (OASIS Standard, 27 March 2020) that we write.

use serde::Serialize;

/// The address at which OASIS publishes the schema.
pub(super) const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

#[derive(Serialize)]
pub(super) struct Log {
    #[serde(rename = "$schema")]
    pub(super) schema: &'static str,
    pub(super) version: &'static str,
    pub(super) runs: Vec<Run>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Run {
    pub(super) tool: Tool,
    pub(super) column_kind: &'static str,
    pub(super) original_uri_base_ids: BaseIds,
    pub(super) invocations: Vec<Invocation>,
    pub(super) results: Vec<SarifResult>,
    pub(super) properties: serde_json::Value,
}

#[derive(Serialize)]
pub(super) struct BaseIds {
    #[serde(rename = "%SRCROOT%")]
    pub(super) root: Described,
}

#[derive(Serialize)]
pub(super) struct Described {
    pub(super) description: Text,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Invocation {
    pub(super) execution_successful: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) tool_execution_notifications: Vec<Notification>,
}

#[derive(Serialize)]
pub(super) struct Notification {
    pub(super) level: &'static str,
    pub(super) message: Text,
    pub(super) locations: Vec<Location>,
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
    pub(super) rules: Vec<Rule>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Rule {
    pub(super) id: String,
    pub(super) short_description: Text,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) full_description: Option<Text>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) help: Option<Text>,
}

#[derive(Serialize)]
pub(super) struct Text {
    pub(super) text: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct SarifResult {
    pub(super) rule_id: String,
    pub(super) rule_index: usize,
    pub(super) kind: &'static str,
    pub(super) level: &'static str,
    pub(super) message: Text,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) partial_fingerprints: Option<Fingerprints>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) fixes: Vec<Fix>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) suppressions: Vec<Suppression>,
    pub(super) properties: serde_json::Value,
}

/// Section 3.35: a result that someone decided to let pass.
#[derive(Serialize)]
pub(super) struct Suppression {
    pub(super) kind: &'static str,
    pub(super) status: &'static str,
    pub(super) justification: String,
    pub(super) location: Location,
}

#[derive(Serialize)]
pub(super) struct Fingerprints {
    #[serde(rename = "strikeoffIdentity/v1")]
    pub(super) identity: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) id: Option<usize>,
    pub(super) physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) message: Option<Text>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct PhysicalLocation {
    pub(super) artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) region: Option<Region>,
}

#[derive(Serialize, Clone, PartialEq)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactLocation {
    pub(super) uri: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) uri_base_id: Option<&'static str>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    pub(super) start_line: u32,
    pub(super) start_column: u32,
    pub(super) end_line: u32,
    pub(super) end_column: u32,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fix {
    pub(super) description: Text,
    pub(super) artifact_changes: Vec<ArtifactChange>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactChange {
    pub(super) artifact_location: ArtifactLocation,
    pub(super) replacements: Vec<Replacement>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Replacement {
    pub(super) deleted_region: Region,
    pub(super) inserted_content: Text,
}
