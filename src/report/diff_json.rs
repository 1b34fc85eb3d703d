//! A comparison for programs: version 1 of our own JSON form, described by `diff.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::diff_words::verdict;
use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use super::plan_moves_json::V1Plans;
use crate::diagnostic::{
    Change, Combinations, ComparedStandard, Comparison, Direction, Effect, Meaning, Outcome, Shows,
    Stands,
};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn diff_schema() -> &'static str {
    include_str!("diff.v1.schema.json")
}

/// Writes a comparison as JSON: every change, every effect, every combination.
///
/// # Errors
/// Whatever `out` fails with.
pub fn diff_json(comparison: &Comparison, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Diff::new(comparison, store), out)
}

#[derive(Serialize)]
struct V1Diff<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    old: V1Standard<'r>,
    new: V1Standard<'r>,
    meaning: &'static str,
    verdict: String,
    counts: V1Counts,
    clauses: usize,
    combinations: usize,
    changes: Vec<V1Change<'r>>,
    effects: Vec<V1Effect<'r>>,
    plans: Option<V1Plans<'r>>,
}

#[derive(Serialize)]
struct V1Counts {
    loosened: usize,
    tightened: usize,
    not_decided: usize,
    without_effect: usize,
    likely_slips: usize,
}

#[derive(Serialize)]
struct V1Direction {
    tightened: &'static str,
    loosened: &'static str,
}

#[derive(Serialize)]
struct V1Stands<'r> {
    words: &'r str,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Change<'r> {
    subject: &'r str,
    kinds: Vec<&'static str>,
    direction: V1Direction,
    old: Option<V1Stands<'r>>,
    new: Option<V1Stands<'r>>,
    likely_slip: Option<&'r str>,
    notes: &'r [String],
    reaches: &'r [String],
    effects: Vec<V1Share>,
}

#[derive(Serialize)]
struct V1Share {
    effect: usize,
    direction: V1Direction,
}

#[derive(Serialize)]
struct V1Effect<'r> {
    rule: &'r str,
    verb: &'static str,
    old: Option<V1Stands<'r>>,
    new: Option<V1Stands<'r>>,
    direction: V1Direction,
    combinations: Vec<V1Combinations<'r>>,
    runs: Vec<V1Run<'r>>,
    left: &'r [String],
}

#[derive(Serialize)]
struct V1Combinations<'r> {
    direction: V1Direction,
    list: Vec<Vec<V1Record<'r>>>,
}

#[derive(Serialize)]
struct V1Record<'r> {
    kind: &'r str,
    record: Option<&'r str>,
}

#[derive(Serialize)]
struct V1Run<'r> {
    shows: &'static str,
    plan: &'r str,
    plan_for_old: Option<&'r str>,
    old: Option<&'static str>,
    new: Option<&'static str>,
}

impl From<Direction> for V1Direction {
    fn from(of: Direction) -> Self {
        Self {
            tightened: of.tighter.slug(),
            loosened: of.looser.slug(),
        }
    }
}

impl<'r> V1Stands<'r> {
    fn new(of: &'r Stands, store: &'r Store) -> Self {
        Self {
            words: &of.words,
            place: V1Place::new(of.span, store),
        }
    }
}

impl<'r> V1Standard<'r> {
    fn new(of: &'r ComparedStandard, store: &'r Store) -> Self {
        Self {
            file: store.get(of.file).name(),
            name: &of.name,
            edition: of.edition.as_deref(),
            digest: &of.digest,
        }
    }
}

impl<'r> V1Change<'r> {
    fn new(of: &'r Change, store: &'r Store) -> Self {
        let stands = |of: &'r Option<Stands>| of.as_ref().map(|of| V1Stands::new(of, store));
        let share = |share: &crate::diagnostic::Share| V1Share {
            effect: share.effect,
            direction: share.direction.into(),
        };
        Self {
            subject: &of.subject,
            kinds: of.kinds.iter().map(|kind| kind.slug()).collect(),
            direction: of.direction.into(),
            old: stands(&of.old),
            new: stands(&of.new),
            likely_slip: of.alarm.as_deref(),
            notes: &of.notes,
            reaches: &of.reaches,
            effects: of.effects.iter().map(share).collect(),
        }
    }
}

impl<'r> V1Effect<'r> {
    fn new(of: &'r Effect, store: &'r Store) -> Self {
        let stands = |of: &'r Option<Stands>| of.as_ref().map(|of| V1Stands::new(of, store));
        Self {
            rule: &of.rule,
            verb: of.verb.word(),
            old: stands(&of.old),
            new: stands(&of.new),
            direction: of.direction.into(),
            combinations: of.combinations.iter().map(V1Combinations::new).collect(),
            runs: of.shows.iter().map(V1Run::new).collect(),
            left: &of.left,
        }
    }
}

impl<'r> V1Combinations<'r> {
    fn new(of: &'r Combinations) -> Self {
        let record = |(kind, record): &'r (String, String)| V1Record {
            kind,
            record: (!record.is_empty()).then_some(record),
        };
        Self {
            direction: of.direction.into(),
            list: of
                .list
                .iter()
                .map(|one| one.iter().map(record).collect())
                .collect(),
        }
    }
}

impl<'r> V1Run<'r> {
    fn new(of: &'r Shows) -> Self {
        Self {
            shows: if of.tighter { "tightened" } else { "loosened" },
            plan: &of.plan,
            plan_for_old: of.old_plan.as_deref(),
            old: of.old.map(Outcome::slug),
            new: of.new.map(Outcome::slug),
        }
    }
}

impl<'r> V1Diff<'r> {
    fn new(of: &'r Comparison, store: &'r Store) -> Self {
        let counts = of.counts();
        Self {
            format: "strikeoff-diff",
            version: 1,
            tool: V1Tool::this(),
            old: V1Standard::new(&of.old, store),
            new: V1Standard::new(&of.new, store),
            meaning: match of.meaning {
                Meaning::Same => "same",
                Meaning::Differs => "differs",
                Meaning::NotDecided => "not-decided",
            },
            verdict: verdict(of),
            counts: V1Counts {
                loosened: counts.loosened,
                tightened: counts.tightened,
                not_decided: counts.open,
                without_effect: counts.neutral,
                likely_slips: counts.alarms,
            },
            clauses: of.clauses,
            combinations: of.combinations,
            changes: of
                .changes
                .iter()
                .map(|change| V1Change::new(change, store))
                .collect(),
            effects: of
                .effects
                .iter()
                .map(|effect| V1Effect::new(effect, store))
                .collect(),
            plans: of.plans.as_ref().map(|moves| V1Plans::new(moves, store)),
        }
    }
}
