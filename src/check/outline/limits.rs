//! Every limit of a standard: clauses of rules, and the values of records that rules measure against.

use std::collections::HashSet;

use crate::diagnostic::{LimitOutline, Limits, Rests};
use crate::source::Store;
use crate::types::{
    Condition, FieldId, Hop, KindId, Path, PlaceInRun, Read, RecordId, RuleForm, Standard, Value,
};

use super::wording::of_condition;
use super::{cell, rests, title, wording};

/// The limits of a standard, with where each is stated and what it rests on.
///
/// A limit is a `shall`, `should` or `may` of a rule; a range that a record states; and a value of a
/// record that things of a run refer to (an ink, not the run's own press), where a requirement names it.
/// What is physically possible for a setting is no limit but a guard against slips, and is left out.
#[must_use]
pub fn limits(store: &Store, standard: &Standard) -> Limits {
    let mut found = Vec::new();
    for rule in &standard.rules {
        if rule.form != RuleForm::Rule {
            continue;
        }
        let own = rule.requirements.iter().enumerate();
        let own = own.map(|(index, requirement)| {
            let words = cell::of_requirement(store, rule, index);
            let words = words.unwrap_or_else(|| of_condition(store, &requirement.condition));
            let per = requirement.per.as_ref();
            (requirement.verb.word(), words, per, requirement.span)
        });
        let permitted = rule.permissions.iter().map(|condition| {
            let words = of_condition(store, condition);
            ("may", words, None, condition.span)
        });
        for (verb, words, per, span) in own.chain(permitted) {
            let by_rule = per.is_none() && rule.per.is_some();
            let written = words.written;
            found.push(LimitOutline {
                kind: "rule".to_owned(),
                name: rule.name.clone(),
                of_rule: true,
                words: format!("{verb} {written}"),
                span,
                rests: rests(per.or(rule.per.as_ref())),
                said_by: by_rule.then(|| "the rule".to_owned()),
            });
        }
    }
    let named = named_in_requirements(standard);
    for (id, record) in standard.numbered_records() {
        let kind = standard.kind(record.kind);
        for (field, dial) in &record.calibrations {
            let name = &standard.field(record.kind, *field).name;
            for point in &dial.points {
                let value = wording::on_one_line(store.slice(point.found_at));
                found.push(LimitOutline {
                    kind: kind.name.clone(),
                    name: record.name.clone(),
                    of_rule: false,
                    words: format!("{name} {} at {value}", point.words()),
                    span: point.span,
                    rests: rests(point.per.as_ref()),
                    said_by: None,
                });
            }
        }
        for (field, stated) in record.own_values() {
            let is_limit = match stated.value {
                Value::Range(_) => true,
                Value::Quantity(_) => named.contains(&(record.kind, field)),
                _ => false,
            };
            if !is_limit {
                continue;
            }
            let (rests, said_by) = rests_of_value(standard, id, field);
            let value = wording::on_one_line(store.slice(stated.span));
            let name = &standard.field(record.kind, field).name;
            let loosens = if stated.loosened.is_some() {
                "loosens "
            } else {
                ""
            };
            found.push(LimitOutline {
                kind: kind.name.clone(),
                name: record.name.clone(),
                of_rule: false,
                words: format!("{loosens}{name} {value}"),
                span: stated.span,
                rests,
                said_by,
            });
        }
    }
    Limits {
        title: title(standard),
        limits: found,
    }
}

/// A tightened limit rests on what its parent's rests on, if it says nothing itself.
pub(super) fn rests_of_value(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> (Rests, Option<String>) {
    let mut at = record;
    for _ in 0..=standard.records.len() {
        let here = standard.record(at);
        let stated = here.values.get(field.0 as usize).and_then(Option::as_ref);
        if let Some(per) = stated.and_then(|stated| stated.per.as_ref()) {
            let other = (at != record).then(|| here.name.clone());
            return (rests(Some(per)), other);
        }
        match here.parent {
            Some(parent) => at = parent,
            None => break,
        }
    }
    (Rests::nothing(), None)
}

/// Settings of records that requirements name.
fn named_in_requirements(standard: &Standard) -> HashSet<(KindId, FieldId)> {
    let mut named = HashSet::new();
    for rule in &standard.rules {
        for requirement in &rule.requirements {
            in_condition(&requirement.condition, &mut |path| {
                if let Some(Hop::Field(kind, field)) = path.hops.last()
                    && standard.kind(*kind).place == PlaceInRun::Record
                {
                    named.insert((*kind, *field));
                }
            });
        }
    }
    named
}

/// The paths of the quantities and ranges that a condition compares.
fn in_condition(condition: &Condition, found: &mut dyn FnMut(&Path)) {
    condition.reads(&mut |read| match read {
        Read::Value(path) | Read::Range(path) => found(path),
        _ => {}
    });
}
