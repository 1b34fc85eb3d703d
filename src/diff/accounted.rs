//! Every part of a compiled standard that can touch what a text comes to, and who answers for it.
//!
//! Nothing may be headed *same meaning* because nobody looked: each struct of the model is taken apart here to the
//! last field, so that a part that is new in the language does not compile before it is placed. Where it can change an
//! outcome, an entry must say so (`entries`), and what it bears on beside clauses must be open until a text shows it
//! (`Entry::through`).

use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::ChangeKind;
use crate::diff::canonical;
use crate::diff::conditions::dependencies::Name;
use crate::diff::context::{DiffContext, Entry};
use crate::diff::pairing::clauses::{Clause, RulePair};
use crate::diff::texts::focus::TextChange;
use crate::types::{
    Deviation, Field, Instance, Kind, Move, Parts, Pieces, PlaceInRun, Requirement, Rule, RuleForm,
    Standard, Table, Value,
};

/// A part that can touch an outcome.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Part {
    /// What entries call it.
    subject: String,
    /// What it says, in canonical words.
    says: String,
}

fn add(found: &mut BTreeSet<Part>, subject: &str, says: String) {
    found.insert(Part {
        subject: subject.to_owned(),
        says,
    });
}

/// All parts of a standard; `rules` has other names for rules.
/// `figures` are the settings that both sides work out.
fn parts(
    standard: &Standard,
    rules_named: &BTreeMap<&str, &str>,
    figures: &BTreeSet<Name>,
) -> BTreeSet<Part> {
    // No outcome: where it stands, its name, its edition, examples, digest, and indexes into what is listed.
    let Standard {
        root: _,
        name: _,
        edition: _,
        kinds,
        kind_names: _,
        records,
        record_names: _,
        rules,
        examples: _,
        deviations,
        // A rule that is taken out is none of the rules: what is done without it comes of that.
        taken_out: _,
        digest: _,
        files: _,
        ..
    } = standard;
    let mut found = BTreeSet::new();
    for (name, unit) in standard.own_units() {
        let size = canonical::number(unit.factor());
        let says = format!("{size} {:?}", unit.dimension());
        add(&mut found, &format!("unit {name}"), says);
    }
    for kind in kinds {
        of_kind(standard, kind, &mut found);
    }
    for record in records {
        of_record(standard, record, figures, &mut found);
    }
    let named = |name: &'_ str| (*rules_named.get(name).unwrap_or(&name)).to_owned();
    for rule in rules {
        of_rule(standard, rule, &named(&rule.name), &mut found);
    }
    for deviation in deviations {
        of_deviation(
            standard,
            deviation,
            &named(&deviation.rule_name),
            &mut found,
        );
    }
    found
}

fn of_kind(standard: &Standard, kind: &Kind, found: &mut BTreeSet<Part>) {
    let Kind {
        name,
        span: _,
        sentence: _,
        place,
        fields,
        field_names: _,
        parts,
    } = kind;
    add(found, &format!("kind {name}"), format!("{place:?}"));
    let mut order = Vec::new();
    for field in fields {
        // Words, dials and times rank and explain repairs; sources are read by people.
        let Field {
            name: own,
            span: _,
            ty,
            possible,
            formula: _,
            reference: _,
            sentence: _,
            sort,
            steps: _,
            takes: _,
            per: _,
        } = field;
        let worked_out = canonical::formula(standard, field);
        let possible = possible.as_ref().map(canonical::limits);
        let ty = canonical::ty(standard, ty);
        let says = format!("{ty} {possible:?} {} {worked_out}", sort.words());
        add(found, &format!("{name}.{own}"), says);
        if field.formula.is_none() {
            order.push(own.as_str());
        }
    }
    if *place == PlaceInRun::Step {
        add(found, &format!("step {name}"), order.join(" "));
    }
    for whole in parts {
        let Parts {
            fields: of,
            total,
            span: _,
        } = whole;
        let mut names: Vec<&str> = of
            .iter()
            .map(|field| fields[field.0 as usize].name.as_str())
            .collect();
        names.sort_unstable();
        let total = canonical::number(total);
        let says = format!("{} {total}", names.join(" "));
        add(found, &format!("parts of {name}"), says);
    }
}

fn of_record(
    standard: &Standard,
    record: &Instance,
    figures: &BTreeSet<Name>,
    found: &mut BTreeSet<Part>,
) {
    let Instance {
        kind,
        name,
        title: _,
        header: _,
        insert: _,
        values,
        calibrations,
        parent,
        // A record of the standard is what a plan lists; only a thing of a plan can be not listed.
        not_listed: _,
    } = record;
    let kind = standard.kind(*kind);
    let subject = format!("{} {name}", kind.name);
    let parent = parent.map(|id| standard.record(id).name.clone());
    add(found, &subject, format!("record is {parent:?}"));
    for (field, stated) in kind.fields.iter().zip(values) {
        let Some(stated) = stated else { continue };
        let mut says = canonical::value(standard, &field.ty, &stated.value);
        // Beside a formula, the last digit says how far the two may be apart.
        let figure = figures.contains(&(kind.name.clone(), field.name.clone()));
        if let (true, Value::Quantity(quantity)) = (figure, &stated.value) {
            says = format!("{says} to {}", canonical::number(&quantity.resolution));
        }
        add(found, &format!("{subject}: {}", field.name), says);
    }
    for (field, calibration) in calibrations {
        let name = &kind.fields[field.0 as usize].name;
        add(
            found,
            &format!("{subject}: {name}"),
            calibration.canonical(),
        );
    }
}

