//! The strike-offs for programs: version 1 of our own JSON form, described by `test.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use crate::diagnostic::{Closing, Hole, Missed, StrikeReport, Struck};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn strike_schema() -> &'static str {
    include_str!("test.v1.schema.json")
}

/// Writes the report as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn strike_json(report: &StrikeReport, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Test::new(report, store), out)
}

#[derive(Serialize)]
struct V1Test<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    standard: V1Standard<'r>,
    strike_offs: Vec<V1StrikeOff<'r>>,
    rules: Vec<V1Rule<'r>>,
    pins: V1Pins<'r>,
}

#[derive(Serialize)]
struct V1StrikeOff<'r> {
    name: &'r str,
    title: Option<&'r str>,
    plan: &'r str,
    place: V1Place<'r>,
    passes: bool,
    expectations: usize,
    failed: Vec<V1Missed<'r>>,
}

#[derive(Serialize)]
struct V1Missed<'r> {
    rule: &'r str,
    expected: &'r str,
    instead: &'r str,
    place: V1Place<'r>,
    rule_place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Rule<'r> {
    name: &'r str,
    place: V1Place<'r>,
    seen: Vec<V1Seen>,
}

#[derive(Serialize)]
struct V1Seen {
    outcome: &'static str,
    count: u64,
}

#[derive(Serialize)]
struct V1Pins<'r> {
    tried: usize,
    noticed: usize,
    not_possible: usize,
    shipped_not_looked_at: usize,
    holes: Vec<V1Hole<'r>>,
    closings: Vec<V1Closing<'r>>,
    not_read: Vec<V1Unread<'r>>,
}

#[derive(Serialize)]
struct V1Hole<'r> {
    owner: &'r str,
    change: &'static str,
    words: &'r str,
    place: V1Place<'r>,
    closed_by: Option<usize>,
}

#[derive(Serialize)]
struct V1Closing<'r> {
    name: &'r str,
    strike_off: &'r str,
    path: Option<&'r str>,
    plan: Option<&'r str>,
}

#[derive(Serialize)]
struct V1Unread<'r> {
    limit: &'r str,
    place: V1Place<'r>,
}

impl<'r> V1Test<'r> {
    fn new(report: &'r StrikeReport, store: &'r Store) -> Self {
        let standard = &report.standard;
        let pins = &report.pins;
        Self {
            format: "strikeoff-test",
            version: 1,
            tool: V1Tool::this(),
            standard: V1Standard {
                file: store.get(standard.file).name(),
                name: &standard.name,
                edition: standard.edition.as_deref(),
                digest: &standard.digest,
            },
            strike_offs: report
                .strike_offs
                .iter()
                .map(|struck| V1StrikeOff::new(struck, store))
                .collect(),
            rules: report
                .rules
                .iter()
                .map(|rule| V1Rule {
                    name: &rule.name,
                    place: V1Place::new(rule.span, store),
                    seen: rule
                        .outcomes()
                        .map(|(outcome, count)| V1Seen {
                            outcome: outcome.slug(),
                            count,
                        })
                        .collect(),
                })
                .collect(),
            pins: V1Pins {
                tried: pins.tried,
                noticed: pins.noticed,
                not_possible: pins.beyond,
                shipped_not_looked_at: pins.shipped,
                holes: pins
                    .holes
                    .iter()
                    .map(|hole| V1Hole::new(hole, store))
                    .collect(),
                closings: pins.closings.iter().map(V1Closing::new).collect(),
                not_read: pins
                    .unread
                    .iter()
                    .map(|(span, limit)| V1Unread {
                        limit,
                        place: V1Place::new(*span, store),
                    })
                    .collect(),
            },
        }
    }
}

impl<'r> V1StrikeOff<'r> {
    fn new(struck: &'r Struck, store: &'r Store) -> Self {
        let missed = |missed: &'r Missed| V1Missed {
            rule: &missed.rule,
            expected: &missed.expected,
            instead: &missed.instead,
            place: V1Place::new(missed.span, store),
            rule_place: V1Place::new(missed.rule_span, store),
        };
        Self {
            name: &struck.name,
            title: struck.title.as_deref(),
            plan: store.get(struck.plan).name(),
            place: V1Place::new(struck.span, store),
            passes: struck.failed.is_empty(),
            expectations: struck.expected,
            failed: struck.failed.iter().map(missed).collect(),
        }
    }
}

impl<'r> V1Hole<'r> {
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

impl<'r> V1Closing<'r> {
    fn new(closing: &'r Closing) -> Self {
        Self {
            name: &closing.name,
            strike_off: &closing.block,
            path: closing.path.as_deref(),
            plan: closing.plan.as_deref(),
        }
    }
}
