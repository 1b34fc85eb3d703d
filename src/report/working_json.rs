//! The working for programs: version 1 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use super::json_head::{self, V1Plan, V1Standard, V1Tool};
use super::schema;
use crate::diagnostic::{Basis, Call, Figure, Interval, Working};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn working_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Working<'_>>(&SCHEMA)
}

/// Writes the working as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn working_json(working: &Working, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Working::new(working, store), out)
}

/// How the figures of one run come about. Within version 1 fields are only added: this schema is exact for the
/// release it ships with, and a reader should pass over fields that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff working, version 1", extend("$id" = "urn:strikeoff:working:v1"))]
struct V1Working<'r> {
    /// Always `strikeoff-working`.
    #[schemars(extend("const" = "strikeoff-working"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// The plan.
    plan: V1Plan<'r>,
    /// The standard.
    standard: V1Standard<'r>,
    /// The figures; those that others rest on come first.
    figures: Vec<V1Figure<'r>>,
    /// Figures that lack a value; empty when figures were asked for by name.
    not_worked_out: Vec<V1Idle<'r>>,
}

/// One of them.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "idle", deny_unknown_fields)]
struct V1Idle<'r> {
    /// The figure.
    setting: &'r str,
    /// What is missing, in words.
    missing: &'r str,
}

/// A figure.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "figure", deny_unknown_fields)]
struct V1Figure<'r> {
    /// The setting with its thing, as in `screen base: opening`.
    setting: &'r str,
    /// The kind of the thing.
    kind: &'r str,
    /// The setting's own name.
    field: &'r str,
    /// What the standard says of it.
    sentence: Option<&'r str>,
    /// The unit of its numbers; empty for a plain number.
    unit: &'r str,
    /// How it is worked out; null for a value that can only be stated.
    formula: Option<V1Formula<'r>>,
    /// What the formula comes to; null when it comes to nothing.
    result: Option<V1Interval<'r>>,
    /// Why the formula comes to nothing.
    reason: Option<&'r str>,
    /// The stated value; whether it is the one that counts, it says itself.
    stated: Option<V1Stated<'r>>,
    /// The inputs that widen the result most, widest first.
    widened_by: Vec<V1Widening<'r>>,
    /// The share of all inputs that are not listed.
    #[schemars(extend("maximum" = 1))]
    other_inputs: f64,
    /// What range or formula rest on.
    source: Option<&'r str>,
}

/// A formula.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "formula", deny_unknown_fields)]
struct V1Formula<'r> {
    /// As written in the standard.
    written: &'r str,
    /// With every path replaced by its value; calls with more than three inputs are written `name(…)`, their
    /// inputs stand in `calls`.
    numbers: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// The figures of the physics table it calls.
    calls: Vec<V1Call<'r>>,
}

/// A call.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "call", deny_unknown_fields)]
struct V1Call<'r> {
    /// The figure.
    figure: &'r str,
    /// Its formula, in words or symbols.
    formula: &'r str,
    /// Where that comes from.
    source: &'r str,
    /// How far it may be from its model's true value, where that is more than rounding.
    accuracy: Option<&'r str>,
    /// In order.
    inputs: Vec<V1Input<'r>>,
}

/// An input.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "input", deny_unknown_fields)]
struct V1Input<'r> {
    /// Its name.
    parameter: &'r str,
    /// As written in the formula.
    written: &'r str,
    /// What was put in.
    numbers: &'r str,
}

/// An interval in the figure's unit, rounded outward.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "interval", deny_unknown_fields)]
struct V1Interval<'r> {
    /// `null` where there is no lower end.
    low: Option<f64>,
    /// Upper end; null where there is none.
    high: Option<f64>,
    /// As people read it, with its unit.
    text: &'r str,
    /// `exact`: no value inside the stated tolerances falls outside. `model`: none falls outside what a model gives,
    /// whatever that may miss. `sampled`: the worst found at the points that were tried.
    #[schemars(extend("enum" = ["exact", "model", "sampled"]))]
    basis: &'static str,
}

/// A stated value.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "stated", deny_unknown_fields)]
struct V1Stated<'r> {
    /// An interval in the figure's unit, rounded outward.
    value: V1Interval<'r>,
    /// A stretch of a text.
    place: V1Place<'r>,
    /// What the statement rests on.
    source: Option<&'r str>,
    /// Whether it is the one that counts, and not what the formula comes to.
    counts: bool,
    /// Whether it agrees with the result; null when that is not known.
    agrees: Option<bool>,
}

/// An input.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "widening", deny_unknown_fields)]
struct V1Widening<'r> {
    /// The setting.
    setting: &'r str,
    /// Its value as stated.
    value: &'r str,
    /// Its share of what all inputs take from the width.
    #[schemars(extend("maximum" = 1))]
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
                counts: stated.counts,
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
                Basis::Model => "model",
                Basis::Sampled => "sampled",
            },
        }
    }
}
