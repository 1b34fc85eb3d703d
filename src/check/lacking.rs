//! All that a run does not state and its rules wait for, at once and in the order of the plan.

use std::collections::BTreeMap;

use crate::diagnostic::{Lacking, LackingBlock, LackingValue, Outcome, Verb, WayRound};
use crate::eval::{EvalContext, Leaf, MissingInput, Verdict, missing_inputs};
use crate::types::{Condition, KindId, Target, Type};

use super::finding::{choice, example};
use super::outcome::{Applied, RuleResult, binding};
use super::wording;

/// What a run lacks, with the rules that wait for each value.
pub(super) struct Lack {
    /// How many checks wait.
    checks: u64,
    shall: bool,
    /// In order of first use: the value, and the rules that wait for it.
    values: Vec<(MissingInput, Vec<usize>)>,
}

/// Gathers what the checks that are not stated wait for.
pub(super) fn lack(context: &EvalContext<'_>, results: &[RuleResult]) -> Lack {
    let mut lack = Lack {
        checks: 0,
        shall: false,
        values: Vec::new(),
    };
    let mut places: BTreeMap<(Leaf, Option<Leaf>), usize> = BTreeMap::new();
    for result in results {
        if result.outcome() != Outcome::NotStated || stated_otherwise(context, result) {
            continue;
        }
        let rule = &context.standard.rules[result.rule];
        let requirement = &rule.requirements[result.requirement];
        lack.checks += 1;
        lack.shall |= requirement.verb == Verb::Shall;
        let conditions: Vec<&Condition> = rule
            .when
            .iter()
            .chain(&requirement.when)
            .chain([&requirement.condition])
            .collect();
        for missing in missing_inputs(context, binding(result.each), &conditions) {
            let key = (missing.leaf, missing.instead_of);
            let place = *places.entry(key).or_insert(lack.values.len());
            if place == lack.values.len() {
                lack.values.push((missing, Vec::new()));
            }
            if let Some((_, rules)) = lack.values.get_mut(place)
                && !rules.contains(&result.rule)
            {
                rules.push(result.rule);
            }
        }
    }
    let plain: Vec<Leaf> = lack
        .values
        .iter()
        .filter(|(missing, _)| missing.instead_of.is_none())
        .map(|(missing, _)| missing.leaf)
        .collect();
    lack.values
        .retain(|(missing, _)| missing.instead_of.is_none() || !plain.contains(&missing.leaf));
    lack
}

/// Whether what a result lacks is stated, and only not in the way that is asked for: too long ago, or without how far it may
/// be off.
fn stated_otherwise(context: &EvalContext<'_>, result: &RuleResult) -> bool {
    let Applied::To(Verdict::NotStated(gap)) = &result.applied else {
        return false;
    };
    let (Some(at), Some(field), Some(_)) = (gap.at, gap.field, &gap.words) else {
        return false;
    };
    context.run.stated(context.standard, at, field).is_some()
}

/// In words.
pub(super) fn lacking(context: &EvalContext<'_>, results: &[RuleResult]) -> Option<Lacking> {
    let lack = lack(context, results);
    if lack.values.is_empty() {
        return None;
    }
    let mut ways: Vec<Leaf> = Vec::new();
    for (missing, _) in &lack.values {
        if let Some(leaf) = missing.instead_of
            && !ways.contains(&leaf)
        {
            ways.push(leaf);
        }
    }
    let ways_round = ways.into_iter().map(|leaf| WayRound {
        value: wording::setting(context, leaf),
        blocks: blocks(context, &lack, Some(leaf)),
    });
    Some(Lacking {
        checks: lack.checks,
        shall: lack.shall,
        blocks: blocks(context, &lack, None),
        ways_round: ways_round.collect(),
    })
}

fn blocks(context: &EvalContext<'_>, lack: &Lack, instead_of: Option<Leaf>) -> Vec<LackingBlock> {
    let mut found: BTreeMap<Target, LackingBlock> = BTreeMap::new();
    for (missing, rules) in &lack.values {
        if missing.instead_of != instead_of {
            continue;
        }
        let target = missing.leaf.target;
        let instance = context.run.target(context.standard, target);
        let field = context.standard.field(instance.kind, missing.leaf.field);
        let block = found
            .entry(target)
            .or_insert_with(|| of_thing(context, target));
        block.values.push(LackingValue {
            name: field.name.clone(),
            example: example(field),
            possible: match &field.ty {
                Type::Reference(kind) => records_of(context, *kind),
                _ => match choice(field).strip_prefix(": ") {
                    Some(words) => Some(words.to_owned()),
                    None => field.possible.as_ref().map(wording::limits),
                },
            },
            measured: field.measured().map(str::to_owned),
            rules: rules
                .iter()
                .map(|rule| context.standard.rules[*rule].name.clone())
                .collect(),
        });
    }
    found.into_values().collect()
}

fn of_thing(context: &EvalContext<'_>, target: Target) -> LackingBlock {
    let instance = context.run.target(context.standard, target);
    let in_plan = matches!(target, Target::Thing(_));
    let records = match instance.parent {
        None if in_plan && !instance.not_listed => context
            .standard
            .records_of(instance.kind)
            .map(|(_, record)| record.name.clone())
            .collect(),
        _ => Vec::new(),
    };
    LackingBlock {
        thing: wording::target(context, target),
        place: instance.header,
        add: in_plan && instance.header.is_none(),
        records,
        values: Vec::new(),
    }
}

/// The records that a setting can name: by name where they are few.
fn records_of(context: &EvalContext<'_>, kind: KindId) -> Option<String> {
    const FEW: usize = 6;
    let records = context.standard.records_of(kind);
    let names: Vec<&str> = records.map(|(_, record)| record.name.as_str()).collect();
    match names.len() {
        0 => None,
        many if many <= FEW => Some(format!("one of {}", names.join(", "))),
        many => Some(format!(
            "one of {many} of kind `{}`",
            context.standard.kind(kind).name
        )),
    }
}
