//! Rules, cautions, deviations and examples: what is another now.

use std::collections::BTreeSet;

use crate::diagnostic::{ChangeKind, Stands};
use crate::diff::canonical;
use crate::diff::context::{DiffContext, Entry, Touches};
use crate::diff::entries::unit_slip;
use crate::diff::pairing::clauses::{Clause, RulePair};
use crate::source::Span;
use crate::types::{Condition, Example, Path, PlaceInRun, Rule, RuleForm, Standard};

fn noun(rule: &Rule) -> &'static str {
    match (&rule.form, &rule.table) {
        (RuleForm::Caution(_), _) => "caution",
        (RuleForm::Rule, Some(_)) => "table",
        (RuleForm::Rule, None) => "rule",
    }
}

/// What people read of rules, and where they stand. What they require is told clause by clause.
pub(in crate::diff) fn entries(desk: &DiffContext<'_, '_>, pairs: &[RulePair]) -> Vec<Entry> {
    let mut found = Vec::new();
    for pair in pairs {
        let old = pair.old.map(|number| &desk.before().rules[number]);
        let new = pair.new.map(|number| &desk.after().rules[number]);
        match (old, new) {
            (Some(old), Some(new)) => both(desk, old, new, &mut found),
            (Some(rule), None) if rule.form != RuleForm::Rule || rule.requirements.is_empty() => {
                found.push(
                    Entry::new(
                        &[ChangeKind::Removed],
                        format!("{} {}", noun(rule), rule.name),
                    )
                    .at(Some(desk.line(rule.span)), None),
                );
            }
            (None, Some(rule)) if rule.form != RuleForm::Rule || rule.requirements.is_empty() => {
                found.push(
                    Entry::new(
                        &[ChangeKind::Added],
                        format!("{} {}", noun(rule), rule.name),
                    )
                    .at(None, Some(desk.line(rule.span))),
                );
            }
            // Added and removed with its clauses; the cautions it shows go with it.
            (Some(rule), None) | (None, Some(rule)) if !rule.cautions.is_empty() => {
                let (kind, old, new) = if pair.old.is_some() {
                    (ChangeKind::Removed, Some(desk.line(rule.span)), None)
                } else {
                    (ChangeKind::Added, None, Some(desk.line(rule.span)))
                };
                let subject = format!("cautions of {} {}", noun(rule), rule.name);
                found.push(Entry::new(&[kind], subject).at(old, new));
            }
            _ => {}
        }
    }
    found
}

