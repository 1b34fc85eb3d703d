//! A comparison for programs: version 1 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::diff_words::verdict;
use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use super::plan_moves_json::V1Plans;
use super::schema;
use crate::diagnostic::{
    Change, Combinations, ComparedStandard, Comparison, Direction, Effect, Meaning, Outcome, Shows,
    Stands, Verb,
};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn diff_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Diff<'_>>(&SCHEMA)
}

/// Writes a comparison as JSON: every change, every effect, every combination.
///
/// # Errors
/// Whatever `out` fails with.
pub fn diff_json(comparison: &Comparison, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Diff::new(comparison, store), out)
}

/// What a comparison of two standards found. Within version 1 fields are only added: this schema is exact for
/// the release it ships with, and a reader should pass over fields that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff diff, version 1", extend("$id" = "urn:strikeoff:diff:v1"))]
struct V1Diff<'r> {
    /// Always `strikeoff-diff`.
    #[schemars(extend("const" = "strikeoff-diff"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// One of the two standards.
    old: V1Standard<'r>,
    /// One of the two standards.
    new: V1Standard<'r>,
    /// The revision that the old files were read in; null for files on the disk.
    old_revision: Option<&'r str>,
    /// The revision that the new files were read in; null for files on the disk.
    new_revision: Option<&'r str>,
    /// Whether the edition is the same on both sides though the meaning is not proved to be.
    edition_stayed: bool,
    /// Whether both mean the same; `same` is proved.
    #[schemars(extend("enum" = ["same", "differs", "not-decided"]))]
    meaning: &'static str,
    /// What it came to, in words.
    verdict: String,
    /// How many changes.
    counts: V1Counts,
    /// How many clauses were compared.
    clauses: usize,
    /// How many combinations of records were looked at.
    combinations: usize,
    /// Likely slips first, then what got looser, then what got tighter.
    changes: Vec<V1Change<'r>>,
    /// What became of the clauses that changes bear on.
    effects: Vec<V1Effect<'r>>,
    /// How plans fare under both standards; null unless `--plans` was given.
    plans: Option<V1Plans<'r>>,
}

/// How many changes.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "counts", deny_unknown_fields)]
struct V1Counts {
    /// Something passes now that did not.
    loosened: usize,
    /// Something that passed does not any more.
    tightened: usize,
    /// Not decided, in part at least.
    not_decided: usize,
    /// No outcome changes.
    without_effect: usize,
    /// A number stayed and its unit changed.
    likely_slips: usize,
    /// Plans are read in another way.
    read_otherwise: usize,
}

/// What a change does to outcomes. `shown`: by a run that was checked against both, or for a deviation or a
/// possible range by its text; `proved-not`: there is no such run; `not-decided`: neither.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "direction", deny_unknown_fields)]
struct V1Direction {
    /// Whether something that passed does not any more.
    #[schemars(extend("enum" = ["shown", "not-decided", "proved-not"]))]
    tightened: &'static str,
    /// Whether something passes now that did not.
    #[schemars(extend("enum" = ["shown", "not-decided", "proved-not"]))]
    loosened: &'static str,
}

/// Where something stands, and its words there.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "stands", deny_unknown_fields)]
struct V1Stands<'r> {
    /// The words, on one line.
    words: &'r str,
    /// A stretch of a text, half open.
    place: V1Place<'r>,
}

/// One thing that is another in the new standard.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "change", deny_unknown_fields)]
struct V1Change<'r> {
    /// What was changed.
    subject: &'r str,
    /// What sorts of change it is.
    #[schemars(extend("items" = {"type": "string", "enum": ["added", "removed", "limit", "reach", "verb", "parent", "formula", "moved", "renamed", "form", "wording", "source"]}))]
    kinds: Vec<&'static str>,
    /// What a change does to outcomes. `shown`: by a run that was checked against both, or for a deviation or a
    /// possible range by its text; `proved-not`: there is no such run; `not-decided`: neither.
    direction: V1Direction,
    /// In the old standard.
    old: Option<V1Stands<'r>>,
    /// In the new one.
    new: Option<V1Stands<'r>>,
    /// A likely slip, in words.
    likely_slip: Option<&'r str>,
    /// Whether plans are read in another way by it.
    read_otherwise: bool,
    /// Plans that show it, read and checked by both, whole.
    plans: Vec<V1Plan<'r>>,
    /// More to know.
    notes: &'r [String],
    /// Records that have another value by it.
    reaches: &'r [String],
    /// The clauses it bears on.
    effects: Vec<V1Share>,
}

