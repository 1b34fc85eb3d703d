//! A value that is gone never leaves a requirement holding that needs it.
//!
//! What a requirement needs is found from outside: a setting *moves* a requirement when some other
//! value for it makes that requirement break or fall at risk. The rule tested is exact:
//!
//! > A requirement that held, and that some value of a setting moves, does not hold once the setting
//! > is deleted, unless the setting still has a value: from the record that the thing `is`, from its
//! > formula, or from a default that the standard writes down with `otherwise(setting, default)`.
//!
//! "Does not hold" may be *not stated*, *at risk*, *does not apply*, or an error of the plan's text.
//!
//! `STRIKEOFF_LONG=1 cargo test --release --test all deletion::` tries every plan; the short form a few.

use std::collections::{BTreeMap, BTreeSet};

use crate::demo_room::{self, Random, Room, quick};
use strikeoff::check::{Options, Prepared, check_plan};
use strikeoff::diagnostic::Outcome;
use strikeoff::names::SHIPPED;
use strikeoff::source::{FileId, Span, Store};
use strikeoff::syntax::parse;
use strikeoff::syntax::tree::{Clause, Line, StatementNode, ValueNode};
use strikeoff::types::{Field, KindId, Run, Type};
use strikeoff::units::{Unit, show_exact};

/// A requirement on a thing.
type Key = (String, u32, Option<String>);

/// What each requirement comes to; empty when the text has an error.
type Outcomes = BTreeMap<Key, Outcome>;

struct Bench {
    store: Store,
    prepared: Prepared,
    /// Settings for which the standard writes down a default.
    defaults: BTreeSet<String>,
}

/// A piece of a plan that states a value.
#[derive(Debug, Clone)]
struct Piece {
    /// What is deleted.
    whole: Span,
    /// The value alone.
    value: Span,
    kind: KindId,
    /// The setting; `None` for the record after `is`.
    field: Option<String>,
    /// Which block or step it stands in.
    block: usize,
    /// Other values to try.
    others: Vec<String>,
}

impl Bench {
    fn new(room: &Room) -> Self {
        let (store, prepared) = room.prepare(demo_room::ROOT);
        assert!(prepared.usable());
        let texts = room.standards().map(|path| room.files[path].as_str());
        let all = texts.chain(SHIPPED.iter().map(|(_, text)| *text));
        let defaults = all.flat_map(with_defaults).collect();
        Self {
            store,
            prepared,
            defaults,
        }
    }

    fn outcomes(&self, text: &str) -> Outcomes {
        let mut store = self.store.clone();
        let file = store.add("demo-data/plans/a.plan", text);
        // Without `explain`, requirements that hold are counted but not listed.
        let options = Options {
            explain: true,
            ..quick()
        };
        let report = check_plan(&store, &self.prepared, 0, file, options);
        let keyed = report.checks.into_iter().map(|check| {
            let key = (check.rule, check.clause, check.subject);
            (key, check.outcome)
        });
        keyed.collect()
    }

    fn kind(&self, name: &str) -> Option<KindId> {
        self.prepared.standard.kind_names.get(name).copied()
    }

    fn field(&self, kind: KindId, name: &str) -> Option<&Field> {
        let kind = self.prepared.standard.kind(kind);
        let id = kind.field_names.get(name)?;
        kind.fields.get(id.0 as usize)
    }

    /// Values that could stand in place of one: the ends of what is possible and some between, every
    /// choice, every record.
    fn others(&self, field: &Field, unit: Option<&str>, things: &[String]) -> Vec<String> {
        match &field.ty {
            Type::Quantity(_) => {
                let Some(limits) = &field.possible else {
                    return vec!["0".to_owned()];
                };
                let unit = unit.and_then(|unit| Unit::parse(unit).ok());
                let unit = unit.unwrap_or_else(|| limits.unit.clone());
                let (Some(low), Some(high)) = (&limits.low, &limits.high) else {
                    return Vec::new();
                };
                let share = |part: i64| {
                    let step = high.sub(low).mul(&strikeoff::units::Exact::ratio(part, 8));
                    show_exact(&low.add(&step), &unit)
                };
                [0, 1, 3, 8].map(share).to_vec()
            }
            Type::YesNo => vec!["yes".to_owned(), "no".to_owned()],
            Type::Day => vec!["2000-01-01".to_owned(), "2099-12-31".to_owned()],
            Type::Choice(choices) => choices.clone(),
            Type::Reference(kind) => self.records(*kind).chain(things.iter().cloned()).collect(),
            Type::Text | Type::Range(_) => Vec::new(),
        }
    }

