//! States in a plan what it still lacks, until one edition passes it.

use std::cell::Cell;

use super::outcome_of_run;
use super::plan_text::{Block, PlanText};
use crate::check::{Applied, Prepared, results};
use crate::constraint::{read_run, written_value};
use crate::diagnostic::{Outcome, PlanOutcome, Verb};
use crate::eval::{EvalContext, MissingValue, Verdict};
use crate::types::{
    Date, Expression, ExpressionNode, FieldId, KindId, Limits, PlaceInRun, RuleForm, Run, Standard,
    Target, Type, Value,
};
use crate::units::{Dimension, Exact, Unit};

/// How many values of one setting are tried.
const MOST_VALUES: usize = 14;

/// How often all settings are gone through.
const ROUNDS: usize = 4;

/// Completes plans for one edition.
pub(in crate::diff) struct Completion<'c> {
    pub(in crate::diff) prepared: &'c Prepared,
    pub(in crate::diff) on: Option<Date>,
    /// Reads and checks that are left.
    pub(in crate::diff) left: &'c Cell<u64>,
}

/// A setting of a plan that may be turned: its block or step, which clause, and what it may be.
#[derive(Debug, Clone)]
pub(super) struct Turn {
    step: bool,
    block: usize,
    clause: usize,
    values: Vec<String>,
}

/// What is wrong with a run: how much is missing, and how much fails.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Faults {
    failing: usize,
}

impl Completion<'_> {
    fn standard(&self) -> &Standard {
        &self.prepared.standard
    }

    fn take(&self) -> bool {
        let left = self.left.get();
        self.left.set(left.saturating_sub(1));
        left > 0
    }

    fn read(&self, plan: &PlanText) -> Option<Run> {
        if !self.take() {
            return None;
        }
        read_run(self.standard(), &plan.text("standard"))
    }

    /// The plan with what it lacks, as far as a passing one was found; else as it was.
    pub(in crate::diff) fn complete(&self, plan: &PlanText) -> (PlanText, PlanOutcome) {
        let first = match self.read(plan) {
            Some(run) => outcome_of_run(self.prepared, &run, self.on),
            None => PlanOutcome::Unreadable,
        };
        if first != PlanOutcome::Fails {
            return (plan.clone(), first);
        }
        let mut best = plan.clone();
        let mut turns: Vec<Turn> = Vec::new();
        let Some(mut faults) = self.fill(&mut best, &mut turns) else {
            return (plan.clone(), first);
        };
        for _ in 0..ROUNDS {
            if faults.failing == 0 {
                break;
            }
            let before = faults.clone();
            let mut at = 0;
            while at < turns.len() && faults.failing > 0 {
                let turn = turns[at].clone();
                for value in &turn.values {
                    let mut tried = best.clone();
                    let list = if turn.step {
                        &mut tried.steps
                    } else {
                        &mut tried.blocks
                    };
                    let place = list
                        .get_mut(turn.block)
                        .and_then(|block| block.clauses.get_mut(turn.clause));
                    let Some(place) = place else { continue };
                    if place.1 == *value {
                        continue;
                    }
                    place.1.clone_from(value);
                    let mut more = turns.clone();
                    let Some(found) = self.fill(&mut tried, &mut more) else {
                        continue;
                    };
                    if found < faults {
                        (best, faults, turns) = (tried, found, more);
                    }
                }
                if self.left.get() == 0 {
                    break;
                }
                at += 1;
            }
            if faults == before {
                break;
            }
        }
        let found = match self.read(&best) {
            Some(run) => outcome_of_run(self.prepared, &run, self.on),
            None => PlanOutcome::Unreadable,
        };
        if found == PlanOutcome::Passes {
            (best, found)
        } else {
            (plan.clone(), first)
        }
    }

    /// States what is missing, one value after the other; how many requirements fail then.
    fn fill(&self, plan: &mut PlanText, turns: &mut Vec<Turn>) -> Option<Faults> {
        for _ in 0..40 {
            let run = self.read(plan)?;
            let context = EvalContext::new(self.standard(), &run);
            let mut failing = 0;
            let mut gap: Option<MissingValue> = None;
            for result in results(&context) {
                let rule = &self.standard().rules[result.rule];
                let verb = rule.requirements.get(result.requirement).map(|of| of.verb);
                let passes = matches!(result.outcome(), Outcome::Holds | Outcome::DoesNotApply);
                if passes || verb != Some(Verb::Shall) {
                    continue;
                }
                failing += 1;
                if let Applied::To(Verdict::NotStated(missing)) = &result.applied {
                    gap.get_or_insert_with(|| (**missing).clone());
                }
            }
            let Some(gap) = gap else {
                return Some(Faults { failing });
            };
            if !self.state(plan, &run, &gap, turns) {
                return Some(Faults { failing });
            }
        }
        None
    }

    /// States one missing value; whether anything was added.
    pub(super) fn state(
        &self,
        plan: &mut PlanText,
        run: &Run,
        gap: &MissingValue,
        turns: &mut Vec<Turn>,
    ) -> bool {
        let standard = self.standard();
        let Some(Target::Thing(id)) = gap.at else {
            return false;
        };
        let instance = run.instance(id);
        let kind = standard.kind(instance.kind);
        let step = run.steps.iter().position(|step| *step == id);
        let block = match step {
            Some(step) => step,
            None => {
                let mut header = kind.name.clone();
                if !instance.name.is_empty() {
                    header = format!("{header} {}", instance.name);
                }
                let of = |block: &Block| {
                    block.header == header || block.header.starts_with(&format!("{header} is "))
                };
                match plan.blocks.iter().position(of) {
                    Some(at) => at,
                    None => {
                        plan.blocks.push(Block::new(header));
                        if gap.field.is_none() {
                            return true;
                        }
                        plan.blocks.len() - 1
                    }
                }
            }
        };
        let Some(field) = gap.field else { return false };
        let values = self.values((instance.kind, field), plan);
        let name = kind.fields[field.0 as usize].name.clone();
        let Some(first) = values.first().cloned() else {
            return false;
        };
        let list = if step.is_some() {
            &mut plan.steps
        } else {
            &mut plan.blocks
        };
        let Some(of) = list.get_mut(block) else {
            return false;
        };
        if of.clauses.iter().any(|(known, _)| *known == name) {
            return false;
        }
        of.clauses.push((name, first));
        turns.push(Turn {
            step: step.is_some(),
            block,
            clause: of.clauses.len() - 1,
            values,
        });
        true
    }

    /// Values that a setting may have, the likeliest first.
    fn values(&self, setting: (KindId, FieldId), plan: &mut PlanText) -> Vec<String> {
        let standard = self.standard();
        if let Type::Reference(to) = standard.field(setting.0, setting.1).ty
            && standard.kind(to).place == PlaceInRun::Many
        {
            let header = format!("{} one", standard.kind(to).name);
            let there = plan.blocks.iter().any(|block| {
                block.header == header || block.header.starts_with(&format!("{header} is "))
            });
            if !there {
                plan.blocks.push(Block::new(header));
            }
            return vec!["one".to_owned()];
        }
        values(standard, setting)
    }
}

