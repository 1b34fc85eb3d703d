//! Two standards by what they mean: what got tighter, what got looser, for which records, and proof.
//!
//! A clause that says the same and rests on nothing that says something else is settled by that. Any
//! other is looked at for every choice of records: exact sets of what settings may be show that no run
//! changes its outcome, or leave room for one; then a run is looked for there, and checked against both
//! standards before it is shown. What neither settles within the budget is *not decided*.
//!
//! A plan may state something else than the record it uses. Such runs are looked at for what is not shown by
//! the records alone.
//!
//! A claim is about the points inside the tolerances of a run. All claims are about runs that both
//! standards can read; what plans may say now, or not any more, is told apart from them.

mod accounted;
mod canonical;
mod clause_effect;
mod conditions;
mod context;
mod edition;
mod entailment;
mod entries;
mod pairing;
mod passing;
mod plans;
mod sharpness;
mod texts;
mod unsatisfiable;
mod witness;

use std::cell::Cell;
use std::collections::BTreeMap;

use crate::check::Prepared;
use crate::diagnostic::{
    Answer, ChangeKind, ComparedStandard, Comparison, Direction, Effect, Meaning, ReadingShows,
    Share,
};
use crate::source::{Store, visible};
use crate::types::{Date, Standard};

pub use plans::{PlanOptions, plan_moves};

use clause_effect::ClauseEffects;
use conditions::dependencies::Name;
use context::{DiffContext, Entry, Touches};
use edition::Editions;
use pairing::clauses::Clause;
use texts::focus::Focus;
use texts::search::{TextSearch, Wanted};
use witness::witness_query::{Budget, Way};

/// How much work one question may take unless told otherwise.
pub const USUAL_BUDGET: u64 = 1_500;

/// How many times that all questions together may take.
const QUESTIONS: u64 = 40;

/// How much of the search for texts one unit of the budget is worth, for one question and for all.
const TEXTS_OF_ONE: u64 = 3;
const TEXTS_OF_ALL: u64 = 30;

/// How many rules one unit of the budget reads beside the clauses in question.
const RULES_OF_ONE: u64 = 40;

/// How a comparison is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DiffOptions {
    /// How much work one question may take: runs checked, and boxes of settings looked at.
    pub budget: u64,
    /// The day it is made for; deviations that have ended by then let nothing pass.
    pub on: Option<Date>,
}

impl Default for DiffOptions {
    fn default() -> Self {
        Self {
            budget: USUAL_BUDGET,
            on: None,
        }
    }
}

/// Compares two standards whose texts have no error; both were read into one store.
#[must_use]
pub fn compare(store: &Store, old: &Prepared, new: &Prepared, options: DiffOptions) -> Comparison {
    let (view, renamed) = pairing::rename_matching::match_names(&old.standard, &new.standard);
    let worlds = Editions::between(&old.standard, &view, &new.standard);
    let desk = DiffContext {
        store,
        worlds: &worlds,
        renamed: &renamed,
    };
    let pairs = pairing::clauses::rules(&view, &new.standard);
    let mut clauses: Vec<Clause> = pairs
        .iter()
        .flat_map(|pair| pairing::clauses::clauses(&view, &new.standard, *pair))
        .collect();
    pairing::clauses::moved(&view, &new.standard, &mut clauses);
    let mut entries = entries::rules::clauses(&desk, &clauses);
    entries.extend(entries::records::entries(&desk));
    entries.extend(entries::kinds::entries(&desk));
    entries.extend(entries::rules::entries(&desk, &pairs));
    entries.extend(entries::deviations::entries(&desk, &pairs, options.on));
    entries.extend(entries::rules::examples(&desk));
    let unspoken = accounted::unspoken(&desk, &pairs, &clauses, &entries);
    entries.extend(unspoken);
    let work = Budget::new(options.budget.saturating_mul(QUESTIONS), options.budget);
    let own = |kind: &str, name: &str| {
        let standard = &new.standard;
        let id = standard
            .kind_names
            .get(kind)
            .and_then(|kind| standard.record_names.get(&(*kind, name.to_owned())));
        let header = id.and_then(|id| standard.record(*id).header);
        header.is_some_and(|span| desk.is_own(span))
    };
    let others = Cell::new(options.budget.saturating_mul(RULES_OF_ONE));
    let effects = ClauseEffects {
        worlds: &worlds,
        work: &work,
        others: &others,
        own: &own,
    };
    let units = [
        options.budget.saturating_mul(TEXTS_OF_ONE),
        options.budget.saturating_mul(TEXTS_OF_ALL),
    ];
    let mut search = TextSearch::new([old, new], options.on, &clauses, units);
    let mut told = Vec::new();
    let mut blunt = Vec::new();
    let mut numbers = BTreeMap::new();
    let mut combinations = 0;
    for (number, clause) in clauses.iter().enumerate() {
        if !bears(&worlds, clause) {
            continue;
        }
        let became = effects.of(clause);
        combinations += became.looked;
        if clause.same && became.direction == Direction::NONE {
            continue;
        }
        numbers.insert(number, told.len());
        let mut effect =
            entries::effect_report::effect(&desk, (number, clause), &became, &mut search);
        by_others(&effects, clause, became.blunt, &mut effect);
        blunt.push(became.blunt);
        told.push(effect);
    }
    join(&worlds, &clauses, &numbers, &told, &mut entries);
    claim_all(&told, &mut entries);
    by_texts(&desk, &mut search, &others, &mut entries);
    for (side, word) in [(0, "old"), (1, "new")] {
        let world = if side == 0 { &worlds.old } else { &worlds.new };
        if let Some(rules) = unsatisfiable::nothing_passes(world, &worlds.differences, side == 1) {
            let note = format!("no plan can pass the {word} standard: {rules} cannot be kept");
            nothing_passes(side, &note, &mut told, &mut entries);
        }
        let passes_with = |kind: &str, record: &str| {
            unsatisfiable::nothing_passes_with(
                world,
                &worlds.differences,
                side == 1,
                (kind, record),
            )
        };
        let is_blunt = |effect: usize| {
            let ways: Option<&Direction> = blunt.get(effect);
            ways.is_some_and(|ways| [ways.tighter, ways.looser][side] != Answer::No)
        };
        nothing_passes_with(side, word, &passes_with, &is_blunt, &mut told, &mut entries);
    }
    let meaning = meaning(&entries);
    let mut changes: Vec<_> = entries.into_iter().map(|entry| entry.change).collect();
    // What got looser first, then what got tighter; likely slips before all else.
    changes.sort_by_key(|change| {
        let of = change.direction;
        let quiet = of == Direction::NONE;
        (change.alarm.is_none(), quiet, of.looser, of.tighter)
    });
    Comparison {
        old: side(&old.standard),
        new: side(&new.standard),
        meaning,
        changes,
        effects: told,
        clauses: clauses.len(),
        combinations,
        plans: None,
    }
}

