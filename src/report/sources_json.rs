//! The limits of a standard for programs: version 1 of our own JSON form, described by
//! `sources.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use crate::diagnostic::{Ground, LimitOutline, Limits};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn sources_schema() -> &'static str {
    include_str!("sources.v1.schema.json")
}

/// Writes the limits as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn sources_json(limits: &Limits, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Sources::new(limits, store), out)
}

#[derive(Serialize)]
struct V1Sources<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    standard: V1Standard<'r>,
    totals: V1Totals,
    limits: Vec<V1Limit<'r>>,
}

#[derive(Serialize, Default)]
struct V1Totals {
    limits: usize,
    source: usize,
    practice: usize,
    nothing: usize,
    reviewed: usize,
}

#[derive(Serialize)]
struct V1Limit<'r> {
    of: &'static str,
    kind: &'r str,
    name: &'r str,
    words: &'r str,
    place: V1Place<'r>,
    rests_on: &'static str,
    source: Option<&'r str>,
    said_by: Option<&'r str>,
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
