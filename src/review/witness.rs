//! Runs that show something, as the text of a plan, and checked before they are shown.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::symbolic_run::{Situation, SymbolicRun, unit_of};
use crate::check::{RuleResult, results};
use crate::constraint::{Judge, Variable, read_run, written_value};
use crate::diagnostic::{Counts, Outcome};
use crate::eval::EvalContext;
use crate::source::{Store, visible};
use crate::types::{FieldId, InstanceId, PlaceInRun, RecordId, Standard, Target, Type};
use crate::units::Exact;

/// The text of a plan with these values.
pub(super) fn plan(
    store: &Store,
    standard: &Standard,
    run: &SymbolicRun,
    situation: &Situation,
    point: &BTreeMap<Variable, Exact>,
) -> String {
    let root = store.get(standard.root).name();
    let mut text = format!("run \"witness\" against \"{}\"\n", visible(root));
    let record = |kind| situation.records.get(&kind).copied().flatten();
    let name = |id: RecordId| standard.record(id).name.clone();
    let mut lines: BTreeMap<u32, Vec<(FieldId, String)>> = BTreeMap::new();
    for (variable, number) in point {
        let of = run.of(*variable);
        let Target::Thing(thing) = of.leaf.target else {
            continue;
        };
        if run.variable(of.leaf).is_none() {
            continue;
        }
        let shown = written_value(number, &unit_of(standard, of.setting));
        lines
            .entry(thing.0)
            .or_default()
            .push((of.leaf.field, shown));
    }
    whole_shares(standard, run, point, &mut lines);
    let of_step = |id: &u32| {
        let kind = run.run.instances[*id as usize].kind;
        standard.kind(kind).place == PlaceInRun::Step
    };
    let steps = lines.keys().any(of_step);
    for (index, thing) in run.run.instances.iter().enumerate() {
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
        sequence(standard, run, &lines, &mut text);
    }
    text
}

/// States what is left of a whole as one more share of it, so that the shares of a thing add up.
fn whole_shares(
    standard: &Standard,
    run: &SymbolicRun,
    point: &BTreeMap<Variable, Exact>,
    lines: &mut BTreeMap<u32, Vec<(FieldId, String)>>,
) {
    for (thing, settings) in lines {
        let kind = run.run.instances[*thing as usize].kind;
        for whole in &standard.kind(kind).parts {
            let share = |field: &FieldId| {
                let of = |variable: &Variable| {
                    let leaf = run.of(*variable).leaf;
                    leaf.field == *field && leaf.target == Target::Thing(InstanceId(*thing))
                };
                point
                    .iter()
                    .find(|(variable, _)| of(variable))
                    .map(|(_, value)| value)
            };
            let stated: Vec<&Exact> = whole.fields.iter().filter_map(share).collect();
            let sum = stated.iter().fold(Exact::ZERO, |sum, one| sum.add(one));
            let free = whole.fields.iter().find(|field| share(field).is_none());
            if let Some(free) = free
                && !stated.is_empty()
                && sum < whole.total
            {
                let rest = written_value(&whole.total.sub(&sum), &unit_of(standard, (kind, *free)));
                settings.push((*free, rest));
            }
        }
    }
}

fn sequence(
    standard: &Standard,
    run: &SymbolicRun,
    lines: &BTreeMap<u32, Vec<(FieldId, String)>>,
    text: &mut String,
) {
    text.push_str("\nsequence {\n");
    for step in &run.run.steps {
        let thing = run.run.instance(*step);
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

/// Says of a plan that it keeps some requirements, and does not keep others.
pub(super) struct Keeps<'k> {
    pub(super) standard: &'k Standard,
    /// What it keeps: rule and requirement.
    pub(super) kept: Vec<(usize, usize)>,
    /// What it breaks.
    pub(super) broken: Vec<(usize, usize)>,
}

impl Judge for Keeps<'_> {
    type Verdict = Counts;

    fn judge(&self, text: &str) -> Option<Counts> {
        let run = read_run(self.standard, text)?;
        let results = results(&EvalContext::new(self.standard, &run));
        let outcomes = |of: &(usize, usize)| -> Vec<Outcome> {
            let of = |result: &&RuleResult| (result.rule, result.requirement) == *of;
            results.iter().filter(of).map(RuleResult::outcome).collect()
        };
        let fine = |outcome: &Outcome| matches!(outcome, Outcome::Holds | Outcome::DoesNotApply);
        let bad = |outcome: &Outcome| matches!(outcome, Outcome::Breaks | Outcome::AtRisk);
        let keeps = self.kept.iter().all(|of| outcomes(of).iter().all(fine));
        let breaks = self.broken.iter().all(|of| outcomes(of).iter().any(bad));
        if !keeps || !breaks {
            return None;
        }
        let mut counts = Counts::default();
        for result in &results {
            counts.add(result.outcome());
        }
        Some(counts)
    }
}