/// Values that a setting may have: what limits speak of, the ends of what is possible, its words.
pub(in crate::diff) fn values(
    standard: &Standard,
    (kind, field): (KindId, FieldId),
) -> Vec<String> {
    let of = standard.field(kind, field);
    match &of.ty {
        Type::Quantity(_) => {
            let unit = of.usual_unit();
            numbers(standard, of.possible.as_ref(), &unit)
                .iter()
                .map(|value| written_value(value, &unit))
                .take(MOST_VALUES)
                .collect()
        }
        Type::Choice(words) => words.iter().take(MOST_VALUES).cloned().collect(),
        Type::YesNo => vec!["no".to_owned(), "yes".to_owned()],
        Type::Text => {
            let mut found = Vec::new();
            for rule in &standard.rules {
                for condition in conditions(rule) {
                    condition.visit(&mut |part| {
                        if let crate::types::ConditionNode::Is { values, .. } = &part.node {
                            found.extend(values.iter().filter_map(|value| match value {
                                Value::Text(text) => Some(format!("{text:?}")),
                                _ => None,
                            }));
                        }
                    });
                }
            }
            found.push("\"any\"".to_owned());
            found.truncate(MOST_VALUES);
            found
        }
        Type::Reference(to) => standard
            .records
            .iter()
            .filter(|record| record.kind == *to)
            .map(|record| record.name.clone())
            .take(MOST_VALUES)
            .collect(),
        Type::Range(_) => Vec::new(),
    }
}

fn conditions(rule: &crate::types::Rule) -> impl Iterator<Item = &crate::types::Condition> {
    let wanted = rule.requirements.iter().map(|of| &of.condition);
    rule.when
        .iter()
        .chain(&rule.permissions)
        .chain(wanted)
        .filter(|_| rule.form == RuleForm::Rule)
}

/// Numbers of one dimension that limits speak of, just above and below them, and of what is possible.
pub(in crate::diff) fn numbers(
    standard: &Standard,
    possible: Option<&Limits>,
    unit: &Unit,
) -> Vec<Exact> {
    let mut found: Vec<Exact> = Vec::new();
    let inside = |value: &Exact| {
        possible.is_none_or(|possible| {
            possible.low.as_ref().is_none_or(|low| low <= value)
                && possible.high.as_ref().is_none_or(|high| value <= high)
        })
    };
    let mut add = |value: Exact| {
        if inside(&value) && !found.contains(&value) {
            found.push(value);
        }
    };
    for value in constants(standard, unit.dimension()) {
        let part = Exact::max(&value.abs(), &Exact::ONE).mul(&Exact::ratio(1, 10));
        add(value.clone());
        add(value.add(&part));
        add(value.sub(&part));
    }
    if let Some(possible) = possible {
        if let (Some(low), Some(high)) = (&possible.low, &possible.high) {
            if let Some(middle) = low.add(high).div(&Exact::from_int(2)) {
                add(middle);
            }
            let quarter = high.sub(low).mul(&Exact::ratio(1, 16));
            add(low.add(&quarter));
        }
        for end in [&possible.low, &possible.high].into_iter().flatten() {
            add(end.clone());
        }
    }
    for value in [1, 10, 100] {
        add(unit.to_base(&Exact::from_int(value)));
    }
    add(unit.to_base(&Exact::ZERO));
    found
}

fn constants(standard: &Standard, dimension: Dimension) -> Vec<Exact> {
    let mut found = Vec::new();
    let mut collect = |of: &Expression| {
        if let ExpressionNode::Constant(constant) = &of.node
            && constant.unit.dimension() == dimension
            && !found.contains(&constant.exact)
        {
            found.push(constant.exact.clone());
        }
    };
    for rule in &standard.rules {
        for condition in conditions(rule) {
            condition.visit_expressions(&mut |of| collect(of));
        }
    }
    found.truncate(MOST_VALUES);
    found
}