/// A plan that the two standards read in another way.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "read_plan", deny_unknown_fields)]
struct V1Plan<'r> {
    /// What it shows.
    #[schemars(extend("enum" = ["tightened", "loosened"]))]
    shows: &'static str,
    /// The text of the plan.
    plan: &'r str,
    /// What it comes to under the old standard.
    #[schemars(extend("enum" = ["passes", "fails", "contradicts", "unreadable"]))]
    old: &'static str,
    /// What it comes to under the new one.
    #[schemars(extend("enum" = ["passes", "fails", "contradicts", "unreadable"]))]
    new: &'static str,
}

/// A clause that a change bears on.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "share", deny_unknown_fields)]
struct V1Share {
    /// Index into `effects`.
    effect: usize,
    /// What a change does to outcomes. `shown`: by a run that was checked against both, or for a deviation or a
    /// possible range by its text; `proved-not`: there is no such run; `not-decided`: neither.
    direction: V1Direction,
}

/// What became of one clause.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "effect", deny_unknown_fields)]
struct V1Effect<'r> {
    /// The rule.
    rule: &'r str,
    /// The verb as it was; null where there was no such clause.
    #[schemars(extend("enum" = ["shall", "should", null]))]
    old_verb: Option<&'static str>,
    /// The verb now; null where there is no such clause.
    #[schemars(extend("enum" = ["shall", "should", null]))]
    new_verb: Option<&'static str>,
    /// In the old standard.
    old: Option<V1Stands<'r>>,
    /// In the new one.
    new: Option<V1Stands<'r>>,
    /// What a change does to outcomes. `shown`: by a run that was checked against both, or for a deviation or a
    /// possible range by its text; `proved-not`: there is no such run; `not-decided`: neither.
    direction: V1Direction,
    /// By what it does.
    combinations: Vec<V1Combinations<'r>>,
    /// Runs that show it.
    runs: Vec<V1Run<'r>>,
    /// What is left where it is not decided.
    left: &'r [String],
}

/// Combinations of records for which a clause changed in one way.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "combinations", deny_unknown_fields)]
struct V1Combinations<'r> {
    /// What a change does to outcomes. `shown`: by a run that was checked against both, or for a deviation or a
    /// possible range by its text; `proved-not`: there is no such run; `not-decided`: neither.
    direction: V1Direction,
    /// The combinations.
    list: Vec<Vec<V1Record<'r>>>,
}

/// A record of a kind; `null` for a thing that is no record.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "record", deny_unknown_fields)]
struct V1Record<'r> {
    /// The kind.
    kind: &'r str,
    /// The record.
    record: Option<&'r str>,
}

/// A run that shows a change, checked against both standards.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "run", deny_unknown_fields)]
struct V1Run<'r> {
    /// What it shows.
    #[schemars(extend("enum" = ["tightened", "loosened"]))]
    shows: &'static str,
    /// Whether the whole plan passes on one side and not on the other, rather than the clause alone.
    whole: bool,
    /// The run as a plan for the new standard.
    plan: &'r str,
    /// The same for the old one, where its words differ.
    plan_for_old: Option<&'r str>,
    /// What the clause comes to under the old standard; `null` where there is none.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply", null]))]
    old: Option<&'static str>,
    /// And under the new one.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply", null]))]
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
            read_otherwise: of.reading,
            plans: of
                .shows
                .iter()
                .map(|shows| V1Plan {
                    shows: if shows.tighter {
                        "tightened"
                    } else {
                        "loosened"
                    },
                    plan: &shows.plan,
                    old: shows.old.slug(),
                    new: shows.new.slug(),
                })
                .collect(),
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
            old_verb: of.old_verb.map(Verb::word),
            new_verb: of.new_verb.map(Verb::word),
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
            whole: of.whole,
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
            old_revision: of.old.revision.as_deref(),
            new_revision: of.new.revision.as_deref(),
            edition_stayed: of.edition_stayed(),
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
                read_otherwise: counts.readings,
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