fn both(desk: &DiffContext<'_, '_>, old: &Rule, new: &Rule, found: &mut Vec<Entry>) {
    let subject = format!("{} {}", noun(new), new.name);
    let at = |entry: Entry| entry.at(Some(desk.line(old.span)), Some(desk.line(new.span)));
    if old.name != new.name {
        let entry = Entry::new(&[ChangeKind::Renamed], subject.clone())
            .note(format!("`{}` is called `{}` now", old.name, new.name))
            .quiet();
        found.push(at(entry));
    }
    if let Some(moved) = desk.moved(old.span, new.span) {
        found.push(at(Entry::new(&[ChangeKind::Moved], subject.clone())
            .note(moved)
            .quiet()));
    }
    let mut words = Vec::new();
    if old.title != new.title {
        words.push("title");
    }
    if old.because != new.because {
        words.push("reason");
    }
    let every = |rule: &Rule| {
        let every = rule.read_every.as_ref();
        every.map(|every| (every.after.clone(), every.unit.dimension()))
    };
    if every(old) != every(new) {
        words.push("`read every`, how often it is read");
    }
    if old.when_out != new.when_out {
        words.push("`when out`, what to do where it is outside");
    }
    let adjusts = |standard: &Standard, rule: &Rule| -> Vec<String> {
        rule.adjust
            .iter()
            .map(|adjust| canonical::path(standard, &adjust.path))
            .collect()
    };
    if adjusts(desk.before(), old) != adjusts(desk.after(), new) {
        words.push("`adjust`, which orders the repairs that are tried");
    }
    if !words.is_empty() {
        let entry = Entry::new(&[ChangeKind::Wording], subject.clone())
            .note(format!("its {} changed", words.join(", its ")))
            .quiet();
        found.push(at(entry));
    }
    if canonical::source(old.per.as_ref()) != canonical::source(new.per.as_ref()) {
        found.push(at(
            Entry::new(&[ChangeKind::Source], subject.clone()).quiet()
        ));
    }
    let reviewed = |rule: &Rule| rule.per.as_ref().and_then(|source| source.reviewed);
    if reviewed(old) != reviewed(new) {
        found.push(at(Entry::new(&[ChangeKind::Wording], subject.clone())
            .note(super::reviewed(reviewed(old), reviewed(new)))
            .quiet()));
    }
    cautions(desk, old, new, &subject, found);
    if let (RuleForm::Caution(before), RuleForm::Caution(after)) = (&old.form, &new.form) {
        if canonical::reach(desk.before(), old) != canonical::reach(desk.after(), new) {
            let entry = Entry::new(&[ChangeKind::Reach], subject.clone())
                .note("it is shown for other runs");
            found.push(at(entry));
        }
        if before != after {
            let entry = Entry::new(&[ChangeKind::Wording], subject)
                .note(format!("it said \"{before}\""))
                .note(format!("it says \"{after}\""));
            found.push(at(entry));
        }
    }
}

fn cautions(
    desk: &DiffContext<'_, '_>,
    old: &Rule,
    new: &Rule,
    subject: &str,
    found: &mut Vec<Entry>,
) {
    let (place, there) = (desk.line(old.span), desk.line(new.span));
    for caution in &old.cautions {
        if !new.cautions.contains(caution) {
            found.push(
                Entry::new(&[ChangeKind::Removed], format!("caution of {subject}"))
                    .at(Some(place.clone()), None)
                    .note(format!("it said \"{caution}\"")),
            );
        }
    }
    for caution in &new.cautions {
        if !old.cautions.contains(caution) {
            found.push(
                Entry::new(&[ChangeKind::Added], format!("caution of {subject}"))
                    .at(None, Some(there.clone()))
                    .note(format!("it says \"{caution}\"")),
            );
        }
    }
}

/// What is another in the clauses, each with its number.
pub(in crate::diff) fn clauses(desk: &DiffContext<'_, '_>, clauses: &[Clause]) -> Vec<Entry> {
    let mut found = Vec::new();
    for (number, clause) in clauses.iter().enumerate() {
        let rule = |standard: &'_ Standard, part: &Option<crate::diff::pairing::clauses::Part>| {
            part.as_ref().map(|part| standard.rules[part.rule].clone())
        };
        let (old, new) = (
            rule(desk.before(), &clause.old),
            rule(desk.after(), &clause.new),
        );
        let Some(shown) = new.as_ref().or(old.as_ref()) else {
            continue;
        };
        let subject = format!("{} {}", noun(shown), shown.name);
        let (old_at, new_at) = places(desk, clause, old.as_ref(), new.as_ref());
        let at = |entry: Entry| entry.at(old_at.clone(), new_at.clone());
        if clause.moved {
            let from = old.as_ref().map_or("", |rule| rule.name.as_str());
            found.push(at(Entry::new(&[ChangeKind::Moved], subject)
                .note(format!("it stood in `{from}`"))
                .quiet()));
            continue;
        }
        if clause.same {
            found.extend(sources(desk, clause, old.as_ref(), new.as_ref(), &subject).map(at));
            continue;
        }
        let kinds = kinds(desk, clause, old.as_ref(), new.as_ref());
        let mut numbers = (Vec::new(), Vec::new());
        for (rule, part, list) in [
            (&old, &clause.old, &mut numbers.0),
            (&new, &clause.new, &mut numbers.1),
        ] {
            let (Some(rule), Some(part)) = (rule, part) else {
                continue;
            };
            for condition in wanted(rule, part)
                .chain(&rule.when)
                .chain(&rule.permissions)
            {
                unit_slip::of_condition(condition, list);
            }
        }
        let alarm = unit_slip::alarm(&numbers.0, &numbers.1);
        let entry = Entry::new(&kinds, subject)
            .alarm(alarm)
            .touching(Touches::Clause(number));
        let entry = if let (Some(old), Some(new)) = (&old, &new) {
            cells(desk, old, new, entry)
        } else {
            entry
        };
        let mut entry = entry;
        let side = [(&old, desk.after()), (&new, desk.before())];
        for (rule, other) in side {
            let named = rule.as_ref().map(|rule| rule.name.as_str());
            let mut without = other.taken_out.iter();
            if let Some(of) = without.find(|of| Some(of.rule.as_str()) == named) {
                entry = entry.note(of.words());
            }
        }
        if clause.old.is_some() && clause.new.is_some() {
            let (gone, more) = asked(desk, clause);
            if !more.is_empty() {
                entry = entry.note(format!("a run has to state {} for it now", more.join(", ")));
            }
            if !gone.is_empty() {
                let words = gone.join(", ");
                entry = entry.note(format!("a run need not state {words} for it any more"));
            }
        }
        found.push(at(entry));
    }
    found
}

