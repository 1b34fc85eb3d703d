//! What became of a clause, in the words of its views.

use std::collections::BTreeSet;

use crate::diagnostic::{Answer, Change, Combinations, Direction, Effect, Shows, Stands, Verb};
use crate::diff::clause_effect::ClauseEffect;
use crate::diff::context::{DiffContext, Touches};
use crate::diff::edition::Edition;
use crate::diff::pairing::clauses::{Clause, Part};
use crate::diff::texts::focus::Focus;
use crate::diff::texts::plan_text::PlanText;
use crate::diff::texts::search::{TextSearch, Wanted};
use crate::diff::witness::witness_query::{Choice, Way, Witness};
use crate::source::visible;
use crate::types::Standard;

/// An effect with its combinations, by what happens there.
pub(in crate::diff) fn effect(
    desk: &DiffContext<'_, '_>,
    (number, clause): (usize, &Clause),
    became: &ClauseEffect,
    search: &mut TextSearch<'_>,
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
    let mut effect = Effect {
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
            .filter_map(|(way, shown)| shows(desk, clause, *way, shown))
            .collect(),
        left: became.left.iter().cloned().collect(),
        beside_others: [false; 2],
    };
    whole(desk, (number, clause), became, &mut effect, search);
    effect
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
    let mut direction = reached.fold(first, |known, of| known.or(of.direction));
    // A plan with a record that the change reaches shows it, whatever was left open of its combinations.
    for shows in &effect.shows {
        let mut words = shows.plan.split_whitespace();
        if words.any(|word| {
            change
                .reaches
                .iter()
                .any(|of| of == word.trim_end_matches(','))
        }) {
            if shows.tighter {
                direction.tighter = Answer::Yes;
            } else {
                direction.looser = Answer::Yes;
            }
        }
    }
    Some(direction)
}

/// Looks for plans that pass one edition as a whole and not the other, by what became of a clause.
fn whole(
    desk: &DiffContext<'_, '_>,
    (number, clause): (usize, &Clause),
    became: &ClauseEffect,
    effect: &mut Effect,
    search: &mut TextSearch<'_>,
) {
    let worlds = [&desk.worlds.old, &desk.worlds.new];
    // What comes to the same as a whole shows nothing to who checks it.
    let mut dropped = [false; 2];
    effect.shows.retain(|shows| {
        let old = shows.old_plan.as_ref().unwrap_or(&shows.plan);
        let tells = search.tells_apart([old, &shows.plan]);
        dropped[usize::from(!shows.tighter)] |= !tells;
        tells
    });
    if dropped[0] {
        effect.direction.tighter = Answer::NotDecided;
    }
    if dropped[1] {
        effect.direction.looser = Answer::NotDecided;
    }
    let may = |answer: Answer| answer != Answer::No;
    let ways = [may(effect.direction.tighter), may(effect.direction.looser)];
    let warns = |verb: Option<Verb>| verb != Some(Verb::Shall);
    let wanted = if warns(effect.old_verb) && warns(effect.new_verb) {
        // No plan fails by it; what is open may be shown by what warns.
        Wanted::Warning(number)
    } else {
        Wanted::Clause(number)
    };
    let open = effect.direction.is_open();
    if ways == [false; 2] || matches!(wanted, Wanted::Warning(_)) && !open {
        return;
    }
    let drafts = became.shown.iter().map(|(_, shown)| &shown.draft);
    let seeds: Vec<_> = drafts
        .flat_map(|draft| worlds.map(|world| draft.plan(world)))
        .flatten()
        .collect();
    let focus = Focus::of_clause(clause, search);
    let found = search.ask(&focus, wanted, &seeds, ways);
    let name = desk.store.get(desk.worlds.new.standard.root).name();
    let against = visible(name.rsplit('/').next().unwrap_or(name)).into_owned();
    let whole = found.flips.map(|flip| flip.map(|flip| flip.plan));
    let by_clause = found.by_clause.into_iter().zip([true, false]);
    let all = whole.into_iter().zip(by_clause);
    for (flip, (by_clause, tighter)) in all {
        let answer = match tighter {
            true => effect.direction.tighter,
            false => effect.direction.looser,
        };
        // What only the clause shows is shown where nothing else was, and where who checks it sees something.
        let text = |plan: &PlanText| plan.text(&against);
        let tells = |plan: &PlanText| search.tells_apart([&text(plan), &text(plan)]);
        let flip = flip.filter(tells);
        let is_whole = flip.is_some();
        let of_clause = || by_clause.filter(|plan| answer == Answer::NotDecided && tells(plan));
        let Some(plan) = flip.or_else(of_clause) else {
            continue;
        };
        let text = text(&plan);
        let came = |world: &Edition<'_>, part: &Option<Part>| {
            let run = world.run(&text)?;
            part.as_ref()
                .map(|part| world.came(&run, Some(part)).outcome)
        };
        let shows = Shows {
            tighter,
            whole: is_whole && matches!(wanted, Wanted::Clause(_)),
            plan: text.clone(),
            old_plan: None,
            old: came(worlds[0], &clause.old),
            new: came(worlds[1], &clause.new),
        };
        if tighter {
            effect.direction.tighter = Answer::Yes;
        } else {
            effect.direction.looser = Answer::Yes;
        }
        effect.shows.retain(|known| known.tighter != tighter);
        effect.shows.push(shows);
    }
    effect.shows.sort_by_key(|shows| !shows.tighter);
}
