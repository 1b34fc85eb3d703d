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

mod canonical;
mod clause_effect;
mod conditions;
mod context;
mod edition;
mod entries;
mod pairing;
mod plans;
mod witness;

use std::collections::BTreeMap;

use crate::check::Prepared;
use crate::diagnostic::{
    ChangeKind, ComparedStandard, Comparison, Direction, Effect, Meaning, Share,
};
use crate::source::Store;
use crate::types::{Date, Standard};

pub use plans::{PlanOptions, plan_moves};

use clause_effect::ClauseEffects;
use conditions::dependencies::{Closures, Differences, Name};
use context::{DiffContext, Entry, Touches};
use edition::{Edition, Editions};
use pairing::clauses::Clause;
use witness::witness_query::Budget;

/// How much work one question may take unless told otherwise.
pub const USUAL_BUDGET: u64 = 1_500;

/// How many times that all questions together may take.
const QUESTIONS: u64 = 40;

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
    let differences = Differences::between(&view, &new.standard);
    let worlds = Editions {
        old: Edition {
            standard: &old.standard,
            view: &view,
            closures: Closures::new(&view),
            side: " (old)",
        },
        new: Edition {
            standard: &new.standard,
            view: &new.standard,
            closures: Closures::new(&new.standard),
            side: " (new)",
        },
        differences,
    };
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
    let effects = ClauseEffects {
        worlds: &worlds,
        work: &work,
        own: &own,
    };
    let mut told = Vec::new();
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
        told.push(entries::effect_report::effect(&desk, clause, &became));
    }
    join(&worlds, &clauses, &numbers, &told, &mut entries);
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
            entry.change.effects.push(Share { effect, direction });
            entry.change.direction = entry.change.direction.or(direction);
        }
        let own = matches!(entry.touches, Touches::Clause(_));
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
