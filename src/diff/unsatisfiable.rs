//! Whether any plan can pass a standard at all.

use std::collections::BTreeSet;

use crate::diagnostic::Verb;
use crate::diff::conditions::dependencies::Differences;
use crate::diff::conditions::lower_condition::{Figures, Situation};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::edition::Edition;
use crate::diff::pairing::rename_matching::{kind_ids, record_ids};
use crate::diff::passing::is_given;
use crate::types::{
    Condition, Hop, KindId, Path, PlaceInRun, RecordId, Root, Rule, RuleForm, Standard, Type,
};

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
        let rules = nothing_passes_with_any(world, differences, new)?;
        let names: Vec<String> = rules.iter().map(|name| format!("`{name}`")).collect();
        return Some(names.join(" and "));
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
/// Asked of what every plan is held to and that asks of that thing which record it is or what that gives, and nothing
/// else.
pub(in crate::diff) fn nothing_passes_with<'w>(
    world: &Edition<'w>,
    differences: &Differences,
    new: bool,
    (kind, record): (&str, &str),
) -> Option<&'w str> {
    let standard = world.view;
    let id = *standard.kind_names.get(kind)?;
    let record = *standard.record_names.get(&(id, record.to_owned()))?;
    refusing(world, differences, new, (id, Some(record)))
}

/// The rules by which no plan passes, whichever record its one thing of some kind is, or if it is none.
fn nothing_passes_with_any<'w>(
    world: &Edition<'w>,
    differences: &Differences,
    new: bool,
) -> Option<BTreeSet<&'w str>> {
    let standard = world.view;
    kind_ids(standard).find_map(|id| {
        let none = refusing(world, differences, new, (id, None))?;
        let records = record_ids(standard).filter(|of| standard.record(*of).kind == id);
        let rules = records.map(|of| refusing(world, differences, new, (id, Some(of))));
        let mut rules: BTreeSet<&str> = rules.collect::<Option<_>>()?;
        rules.insert(none);
        Some(rules)
    })
}

/// The rule by which no plan passes whose one thing of a kind is this record, or is none.
fn refusing<'w>(
    world: &Edition<'w>,
    differences: &Differences,
    new: bool,
    (id, record): (KindId, Option<RecordId>),
) -> Option<&'w str> {
    let standard = world.view;
    let kind = standard.kind(id);
    let refers = |field: &crate::types::Field| field.ty == Type::Reference(id);
    let mut fields = standard.kinds.iter().flat_map(|kind| &kind.fields);
    if standard.kind(id).place != PlaceInRun::One || fields.any(refers) {
        return None;
    }
    let situation: Situation = [(kind.name.clone(), record)].into();
    let overrides = Overrides::default();
    // What a record gives, no plan that passes states otherwise.
    let given = |path: &Path| match path.hops.as_slice() {
        [] => true,
        [Hop::Field(kind, field)] => {
            record.is_some_and(|of| is_given(standard, of, (*kind, *field)))
        }
        _ => false,
    };
    let asks_only = |of: &Condition| {
        let paths = of.paths();
        let mut fixed = paths
            .iter()
            .map(|path| path.root == Root::Single(id) && given(path));
        fixed.all(|fixed| fixed)
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
