//! The limits of a standard for programs: version 1 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use super::schema;
use crate::diagnostic::{Ground, LimitOutline, Limits};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn sources_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Sources<'_>>(&SCHEMA)
}

/// Writes the limits as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn sources_json(limits: &Limits, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Sources::new(limits, store), out)
}

/// The limits of one standard, with where each is stated and what it rests on. Within version 1 fields are only
/// added: this schema is exact for the release it ships with, and a reader should pass over fields that it does
/// not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff sources, version 1", extend("$id" = "urn:strikeoff:sources:v1"))]
struct V1Sources<'r> {
    /// Always `strikeoff-sources`.
    #[schemars(extend("const" = "strikeoff-sources"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// The standard.
    standard: V1Standard<'r>,
    /// The rules that the standard does without, a sentence each.
    taken_out: &'r [String],
    /// How many limits there are.
    totals: V1Totals,
    /// Every limit: clauses of rules first, then values of records, each in the order of the texts.
    limits: Vec<V1Limit<'r>>,
}

/// How many limits there are.
#[derive(Serialize, JsonSchema, Default)]
#[schemars(rename = "totals", deny_unknown_fields)]
struct V1Totals {
    /// All.
    limits: usize,
    /// Those on a named source.
    source: usize,
    /// Those on practice alone.
    practice: usize,
    /// Those that say nothing of what they rest on.
    nothing: usize,
    /// Those with the day of a review.
    reviewed: usize,
}

/// One limit.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "limit", deny_unknown_fields)]
struct V1Limit<'r> {
    /// Whether it is a clause of a rule or a value of a record.
    #[schemars(extend("enum" = ["rule", "record"]))]
    of: &'static str,
    /// `rule`, or the kind of the record.
    kind: &'r str,
    /// The rule or the record.
    name: &'r str,
    /// The clause, on one line.
    words: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// What it rests on.
    #[schemars(extend("enum" = ["source", "practice", "nothing"]))]
    rests_on: &'static str,
    /// The named source; null for the others.
    source: Option<&'r str>,
    /// Who says what it rests on, where it is not said at the limit itself: `the rule`, or the record it takes
    /// its source from.
    said_by: Option<&'r str>,
    /// The day it was last gone through; null where none is stated.
    #[schemars(extend("pattern" = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"))]
    reviewed: Option<&'r str>,
}

impl<'r> V1Sources<'r> {
    fn new(limits: &'r Limits, store: &'r Store) -> Self {
        let mut totals = V1Totals::default();
        for limit in &limits.limits {
            totals.limits += 1;
            totals.reviewed += usize::from(limit.rests.reviewed.is_some());
            match limit.rests.on {
                Ground::Source(_) => totals.source += 1,
                Ground::Practice => totals.practice += 1,
                Ground::Nothing => totals.nothing += 1,
            }
        }
        let title = &limits.title;
        Self {
            format: "strikeoff-sources",
            version: 1,
            tool: V1Tool::this(),
            standard: V1Standard {
                file: store.get(title.file).name(),
                name: &title.name,
                edition: title.edition.as_deref(),
                digest: &title.digest,
            },
            taken_out: &title.taken_out,
            totals,
            limits: limits
                .limits
                .iter()
                .map(|limit| V1Limit::new(limit, store))
                .collect(),
        }
    }
}

impl<'r> V1Limit<'r> {
    fn new(limit: &'r LimitOutline, store: &'r Store) -> Self {
        let (rests_on, source) = match &limit.rests.on {
            Ground::Source(name) => ("source", Some(name.as_str())),
            Ground::Practice => ("practice", None),
            Ground::Nothing => ("nothing", None),
        };
        Self {
            of: if limit.of_rule { "rule" } else { "record" },
            kind: &limit.kind,
            name: &limit.name,
            words: &limit.words,
            place: V1Place::new(limit.span, store),
            rests_on,
            source,
            said_by: limit.said_by.as_deref(),
            reviewed: limit.rests.reviewed.as_deref(),
        }
    }
}
