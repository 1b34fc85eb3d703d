//! No repair names, and no `--apply` writes, anything but a setting that the standard says is set.
//!
//! `STRIKEOFF_LONG=2000 cargo test --release --test all only_set::` tries so many random plans.

use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{PlanReport, Repair};
use strikeoff::types::{Date, Run, Sort, Standard, Value};

use super::{demo, path};
use crate::demo_room::{Random, cases, try_run_of};

/// The sort of a setting by the name that reports give it: `dryer.belt`, `flash, step 2: time`.
fn sort<'s>(standard: &'s Standard, name: &str) -> &'s Sort {
    let kind = name.split([' ', '.', ',', ':']).next().unwrap();
    let field = name.rsplit([' ', '.']).next().unwrap();
    let kind = standard.kind_names[kind];
    let field = standard.kind(kind).field_names[field];
    &standard.field(kind, field).sort
}

fn applied(text: &str, repair: &Repair) -> String {
    let mut edits: Vec<_> = repair.edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
    let mut text = text.to_owned();
    for edit in edits {
        text.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
    }
    text
}

/// A value without the place it stands at.
fn plain(value: &Value) -> String {
    match value {
        Value::Quantity(of) => format!("{:?} {:?} {:?}", of.nominal, of.low, of.high),
        Value::Range(of) => format!("{:?} {:?}", of.low, of.high),
        other => format!("{other:?}"),
    }
}

/// What a run states, by thing and setting, of settings that are not set.
fn not_set(standard: &Standard, run: &Run) -> Vec<String> {
    let mut found = Vec::new();
    for instance in &run.instances {
        let kind = standard.kind(instance.kind);
        for (field, stated) in kind.fields.iter().zip(&instance.values) {
            if let (Some(stated), false) = (stated, field.sort == Sort::Set) {
                found.push(format!(
                    "{} {}.{} {}",
                    instance.name,
                    kind.name,
                    field.name,
                    plain(&stated.value)
                ));
            }
        }
        found.push(format!("{} {:?}", kind.name, instance.parent));
    }
    found
}

struct Seen {
    repairs: usize,
    moves: usize,
    steps: usize,
}

/// Holds every repair of a plan to it.
fn only_set(
    plan: &PlanReport,
    text: &str,
    standard: &Standard,
    of: &mut dyn FnMut(&str) -> Run,
    seen: &mut Seen,
) {
    let findings = plan.diagnostics.iter().flat_map(|said| &said.repairs);
    let whole = plan.whole.iter().filter_map(|whole| whole.repair.as_ref());
    for repair in findings.chain(whole) {
        seen.repairs += 1;
        for moved in &repair.moves {
            assert_eq!(
                sort(standard, &moved.setting),
                &Sort::Set,
                "{}",
                repair.words
            );
            seen.moves += 1;
        }
        let (before, after) = (of(text), of(&applied(text, repair)));
        if before.instances.len() == after.instances.len() {
            assert_eq!(
                not_set(standard, &before),
                not_set(standard, &after),
                "{}",
                repair.words
            );
            continue;
        }
        // A step put in: all that was there stays, and the step states nothing but what is set.
        seen.steps += 1;
        let mut added = not_set(standard, &after);
        for line in not_set(standard, &before) {
            let place = added.iter().position(|known| *known == line);
            added.remove(place.unwrap_or_else(|| panic!("{}: {line}", repair.words)));
        }
        assert_eq!(added.len(), 1, "{}: {added:?}", repair.words);
    }
}

#[test]
fn of_every_demo_plan() {
    let (_, run) = demo();
    let mut store = run.store.clone();
    let mut seen = Seen {
        repairs: 0,
        moves: 0,
        steps: 0,
    };
    for plan in run.report.plans.iter().filter(|plan| plan.checked) {
        let prepared = &run.prepared[plan.standard.unwrap()];
        let text = run.store.get(plan.file).text().to_owned();
        let mut of = |text: &str| try_run_of(&mut store, prepared, text).unwrap();
        only_set(plan, &text, &prepared.standard, &mut of, &mut seen);
    }
    assert!(
        seen.repairs >= 30 && seen.moves >= 30,
        "{} {}",
        seen.repairs,
        seen.moves
    );
}

/// A plan with some of its numbers made larger or smaller.
fn shaken(text: &str, random: &Random) -> String {
    let mut out = String::new();
    for line in text.split_inclusive('\n') {
        let words: Vec<&str> = line.split_inclusive(' ').collect();
        let plain = line.starts_with('#') || line.contains('"');
        for word in words {
            let number = word.trim_end();
            let rest = &word[number.len()..];
            match number.parse::<f64>() {
                Ok(value) if !plain && random.chance(12) => {
                    let factor = [0.5, 0.7, 0.9, 1.1, 1.3, 1.8][random.below(6)];
                    let digits = number.split_once('.').map_or(0, |(_, after)| after.len());
                    out += &format!("{:.digits$}{rest}", value * factor);
                }
                _ => out += word,
            }
        }
    }
    out
}

#[test]
fn of_random_plans() {
    let (_, run) = demo();
    let random = Random::new(14);
    let plans: Vec<&PlanReport> = run
        .report
        .plans
        .iter()
        .filter(|plan| plan.checked)
        .collect();
    let mut seen = Seen {
        repairs: 0,
        moves: 0,
        steps: 0,
    };
    let options = Options {
        on: Date::parse(&run.report.date),
        ..Options::default()
    };
    let mut read = 0;
    while read < cases(25) {
        let plan = *random.pick(&plans);
        let prepared = &run.prepared[plan.standard.unwrap()];
        let text = shaken(run.store.get(plan.file).text(), &random);
        let mut store = run.store.clone();
        if try_run_of(&mut store, prepared, &text).is_none() {
            continue;
        }
        read += 1;
        let file = store.add(path(run, plan), text.clone());
        let report = check_plan(&store, prepared, plan.standard.unwrap(), file, options);
        let mut of = |text: &str| try_run_of(&mut store, prepared, text).unwrap();
        only_set(&report, &text, &prepared.standard, &mut of, &mut seen);
    }
    assert!(seen.moves >= 15, "{}", seen.moves);
}
