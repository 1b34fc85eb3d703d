//! Records and their parents: values taken over, limits loosened only aloud.

use super::mismatch::show_limits;
use super::model::{Limits, RecordId, Source, Standard, Value};
use crate::diagnostic::{Code, Diagnostic};

/// Cuts parent links that form a circle, and says so.
pub(super) fn cut_cycles(standard: &mut Standard, problems: &mut Vec<Diagnostic>) {
    for index in 0..standard.records.len() {
        let start = RecordId::at(index);
        let mut at = standard.records[index].parent;
        let mut steps = 0;
        while let Some(id) = at {
            steps += 1;
            if id == start {
                let record = &standard.records[index];
                if let Some(span) = record.header {
                    problems.push(
                        Diagnostic::new(
                            Code::InheritanceCycle,
                            span,
                            if record.parent == Some(start) {
                                format!("`{}` is its own parent", record.name)
                            } else {
                                format!("`{}` is its own parent, by way of others", record.name)
                            },
                            "closes the circle",
                        )
                        .help("take one `is` out"),
                    );
                }
                standard.records[index].parent = None;
                break;
            }
            if steps > standard.records.len() {
                break;
            }
            at = standard.record(id).parent;
        }
    }
}

/// Checks that ranges are wider than the parent's only where `loosens` says so.
pub(super) fn check_loosening(standard: &Standard, problems: &mut Vec<Diagnostic>) {
    for record in &standard.records {
        let Some(parent) = record.parent else {
            continue;
        };
        for (field, stated) in record.own_values() {
            let name = &standard.field(record.kind, field).name;
            let above = inherited(standard, parent, field);
            let wider = match (&stated.value, above.map(|(value, _)| value)) {
                (Value::Range(mine), Some(Value::Range(theirs))) => wider(mine, theirs),
                _ => false,
            };
            match (wider, &stated.loosened) {
                (true, None) => {
                    let mut diagnostic = Diagnostic::new(
                        Code::LoosenedSilently,
                        stated.span,
                        format!("`{name}` of `{}` is wider than its parent's", record.name),
                        "wider",
                    );
                    if let Some((Value::Range(theirs), span)) = above {
                        diagnostic = diagnostic
                            .related(span, format!("the parent allows {}", show_limits(theirs)));
                    }
                    problems.push(diagnostic.help(format!(
                        "write `loosens {name} … because \"reason\"`, or stay inside the parent's range"
                    )));
                }
                (true, Some(reason)) if reason.trim().is_empty() => problems.push(
                    Diagnostic::new(
                        Code::LoosenedSilently,
                        stated.span,
                        format!("`{name}` of `{}` is loosened without a reason", record.name),
                        "wider",
                    )
                    .help("write the reason between the quotes of `because`"),
                ),
                (false, Some(_)) => problems.push(
                    Diagnostic::new(
                        Code::LoosensNothing,
                        stated.span,
                        format!(
                            "`{name}` of `{}` is not wider than its parent's",
                            record.name
                        ),
                        "loosens nothing",
                    )
                    .help("take the word `loosens` and the reason out"),
                ),
                _ => {}
            }
        }
    }
}

/// Says which ranges and limits of records have no source.
pub(super) fn check_sources(standard: &Standard, problems: &mut Vec<Diagnostic>) {
    for record in &standard.records {
        for (field, stated) in record.own_values() {
            if !matches!(stated.value, Value::Range(_)) || stated.per.is_some() {
                continue;
            }
            // A tightened limit may rest on what its parent's rests on.
            let sourced = record
                .parent
                .is_some_and(|parent| source_above(standard, parent, field).is_some());
            if sourced {
                continue;
            }
            let name = &standard.field(record.kind, field).name;
            problems.push(
                Diagnostic::new(
                    Code::NoSource,
                    stated.span,
                    format!(
                        "the limit `{name}` of `{}` does not say what it rests on",
                        record.name
                    ),
                    "no source",
                )
                .help("write `per \"source\"` behind it, or `per practice`"),
            );
        }
    }
}

fn inherited(
    standard: &Standard,
    from: RecordId,
    field: super::FieldId,
) -> Option<(&Value, crate::source::Span)> {
    let mut at = Some(from);
    for _ in 0..=standard.records.len() {
        let record = standard.record(at?);
        if let Some(Some(stated)) = record.values.get(field.0 as usize) {
            return Some((&stated.value, stated.span));
        }
        at = record.parent;
    }
    None
}

fn source_above(standard: &Standard, from: RecordId, field: super::FieldId) -> Option<&Source> {
    let mut at = Some(from);
    for _ in 0..=standard.records.len() {
        let record = standard.record(at?);
        if let Some(Some(stated)) = record.values.get(field.0 as usize)
            && let Some(source) = &stated.per
        {
            return Some(source);
        }
        at = record.parent;
    }
    None
}

/// Whether `mine` allows something that `theirs` does not.
fn wider(mine: &Limits, theirs: &Limits) -> bool {
    let below = match (&mine.low, &theirs.low) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(mine), Some(theirs)) => mine < theirs,
    };
    let above = match (&mine.high, &theirs.high) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(mine), Some(theirs)) => mine > theirs,
    };
    below || above
}
