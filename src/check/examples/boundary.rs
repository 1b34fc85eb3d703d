//! Where a rule turns from one outcome to another, and what tells two standards apart.

use crate::diagnostic::{Nudge, Outcome};
use crate::eval::{Aim, Binding, Conditions, EvalContext, FigureCache, Leaf, range};
use crate::types::{Condition, ConditionNode, Rule, Run, Standard};
use crate::units::Exact;

use super::super::outcome::of_rule;
use super::expect::name_of;
use super::mutant::Mutant;
use super::plan_edits::{Edits, number, set_quantity, sharp, unit_of};

/// How an example names a thing, and what the rule comes to on it.
pub(super) type Scope = (Option<String>, Vec<Outcome>);

/// The outcomes of a rule: the number of the thing, and what came.
pub(super) fn outcomes(standard: &Standard, run: &Run, rule: usize) -> Vec<(usize, Outcome)> {
    let cache = FigureCache::default();
    let context = EvalContext::new(standard, run).remembering(&cache);
    let mut results = Vec::new();
    of_rule(&Conditions::new(context), &context, rule, &mut results);
    let number =
        |each: Option<crate::types::InstanceId>| each.map_or(usize::MAX, |id| id.0 as usize);
    results
        .iter()
        .map(|result| (number(result.each), result.outcome()))
        .collect()
}

pub(super) fn differs(
    run: &Run,
    standard: &Standard,
    changed: &Standard,
    rule: usize,
) -> Option<Scope> {
    differing(run, standard, changed, rule, &FigureCache::default())
}

/// The thing on which a rule comes out otherwise by the changed standard, and what it comes to by the standard as it is.
pub(super) fn differing(
    run: &Run,
    standard: &Standard,
    changed: &Standard,
    rule: usize,
    cache: &FigureCache,
) -> Option<Scope> {
    let came = |standard| {
        let context = EvalContext::new(standard, run).remembering(cache);
        let mut results = Vec::new();
        of_rule(&Conditions::new(context), &context, rule, &mut results);
        results
    };
    let (mine, other) = (came(standard), came(changed));
    let context = EvalContext::new(standard, run);
    for result in &mine {
        let set = |results: &[super::super::outcome::RuleResult]| {
            let here = results.iter().filter(|one| one.each == result.each);
            let mut found: Vec<Outcome> = here.map(|one| one.outcome()).collect();
            found.sort_unstable();
            found.dedup();
            found
        };
        let (found, then) = (set(&mine), set(&other));
        if found == then {
            continue;
        }
        return match result.each {
            None => Some((None, found)),
            Some(id) => name_of(&context, id).map(|name| (Some(name), found)),
        };
    }
    None
}

/// The conditions that a change is about.
pub(super) fn conditions(rule: &Rule, mutant: &Mutant) -> Vec<Condition> {
    if let Some(condition) = &mutant.condition {
        return vec![condition.clone()];
    }
    let required = rule.requirements.iter().map(|one| &one.condition);
    let all = rule.when.iter().chain(required).chain(&rule.permissions);
    all.cloned().collect()
}

/// A value to give a setting, in SI base units.
pub(super) struct Wanted {
    value: Exact,
    unit: crate::units::Unit,
}

/// The values at which a comparison turns: the limit itself, one step off it, half a step.
pub(super) fn values(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &Condition,
    mutant: &Mutant,
) -> Vec<Wanted> {
    let mut found = Vec::new();
    if let Some(moved) = &mutant.limit {
        let two = Exact::from_int(2);
        let middle = moved.old.add(&moved.new).div(&two);
        let ends = moved.ends.iter().cloned().map(Some);
        let around = [Some(moved.old.clone()), Some(moved.new.clone()), middle];
        for value in around.into_iter().chain(ends) {
            found.extend(value.map(|value| Wanted {
                value,
                unit: moved.unit.clone(),
            }));
        }
        return found;
    }
    let ConditionNode::Compare { left, right, .. } = &condition.node else {
        return found;
    };
    for side in [right, left] {
        let Ok(range) = range(context, binding, Aim::value(side)) else {
            continue;
        };
        let Some((low, high)) = range.exact else {
            continue;
        };
        let unit = crate::units::Unit::usual(side.dimension);
        let unit = match &side.node {
            crate::types::ExpressionNode::Constant(constant) => constant.unit.clone(),
            _ => unit,
        };
        let one = unit.as_difference().to_base(&Exact::ONE);
        if low != high {
            continue;
        }
        let mut steps = vec![low.clone(), low.add(&one), low.sub(&one)];
        if mutant.nudge == Nudge::Edge {
            steps.truncate(1);
        }
        found.extend(steps.into_iter().map(|value| Wanted {
            value,
            unit: unit.clone(),
        }));
    }
    found
}

pub(super) fn value_edits(
    context: &EvalContext<'_>,
    text: &str,
    leaf: Leaf,
    wanted: &Wanted,
) -> Option<Edits> {
    let own = unit_of(context, leaf)?;
    let counted = own.is_noun() || own.is_bare();
    let unit = if counted { &own } else { &wanted.unit };
    if unit.dimension() != own.dimension() {
        return None;
    }
    // A sharp value that is there already needs no change.
    if let Some(present) = context.quantity(leaf.target, leaf.field)
        && sharp(present)
        && present.nominal == wanted.value
    {
        return None;
    }
    let written = number(&wanted.value, unit)?;
    set_quantity(context, text, leaf, &wanted.value, &written)
}

pub(super) fn written_edits(
    context: &EvalContext<'_>,
    text: &str,
    leaf: Leaf,
    written: &str,
) -> Option<Edits> {
    let unit = unit_of(context, leaf)?;
    let digits = written.split(' ').next()?;
    let value = unit.to_base(&Exact::parse_decimal(digits).ok()?);
    set_quantity(context, text, leaf, &value, written)
}

/// A number with so many significant digits.
pub(super) fn digits_of(value: f64, digits: usize, whole: bool) -> String {
    if whole || value == 0.0 {
        return format!("{:.0}", value.round() + 0.0);
    }
    #[allow(clippy::cast_possible_truncation)]
    let size = value.abs().log10().floor() as i64;
    let decimals = i64::try_from(digits).unwrap_or(7) - 1 - size;
    let decimals = usize::try_from(decimals.clamp(0, 12)).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
