//! Runs that show something, as the text of a plan, and checked before they are shown.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::cast::{Cast, Situation, unit_of};
use crate::check::{RuleResult, results};
use crate::diagnostic::{Counts, Outcome, Severity, Witness};
use crate::eval::EvalContext;
use crate::names::plan_scope;
use crate::source::{FileId, Store, visible};
use crate::syntax;
use crate::types::{
    FieldId, InstanceId, PlaceInRun, RecordId, Run, Standard, Target, Type, build_run,
};
use crate::units::{Exact, Unit};

/// A number in a unit that reads back as just this value; `None` where it has no short decimal.
fn written(value: &Exact, unit: &Unit) -> Option<String> {
    let number = unit.from_base(value).decimal()?;
    if number.len() > 24 {
        return None;
    }
    Some(match unit.spelling() {
        "" => number,
        spelling => format!("{number} {spelling}"),
    })
}

/// A value written in the unit of its setting, or in the SI one.
fn value(value: &Exact, unit: &Unit) -> String {
    written(value, unit)
        .or_else(|| written(value, &Unit::usual(unit.dimension())))
        .or_else(|| written(value, &Unit::si(unit.dimension())))
        .unwrap_or_else(|| crate::units::show_exact(value, unit))
}

/// The text of a plan with these values.
pub(super) fn plan(
    store: &Store,
    standard: &Standard,
    cast: &Cast,
    situation: &Situation,
    point: &BTreeMap<usize, Exact>,
) -> String {
    let root = store.get(standard.root).name();
    let mut text = format!("run \"witness\" against \"{}\"\n", visible(root));
    let record = |kind| situation.records.get(&kind).copied().flatten();
    let name = |id: RecordId| standard.record(id).name.clone();
    let mut lines: BTreeMap<u32, Vec<(FieldId, String)>> = BTreeMap::new();
    for (var, number) in point {
        let of = &cast.vars[*var];
        let Target::Thing(thing) = of.leaf.target else {
            continue;
        };
        if cast.var(of.leaf).is_none() {
            continue;
        }
        let shown = value(number, &unit_of(standard, of.setting));
        lines
            .entry(thing.0)
            .or_default()
            .push((of.leaf.field, shown));
    }
    whole_shares(standard, cast, point, &mut lines);
    let of_step = |id: &u32| {
        let kind = cast.run.instances[*id as usize].kind;
        standard.kind(kind).place == PlaceInRun::Step
    };
    let steps = lines.keys().any(of_step);
    for (index, thing) in cast.run.instances.iter().enumerate() {
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        let kind = standard.kind(thing.kind);
        if kind.place == PlaceInRun::Step {
            continue;
        }
        let mut clauses: Vec<(String, String)> = Vec::new();
        for (number, field) in kind.fields.iter().enumerate() {
            let field_id = FieldId(u32::try_from(number).unwrap_or(u32::MAX));
            if let Type::Reference(to) = field.ty
                && standard.kind(to).place == PlaceInRun::Record
                && let Some(record) = record(to)
            {
                clauses.push((field.name.clone(), name(record)));
            }
            let stated = lines.get(&index).into_iter().flatten();
            let mine = stated.filter(|(of, _)| *of == field_id);
            clauses.extend(mine.map(|(_, shown)| (field.name.clone(), shown.clone())));
        }
        let parent = record(thing.kind).map(name);
        if clauses.is_empty() && parent.is_none() && !(steps && kind.place == PlaceInRun::Many) {
            continue;
        }
        let _ = write!(text, "\n{}", kind.name);
        if kind.place == PlaceInRun::Many {
            let _ = write!(text, " {}", thing.name);
        }
        if let Some(parent) = parent {
            let _ = write!(text, " is {parent}");
        }
        if clauses.is_empty() {
            text.push('\n');
            continue;
        }
        text.push_str(" {\n");
        let widest = clauses
            .iter()
            .map(|(name, _)| name.len())
            .max()
            .unwrap_or(0);
        for (name, value) in clauses {
            let _ = writeln!(text, "  {name:widest$}  {value}");
        }
        text.push_str("}\n");
    }
    if steps {
        sequence(standard, cast, &lines, &mut text);
    }
    text
}

