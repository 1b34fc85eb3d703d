//! Settings, sets and records in words.

use super::clauses::Clause;
use super::symbolic_run::{Setting, Situation, unit_of};
use crate::constraint::{Domain, End, Segment};
use crate::source::{Span, Store, visible};
use crate::types::{Condition, ExpressionNode, Read, RecordId, Requirement, Standard, Type, Value};
use crate::units::{Unit, show_exact};

/// `dryer.dwell`
pub(super) fn setting(standard: &Standard, (kind, field): Setting) -> String {
    format!(
        "{}.{}",
        standard.kind(kind).name,
        standard.field(kind, field).name
    )
}

/// `soft-white, team-shirt`
pub(super) fn combination(standard: &Standard, records: &[RecordId]) -> String {
    let names: Vec<String> = records
        .iter()
        .map(|record| visible(&standard.record(*record).name).into_owned())
        .collect();
    names.join(", ")
}

/// ``ink `soft-white` and garment `team-shirt` ``
pub(super) fn combination_in_full(standard: &Standard, records: &[RecordId]) -> String {
    let name = |record: &RecordId| {
        let of = standard.record(*record);
        format!("{} `{}`", standard.kind(of.kind).name, visible(&of.name))
    };
    let names: Vec<String> = records.iter().map(name).collect();
    list(&names)
}

/// `a, b and c`
pub(super) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `280 to 320 °F`, `above 5 mm`, `round or bevel`.
pub(super) fn set(standard: &Standard, setting: Setting, of: &Domain, unit: &Unit) -> String {
    let segments = of.segments().iter().map(|segment| numbers(segment, unit));
    let mut parts: Vec<String> = segments.collect();
    let no_yes = || vec!["no".to_owned(), "yes".to_owned()];
    let all = match &standard.field(setting.0, setting.1).ty {
        Type::Choice(words) => words.clone(),
        Type::YesNo => no_yes(),
        _ => Vec::new(),
    };
    let words = all.into_iter().zip(0..);
    parts.extend(
        words
            .filter(|(_, number)| of.of_words().holds(*number))
            .map(|(word, _)| word),
    );
    if parts.is_empty() {
        "no value".to_owned()
    } else {
        parts.join(" or ")
    }
}

/// `280 to 320 °F`, `above 5 mm`.
fn numbers(segment: &Segment, unit: &Unit) -> String {
    let number = |end: &End| show_exact(&end.value, unit);
    match (&segment.low, &segment.high) {
        (Some(low), Some(high)) if low.value == high.value => {
            format!("exactly {}", number(low))
        }
        (Some(low), Some(high)) => {
            let (first, last) = (number(low), number(high));
            // `80 to 200 /in` rather than `80 /in to 200 /in`.
            let suffix = format!(" {}", unit.spelling());
            let first = first.strip_suffix(&suffix).unwrap_or(&first);
            match (low.open, high.open) {
                (false, false) => format!("{first} to {last}"),
                (true, false) => format!("above {} and at most {last}", number(low)),
                (false, true) => format!("at least {} and below {last}", number(low)),
                (true, true) => format!("above {} and below {last}", number(low)),
            }
        }
        (Some(low), None) if low.open => format!("above {}", number(low)),
        (Some(low), None) => format!("at least {}", number(low)),
        (None, Some(high)) if high.open => format!("below {}", number(high)),
        (None, Some(high)) => format!("at most {}", number(high)),
        (None, None) => "anything".to_owned(),
    }
}

/// The unit that a requirement is written in: of its range, or of its first number that fits.
pub(super) fn unit(
    standard: &Standard,
    situation: &Situation,
    clause: &Clause,
    of: Setting,
) -> Unit {
    let requirement = &standard.rules[clause.rule].requirements[clause.requirement];
    match ranges(standard, situation, requirement).into_iter().next() {
        Some((unit, _)) => unit,
        None => own_unit(standard, clause, of),
    }
}

/// The unit of the first number of a requirement that fits a setting, else that of the setting.
pub(super) fn own_unit(standard: &Standard, clause: &Clause, of: Setting) -> Unit {
    let own = unit_of(standard, of);
    let requirement = &standard.rules[clause.rule].requirements[clause.requirement];
    let mut found = None;
    constants(&requirement.condition, &mut |unit| {
        if found.is_none()
            && unit.dimension() == own.dimension()
            && unit.is_point() == own.is_point()
        {
            found = Some(unit.clone());
        }
    });
    found.unwrap_or(own)
}

fn constants(condition: &Condition, found: &mut dyn FnMut(&Unit)) {
    condition.visit_expressions(&mut |part| {
        if let ExpressionNode::Constant(constant) = &part.node {
            found(&constant.unit);
        }
    });
}

/// The ranges of records that a requirement reads in a situation: unit and place.
pub(super) fn ranges(
    standard: &Standard,
    situation: &Situation,
    requirement: &Requirement,
) -> Vec<(Unit, Span)> {
    let mut found = Vec::new();
    requirement.condition.reads(&mut |read| {
        let Read::Range(path) = read else { return };
        let Some((kind, field)) = path.setting() else {
            return;
        };
        let Some(record) = situation.records.get(&kind).copied().flatten() else {
            return;
        };
        if let Some(stated) = super::symbolic_run::inherited(standard, record, field)
            && let Value::Range(limits) = &stated.value
        {
            found.push((limits.unit.clone(), stated.span));
        }
    });
    found
}

/// Whether a requirement reads a value that a record of the situation states as a span.
pub(super) fn reads_a_span(
    standard: &Standard,
    situation: &Situation,
    requirement: &Requirement,
) -> bool {
    let mut found = false;
    requirement.condition.reads(&mut |read| {
        let Read::Value(path) = read else { return };
        let of = path.setting().and_then(|(kind, field)| {
            let record = situation.records.get(&kind).copied().flatten()?;
            super::symbolic_run::inherited(standard, record, field)
        });
        if let Some(Value::Quantity(quantity)) = of.map(|stated| &stated.value) {
            found |= quantity.low < quantity.high;
        }
    });
    found
}

/// Whether a place lies in a spec that ships, rather than in a file of the shop's own.
pub(super) fn ships(store: &Store, span: Span) -> bool {
    store.get(span.file).name().starts_with('<')
}
