//! A run from its plan.

use std::collections::HashMap;

use super::condition::record_words;
use super::kinds::unknown_kind;
use super::model::{
    Instance, InstanceId, KindId, Origin, PlaceInRun, RecordId, Run, Sort, Standard, Stated,
    Target, Value,
};
use super::readings::readings;
use super::shares::share_the_rest;
use super::standard::{clauses, insert_at};
use super::steps::steps;
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};

use crate::names::{PlanScope, did_you_mean, in_a_spec};
use crate::source::{FileId, Span};
use crate::syntax::tree;

/// Builds a run. What is wrong is reported; the rest is still built.
#[must_use]
pub fn build_run(
    file: FileId,
    standard: &Standard,
    scope: &PlanScope<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Run {
    let mut run = Run {
        file,
        name: scope.run.map(|(name, ..)| name.value()).unwrap_or_default(),
        span: scope.run.map_or(Span::new(file, 0, 0), |(.., span)| span),
        instances: Vec::new(),
        singles: vec![None; standard.kinds.len()],
        many: vec![Vec::new(); standard.kinds.len()],
        steps: Vec::new(),
        sequence: scope.sequence.map(|sequence| sequence.keyword),
        end: scope.end.unwrap_or(Span::new(file, 0, 0)),
        set_aside: Vec::new(),
        on: None,
        readings: Vec::new(),
    };
    let mut names: HashMap<(KindId, &str), InstanceId> = HashMap::new();
    let mut trees: Vec<(InstanceId, &tree::Record<'_>)> = Vec::new();
    for thing in &scope.things {
        if let Some(id) = declare(&mut run, standard, thing, &mut names, problems) {
            trees.push((id, thing));
        }
    }
    let known: Vec<(KindId, &str)> = names.keys().copied().collect();
    let find = |kind: KindId, name: &str| names.get(&(kind, name)).copied();
    let reading = Values {
        standard,
        reader: &standard.reader,
        things: &find,
        names: &known,
    };
    let mut in_doubt = Vec::new();
    for (id, thing) in trees {
        let kind = run.instance(id).kind;
        let before = problems.len();
        let values = clauses(&reading, kind, thing, Origin::Plan, problems);
        let lines = thing.block.iter().flat_map(|block| &block.lines);
        let unread = lines
            .filter(|line| matches!(line, tree::Line::Broken(_)))
            .count();
        let unknown = |problem: &Diagnostic| problem.code == Code::UnknownField;
        if unread > 0 || problems.iter().skip(before).any(unknown) {
            in_doubt.push(id);
        }
        restated(standard, &run, id, &values, problems);
        run.instances[id.0 as usize].values = values;
    }
    if let Some(sequence) = scope.sequence {
        steps(&mut run, &reading, sequence, problems);
    }
    readings(&mut run, &reading, &scope.readings, problems);
    for (kind, of) in standard.numbered_kinds() {
        // A run that does not mention a thing has one with nothing stated.
        if of.place == PlaceInRun::One && run.singles[kind.index()].is_none() {
            let id = push(&mut run, kind, standard);
            run.singles[kind.index()] = Some(id);
        }
    }
    share_the_rest(standard, &mut run, &in_doubt, problems);
    run
}

/// Adds a thing with nothing stated.
pub(super) fn push(run: &mut Run, kind: KindId, standard: &Standard) -> InstanceId {
    let id = InstanceId::at(run.instances.len());
    run.instances.push(Instance {
        kind,
        name: String::new(),
        title: None,
        header: None,
        insert: None,
        values: vec![None; standard.kind(kind).fields.len()],
        calibrations: Vec::new(),
        parent: None,
        not_listed: false,
    });
    id
}

/// Adds a thing by its header.
fn declare<'t>(
    run: &mut Run,
    standard: &Standard,
    thing: &tree::Record<'t>,
    names: &mut HashMap<(KindId, &'t str), InstanceId>,
    problems: &mut Vec<Diagnostic>,
) -> Option<InstanceId> {
    let Some(&kind) = standard.kind_names.get(thing.kind.text) else {
        problems.push(unknown_kind(thing.kind, standard, &["run", "sequence"]));
        return None;
    };
    let place = standard.kind(kind).place;
    let here = thing
        .name
        .map_or(thing.kind.span, |name| thing.kind.span.join(name.span));
    match (place, thing.name) {
        (PlaceInRun::One, Some(name)) => {
            let mut diagnostic = Diagnostic::new(
                Code::NameNotWanted,
                name.span,
                format!("a run has one `{}`, so it takes no name", thing.kind.text),
                "not wanted",
            );
            let key = (kind, name.text.to_owned());
            if standard.record_names.contains_key(&key) && thing.parent.is_none() {
                diagnostic =
                    diagnostic.help(format!("write `{} is {}`", thing.kind.text, name.text));
            } else {
                diagnostic = diagnostic.help("take the name out");
            }
            problems.push(diagnostic);
        }
        (PlaceInRun::Many, None) => {
            problems.push(
                Diagnostic::new(
                    Code::NameMissing,
                    thing.kind.span.after(),
                    format!(
                        "a run may have several of `{}`, so each needs a name",
                        thing.kind.text
                    ),
                    "name missing here",
                )
                .help(format!("write `{} some-name {{`", thing.kind.text)),
            );
            return None;
        }
        (PlaceInRun::Record, _) => {
            problems.push(
                Diagnostic::new(
                    Code::MisplacedStatement,
                    here,
                    format!(
                        "things of kind `{}` are declared in the standard; a plan refers to them by name",
                        thing.kind.text
                    ),
                    "not in a plan",
                )
                .help("move it to the standard"),
            );
            return None;
        }
        (PlaceInRun::Step, _) => {
            problems.push(
                Diagnostic::new(
                    Code::MisplacedStatement,
                    here,
                    format!(
                        "`{}` is a step; steps stand inside `sequence`",
                        thing.kind.text
                    ),
                    "not here",
                )
                .help(
                    of_the_record(standard, thing)
                        .unwrap_or_else(|| "write it as a line of `sequence { … }`".to_owned()),
                ),
            );
            return None;
        }
        _ => {}
    }
    let name = thing.name.filter(|_| place == PlaceInRun::Many);
    let first = match name {
        Some(name) => names.get(&(kind, name.text)).copied(),
        None => run.singles[kind.0 as usize],
    };
    if let Some(first) = first {
        let mut diagnostic = Diagnostic::new(
            Code::DuplicateName,
            here,
            match name {
                Some(name) => format!("there are two of `{} {}`", thing.kind.text, name.text),
                None => format!("a run has one `{}`", thing.kind.text),
            },
            "again here",
        );
        if let Some(span) = run.instance(first).header {
            diagnostic = diagnostic.related(span, "the first one stands here");
        }
        problems.push(diagnostic.help("put all its settings into one block, or rename one"));
        return None;
    }
    let parent = thing
        .parent
        .and_then(|word| record(standard, kind, word, problems));
    let id = push(run, kind, standard);
    let instance = &mut run.instances[id.0 as usize];
    instance.name = name.map(|name| name.text.to_owned()).unwrap_or_default();
    let said = thing.parent.map(|parent| parent.span).or(thing.not_listed);
    instance.header = Some(said.map_or(here, |said| here.join(said)));
    instance.insert = insert_at(thing);
    instance.parent = parent;
    instance.not_listed = thing.not_listed.is_some();
    match name {
        Some(name) => {
            names.insert((kind, name.text), id);
            run.many[kind.0 as usize].push(id);
        }
        None => run.singles[kind.0 as usize] = Some(id),
    }
    Some(id)
}

fn record(
    standard: &Standard,
    kind: KindId,
    word: tree::Word<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<RecordId> {
    if let Some(&found) = standard.record_names.get(&(kind, word.text.to_owned())) {
        return Some(found);
    }
    let mut diagnostic = Diagnostic::new(
        Code::UnknownRecord,
        word.span,
        format!(
            "the standard has no {} `{}`",
            standard.kind(kind).name,
            word.text
        ),
        "not in the standard",
    );
    let help = in_a_spec(&[&standard.kind(kind).name], word.text)
        .or_else(|| did_you_mean(word.text, record_words(standard, kind)));
    if let Some(help) = help {
        diagnostic = diagnostic.help(help);
    }
    problems.push(diagnostic);
    None
}

/// Says where a plan states another value than the record it uses.
fn restated(
    standard: &Standard,
    run: &Run,
    id: InstanceId,
    values: &[Option<Stated>],
    problems: &mut Vec<Diagnostic>,
) {
    let instance = run.instance(id);
    let Some(parent) = instance.parent else {
        return;
    };
    for (index, stated) in values.iter().enumerate() {
        let Some(stated) = stated else { continue };
        let field = super::FieldId::at(index);
        let Some(above) = run.stated(standard, Target::Record(parent), field) else {
            continue;
        };
        // What is given is given: that is for the check to say, and fails.
        let given = matches!(
            standard.field(instance.kind, field).sort,
            Sort::Given { .. }
        );
        if given || same(&stated.value, &above.value) {
            continue;
        }
        let name = &standard.field(instance.kind, field).name;
        problems.push(
            Diagnostic::new(
                Code::Restated,
                stated.span,
                format!(
                    "the plan's `{name}` is not that of `{}`; the plan's was used",
                    standard.record(parent).name
                ),
                "stated here",
            )
            .related(above.span, "the standard states this")
            .help("if the standard is out of date, change it there"),
        );
    }
}

/// Values of given settings that the plan states otherwise than the record its thing is of, which no setting allows
/// that is not `given unless the plan states it`: thing, setting, and what the record states.
#[must_use]
pub fn overruled<'a>(
    standard: &'a Standard,
    run: &'a Run,
) -> Vec<(InstanceId, super::FieldId, &'a Stated, &'a Stated)> {
    let mut found = Vec::new();
    for (id, instance) in run.numbered_instances() {
        let Some(parent) = instance.parent else {
            continue;
        };
        for (field, declared) in standard.kind(instance.kind).numbered_fields() {
            let Sort::Given {
                unless_stated: false,
                ..
            } = declared.sort
            else {
                continue;
            };
            let stated = instance.values.get(field.index()).and_then(Option::as_ref);
            let above = run.stated(standard, Target::Record(parent), field);
            if let (Some(stated), Some(above)) = (stated, above)
                && !same(&stated.value, &above.value)
            {
                found.push((id, field, stated, above));
            }
        }
    }
    found
}

fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Quantity(one), Value::Quantity(other)) => {
            one.low == other.low && one.high == other.high
        }
        (Value::Range(one), Value::Range(other)) => one.low == other.low && one.high == other.high,
        (Value::Text(one), Value::Text(other)) => one == other,
        (Value::YesNo(one), Value::YesNo(other)) => one == other,
        (Value::Choice(one), Value::Choice(other)) => one == other,
        (Value::Day(one), Value::Day(other)) => one == other,
        (Value::Reference(one), Value::Reference(other)) => one == other,
        // A wrong value was reported where it stands.
        (Value::Wrong, _) | (_, Value::Wrong) => true,
        _ => false,
    }
}

/// A step of a plan that names a record: the thing that the record is of.
fn of_the_record(standard: &Standard, thing: &tree::Record<'_>) -> Option<String> {
    let record = thing.parent?.text;
    let mut kinds = standard.kinds.iter().filter(|kind| {
        let id = standard.kind_names.get(&kind.name);
        let known = |id: &KindId| {
            standard
                .record_names
                .contains_key(&(*id, record.to_owned()))
        };
        matches!(kind.place, PlaceInRun::One | PlaceInRun::Many) && id.is_some_and(known)
    });
    let kind = kinds.next()?;
    Some(format!(
        "`{record}` is a {0}: write `{0} is {record}`",
        kind.name
    ))
}