/// States what is left of a whole as one more share of it, so that the shares of a thing add up.
fn whole_shares(
    standard: &Standard,
    cast: &Cast,
    point: &BTreeMap<usize, Exact>,
    lines: &mut BTreeMap<u32, Vec<(FieldId, String)>>,
) {
    for (thing, settings) in lines {
        let kind = cast.run.instances[*thing as usize].kind;
        for whole in &standard.kind(kind).parts {
            let share = |field: &FieldId| {
                let of = |var: &usize| {
                    let leaf = cast.vars[*var].leaf;
                    leaf.field == *field && leaf.target == Target::Thing(InstanceId(*thing))
                };
                point
                    .iter()
                    .find(|(var, _)| of(var))
                    .map(|(_, value)| value)
            };
            let stated: Vec<&Exact> = whole.fields.iter().filter_map(share).collect();
            let sum = stated.iter().fold(Exact::ZERO, |sum, one| sum.add(one));
            let free = whole.fields.iter().find(|field| share(field).is_none());
            if let Some(free) = free
                && !stated.is_empty()
                && sum < whole.total
            {
                let rest = value(&whole.total.sub(&sum), &unit_of(standard, (kind, *free)));
                settings.push((*free, rest));
            }
        }
    }
}

fn sequence(
    standard: &Standard,
    cast: &Cast,
    lines: &BTreeMap<u32, Vec<(FieldId, String)>>,
    text: &mut String,
) {
    text.push_str("\nsequence {\n");
    for step in &cast.run.steps {
        let thing = cast.run.instance(*step);
        let kind = standard.kind(thing.kind);
        let mut settings: Vec<String> = Vec::new();
        for field in &kind.fields {
            if let Type::Reference(to) = field.ty
                && standard.kind(to).place == PlaceInRun::Many
            {
                settings.push(format!("{} one", field.name));
            }
        }
        for (field, shown) in lines.get(&step.0).into_iter().flatten() {
            settings.push(format!("{} {shown}", kind.fields[field.0 as usize].name));
        }
        let _ = writeln!(text, "  {} {}", kind.name, settings.join(", "));
    }
    text.push_str("}\n");
}

/// A run from the text of a plan, if nothing is wrong with it.
pub(crate) fn read_run(standard: &Standard, text: &str) -> Option<Run> {
    // The text is in no store: nothing is said of it, so that its number is never looked up.
    let file = FileId(u32::MAX);
    let parsed = syntax::parse(file, text);
    if !parsed.problems.is_empty() {
        return None;
    }
    let (scope, misplaced) = plan_scope(&parsed.tree);
    let mut problems = misplaced;
    let run = build_run(file, standard, &scope, &mut problems);
    let error = problems.iter().any(|said| said.severity == Severity::Error);
    (!error).then_some(run)
}

/// Checks a plan's text; what came out, if it could be read.
pub(super) fn checked(standard: &Standard, text: &str) -> Option<Vec<RuleResult>> {
    let run = read_run(standard, text)?;
    Some(results(&EvalContext::new(standard, &run)))
}

/// A run that keeps `kept` and does not keep `broken`, if a check says so too.
pub(super) fn witness(
    standard: &Standard,
    text: String,
    kept: &[(usize, usize)],
    broken: &[(usize, usize)],
    words: String,
) -> Option<Witness> {
    let results = checked(standard, &text)?;
    let outcomes = |of: &(usize, usize)| -> Vec<Outcome> {
        results
            .iter()
            .filter(|result| (result.rule, result.requirement) == *of)
            .map(RuleResult::outcome)
            .collect()
    };
    let fine = |of: &(usize, usize)| {
        outcomes(of)
            .iter()
            .all(|outcome| matches!(outcome, Outcome::Holds | Outcome::DoesNotApply))
    };
    let breaks = |of: &(usize, usize)| {
        outcomes(of)
            .iter()
            .any(|outcome| matches!(outcome, Outcome::Breaks | Outcome::AtRisk))
    };
    if !kept.iter().all(fine) || !broken.iter().all(breaks) {
        return None;
    }
    let mut counts = Counts::default();
    for result in &results {
        counts.add(result.outcome());
    }
    Some(Witness {
        words,
        plan: text,
        counts,
    })
}
