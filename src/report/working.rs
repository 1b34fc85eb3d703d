//! The working, for people: a block for each figure.

use std::io::{self, Write};

use super::Style;
use super::document::{Document, Fact, fact};
use crate::diagnostic::{Basis, Call, Figure, Input, Interval, Working};
use crate::source::{Span, Store};

/// Writes the working as text.
///
/// # Errors
/// Whatever `out` fails with.
pub fn working(
    working: &Working,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    out.write_all(document(working, store).to_text(style).as_bytes())
}

fn document(working: &Working, store: &Store) -> Document {
    let edition = working.edition.as_deref().map_or_else(
        || "no edition stated".to_owned(),
        |edition| format!("edition {edition}"),
    );
    let mut document = Document::new(&working.name, "");
    document.heading(
        1,
        format!(
            "{}: {}, against {} ({}, {edition})",
            store.get(working.file).name(),
            working.name,
            store.get(working.standard).name(),
            working.standard_name,
        ),
    );
    let mut listed = Listed::default();
    for figure in &working.figures {
        document.heading(
            2,
            match &figure.sentence {
                Some(sentence) => format!("{}: {sentence}", figure.setting),
                None => figure.setting.clone(),
            },
        );
        document.facts(facts(figure, store, &mut listed));
    }
    if working.figures.is_empty() {
        document.paragraph("no figure of this run can be worked out");
        document.gap();
    }
    if !working.idle.is_empty() {
        document.heading(1, "not worked out, as a value is missing");
        let idle = working.idle.iter();
        document.list(idle.map(|idle| format!("{}: {}", idle.setting, idle.missing)));
    }
    legend(working, &mut document);
    document
}

/// Calls whose inputs were listed, with the figure they stand at.
#[derive(Default)]
struct Listed<'r>(Vec<(&'r str, &'r Call)>);

fn facts<'r>(figure: &'r Figure, store: &Store, listed: &mut Listed<'r>) -> Vec<Fact> {
    let mut facts = Vec::new();
    if let Some(stated) = &figure.stated {
        let counts = match (&figure.formula, stated.counts) {
            (Some(_), true) => "; this value counts",
            (Some(_), false) => "; compared only, for it does not say how far it may be off",
            (None, _) => "",
        };
        let source = stated.source.as_ref();
        let source = source.map_or_else(String::new, |source| format!(", per {source}"));
        let at = place(store, stated.span);
        facts.push(fact(
            "stated",
            format!("{} at {at}{source}{counts}", stated.value.words),
        ));
    }
    if let Some(formula) = &figure.formula {
        facts.push(fact("formula", &*formula.short));
        facts.push(fact("numbers", &*formula.numbers));
        for call in &formula.calls {
            listed.call(&figure.setting, call, &mut facts);
        }
    }
    match &figure.result {
        Some(Ok(result)) => facts.push(fact("comes to", came_to(result))),
        Some(Err(reason)) => facts.push(fact("comes to", format!("nothing: {reason}"))),
        None => {}
    }
    let agrees = figure.stated.as_ref().and_then(|stated| stated.agrees);
    facts.extend(agrees.map(|agrees| {
        let words = if agrees {
            "stated and worked-out value agree"
        } else {
            "stated and worked-out value disagree: measure again, one of the two is wrong"
        };
        fact("compared", words)
    }));
    facts.extend(widened_by(figure).map(|words| fact("widened by", words)));
    facts.extend(
        figure
            .source
            .as_deref()
            .map(|source| fact("rests on", source)),
    );
    facts
}