    fn records(&self, kind: KindId) -> impl Iterator<Item = String> + '_ {
        let records = self.prepared.standard.records.iter();
        records
            .filter(move |record| record.kind == kind)
            .map(|record| record.name.clone())
    }

    /// Every piece of a plan that states a value.
    fn pieces(&self, text: &str) -> Vec<Piece> {
        let mut found = Vec::new();
        let tree = parse(FileId(0), text).tree;
        let things: Vec<String> = tree.items.iter().filter_map(thing).collect();
        for (block, item) in tree.items.iter().enumerate() {
            let Line::Good(statement, _) = item else {
                continue;
            };
            match &statement.node {
                StatementNode::Record(record) => {
                    let kind = self.kind(record.kind.text).unwrap();
                    if let Some(parent) = record.parent {
                        let start = record.name.map_or(record.kind.span, |name| name.span).end;
                        found.push(Piece {
                            whole: Span {
                                start,
                                ..parent.span
                            },
                            value: parent.span,
                            kind,
                            field: None,
                            block,
                            others: self.records(kind).collect(),
                        });
                    }
                    let clauses = record.block.iter().flat_map(|block| &block.lines);
                    for line in clauses {
                        let Line::Good(
                            Clause {
                                span, name, value, ..
                            },
                            _,
                        ) = line
                        else {
                            continue;
                        };
                        let Some(field) = self.field(kind, name.text) else {
                            continue;
                        };
                        found.push(Piece {
                            whole: *span,
                            value: value.span,
                            kind,
                            field: Some(field.name.clone()),
                            block,
                            others: self.others(field, unit(&value.node), &things),
                        });
                    }
                }
                StatementNode::Sequence(sequence) => {
                    for (index, line) in sequence.block.lines.iter().enumerate() {
                        let Line::Good(step, _) = line else { continue };
                        let kind = self.kind(step.kind.text).unwrap();
                        for (place, setting) in step.settings.iter().enumerate() {
                            // The first setting goes with the comma behind it, others with that before.
                            let whole = match (place, step.settings.get(1)) {
                                (0, Some(second)) => Span {
                                    end: second.span.start,
                                    ..setting.span
                                },
                                (0, None) => setting.span,
                                _ => Span {
                                    start: step.settings[place - 1].span.end,
                                    ..setting.span
                                },
                            };
                            let unit = unit(&setting.value.node);
                            let name = setting.name.map(|name| name.text);
                            let Some(field) = self.step_field(kind, name, &setting.value.node)
                            else {
                                continue;
                            };
                            found.push(Piece {
                                whole,
                                value: setting.value.span,
                                kind,
                                field: Some(field.name.clone()),
                                block: 1_000 * (block + 1) + index,
                                others: self.others(field, unit, &things),
                            });
                        }
                    }
                }
                _ => {}
            }
        }
        found
    }

    /// The setting a value of a step goes to; only what the demo plans leave unnamed.
    fn step_field(
        &self,
        kind: KindId,
        name: Option<&str>,
        value: &ValueNode<'_>,
    ) -> Option<&Field> {
        if let Some(name) = name {
            return self.field(kind, name);
        }
        let fields = self.prepared.standard.kind(kind).fields.iter();
        let mut suiting = fields.filter(|field| match (&field.ty, value) {
            (Type::Reference(_), ValueNode::Name(_)) => true,
            (Type::Quantity(measure), ValueNode::Quantity { nominal, .. }) => {
                let unit = nominal.unit.map(|unit| unit.text);
                let written = unit.and_then(|unit| Unit::parse(unit).ok());
                let noun = matches!(&measure.reading, strikeoff::types::Reading::Count(_));
                match written {
                    Some(unit) => !noun && unit.dimension() == measure.dimension,
                    None => noun,
                }
            }
            _ => false,
        });
        suiting.next()
    }

    /// Whether a setting has a value although the plan's line is gone.
    fn still_has(&self, text: &str, piece: &Piece) -> bool {
        let Some(name) = &piece.field else {
            return false;
        };
        let field = self.field(piece.kind, name).unwrap();
        if self.defaults.contains(name) || field.formula.is_some() || field.reference.is_some() {
            return true;
        }
        let mut store = self.store.clone();
        let run: Run = demo_room::run_of(&mut store, &self.prepared, text);
        let id = self.prepared.standard.kind(piece.kind).field_names[name];
        // Any thing of the kind that takes it from its record: wide, but only records can give it.
        let parents = run.instances.iter().filter(|one| one.kind == piece.kind);
        parents.filter_map(|one| one.parent).any(|record| {
            let target = strikeoff::types::Target::Record(record);
            run.stated(&self.prepared.standard, target, id).is_some()
        })
    }
}

