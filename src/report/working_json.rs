//! The working for programs: version 1 of our own JSON form, described by `working.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Plan, V1Standard, V1Tool};
use crate::diagnostic::{Basis, Call, Figure, Interval, Working};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn working_schema() -> &'static str {
    include_str!("working.v1.schema.json")
}

/// Writes the working as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn working_json(working: &Working, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Working::new(working, store), out)
}

#[derive(Serialize)]
struct V1Working<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    plan: V1Plan<'r>,
    standard: V1Standard<'r>,
    figures: Vec<V1Figure<'r>>,
    not_worked_out: Vec<V1Idle<'r>>,
}

#[derive(Serialize)]
struct V1Idle<'r> {
    setting: &'r str,
    missing: &'r str,
}

#[derive(Serialize)]
struct V1Figure<'r> {
    setting: &'r str,
    kind: &'r str,
    field: &'r str,
    sentence: Option<&'r str>,
    unit: &'r str,
    formula: Option<V1Formula<'r>>,
    result: Option<V1Interval<'r>>,
    reason: Option<&'r str>,
    stated: Option<V1Stated<'r>>,
    widened_by: Vec<V1Widening<'r>>,
    other_inputs: f64,
    source: Option<&'r str>,
}

#[derive(Serialize)]
struct V1Formula<'r> {
    written: &'r str,
    numbers: &'r str,
    place: V1Place<'r>,
    calls: Vec<V1Call<'r>>,
}

#[derive(Serialize)]
struct V1Call<'r> {
    figure: &'r str,
    formula: &'r str,
    source: &'r str,
    accuracy: Option<&'r str>,
    inputs: Vec<V1Input<'r>>,
}

#[derive(Serialize)]
struct V1Input<'r> {
    parameter: &'r str,
    written: &'r str,
    numbers: &'r str,
}

#[derive(Serialize)]
struct V1Interval<'r> {
    /// `null` where there is no lower end.
    low: Option<f64>,
    high: Option<f64>,
    text: &'r str,
    basis: &'static str,
}

#[derive(Serialize)]
struct V1Stated<'r> {
    value: V1Interval<'r>,
    place: V1Place<'r>,
    source: Option<&'r str>,
    agrees: Option<bool>,
}

#[derive(Serialize)]
struct V1Widening<'r> {
    setting: &'r str,
    value: &'r str,
    share: f64,
}

impl<'r> V1Working<'r> {
    fn new(working: &'r Working, store: &'r Store) -> Self {
        Self {
            format: "strikeoff-working",
            version: 1,
            tool: V1Tool::this(),
            plan: V1Plan {
                file: store.get(working.file).name(),
                name: &working.name,
            },
            standard: V1Standard {
                file: store.get(working.standard).name(),
                name: &working.standard_name,
                edition: working.edition.as_deref(),
                digest: &working.digest,
            },
            figures: working
                .figures
                .iter()
                .map(|figure| V1Figure::new(figure, store))
                .collect(),
            not_worked_out: working
                .idle
                .iter()
                .map(|idle| V1Idle {
                    setting: &idle.setting,
                    missing: &idle.missing,
                })
                .collect(),
        }
    }
}

impl<'r> V1Figure<'r> {
    fn new(figure: &'r Figure, store: &'r Store) -> Self {
        let (result, reason) = match &figure.result {
            Some(Ok(result)) => (Some(V1Interval::new(result)), None),
            Some(Err(reason)) => (None, Some(reason.as_str())),
            None => (None, None),
        };
        Self {
            setting: &figure.setting,
            kind: &figure.kind,
            field: &figure.field,
            sentence: figure.sentence.as_deref(),
            unit: &figure.unit,
            formula: figure.formula.as_ref().map(|formula| V1Formula {
                written: &formula.written,
                numbers: &formula.numbers,
                place: V1Place::new(formula.span, store),
                calls: formula.calls.iter().map(V1Call::new).collect(),
            }),
            result,
            reason,
            stated: figure.stated.as_ref().map(|stated| V1Stated {
                value: V1Interval::new(&stated.value),
                place: V1Place::new(stated.span, store),
                source: stated.source.as_deref(),
                agrees: stated.agrees,
            }),
            widened_by: figure
                .widened_by
                .iter()
                .map(|part| V1Widening {
                    setting: &part.setting,
                    value: &part.value,
                    share: part.share,
                })
                .collect(),
            other_inputs: figure.other_inputs,
            source: figure.source.as_deref(),
        }
    }
}

impl<'r> V1Call<'r> {
    fn new(call: &'r Call) -> Self {
        Self {
            figure: &call.figure,
            formula: &call.formula,
            source: &call.source,
            accuracy: call.accuracy.as_deref(),
            inputs: call
                .inputs
                .iter()
                .map(|input| V1Input {
                    parameter: &input.parameter,
                    written: &input.written,
                    numbers: &input.numbers,
                })
                .collect(),
        }
    }
}

impl<'r> V1Interval<'r> {
    fn new(interval: &'r Interval) -> Self {
        let end = |value: f64| Some(value).filter(|value| value.is_finite());
        Self {
            low: end(interval.low),
            high: end(interval.high),
            text: &interval.words,
            basis: match interval.basis {
                Basis::Exact => "exact",
                Basis::Sampled => "sampled",
            },
        }
    }
}
