//! The examples for programs: version 2 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use super::schema;
use crate::diagnostic::{Closing, ExampleResult, ExamplesReport, Hole, Missed};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn examples_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V2Test<'_>>(&SCHEMA)
}

/// Writes the report as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn examples_json(
    report: &ExamplesReport,
    store: &Store,
    out: &mut dyn Write,
) -> io::Result<()> {
    json_head::write(&V2Test::new(report, store), out)
}

/// What the examples of a standard came to, and what they pin. Within version 2 fields are only added: this
/// schema is exact for the release it ships with, and a reader should pass over fields that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff test, version 2", extend("$id" = "urn:strikeoff:test:v2"))]
struct V2Test<'r> {
    /// Always `strikeoff-test`.
    #[schemars(extend("const" = "strikeoff-test"))]
    format: &'static str,
    /// Always 2.
    #[schemars(extend("const" = 2))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// The standard.
    standard: V1Standard<'r>,
    /// The examples, in the order written.
    examples: Vec<V2Example<'r>>,
    /// The rules, in the order written.
    rules: Vec<V2Rule<'r>>,
    /// Which small changes of the standard the examples notice.
    pins: V2Pins<'r>,
}

/// An example.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-example", deny_unknown_fields)]
struct V2Example<'r> {
    /// Its name.
    name: &'r str,
    /// Its title.
    title: Option<&'r str>,
    /// The file of its plan.
    plan: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// Whether all happened as expected.
    passes: bool,
    /// How many expectations it has.
    expectations: usize,
    /// What did not happen.
    failed: Vec<V2Missed<'r>>,
}

/// An expectation that failed.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-missed", deny_unknown_fields)]
struct V2Missed<'r> {
    /// The rule.
    rule: &'r str,
    /// What was expected.
    expected: &'r str,
    /// What happened instead.
    instead: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// A stretch of a text.
    rule_place: V1Place<'r>,
}

/// A rule.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-rule", deny_unknown_fields)]
struct V2Rule<'r> {
    /// Its name.
    name: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// Outcomes that were expected and came.
    seen: Vec<V2Seen>,
}

/// An outcome.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-seen", deny_unknown_fields)]
struct V2Seen {
    /// Which.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply"]))]
    outcome: &'static str,
    /// How often.
    count: u64,
}

/// Which small changes of the standard the examples notice.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-pins", deny_unknown_fields)]
struct V2Pins<'r> {
    /// How many changes were tried.
    tried: usize,
    /// How many are noticed.
    noticed: usize,
    /// Changes left out, as no possible run could tell them from what stands there.
    not_possible: usize,
    /// Limits in specs that ship, left out without `--shipped`.
    shipped_not_looked_at: usize,
    /// Changes that are not noticed.
    holes: Vec<V2Hole<'r>>,
    /// Texts that close holes.
    closings: Vec<V2Closing<'r>>,
    /// Limits that no rule reads.
    not_read: Vec<V2Unread<'r>>,
}

/// A hole.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-hole", deny_unknown_fields)]
struct V2Hole<'r> {
    /// The rule or record it is in.
    owner: &'r str,
    /// The sort of change.
    #[schemars(extend("enum" = ["up", "down", "flipped", "edge", "dropped"]))]
    change: &'static str,
    /// The change in words.
    words: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// Index into `closings`; `null` where no text was found.
    closed_by: Option<usize>,
}

/// An example and its plan.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-closing", deny_unknown_fields)]
struct V2Closing<'r> {
    /// The example's name.
    name: &'r str,
    /// Its text.
    example: &'r str,
    /// Where the plan would be written; `null` for a plan that is there.
    path: Option<&'r str>,
    /// The text of the plan.
    plan: Option<&'r str>,
}

/// A limit.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "v2-unread", deny_unknown_fields)]
struct V2Unread<'r> {
    /// Which.
    limit: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
}

impl<'r> V2Test<'r> {
    fn new(report: &'r ExamplesReport, store: &'r Store) -> Self {
        let standard = &report.standard;
        let pins = &report.pins;
        Self {
            format: "strikeoff-test",
            version: 2,
            tool: V1Tool::this(),
            standard: V1Standard {
                file: store.get(standard.file).name(),
                name: &standard.name,
                edition: standard.edition.as_deref(),
                digest: &standard.digest,
            },
            examples: report
                .examples
                .iter()
                .map(|result| V2Example::new(result, store))
                .collect(),
            rules: report
                .rules
                .iter()
                .map(|rule| V2Rule {
                    name: &rule.name,
                    place: V1Place::new(rule.span, store),
                    seen: rule
                        .outcomes()
                        .map(|(outcome, count)| V2Seen {
                            outcome: outcome.slug(),
                            count,
                        })
                        .collect(),
                })
                .collect(),
            pins: V2Pins {
                tried: pins.tried,
                noticed: pins.noticed,
                not_possible: pins.beyond,
                shipped_not_looked_at: pins.shipped,
                holes: pins
                    .holes
                    .iter()
                    .map(|hole| V2Hole::new(hole, store))
                    .collect(),
                closings: pins.closings.iter().map(V2Closing::new).collect(),
                not_read: pins
                    .unread
                    .iter()
                    .map(|(span, limit)| V2Unread {
                        limit,
                        place: V1Place::new(*span, store),
                    })
                    .collect(),
            },
        }
    }
}

impl<'r> V2Example<'r> {
    fn new(result: &'r ExampleResult, store: &'r Store) -> Self {
        let missed = |missed: &'r Missed| V2Missed {
            rule: &missed.rule,
            expected: &missed.expected,
            instead: &missed.instead,
            place: V1Place::new(missed.span, store),
            rule_place: V1Place::new(missed.rule_span, store),
        };
        Self {
            name: &result.name,
            title: result.title.as_deref(),
            plan: store.get(result.plan).name(),
            place: V1Place::new(result.span, store),
            passes: result.failed.is_empty(),
            expectations: result.expected,
            failed: result.failed.iter().map(missed).collect(),
        }
    }
}

impl<'r> V2Hole<'r> {
    fn new(hole: &'r Hole, store: &'r Store) -> Self {
        Self {
            owner: &hole.owner,
            change: hole.nudge.slug(),
            words: &hole.words,
            place: V1Place::new(hole.span, store),
            closed_by: hole.closed_by,
        }
    }
}

impl<'r> V2Closing<'r> {
    fn new(closing: &'r Closing) -> Self {
        Self {
            name: &closing.name,
            example: &closing.block,
            path: closing.path.as_deref(),
            plan: closing.plan.as_deref(),
        }
    }
}
