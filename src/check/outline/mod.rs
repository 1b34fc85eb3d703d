//! A standard laid out for reading, and its limits with what they rest on.
//!
//! Which kinds its clauses are ordered by is read off the standard itself: a kind decides when one
//! record of it makes a `when` true and another makes it false. No kind is known by name.

mod cell;
mod chapters;
mod decide;
mod limits;
mod wording;

use crate::diagnostic::{
    ClauseOutline, Deciding, Ground, Group, Outline, RecordOutline, Rests, RuleOutline, Title,
    ValueOutline,
};
use crate::source::Store;
use crate::types::{
    Grounds, KindId, ReadEvery, RecordId, Rule, RuleForm, Source, Standard, TakenOut, Value,
};

pub use chapters::deviation_chapter;
use decide::{Given, stated};
pub use limits::limits;

/// Lays a standard out for reading.
#[must_use]
pub fn outline(store: &Store, standard: &Standard) -> Outline {
    let (mut rules, mut cautions) = (Vec::new(), Vec::new());
    let mut numbers = vec![None; standard.rules.len()];
    for (rule, number) in standard.rules.iter().zip(&mut numbers) {
        let laid_out = of_rule(store, rule, standard);
        match rule.form {
            RuleForm::Rule => {
                *number = Some(rules.len());
                rules.push(laid_out);
            }
            RuleForm::Caution(_) => cautions.push(laid_out),
        }
    }
    let mut groups = Vec::new();
    for (id, kind) in standard.numbered_kinds() {
        let records = of_kind(standard, id);
        if records.is_empty() {
            continue;
        }
        let brought: Vec<Vec<bool>> = records
            .iter()
            .map(|record| brings_in(standard, id, *record))
            .collect();
        // One record for all of a rule's runs tells nothing apart.
        let differ = |rule: usize| {
            let first = brought.first().and_then(|rules| rules.get(rule));
            brought.iter().any(|rules| rules.get(rule) != first)
        };
        let deciding: Vec<bool> = (0..standard.rules.len()).map(differ).collect();
        for (rule, decided) in deciding.iter().enumerate() {
            let by = records.iter().zip(&brought);
            let by = by.filter(|(_, rules)| *decided && rules.get(rule) == Some(&true));
            let names: Vec<String> = by
                .map(|(record, _)| standard.record(*record).name.clone())
                .collect();
            let place = numbers.get(rule).copied().flatten();
            if let (false, Some(place)) = (names.is_empty(), place)
                && let Some(laid_out) = rules.get_mut(place)
            {
                laid_out.brought_in_by.push(Deciding {
                    kind: kind.name.clone(),
                    records: names,
                });
            }
        }
        let records = records
            .iter()
            .zip(&brought)
            .map(|(record, mine)| {
                let own = mine.iter().zip(&deciding).zip(&numbers);
                let own = own.filter_map(|((mine, decided), number)| {
                    (*mine && *decided).then_some(*number).flatten()
                });
                of_record(store, standard, *record, own.collect())
            })
            .collect::<Vec<_>>();
        groups.push(Group {
            kind: kind.name.clone(),
            decides: records.iter().any(|record| !record.rules.is_empty()),
            records,
        });
    }
    groups.sort_by_key(|group| !group.decides);
    Outline {
        title: title(standard),
        files: standard.files.clone(),
        rules,
        cautions,
        groups,
        chapters: chapters::examples(standard).into_iter().collect(),
    }
}

pub(super) fn title(standard: &Standard) -> Title {
    Title {
        file: standard.root,
        name: standard.name.clone(),
        edition: standard.edition.clone(),
        digest: standard.digest.0.clone(),
        taken_out: standard.taken_out.iter().map(TakenOut::words).collect(),
    }
}

/// The records of a kind, in the order declared.
fn of_kind(standard: &Standard, kind: KindId) -> Vec<RecordId> {
    standard.records_of(kind).map(|(id, _)| id).collect()
}