fn of_rule(standard: &Standard, rule: &Rule, called: &str, found: &mut BTreeSet<Part>) {
    // A reason, a source, what to try first and what is told with it change no outcome.
    let Rule {
        form,
        name: _,
        span: _,
        title: _,
        each: _,
        when: _,
        requirements,
        permissions: _,
        table,
        read_every: _,
        when_out: _,
        because: _,
        per: _,
        adjust: _,
        cautions: _,
    } = rule;
    if *form != RuleForm::Rule {
        return;
    }
    if let Some(table) = table {
        let Table {
            rows: _,
            columns: _,
            cells: _,
        } = &**table;
    }
    for requirement in requirements {
        let Requirement {
            when: _,
            cell: _,
            verb: _,
            condition: _,
            per: _,
            span: _,
        } = requirement;
    }
    // What `canonical::rule` says is reach, verbs, conditions, and the cells of a table with their places.
    add(found, called, canonical::rule(standard, rule));
}

fn of_deviation(
    standard: &Standard,
    deviation: &Deviation,
    called: &str,
    found: &mut BTreeSet<Part>,
) {
    let Deviation {
        rule_name: _,
        rule: _,
        title: _,
        span: _,
        run,
        when,
        moves,
        because: _,
        approved: _,
        until,
        pieces,
        malformed,
    } = deviation;
    let mut says = format!(
        "{:?} {} {:?} {malformed}",
        run.as_ref().map(|(name, _)| name),
        canonical::all(standard, when),
        until.map(|day| day.to_string())
    );
    for moved in moves {
        let Move {
            limit,
            dimension: _,
            figure,
            span: _,
            sites: _,
        } = moved;
        says = format!("{says} {figure} {}", canonical::number(&limit.exact));
    }
    if let Some(pieces) = pieces {
        let Pieces {
            most,
            unit: _,
            counted_by,
            span: _,
        } = pieces;
        let by = &standard.field(counted_by.0, counted_by.1).name;
        says = format!("{says} {} of {by}", canonical::number(most));
    }
    add(found, &format!("deviation from {called}"), says);
}

/// What differs and no entry speaks of: each gets one of its own, open both ways.
pub(in crate::diff) fn unspoken(
    desk: &DiffContext<'_, '_>,
    rules: &[RulePair],
    clauses: &[Clause],
    entries: &[Entry],
) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    let named: BTreeMap<&str, &str> = rules
        .iter()
        .filter_map(|pair| {
            let (was, is) = (&old.rules[pair.old?].name, &new.rules[pair.new?].name);
            Some((was.as_str(), is.as_str()))
        })
        .collect();
    let worked_out = |standard: &Standard| -> BTreeSet<Name> {
        let kinds = standard.kinds.iter();
        kinds
            .flat_map(|kind| {
                let figures = kind.fields.iter().filter(|field| field.formula.is_some());
                figures.map(|field| (kind.name.clone(), field.name.clone()))
            })
            .collect()
    };
    let figures = &worked_out(old) & &worked_out(new);
    let before = parts(old, &named, &figures);
    let after = parts(new, &BTreeMap::new(), &figures);
    let mut found: Vec<Entry> = Vec::new();
    for part in before.symmetric_difference(&after) {
        let of = part.subject.as_str();
        let spoken = |entry: &Entry| {
            let subject = entry.change.subject.as_str();
            // What a kind or a record has comes and goes with it.
            let lone = entry.change.old.is_none() || entry.change.new.is_none();
            let with = match subject.strip_prefix("kind ") {
                Some(kind) => {
                    let own = of
                        .strip_prefix(kind)
                        .is_some_and(|rest| rest.starts_with('.') || rest.starts_with(' '));
                    own || of == format!("step {kind}") || of == format!("parts of {kind}")
                }
                None => of
                    .strip_prefix(subject)
                    .is_some_and(|rest| rest.starts_with(':')),
            };
            subject.contains(of) || lone && with
        };
        // A requirement that moved into another rule leaves both rules with another text.
        let rule = |standard: &Standard, part: &Option<crate::diff::pairing::clauses::Part>| {
            let part = part.as_ref();
            part.is_some_and(|part| {
                let name = standard.rules[part.rule].name.as_str();
                *named.get(name).unwrap_or(&name) == of
            })
        };
        let moved =
            |clause: &Clause| clause.moved && (rule(old, &clause.old) || rule(new, &clause.new));
        if entries.iter().chain(&found).any(spoken) || clauses.iter().any(moved) {
            continue;
        }
        let entry = Entry::new(&[ChangeKind::Limit], part.subject.clone())
            .note("it means something else now, in a way that is not told apart")
            .through(vec![TextChange::All], [true, true]);
        found.push(entry);
    }
    found
}