/// New names of rules by their old ones, for those that say the same under another name.
#[must_use]
pub fn renamed_rules(old: &Standard, new: &Standard) -> BTreeMap<String, String> {
    let (view, _) = pairing::rename_matching::match_names(old, new);
    let pairs = pairing::clauses::rules(&view, new);
    let names = pairs.iter().filter_map(|pair| {
        let (was, is) = (&old.rules[pair.old?].name, &new.rules[pair.new?].name);
        (was != is).then(|| (was.clone(), is.clone()))
    });
    names.collect()
}

fn side(standard: &Standard) -> ComparedStandard {
    ComparedStandard {
        file: standard.root,
        revision: None,
        name: standard.name.clone(),
        edition: standard.edition.clone(),
        digest: standard.digest.0.clone(),
    }
}

/// Whether anything that differs bears on a clause.
fn bears(worlds: &Editions<'_>, clause: &Clause) -> bool {
    if clause.moved {
        return false;
    }
    if !clause.same {
        return true;
    }
    let differences = &worlds.differences;
    if differences.is_empty() {
        return false;
    }
    [(&worlds.old, &clause.old), (&worlds.new, &clause.new)]
        .into_iter()
        .any(|(world, part)| {
            let Some(part) = part else { return false };
            let asks = clause_effect::asks_for_records(world.view, part);
            (asks && !differences.ancestry.is_empty())
                || clause_effect::rests_on(world.view, &world.closures, part)
                    .iter()
                    .any(|of| {
                        differences.formulas.contains(of) || differences.values.contains_key(of)
                    })
        })
}