fn thing(item: &Line<'_, strikeoff::syntax::tree::Statement<'_>>) -> Option<String> {
    let Line::Good(statement, _) = item else {
        return None;
    };
    match &statement.node {
        StatementNode::Record(record) => record.name.map(|name| name.text.to_owned()),
        _ => None,
    }
}

fn unit<'t>(value: &ValueNode<'t>) -> Option<&'t str> {
    match value {
        ValueNode::Quantity { nominal, .. } => nominal.unit.map(|unit| unit.text),
        ValueNode::Range { high, .. } => high.unit.map(|unit| unit.text),
        _ => None,
    }
}

/// Settings that stand first in an `otherwise(…)`: the last word of the path.
fn with_defaults(text: &str) -> Vec<String> {
    let calls = text.split("otherwise(").skip(1);
    let firsts = calls.filter_map(|rest| rest.split([',', ')']).next());
    let words = firsts.flat_map(|first| {
        first
            .split([' ', '('])
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    words
        .filter_map(|path| path.rsplit('.').next().map(str::to_owned))
        .filter(|word| word.starts_with(|first: char| first.is_ascii_lowercase()))
        .collect()
}

fn edited(text: &str, span: Span, with: &str) -> String {
    let mut text = text.to_owned();
    text.replace_range(span.range(), with);
    text
}

fn holding(outcomes: &Outcomes) -> BTreeSet<&Key> {
    let holding = outcomes
        .iter()
        .filter(|(_, outcome)| **outcome == Outcome::Holds);
    holding.map(|(key, _)| key).collect()
}

/// Requirements that held and that some other value of a piece moves.
fn moved(bench: &Bench, text: &str, before: &Outcomes, piece: &Piece) -> BTreeSet<Key> {
    let mut moved = BTreeSet::new();
    for other in &piece.others {
        let after = bench.outcomes(&edited(text, piece.value, other));
        for key in holding(before) {
            if matches!(after.get(key), Some(Outcome::Breaks | Outcome::AtRisk)) {
                moved.insert(key.clone());
            }
        }
    }
    moved
}

#[test]
fn what_is_deleted_never_holds_in_silence() {
    let room = Room::demo();
    let bench = Bench::new(&room);
    let long = std::env::var_os("STRIKEOFF_LONG").is_some();
    let mut plans: Vec<&str> = room.plans().collect();
    if !long {
        let random = Random::new(26);
        plans = (0..6).map(|_| *random.pick(&plans)).collect();
        plans.push("demo-data/plans/half-poly-white-and-red.plan");
    }
    let (mut tried, mut moving, mut asked) = (0, 0, 0);
    let mut wrong = Vec::new();
    for path in plans {
        let text = &room.files[path];
        let before = bench.outcomes(text);
        if before.is_empty() {
            continue;
        }
        let pieces = bench.pieces(text);
        assert!(pieces.len() > 5, "{path}");
        let mut by_block: BTreeMap<usize, BTreeSet<Key>> = BTreeMap::new();
        for piece in &pieces {
            let needs = moved(&bench, text, &before, piece);
            moving += needs.len();
            tried += 1;
            let without = edited(text, piece.whole, "");
            let after = bench.outcomes(&without);
            if needs.is_empty() || after.is_empty() || bench.still_has(&without, piece) {
                continue;
            }
            by_block
                .entry(piece.block)
                .or_default()
                .extend(needs.iter().cloned());
            asked += needs.len();
            for key in needs {
                if after.get(&key) == Some(&Outcome::Holds) {
                    wrong.push(format!(
                        "{path}: {key:?} holds without\n  {}",
                        &text[piece.whole.range()]
                    ));
                }
            }
        }
        // A whole block gone is all its settings gone.
        let tree = parse(FileId(0), text).tree;
        for (block, item) in tree.items.iter().enumerate() {
            let Line::Good(statement, _) = item else {
                continue;
            };
            let Some(needs) = by_block.get(&block) else {
                continue;
            };
            let after = bench.outcomes(&edited(text, statement.span, ""));
            for key in needs {
                if after.get(key) == Some(&Outcome::Holds) {
                    wrong.push(format!(
                        "{path}: {key:?} holds without\n{}",
                        &text[statement.span.range()]
                    ));
                }
            }
        }
    }
    eprintln!(
        "{tried} settings, each deleted; {moving} requirements moved by one, {asked} without another value"
    );
    assert!(
        asked > tried / 3,
        "hardly any requirement was asked: {asked} of {tried}"
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Requirements that need no value: they count things, or ask for the kind of a step.
const NEED_NOTHING: &[&str] = &[];

#[test]
fn a_plan_of_nothing_holds_nothing() {
    let room = Room::demo();
    let bench = Bench::new(&room);
    let outcomes = bench.outcomes("run \"a\" against \"../nosuch-room.std\"\n");
    assert!(!outcomes.is_empty());
    let held: BTreeSet<&str> = holding(&outcomes)
        .iter()
        .map(|key| key.0.as_str())
        .collect();
    let known: BTreeSet<&str> = NEED_NOTHING.iter().copied().collect();
    assert_eq!(held, known);
}

/// What is worked out from a value stands and falls with it, through any number of formulas, and
/// neither a branch that needs it nor a permission keeps it up.
#[test]
fn formulas_branches_and_permissions_do_not_hide_a_gap() {
    let standard = "standard \"a\" edition \"1\"\n\
        kind bed, one to a run \"a\" {\n  a number set\n  b number set\n  c number = a + b\n  d number = c * 2\n\
        \n  e number = otherwise(a, 1)\n  f yes/no given\n}\n\
        rule worked-out {\n  shall bed.d above 0\n  per practice\n}\n\
        rule branch {\n  shall bed.a above 0 or bed.b above 0\n  per practice\n}\n\
        rule both {\n  shall bed.a above 0 and bed.b above 0\n  per practice\n}\n\
        rule opposite {\n  shall not (bed.a below 0)\n  per practice\n}\n\
        rule unlike {\n  shall bed.f is not no\n  per practice\n}\n\
        rule permitted {\n  shall bed.a above 0\n  may bed.b above 0\n  per practice\n}\n\
        rule applies {\n  when bed.a above 0\n  shall bed.b above 0\n  per practice\n}\n\
        rule default {\n  shall bed.e above 0\n  per practice\n}\n";
    let (store, prepared) = Room::of(standard).prepare("room.std");
    assert!(
        prepared.usable(),
        "{:#?}",
        demo_room::errors(&prepared.problems)
    );
    let bench = Bench {
        store,
        prepared,
        defaults: BTreeSet::new(),
    };
    let plan = |lines: &str| format!("run \"a\" against \"room.std\"\nbed {{\n{lines}}}\n");
    let of = |lines: &str, rule: &str| {
        let outcomes = bench.outcomes(&plan(lines));
        let found = outcomes.iter().find(|(key, _)| key.0 == rule);
        *found.unwrap_or_else(|| panic!("{lines}")).1
    };
    let rules = [
        "worked-out",
        "branch",
        "both",
        "opposite",
        "unlike",
        "permitted",
        "applies",
        "default",
    ];
    for rule in rules {
        assert_eq!(
            of("  a 1\n  b 1\n  f yes\n", rule),
            Outcome::Holds,
            "{rule}"
        );
    }
    for (rule, without_a) in [
        ("worked-out", Outcome::NotStated),
        // The other branch holds whatever the first would be.
        ("branch", Outcome::Holds),
        ("both", Outcome::NotStated),
        ("opposite", Outcome::NotStated),
        // A permission is asked for only where the requirement is known not to hold.
        ("permitted", Outcome::NotStated),
        ("applies", Outcome::NotStated),
        // The standard says what counts when nothing is stated.
        ("default", Outcome::Holds),
    ] {
        assert_eq!(of("  b 1\n  f yes\n", rule), without_a, "{rule}");
    }
    assert_eq!(of("  b -1\n  f yes\n", "branch"), Outcome::NotStated);
    assert_eq!(of("  b -1\n  f yes\n", "both"), Outcome::Breaks);
    assert_eq!(of("  a 1\n  b 1\n", "unlike"), Outcome::NotStated);
    // A stated value needs none of what it would be worked out from.
    assert_eq!(of("  d 1\n", "worked-out"), Outcome::Holds);
}

/// A tunnel whose dial reads wrong, a probe, and rules that ask how a film was read.
const READ_STANDARD: &str = r#"standard "A room" edition "1"
use trade

dryer tunnel {
  belt shows 1 m/min at 0.9 m/min ± 0.05 m/min
  belt shows 6 m/min at 5.5 m/min ± 0.1 m/min
}

instrument probe-9 {
  due        2026-11-24
}

rule read-often {
  shall      film.peak read within 10 d
  per        practice
}

rule said-how-far-off {
  shall      film.peak stated with a tolerance
  per        practice
}

rule hot-enough {
  shall      film.peak at least 130 °C
  per        practice
}

rule slow-enough {
  shall      dryer.belt at most 3.1 m/min
  per        practice
}
"#;

const READ_PLAN: &str = r#"run "read" against "room.std"

dryer is tunnel {
  belt       3.2 m/min
  set-point  200 °C
}

reading film.peak {
  value      140 °C ± 3 K
  at         dryer.belt 4 m/min
  on         2026-11-20
  with       probe-9
  pieces     5
}
"#;

/// What a check of the plan says, and what each rule comes to.
fn said(standard: &str, plan: &str) -> (BTreeSet<String>, BTreeMap<String, Outcome>) {
    let (mut store, prepared) = Room::of(standard).prepare("room.std");
    let problems = prepared.problems.iter();
    let mut said: BTreeSet<String> = problems.map(|one| one.headline.clone()).collect();
    if !prepared.usable() {
        return (said, BTreeMap::new());
    }
    let file = store.add("a.plan", plan);
    let options = Options {
        explain: true,
        ..quick()
    };
    let report = check_plan(&store, &prepared, 0, file, options);
    said.extend(report.diagnostics.iter().map(|one| one.headline.clone()));
    let outcomes = report.checks.iter();
    let outcomes = outcomes.map(|check| (check.rule.clone(), check.outcome));
    (said, outcomes.collect())
}

/// Each line of a reading, and of a dial that reads wrong: without it something is said that was not, or a rule comes to
/// something else; and none comes to hold by it.
#[test]
fn no_line_of_a_reading_or_a_dial_goes_unnoticed() {
    let before = said(READ_STANDARD, READ_PLAN);
    assert!(
        before.1.values().all(|of| *of == Outcome::Holds),
        "{before:#?}"
    );
    let without = |text: &str, line: usize| -> String {
        let lines = text.split_inclusive('\n').enumerate();
        lines
            .filter(|(at, _)| *at != line)
            .map(|(_, line)| line)
            .collect()
    };
    let mut tried = 0;
    for (at, line) in READ_PLAN.lines().enumerate() {
        let own = ["belt", "value", "at", "on", "pieces"];
        let first = line.split_whitespace().next().unwrap_or_default();
        if line.starts_with("  ") && own.contains(&first) {
            let after = said(READ_STANDARD, &without(READ_PLAN, at));
            assert_ne!(after, before, "{line}");
            tried += 1;
        }
    }
    for (at, line) in READ_STANDARD.lines().enumerate() {
        if line.trim_start().starts_with("belt shows") {
            let after = said(&without(READ_STANDARD, at), READ_PLAN);
            assert_ne!(after, before, "{line}");
            tried += 1;
        }
    }
    // The day by which a probe was to be calibrated is asked of a reading after it.
    let late = READ_PLAN.replace("2026-11-20", "2026-11-25");
    assert!(
        said(READ_STANDARD, &late)
            .1
            .values()
            .any(|of| *of != Outcome::Holds)
    );
    assert_eq!(tried, 7);
}
