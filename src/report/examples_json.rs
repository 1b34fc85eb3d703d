//! The examples for programs: version 2 of our own JSON form, described by `test.v2.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use crate::diagnostic::{Closing, ExampleResult, ExamplesReport, Hole, Missed};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn examples_schema() -> &'static str {
    include_str!("test.v2.schema.json")
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

#[derive(Serialize)]
struct V2Test<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    standard: V1Standard<'r>,
    examples: Vec<V2Example<'r>>,
    rules: Vec<V2Rule<'r>>,
    pins: V2Pins<'r>,
}

#[derive(Serialize)]
struct V2Example<'r> {
    name: &'r str,
    title: Option<&'r str>,
    plan: &'r str,
    place: V1Place<'r>,
    passes: bool,
    expectations: usize,
    failed: Vec<V2Missed<'r>>,
}

#[derive(Serialize)]
struct V2Missed<'r> {
    rule: &'r str,
    expected: &'r str,
    instead: &'r str,
    place: V1Place<'r>,
    rule_place: V1Place<'r>,
}

#[derive(Serialize)]
struct V2Rule<'r> {
    name: &'r str,
    place: V1Place<'r>,
    seen: Vec<V2Seen>,
}

#[derive(Serialize)]
struct V2Seen {
    outcome: &'static str,
    count: u64,
}

#[derive(Serialize)]
struct V2Pins<'r> {
    tried: usize,
    noticed: usize,
    not_possible: usize,
    shipped_not_looked_at: usize,
    holes: Vec<V2Hole<'r>>,
    closings: Vec<V2Closing<'r>>,
    not_read: Vec<V2Unread<'r>>,
}

#[derive(Serialize)]
struct V2Hole<'r> {
    owner: &'r str,
    change: &'static str,
    words: &'r str,
    place: V1Place<'r>,
    closed_by: Option<usize>,
}

#[derive(Serialize)]
struct V2Closing<'r> {
    name: &'r str,
    example: &'r str,
    path: Option<&'r str>,
    plan: Option<&'r str>,
}

#[derive(Serialize)]
struct V2Unread<'r> {
    limit: &'r str,
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