/// The settings of a run that a clause reads no more, and those that it reads besides.
fn asked(desk: &DiffContext<'_, '_>, clause: &Clause) -> (Vec<String>, Vec<String>) {
    let of = |standard: &Standard,
              part: &Option<crate::diff::pairing::clauses::Part>|
     -> BTreeSet<String> {
        let Some(part) = part else {
            return BTreeSet::new();
        };
        let mut here = Vec::new();
        for condition in crate::diff::clause_effect::conditions(standard, part) {
            crate::diff::conditions::paths::paths(condition, &mut here);
        }
        // What a record states is no matter of the run.
        let of_run = |path: &&&Path| {
            let last = crate::diff::conditions::dependencies::passed(path).last();
            last.is_some_and(|(kind, _)| standard.kind(kind).place != PlaceInRun::Record)
        };
        let here = here.iter().filter(of_run);
        here.map(|path| format!("`{}`", crate::diff::canonical::path(standard, path)))
            .collect()
    };
    let (old, new) = (
        of(desk.before(), &clause.old),
        of(desk.after(), &clause.new),
    );
    (
        old.difference(&new).cloned().collect(),
        new.difference(&old).cloned().collect(),
    )
}

fn wanted<'r>(
    rule: &'r Rule,
    part: &'r crate::diff::pairing::clauses::Part,
) -> impl Iterator<Item = &'r Condition> {
    let numbers = part.requirements.iter();
    let of = numbers.filter_map(|number| rule.requirements.get(*number));
    of.map(|requirement| &requirement.condition)
}

fn kinds(
    desk: &DiffContext<'_, '_>,
    clause: &Clause,
    old: Option<&Rule>,
    new: Option<&Rule>,
) -> Vec<ChangeKind> {
    let (Some(old), Some(new)) = (old, new) else {
        return vec![if clause.old.is_some() {
            ChangeKind::Removed
        } else {
            ChangeKind::Added
        }];
    };
    let mut kinds = Vec::new();
    let (Some(mine), Some(theirs)) = (&clause.old, &clause.new) else {
        return kinds;
    };
    let forms = |standard: &Standard, rule: &Rule, part: &crate::diff::pairing::clauses::Part| {
        let conditions: Vec<Condition> = wanted(rule, part).cloned().collect();
        canonical::all(standard, &conditions)
    };
    let table = old.table.is_some() || new.table.is_some();
    let reach = canonical::reach(desk.before(), old) != canonical::reach(desk.after(), new);
    if reach {
        kinds.push(ChangeKind::Reach);
    }
    let limits = forms(desk.before(), old, mine) != forms(desk.after(), new, theirs);
    if limits || table && !reach {
        kinds.push(ChangeKind::Limit);
    }
    if mine.verb != theirs.verb {
        kinds.push(ChangeKind::Verb);
    }
    kinds
}