/// Gives every change the effects it bears on, and what they come to.
fn join(
    worlds: &Editions<'_>,
    clauses: &[Clause],
    numbers: &BTreeMap<usize, usize>,
    told: &[Effect],
    entries: &mut [Entry],
) {
    let mut rests: BTreeMap<usize, (std::collections::BTreeSet<Name>, bool)> = BTreeMap::new();
    for number in numbers.keys() {
        let clause = &clauses[*number];
        let known = rests.entry(*number).or_default();
        for (world, part) in [(&worlds.old, &clause.old), (&worlds.new, &clause.new)] {
            let Some(part) = part else { continue };
            known
                .0
                .extend(clause_effect::rests_on(world.view, &world.closures, part));
            known.1 |= clause_effect::asks_for_records(world.view, part);
        }
    }
    for entry in entries {
        let bears = |number: &usize| match &entry.touches {
            Touches::Nothing => false,
            Touches::Clause(of) => of == number,
            Touches::Setting(name) => rests
                .get(number)
                .is_some_and(|(rests, _)| rests.contains(name)),
            Touches::Record(_, names) => rests.get(number).is_some_and(|(rests, asks)| {
                *asks || names.iter().any(|name| rests.contains(name))
            }),
        };
        for (number, effect) in numbers {
            if !bears(number) {
                continue;
            }
            let Some(direction) =
                entries::effect_report::share(&entry.change, &entry.touches, &told[*effect])
            else {
                continue;
            };
            let effect = *effect;
            for (word, closed) in ["old", "new"].into_iter().zip(told[effect].beside_others) {
                let note = format!(
                    "no plan that passes the {word} standard fails the other by it: its other rules leave none"
                );
                if closed && !entry.change.notes.contains(&note) {
                    entry.change.notes.push(note);
                }
            }
            entry.change.effects.push(Share { effect, direction });
            entry.change.direction = entry.change.direction.or(direction);
        }
        let beside = |clause: &usize| {
            let effect = numbers.get(clause).map(|effect| &told[*effect]);
            effect.is_some_and(|effect| effect.beside_others != [false; 2])
        };
        let own = matches!(&entry.touches, Touches::Clause(clause) if !beside(clause));
        if own && entry.change.direction == Direction::NONE && entry.change.alarm.is_none() {
            // Proved: it is said in another way, and nothing else.
            let lone = entry.change.old.is_none() || entry.change.new.is_none();
            if lone {
                entry.change.notes.push("no run can break it".to_owned());
            } else {
                entry.change.kinds = vec![ChangeKind::Form];
                entry.differs = false;
            }
        }
    }
}

/// Gives what became of clauses to a change, where none has answered for it: what nobody looked at is not proved.
fn claim_all(told: &[Effect], entries: &mut [Entry]) {
    for (number, effect) in told.iter().enumerate() {
        let all = entries.iter().flat_map(|entry| &entry.change.effects);
        let claimed = all
            .filter(|share| share.effect == number)
            .fold(Direction::NONE, |known, share| known.or(share.direction));
        if claimed.or(effect.direction) == claimed {
            continue;
        }
        let has = |entry: &Entry| {
            let mut of = entry.change.effects.iter();
            of.any(|share| share.effect == number)
        };
        let at = entries
            .iter()
            .position(has)
            .or_else(|| {
                entries
                    .iter()
                    .position(|entry| entry.touches != Touches::Nothing)
            })
            .or_else(|| (!entries.is_empty()).then_some(0));
        let Some(entry) = at.and_then(|at| entries.get_mut(at)) else {
            continue;
        };
        let share = entry.change.effects.iter_mut();
        let direction = effect.direction;
        match share.into_iter().find(|share| share.effect == number) {
            Some(share) => share.direction = share.direction.or(direction),
            None => entry.change.effects.push(Share {
                effect: number,
                direction,
            }),
        }
        entry.change.direction = entry.change.direction.or(direction);
        entry.differs = true;
    }
}

/// Closes what is open of a clause where the other rules leave no plan that passes one side and not the other by it.
fn by_others(
    effects: &ClauseEffects<'_, '_>,
    clause: &Clause,
    blunt: Direction,
    effect: &mut Effect,
) {
    for (side, way) in [(0, Way::Tighter), (1, Way::Looser)] {
        let open = [effect.direction.tighter, effect.direction.looser][side];
        let blunt = [blunt.tighter, blunt.looser][side];
        if open != Answer::NotDecided
            || blunt != Answer::No
            || !effects.is_excluded_by_others(clause, way)
        {
            continue;
        }
        effect.beside_others[side] = true;
        close(side, &mut effect.direction);
        for of in &mut effect.combinations {
            match way {
                Way::Tighter => of.direction.tighter = Answer::No,
                Way::Looser => of.direction.looser = Answer::No,
            }
        }
    }
}

/// Closes what is open of what passed a side; whether it was.
fn close(side: usize, of: &mut Direction) -> bool {
    let way = if side == 0 {
        &mut of.tighter
    } else {
        &mut of.looser
    };
    let open = *way == Answer::NotDecided;
    if open {
        *way = Answer::No;
    }
    open
}

