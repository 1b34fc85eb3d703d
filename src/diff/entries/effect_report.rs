//! What became of a clause, in the words of its views.

use std::collections::BTreeSet;

use crate::diagnostic::{Change, Combinations, Direction, Effect, Shows, Stands};
use crate::diff::clause_effect::ClauseEffect;
use crate::diff::context::{DiffContext, Touches};
use crate::diff::pairing::clauses::{Clause, Part};
use crate::diff::reading::probe::Probes;
use crate::diff::witness::witness_query::{Choice, Way, Witness};
use crate::source::visible;
use crate::types::Standard;

/// An effect with its combinations, by what happens there.
pub(in crate::diff) fn effect(
    desk: &DiffContext<'_, '_>,
    clause: &Clause,
    became: &ClauseEffect,
    probes: &mut Probes<'_>,
) -> Effect {
    let name = |standard: &Standard, part: &Option<Part>| {
        part.as_ref()
            .map(|part| standard.rules[part.rule].name.clone())
    };
    let rule = name(desk.after(), &clause.new).or_else(|| name(desk.before(), &clause.old));
    let mut combinations: Vec<Combinations> = Vec::new();
    for fate in &became.fates {
        let named = named(&fate.choice, became);
        match combinations
            .iter_mut()
            .find(|known| known.direction == fate.direction)
        {
            Some(known) => {
                if !known.list.contains(&named) {
                    known.list.push(named);
                }
            }
            None => combinations.push(Combinations {
                direction: fate.direction,
                list: vec![named],
            }),
        }
    }
    combinations.sort_by_key(|of| (of.direction.looser, of.direction.tighter));
    Effect {
        rule: rule.unwrap_or_default(),
        old_verb: clause.old.as_ref().map(|part| part.verb),
        new_verb: clause.new.as_ref().map(|part| part.verb),
        old: stands(desk, desk.before(), clause.old.as_ref()),
        new: stands(desk, desk.after(), clause.new.as_ref()),
        direction: became.direction,
        combinations,
        shows: became
            .shown
            .iter()
            .filter_map(|(way, shown)| {
                let mut shows = shows(desk, clause, *way, shown)?;
                whole(desk, *way, shown, &mut shows, probes);
                Some(shows)
            })
            .collect(),
        left: became.left.iter().cloned().collect(),
    }
}

fn stands(desk: &DiffContext<'_, '_>, standard: &Standard, part: Option<&Part>) -> Option<Stands> {
    let part = part?;
    let rule = &standard.rules[part.rule];
    if rule.table.is_some() {
        return Some(desk.with_words(rule.span, &format!("table {}", rule.name)));
    }
    let spans: Vec<_> = part
        .requirements
        .iter()
        .filter_map(|number| rule.requirements.get(*number))
        .map(|requirement| requirement.span)
        .collect();
    let words: Vec<String> = spans.iter().map(|span| desk.stands(*span).words).collect();
    Some(desk.with_words(*spans.first()?, &words.join("; ")))
}

fn named(choice: &Choice, became: &ClauseEffect) -> Vec<(String, String)> {
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for (key, record) in choice {
        let kind = became.kinds.get(key).cloned().unwrap_or_default();
        let record = record.clone().unwrap_or_default();
        let pair = (kind, visible(&record).into_owned());
        if seen.insert(pair.clone()) {
            found.push(pair);
        }
    }
    found
}

fn shows(desk: &DiffContext<'_, '_>, clause: &Clause, way: Way, shown: &Witness) -> Option<Shows> {
    let root = |standard: &Standard| {
        let name = desk.store.get(standard.root).name();
        visible(name.rsplit('/').next().unwrap_or(name)).into_owned()
    };
    let new = shown
        .draft
        .text(&desk.worlds.new, &root(desk.worlds.new.standard))?;
    let same_root = shown
        .draft
        .text(&desk.worlds.old, &root(desk.worlds.new.standard))?;
    let old = shown
        .draft
        .text(&desk.worlds.old, &root(desk.worlds.old.standard))?;
    Some(Shows {
        tighter: way == Way::Tighter,
        whole: false,
        old_plan: (same_root != new).then_some(old),
        plan: new,
        old: clause.old.as_ref().map(|_| shown.old.outcome),
        new: clause.new.as_ref().map(|_| shown.new.outcome),
    })
}

/// What a change has to do with what became of a clause; `None` where it is nothing.
pub(in crate::diff) fn share(
    change: &Change,
    touches: &Touches,
    effect: &Effect,
) -> Option<Direction> {
    if change.reaches.is_empty() || matches!(touches, Touches::Clause(_)) {
        return Some(effect.direction);
    }
    let of = effect.combinations.iter();
    let mut reached = of.filter(|of| of.list.iter().any(|one| change.reaches(one)));
    let first = reached.next()?.direction;
    Some(reached.fold(first, |known, of| known.or(of.direction)))
}

/// Completes a run that shows what became of a clause, until it passes one side as a whole, and not the other.
fn whole(
    desk: &DiffContext<'_, '_>,
    way: Way,
    shown: &Witness,
    shows: &mut Shows,
    probes: &mut Probes<'_>,
) {
    // In the words of one side it may mean nothing to the other.
    if shows.old_plan.is_some() {
        return;
    }
    let (side, edition) = match way {
        Way::Tighter => (0, &desk.worlds.old),
        Way::Looser => (1, &desk.worlds.new),
    };
    let Some(plan) = shown.draft.plan(edition) else {
        return;
    };
    if let Some(found) = probes.flips(side, &plan) {
        let name = desk.store.get(desk.worlds.new.standard.root).name();
        shows.plan = found.text(&visible(name.rsplit('/').next().unwrap_or(name)));
        shows.whole = true;
    }
}