/// The places of a clause; those of its rule where its `when` is what changed, or all of a table.
fn places(
    desk: &DiffContext<'_, '_>,
    clause: &Clause,
    old: Option<&Rule>,
    new: Option<&Rule>,
) -> (Option<Stands>, Option<Stands>) {
    let reach = match (old, new) {
        (Some(old), Some(new)) => {
            canonical::reach(desk.before(), old) != canonical::reach(desk.after(), new)
        }
        _ => false,
    };
    let place = |standard: &Standard,
                 rule: Option<&Rule>,
                 part: &Option<crate::diff::pairing::clauses::Part>,
                 other: Option<(&Standard, &Rule)>| {
        let (rule, part) = (rule?, part.as_ref()?);
        if rule.table.is_some() {
            return Some(desk.with_words(rule.span, &format!("table {}", rule.name)));
        }
        let mut spans: Vec<Span> = Vec::new();
        if reach {
            // The parts of `when` and `may` that the other side does not have.
            let known: Vec<String> = other
                .map(|(standard, rule)| {
                    let both = rule.when.iter().chain(&rule.permissions);
                    both.map(|of| canonical::condition(standard, of)).collect()
                })
                .unwrap_or_default();
            let mine = rule.when.iter().chain(&rule.permissions);
            let apart = mine.filter(|of| !known.contains(&canonical::condition(standard, of)));
            spans.extend(apart.map(|of| of.span));
        }
        if !reach || spans.is_empty() {
            spans.extend(
                part.requirements
                    .iter()
                    .filter_map(|number| rule.requirements.get(*number))
                    .map(|requirement| requirement.span),
            );
        }
        let first = *spans.first()?;
        let words: Vec<String> = spans.iter().map(|span| desk.line(*span).words).collect();
        let mut words_once = words.clone();
        words_once.dedup();
        Some(desk.with_words(first, &words_once.join("; ")))
    };
    (
        place(
            desk.before(),
            old,
            &clause.old,
            new.map(|rule| (desk.after(), rule)),
        ),
        place(
            desk.after(),
            new,
            &clause.new,
            old.map(|rule| (desk.before(), rule)),
        ),
    )
}

fn sources(
    _desk: &DiffContext<'_, '_>,
    clause: &Clause,
    old: Option<&Rule>,
    new: Option<&Rule>,
    subject: &str,
) -> Option<Entry> {
    let of = |rule: Option<&Rule>,
              part: &Option<crate::diff::pairing::clauses::Part>|
     -> Option<Vec<String>> {
        let (rule, part) = (rule?, part.as_ref()?);
        Some(
            part.requirements
                .iter()
                .filter_map(|number| rule.requirements.get(*number))
                .map(|requirement| canonical::source(requirement.per.as_ref()))
                .collect(),
        )
    };
    (of(old, &clause.old)? != of(new, &clause.new)?)
        .then(|| Entry::new(&[ChangeKind::Source], subject).quiet())
}

