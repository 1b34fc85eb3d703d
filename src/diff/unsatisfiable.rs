//! Whether any plan can pass a standard at all.

use crate::diagnostic::Verb;
use crate::diff::conditions::dependencies::Differences;
use crate::diff::conditions::lower_condition::{Figures, Situation};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::edition::Edition;
use crate::types::{Condition, ConditionNode, PlaceInRun, Root, Rule, RuleForm, Standard, Type};
use crate::units::Exact;

/// The rules that no plan keeps together, in words; `None` where it is not shown that there are such.
///
/// Asked of what every plan is held to: requirements without `when` and `for each`, of rules without deviations. A
/// figure may be anything here, whatever it is worked out from, so that what cannot be kept so cannot be kept at all.
pub(in crate::diff) fn nothing_passes(
    world: &Edition<'_>,
    differences: &Differences,
    new: bool,
) -> Option<String> {
    let standard = world.view;
    // A share that is left out is nothing, also where nothing is not possible.
    let no_share_is_none = standard.kinds.iter().any(|kind| {
        kind.parts
            .iter()
            .flat_map(|whole| &whole.fields)
            .any(|field| {
                let possible = kind.fields[field.0 as usize].possible.as_ref();
                let low = possible.and_then(|possible| possible.low.as_ref());
                low.is_some_and(|low| *low > Exact::ZERO)
            })
    });
    if no_share_is_none {
        return None;
    }
    let (overrides, situation) = (Overrides::default(), Situation::new());
    let mut vars = Vars::default();
    let mut kept: Vec<(&str, Formula)> = Vec::new();
    for rule in binding(standard) {
        for requirement in &rule.requirements {
            if requirement.verb != Verb::Shall || !requirement.when.is_empty() {
                continue;
            }
            let mut reader = world.lowering(
                differences,
                (&situation, &overrides),
                (Figures::Stated, new),
                &mut vars,
            );
            let all = [&requirement.condition]
                .into_iter()
                .chain(&rule.permissions);
            let all: Vec<Formula> = all.map(|of| reader.formula(of, true)).collect();
            kept.push((&rule.name, Formula::any(all)));
        }
    }
    let all: Vec<&Formula> = kept.iter().map(|(_, formula)| formula).collect();
    if !vars.is_never(&all) {
        return None;
    }
    // As few of them as show it.
    let mut few: Vec<(&str, &Formula)> = kept.iter().map(|(name, of)| (*name, of)).collect();
    let mut at = 0;
    while at < few.len() {
        let fewer: Vec<&Formula> = few
            .iter()
            .enumerate()
            .filter(|(place, _)| *place != at)
            .map(|(_, (_, of))| *of)
            .collect();
        if vars.is_never(&fewer) {
            few.remove(at);
        } else {
            at += 1;
        }
    }
    let mut names: Vec<String> = few.iter().map(|(name, _)| format!("`{name}`")).collect();
    names.dedup();
    Some(names.join(" and "))
}

/// The rule by which no plan passes whose one thing of a kind is a record; `None` where it is not shown that there is one.
/// Asked of what every plan is held to and that asks of that thing which record it is, and nothing else.
pub(in crate::diff) fn nothing_passes_with<'w>(
    world: &Edition<'w>,
    differences: &Differences,
    new: bool,
    (kind, record): (&str, &str),
) -> Option<&'w str> {
    let standard = world.view;
    let id = *standard.kind_names.get(kind)?;
    let refers = |field: &crate::types::Field| field.ty == Type::Reference(id);
    let mut fields = standard.kinds.iter().flat_map(|kind| &kind.fields);
    if standard.kind(id).place != PlaceInRun::One || fields.any(refers) {
        return None;
    }
    let record = *standard.record_names.get(&(id, record.to_owned()))?;
    let situation: Situation = [(kind.to_owned(), Some(record))].into();
    let overrides = Overrides::default();
    let asks_only = |of: &Condition| {
        let mut only = true;
        of.visit(&mut |part| {
            only &= part.is_joined() || matches!(part.node, ConditionNode::Is { .. });
        });
        only && of
            .paths()
            .iter()
            .all(|path| path.hops.is_empty() && path.root == Root::Single(id))
    };
    let found = binding(standard).find(|rule| {
        rule.requirements.iter().any(|requirement| {
            let all = [&requirement.condition]
                .into_iter()
                .chain(&rule.permissions);
            let mut vars = Vars::default();
            requirement.verb == Verb::Shall
                && requirement.when.is_empty()
                && all.clone().all(asks_only)
                && all.into_iter().all(|of| {
                    let mut reader = world.lowering(
                        differences,
                        (&situation, &overrides),
                        (Figures::Stated, new),
                        &mut vars,
                    );
                    reader.formula(of, true).is_false()
                })
        })
    });
    found.map(|rule| rule.name.as_str())
}

/// The rules that every plan is held to: without `when` and `for each`, no table, and no deviation from them.
fn binding(standard: &Standard) -> impl Iterator<Item = &Rule> {
    let rules = standard.rules.iter().enumerate();
    let binding = rules.filter(|(number, rule)| {
        let mut deviations = standard.deviations.iter();
        rule.form == RuleForm::Rule
            && rule.each.is_none()
            && rule.when.is_empty()
            && rule.table.is_none()
            && !deviations.any(|of| of.rule == Some(*number))
    });
    binding.map(|(_, rule)| rule)
}