impl<'r> Listed<'r> {
    /// A figure of the physics table: its inputs one by one when there are many, its model and source.
    fn call(&mut self, setting: &'r str, call: &'r Call, facts: &mut Vec<Fact>) {
        let mut from = call.source.clone();
        if call.listed {
            // The first of those that share most: there the inputs stand in full.
            let before = self.0.iter().rev();
            let before = before
                .max_by_key(|(_, before)| shared(call, before))
                .filter(|(_, before)| shared(call, before) * 2 > call.inputs.len());
            let (words, inputs): (String, Vec<&Input>) = match before {
                Some((other, before)) => {
                    let inputs = call.inputs.iter();
                    let differ = inputs.filter(|input| !before.inputs.contains(input));
                    let differ: Vec<&Input> = differ.collect();
                    if before.source == call.source {
                        from = format!("as for {other}");
                    }
                    let but = if differ.is_empty() { "" } else { ", but" };
                    (format!("as for {other}{but}"), differ)
                }
                None => {
                    self.0.push((setting, call));
                    (format!("of {}", call.figure), call.inputs.iter().collect())
                }
            };
            facts.push(Fact {
                rows: inputs.into_iter().map(input).collect(),
                ..fact("inputs", words)
            });
        }
        let accuracy = call.accuracy.as_ref();
        let accuracy = accuracy.map_or_else(String::new, |accuracy| {
            format!("; worked out to {accuracy}")
        });
        let model = format!("{} = {}{accuracy}", call.figure, call.formula);
        facts.push(fact("model", model));
        facts.push(fact("model from", from));
    }
}

/// Name, number, and as it was written where that is something else.
fn input(input: &Input) -> Vec<String> {
    let mut row = vec![input.parameter.to_string(), input.numbers.clone()];
    if input.written != input.numbers {
        row.push(input.written.clone());
    }
    row
}

fn widened_by(figure: &Figure) -> Option<String> {
    let parts = figure.widened_by.iter();
    let mut parts: Vec<String> = parts
        .map(|part| format!("{} ({}) {}", part.setting, part.value, percent(part.share)))
        .collect();
    if parts.is_empty() {
        return None;
    }
    if figure.other_inputs > 0.0 {
        parts.push(format!("all others {}", percent(figure.other_inputs)));
    }
    Some(parts.join(", "))
}

fn place(store: &Store, span: Span) -> String {
    let text = store.get(span.file);
    let line = text.place(span.start as usize).line;
    format!("{}:{line}", text.name())
}

fn legend(working: &Working, document: &mut Document) {
    let rests_on = |basis: Basis| {
        let results = working
            .figures
            .iter()
            .filter_map(|figure| figure.result.as_ref());
        let mut results = results.filter_map(|result| result.as_ref().ok());
        results.any(|result| result.basis == basis)
    };
    if rests_on(Basis::Exact) {
        document.paragraph("exact: no value inside the stated tolerances falls outside");
    }
    if rests_on(Basis::Model) {
        document.paragraph(
            "for the model: no value inside the stated tolerances falls outside what the model gives; what a model \
             may miss of the real thing is told by the errors that stand in its formula",
        );
    }
    if rests_on(Basis::Sampled) {
        document.paragraph(
            "sampled, not exact: the worst found at the points that were tried, since some input moves the figure \
             either way; no ground for `holds` by itself",
        );
    }
    let mut figures = working.figures.iter();
    if figures.any(|figure| !figure.widened_by.is_empty()) {
        document.paragraph(
            "widened by: what the width loses when one input is set to its nominal value, as a share of all such \
             losses",
        );
    }
}

/// How many inputs two calls share.
fn shared(one: &Call, other: &Call) -> usize {
    let same = one
        .inputs
        .iter()
        .filter(|input| other.inputs.contains(input));
    same.count()
}

fn came_to(result: &Interval) -> String {
    let basis = match result.basis {
        Basis::Exact => "exact",
        Basis::Model => "for the model",
        Basis::Sampled => "sampled, not exact",
    };
    format!("{} ({basis})", result.words)
}

/// A share in whole per cent; a small one is not nothing.
fn percent(share: f64) -> String {
    let whole = (share * 100.0).round();
    if whole < 1.0 {
        return "under 1 %".to_owned();
    }
    format!("{whole:.0} %")
}