/// The cells of a table that are other ones now.
fn cells(desk: &DiffContext<'_, '_>, old: &Rule, new: &Rule, mut entry: Entry) -> Entry {
    let (Some(_), Some(_)) = (&old.table, &new.table) else {
        if old.table.is_some() != new.table.is_some() {
            return entry.note("it was written as a rule, or is one now, instead of a table");
        }
        return entry;
    };
    let list = |standard: &Standard, rule: &Rule| -> Vec<(String, String, Option<Span>)> {
        let Some(table) = &rule.table else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for (row, cells) in table.rows.entries.iter().zip(&table.cells) {
            for (index, cell) in cells.iter().enumerate() {
                let column = table
                    .columns
                    .as_ref()
                    .and_then(|columns| columns.entries.get(index))
                    .map(|entry| format!(", {}", entry.name))
                    .unwrap_or_default();
                let held = cell.requirement.and_then(|at| rule.requirements.get(at));
                let held_form = held.map(|held| canonical::condition(standard, &held.condition));
                found.push((
                    format!("{}{column}", row.name),
                    held_form.unwrap_or_default(),
                    held.map(|_| cell.span),
                ));
            }
        }
        found
    };
    let (before, after) = (list(desk.before(), old), list(desk.after(), new));
    let words = |span: Option<Span>| match span {
        Some(span) => desk.stands(span).words,
        None => "no limit".to_owned(),
    };
    for (place, form, span) in &before {
        match after.iter().find(|(other, ..)| other == place) {
            Some((_, other, there)) if other != form => {
                entry = entry.note(format!(
                    "cell {place}: {} now, was {}",
                    words(*there),
                    words(*span)
                ));
            }
            Some(_) => {}
            None => entry = entry.note(format!("cell {place} is gone: was {}", words(*span))),
        }
    }
    for (place, _, span) in &after {
        if !before.iter().any(|(other, ..)| other == place) {
            entry = entry.note(format!("cell {place} is new: {}", words(*span)));
        }
    }
    entry
}

/// Examples: tests of the standard, which change no outcome.
pub(in crate::diff) fn examples(desk: &DiffContext<'_, '_>) -> Vec<Entry> {
    let says = |standard: &Standard, of: &Example| {
        let mut expected: Vec<String> = of
            .expectations
            .iter()
            .map(|one| {
                let rule = standard.rules.get(one.rule).map(|rule| &rule.name);
                let at = one
                    .at
                    .map(|at| crate::diff::conditions::dependencies::name(standard, at));
                let value = one.value.as_ref().map(|value| &value.words);
                format!(
                    "{rule:?} {:?} {:?} {at:?} {value:?}",
                    one.outcome, one.thing
                )
            })
            .collect();
        expected.sort_unstable();
        expected.join("; ")
    };
    let runs = |of: &Example| of.plan.as_ref().map(|plan| plan.written.clone());
    let (before, after) = (&desk.before().examples, &desk.after().examples);
    let mut found = Vec::new();
    let called = |name: &str| format!("example {name}");
    for old in before {
        let there = after.iter().find(|new| new.name == old.name);
        let words = there.and_then(|new| {
            let expects = says(desk.before(), old) != says(desk.after(), new);
            match (expects, runs(old) != runs(new)) {
                (true, true) => Some("it runs another plan, and expects something else"),
                (true, false) => Some("it expects something else"),
                (false, true) => Some("it runs another plan"),
                (false, false) => None,
            }
        });
        if let (Some(new), Some(words)) = (there, words) {
            found.push(
                Entry::new(&[ChangeKind::Wording], called(&old.name))
                    .at(Some(desk.line(old.span)), Some(desk.line(new.span)))
                    .note(words)
                    .quiet(),
            );
        }
    }
    let lone = |mine: &[Example], others: &[Example], kind: ChangeKind| {
        let alone = |of: &&Example| !others.iter().any(|other| other.name == of.name);
        let names: Vec<&Example> = mine.iter().filter(alone).collect();
        let first = names.first()?;
        let subject = match names.len() {
            1 => called(&first.name),
            count => format!("{count} examples"),
        };
        let place = Some(desk.line(first.span));
        let (old, new) = match kind {
            ChangeKind::Added => (None, place),
            _ => (place, None),
        };
        let mut entry = Entry::new(&[kind], subject).at(old, new).quiet();
        if names.len() > 1 {
            for of in names {
                entry = entry.note(of.name.as_str());
            }
        }
        Some(entry)
    };
    found.extend(lone(before, after, ChangeKind::Removed));
    found.extend(lone(after, before, ChangeKind::Added));
    found
}