/// The same where nothing passes one side with the records that a change reaches; `by` says the rule.
fn nothing_passes_with<'r>(
    side: usize,
    word: &str,
    by: &dyn Fn(&str, &str) -> Option<&'r str>,
    blunt: &dyn Fn(usize) -> bool,
    told: &mut [Effect],
    entries: &mut [Entry],
) {
    for (number, effect) in told.iter_mut().enumerate() {
        for of in &mut effect.combinations {
            let never = of.list.iter().all(|one| {
                let mut records = one.iter().filter(|(_, record)| !record.is_empty());
                records.any(|(kind, record)| by(kind, record).is_some())
            });
            if never && !of.list.is_empty() {
                close(side, &mut of.direction);
            }
        }
        let left = effect.combinations.iter().any(|of| {
            let way = [of.direction.tighter, of.direction.looser][side];
            way != Answer::No
        });
        if !left && !effect.combinations.is_empty() && !blunt(number) {
            close(side, &mut effect.direction);
        }
    }
    for entry in entries {
        let Some((kind, records)) = &entry.records else {
            continue;
        };
        let rules: Vec<&str> = records.iter().filter_map(|of| by(kind, of)).collect();
        let Some(rule) = rules.first().filter(|_| rules.len() == records.len()) else {
            continue;
        };
        for share in &mut entry.change.effects {
            close(side, &mut share.direction);
        }
        if close(side, &mut entry.change.direction) {
            entry.change.notes.push(format!(
                "no plan with it can pass the {word} standard: `{rule}` cannot be kept"
            ));
        }
    }
}

/// Where nothing passes one side, nothing that passed it fails now, or the other way round.
fn nothing_passes(side: usize, note: &str, told: &mut [Effect], entries: &mut [Entry]) {
    let close = |of: &mut Direction| close(side, of);
    for effect in told {
        close(&mut effect.direction);
        for of in &mut effect.combinations {
            close(&mut of.direction);
        }
    }
    for entry in entries {
        for share in &mut entry.change.effects {
            close(&mut share.direction);
        }
        if close(&mut entry.change.direction) {
            entry.change.notes.push(note.to_owned());
        }
    }
}

/// Tries what bears on texts otherwise than by clauses: what its plans come to is what it does.
fn by_texts(
    desk: &DiffContext<'_, '_>,
    search: &mut TextSearch<'_>,
    others: &Cell<u64>,
    entries: &mut [Entry],
) {
    let name = desk.store.get(desk.worlds.new.standard.root).name();
    let against = visible(name.rsplit('/').next().unwrap_or(name)).into_owned();
    let never = [(false, &desk.worlds.old), (true, &desk.worlds.new)].map(|(new, world)| {
        unsatisfiable::nothing_passes(world, &desk.worlds.differences, new).is_some()
    });
    for entry in entries {
        if entry.ways == [false; 2] {
            continue;
        }
        for (side, word) in [(0, "old"), (1, "new")] {
            // Where nothing passes at all, that is said at the end, with the rules.
            if !entry.ways[side]
                || never[side]
                || !passing::excludes(desk.worlds, side == 1, entry, others)
            {
                continue;
            }
            entry.ways[side] = false;
            entry.change.notes.push(format!(
                "no plan passes the {word} standard by which that tells"
            ));
        }
        // What only a text can show is not excluded because none did.
        let open = |may: bool| if may { Answer::NotDecided } else { Answer::No };
        let [worse, better] = entry.ways;
        let may = Direction {
            tighter: open(worse),
            looser: open(better),
        };
        let known = entry.change.direction;
        entry.change.direction = known.or(may);
        let wanted = |of: &Direction| {
            let yes = [of.tighter, of.looser].map(|answer| answer == Answer::Yes);
            [worse && !yes[0], better && !yes[1]]
        };
        let mut focus = Focus::default();
        for change in &entry.texts {
            focus.join(Focus::of(change, search));
        }
        for day in std::iter::once(None).chain(entry.day.map(Some)) {
            let ways = wanted(&entry.change.direction);
            if ways == [false; 2] {
                break;
            }
            let other = day.map(|day| search.on(Some(day)));
            let found = search.ask(&focus, Wanted::Whole, &[], ways).flips;
            if let Some(usual) = other {
                search.on(usual);
            }
            for (flip, tighter) in found.into_iter().zip([true, false]) {
                let Some(flip) = flip else { continue };
                let of = &mut entry.change.direction;
                if tighter {
                    of.tighter = Answer::Yes;
                } else {
                    of.looser = Answer::Yes;
                }
                match day {
                    Some(day) => entry.change.notes.push(format!(
                        "on {day} a plan passes by the {} standard and not by the {} one",
                        if tighter { "old" } else { "new" },
                        if tighter { "new" } else { "old" },
                    )),
                    None => entry.change.shows.push(ReadingShows {
                        tighter,
                        plan: flip.plan.text(&against),
                        old: flip.old,
                        new: flip.new,
                    }),
                }
            }
        }
        entry.differs |= entry.change.direction != Direction::NONE;
    }
}

fn meaning(entries: &[Entry]) -> Meaning {
    let open = |entry: &Entry| entry.differs && entry.change.direction.is_open();
    let known = |entry: &Entry| {
        let of = entry.change.direction;
        let yes = crate::diagnostic::Answer::Yes;
        entry.differs && (!of.is_open() || of.tighter == yes || of.looser == yes)
    };
    if entries.iter().any(known) {
        Meaning::Differs
    } else if entries.iter().any(open) {
        Meaning::NotDecided
    } else {
        Meaning::Same
    }
}