/// Which rules a record brings in: it makes one `when` true and none false.
fn brings_in(standard: &Standard, kind: KindId, record: RecordId) -> Vec<bool> {
    let given = Given {
        standard,
        kind,
        record,
    };
    let rules = standard.rules.iter();
    rules
        .map(|rule| {
            let decided: Vec<Option<bool>> =
                rule.when.iter().map(|when| given.decides(when)).collect();
            decided.contains(&Some(true)) && !decided.contains(&Some(false))
        })
        .collect()
}

/// What something rests on.
fn rests(source: Option<&Source>) -> Rests {
    let Some(source) = source else {
        return Rests::nothing();
    };
    Rests {
        on: match &source.grounds {
            Grounds::Named(name) | Grounds::Law(name) => Ground::Source(name.clone()),
            Grounds::Practice => Ground::Practice,
        },
        reviewed: source.reviewed.map(|day| day.to_string()),
    }
}

fn of_rule(store: &Store, rule: &Rule, standard: &Standard) -> RuleOutline {
    let mut clauses: Vec<ClauseOutline> = rule
        .requirements
        .iter()
        .enumerate()
        .map(|(index, requirement)| ClauseOutline {
            verb: requirement.verb.word(),
            condition: cell::of_requirement(store, rule, index)
                .unwrap_or_else(|| wording::of_condition(store, &requirement.condition)),
            rests: rests(requirement.per.as_ref()),
            span: requirement.span,
        })
        .collect();
    clauses.extend(rule.permissions.iter().map(|permission| ClauseOutline {
        verb: "may",
        condition: wording::of_condition(store, permission),
        rests: Rests::nothing(),
        span: permission.span,
    }));
    RuleOutline {
        name: rule.name.clone(),
        title: rule.title.clone(),
        span: rule.span,
        each: rule.each.map(|kind| standard.kind(kind).name.clone()),
        when: rule
            .when
            .iter()
            .map(|when| wording::of_condition(store, when))
            .collect(),
        clauses,
        say: match &rule.form {
            RuleForm::Rule => None,
            RuleForm::Caution(words) => Some(words.clone()),
        },
        read_every: rule.read_every.as_ref().map(ReadEvery::words),
        when_out: rule.when_out.clone(),
        because: rule.because.clone(),
        rests: rests(rule.per.as_ref()),
        adjust: rule
            .adjust
            .iter()
            .map(|adjust| adjust.path.text.clone())
            .collect(),
        cautions: rule.cautions.clone(),
        brought_in_by: Vec::new(),
    }
}

fn of_record(store: &Store, standard: &Standard, id: RecordId, rules: Vec<usize>) -> RecordOutline {
    let record = standard.record(id);
    let kind = standard.kind(record.kind);
    let mut values = Vec::new();
    for (number, field) in kind.numbered_fields() {
        let Some((from, value)) = stated(standard, id, number) else {
            continue;
        };
        if matches!(value.value, Value::Wrong) {
            continue;
        }
        values.push(ValueOutline {
            setting: field.name.clone(),
            value: wording::of_value(store, &value.value, value.span),
            sentence: field.sentence.clone(),
            rests: limits::rests_of_value(standard, from, number).0,
            from: (from != id).then(|| standard.record(from).name.clone()),
            loosened: value.loosened.clone(),
        });
    }
    // A child has the dials of its parent; they stand with it.
    for (number, dial) in &record.calibrations {
        let field = standard.field(record.kind, *number);
        for point in &dial.points {
            values.push(ValueOutline {
                setting: format!("{} {}", field.name, point.words()),
                value: wording::of_value(
                    store,
                    &Value::Quantity(Box::new(point.found.clone())),
                    point.found_at,
                ),
                sentence: field.sentence.clone(),
                rests: rests(point.per.as_ref()),
                from: None,
                loosened: None,
            });
        }
    }
    RecordOutline {
        name: record.name.clone(),
        title: record.title.clone(),
        span: record.header,
        parent: record
            .parent
            .map(|parent| standard.record(parent).name.clone()),
        values,
        rules,
    }
}
