//! A table means what its cells say one by one: random tables against the same limits written as rules.
//!
//! Every cell is written as a rule of its own: it applies when the run's ink `is` that of the row but of no
//! row further down, and the same for its cloth. A table and its rules come to the same on every thing of
//! every run: one of the cells' rules speaks and the table comes to the same; or none does, and neither does
//! the table. `STRIKEOFF_LONG=5000 cargo test --release --test all tables::` tries so many.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use crate::demo_room::{Random, Room, cases, quick, run_of};
use strikeoff::check::{Applied, Options, check_plan, results};
use strikeoff::cli::review;
use strikeoff::diagnostic::{Code, Outcome};
use strikeoff::eval::{Binding, Conditions, EvalContext, Truth, Verdict};
use strikeoff::types::{Canonical, Condition, Standard, spell_condition};

/// Inks and cloths with their parents, parents first.
const INKS: [(&str, &str); 7] = [
    ("i0", ""),
    ("i1", "i0"),
    ("i2", "i1"),
    ("i3", "i1"),
    ("i4", ""),
    ("i5", "i4"),
    ("i6", ""),
];
const CLOTHS: [(&str, &str); 5] = [
    ("c0", ""),
    ("c1", "c0"),
    ("c2", "c0"),
    ("c3", "c2"),
    ("c4", ""),
];

const KINDS: &str = "standard \"A room\" edition \"1\"\n\
    kind ink \"an ink\" {\n  white yes/no \"white\" given\n}\n\
    kind cloth, one to a run \"a cloth\" {\n  mass mass \"its mass\" set\n}\n\
    kind screen, many to a run \"a screen\" {\n  ink ink \"its ink\" given\n}\n\
    kind film, one to a run \"a film\" {\n  peak temperature \"hottest\" measured by \"a probe\"\n}\n";

fn records() -> String {
    let mut text = KINDS.to_owned();
    for (kind, list) in [("ink", &INKS[..]), ("cloth", &CLOTHS[..])] {
        for (name, parent) in list {
            let is = if parent.is_empty() {
                String::new()
            } else {
                format!(" is {parent}")
            };
            let _ = writeln!(text, "{kind} {name}{is}");
        }
    }
    text
}

/// Some of the names, in random order.
fn some<'n>(random: &Random, list: &[(&'n str, &str)]) -> Vec<&'n str> {
    let mut left: Vec<&str> = list.iter().map(|(name, _)| *name).collect();
    let mut found = Vec::new();
    for _ in 0..1 + random.below(left.len()) {
        found.push(left.remove(random.below(left.len())));
    }
    found
}

fn descends(list: &[(&str, &str)], name: &str, ancestor: &str) -> bool {
    let mut at = name;
    while !at.is_empty() {
        if at == ancestor {
            return true;
        }
        at = list
            .iter()
            .find(|(known, _)| *known == at)
            .map_or("", |(_, parent)| parent);
    }
    false
}

/// `x is a and x is not b and …` for the rows below `a`.
fn test(path: &str, list: &[(&str, &str)], rows: &[&str], row: &str) -> String {
    let mut text = format!("{path} is {row}");
    for other in rows
        .iter()
        .filter(|other| **other != row && descends(list, other, row))
    {
        let _ = write!(text, " and {path} is not {other}");
    }
    text
}

/// A cell, and the same as a comparison; `None` for an empty one.
fn cell(random: &Random) -> Option<(String, String)> {
    let low = random.whole(20, 60);
    let high = low + random.whole(1, 30);
    Some(match random.below(6) {
        0 | 1 => (
            format!("{low} to {high} °C"),
            format!("within {low} °C to {high} °C"),
        ),
        2 => (format!("at least {low} °C"), format!("at least {low} °C")),
        3 => (format!("at most {high} °C"), format!("at most {high} °C")),
        4 => (format!("{low} °C"), format!("is {low} °C")),
        _ => return None,
    })
}

/// A table of two things or one, and its cells as rules.
fn texts(random: &Random) -> (String, String) {
    let rows = some(random, &INKS);
    let columns = if random.chance(70) {
        some(random, &CLOTHS)
    } else {
        Vec::new()
    };
    let by = if columns.is_empty() {
        "screen.ink"
    } else {
        "screen.ink, cloth"
    };
    let mut table =
        format!("table limits by {by} {{\n  for each screen\n  shall film.peak\n  per practice\n");
    if !columns.is_empty() {
        let _ = writeln!(table, "  | {}", columns.join(" | "));
    }
    let mut rules = String::new();
    for row in &rows {
        let _ = write!(table, "  {row}");
        for column in 0..columns.len().max(1) {
            // The first cell states something, so that the table checks anything at all.
            let mut cell = cell(random);
            while rules.is_empty() && cell.is_none() {
                cell = self::cell(random);
            }
            let Some((limit, comparison)) = cell else {
                table.push_str(" |");
                continue;
            };
            let _ = write!(table, " | {limit}");
            let _ = write!(
                rules,
                "rule {row}-{column} {{\n  for each screen\n  when {}\n",
                test("screen.ink", &INKS, &rows, row)
            );
            if let Some(name) = columns.get(column) {
                let _ = writeln!(rules, "  when {}", test("cloth", &CLOTHS, &columns, name));
            }
            let _ = write!(
                rules,
                "  shall film.peak {comparison}\n  per practice\n}}\n"
            );
        }
        table.push('\n');
    }
    table.push_str("}\n");
    (records() + &table, records() + &rules)
}

fn plan(random: &Random) -> String {
    let mut text = "run \"a\" against \"room.std\"\n".to_owned();
    for number in 0..random.below(4) {
        let ink = random.pick(&INKS).0;
        let line = if random.chance(90) {
            format!("  ink {ink}\n")
        } else {
            String::new()
        };
        let _ = writeln!(text, "screen s{number} {{\n{line}}}");
    }
    if random.chance(90) {
        let _ = writeln!(text, "cloth is {}", random.pick(&CLOTHS).0);
    }
    if random.chance(90) {
        let tolerance = if random.chance(50) { " ± 5 °C" } else { "" };
        let _ = writeln!(
            text,
            "film {{\n  peak {} °C{tolerance}\n}}",
            random.whole(15, 95)
        );
    }
    text
}

/// What came out for each screen, most telling first: something that speaks before what does not apply.
fn outcomes(standard: &str, plan: &str) -> (BTreeMap<Option<String>, Vec<Outcome>>, usize) {
    let mut room = Room::of(standard);
    room.files.insert("a.plan".to_owned(), plan.to_owned());
    let (mut store, prepared) = room.prepare("room.std");
    assert!(prepared.usable(), "{:?}\n{standard}", prepared.problems);
    let file = store.add("a.plan", plan);
    let options = Options {
        explain: true,
        ..quick()
    };
    let report = check_plan(&store, &prepared, 0, file, options);
    assert!(report.checked, "{:?}\n{plan}", report.diagnostics);
    let mut found: BTreeMap<Option<String>, Vec<Outcome>> = BTreeMap::new();
    for check in report.checks {
        found.entry(check.subject).or_default().push(check.outcome);
    }
    let gaps = report
        .diagnostics
        .iter()
        .filter(|said| said.code == Code::TableGap);
    (found, gaps.count())
}

#[test]
fn a_table_is_its_cells() {
    let (mut spoke, mut silent, mut gaps) = (0, 0, 0);
    for seed in 0..cases(600) {
        let random = Random::new(seed);
        let (table, rules) = texts(&random);
        let plan = plan(&random);
        let (of_table, noted) = outcomes(&table, &plan);
        let (of_rules, _) = outcomes(&rules, &plan);
        assert_eq!(
            of_table.keys().collect::<Vec<_>>(),
            of_rules.keys().collect::<Vec<_>>()
        );
        for (screen, outcome) in &of_table {
            assert_eq!(outcome.len(), 1, "{table}{plan}");
            let speaking: Vec<Outcome> = of_rules[screen]
                .iter()
                .copied()
                .filter(|one| *one != Outcome::DoesNotApply)
                .collect();
            let missing = speaking.contains(&Outcome::NotStated);
            let expected = match speaking[..] {
                [] => Outcome::DoesNotApply,
                [one] => one,
                // Where ink or cloth is missing, no rule can tell whether it applies.
                _ if missing => Outcome::NotStated,
                _ => panic!("two cells speak of one screen: {speaking:?}\n{rules}{plan}"),
            };
            // A table asks for the ink before it looks whether there is a limit for it at all.
            let asks = outcome[0] == Outcome::NotStated && expected == Outcome::DoesNotApply;
            let asked = plan.contains(" {\n}") || !plan.contains("cloth is");
            assert!(
                outcome[0] == expected || asks && asked,
                "{screen:?}: {outcome:?}, {expected:?}\n{table}{plan}"
            );
            if expected == Outcome::DoesNotApply {
                silent += 1
            } else {
                spoke += 1
            }
        }
        gaps += noted;
    }
    assert!(
        spoke > 100 && silent > 100 && gaps > 50,
        "{spoke} {silent} {gaps}"
    );
}

/// What each cell requires, and of which runs, is what the rule of its own requires: in the built standard, word by word.
#[test]
fn a_built_table_is_a_rule_with_a_requirement_a_cell() {
    let mut cells = 0;
    for seed in 0..cases(200) {
        let random = Random::new(seed + 90_000);
        let (table, rules) = texts(&random);
        let (_, of_table) = Room::of(&table).prepare("room.std");
        let (_, of_rules) = Room::of(&rules).prepare("room.std");
        let said = |standard: &Standard, conditions: &[&Condition]| -> BTreeSet<String> {
            let parts = conditions
                .iter()
                .flat_map(|condition| condition.conjuncts());
            parts
                .map(|part| spell_condition(&Canonical(standard), part))
                .collect()
        };
        let [table] = &of_table.standard.rules[..] else {
            panic!("one table")
        };
        assert_eq!(table.requirements.len(), of_rules.standard.rules.len());
        for (cell, rule) in table.requirements.iter().zip(&of_rules.standard.rules) {
            let own: Vec<&Condition> = cell.when.iter().collect();
            let written: Vec<&Condition> = rule.when.iter().collect();
            assert_eq!(
                said(&of_table.standard, &own),
                said(&of_rules.standard, &written)
            );
            let limit = said(&of_table.standard, &[&cell.condition]);
            assert_eq!(
                limit,
                said(&of_rules.standard, &[&rule.requirements[0].condition])
            );
            cells += 1;
        }
    }
    assert!(cells > 1_000, "{cells}");
}

/// The requirement that is looked at is the only one that speaks of the run: nothing is hidden by not asking all of them.
#[test]
fn the_cell_that_is_asked_is_the_one_that_speaks() {
    let (mut one, mut none) = (0, 0);
    for seed in 0..cases(300) {
        let random = Random::new(seed + 130_000);
        let (table, _) = texts(&random);
        let (mut store, prepared) = Room::of(&table).prepare("room.std");
        let run = run_of(&mut store, &prepared, &plan(&random));
        let context = EvalContext::new(&prepared.standard, &run);
        let conditions = Conditions::new(context);
        let rule = &prepared.standard.rules[0];
        for result in results(&context) {
            let Some(each) = result.each else { continue };
            let binding = Binding {
                each: Some(each),
                ..Binding::default()
            };
            let speaking: Vec<usize> = (0..rule.requirements.len())
                .filter(|at| {
                    let mut when = rule.requirements[*at].when.iter();
                    when.all(|when| conditions.truth(binding, when) == Truth::True)
                })
                .collect();
            match &result.applied {
                Applied::ToNoCell(_) => {
                    none += 1;
                    assert_eq!(speaking, [0; 0], "{table}");
                }
                // Without ink or cloth, whether the peak is stated or not.
                Applied::To(Verdict::NotStated(_)) if speaking.is_empty() => {}
                _ => {
                    one += 1;
                    assert_eq!(speaking, [result.requirement], "{table}");
                }
            }
        }
    }
    assert!(one > 50 && none > 50, "{one} {none}");
}

/// What a review claims of limits: code, headline, records, and on what ground.
fn claims(standard: &str) -> Vec<(Code, String, Vec<String>, String)> {
    let found = review("room.std", &Room::of(standard)).found.unwrap();
    let of_limits = [
        Code::Contradiction,
        Code::PairRuledOut,
        Code::VainAdvice,
        Code::WindowTooNarrow,
        Code::DeadRule,
        Code::RuleUnused,
        Code::NeverBinds,
        Code::Implied,
        Code::NotDecided,
    ];
    let mut claims: Vec<_> = found
        .findings
        .into_iter()
        .filter(|one| of_limits.contains(&one.said.code))
        .map(|one| {
            let ground = format!("{:?}", one.ground);
            (one.said.code, one.said.headline, one.members, ground)
        })
        .collect();
    claims.sort();
    claims
}

/// A review holds the cells of a table against other rules just as if they were rules.
#[test]
fn a_review_of_a_table_is_that_of_its_cells() {
    let mut seen: BTreeMap<Code, usize> = BTreeMap::new();
    for seed in 0..cases(150) {
        let random = Random::new(seed + 50_000);
        let (table, rules) = texts(&random);
        let low = random.whole(20, 60);
        let measured = KINDS.replace(
            "peak temperature \"hottest\" measured by \"a probe\"",
            "peak temperature from 10 °C to 100 °C \"hottest\" measured by \"a probe: good to ± 2 °C\"",
        );
        let others = format!(
            "rule band {{\n  shall film.peak within {low} °C to {} °C\n  because \"tried here\"\n  per practice\n}}\n\
             rule advice {{\n  for each screen\n  when screen.ink is i1\n  should film.peak at least {} °C\n  because \"tried here\"\n  per practice\n}}\n",
            low + random.whole(0, 40),
            random.whole(20, 90)
        );
        // Of several smallest sets that clash the one first in the text is told, so rules come before cells in both.
        let before = records();
        let whole = |text: &str| {
            let text = text.replace(&before, &(before.clone() + &others));
            text.replace(KINDS, &measured)
        };
        let of_table = claims(&whole(&table));
        // `i0-1` is the cell in the row of `i0` and the second column; both are called the same here.
        let mut of_rules = claims(&whole(&rules));
        let columns = columns(&table);
        let named = |text: &str| {
            let mut text = text.to_owned();
            for (ink, _) in INKS {
                for (number, column) in columns.iter().enumerate() {
                    let cell = match column.as_str() {
                        "" => format!("`limits: {ink}`"),
                        column => format!("`limits: {ink}, {column}`"),
                    };
                    text = text.replace(&format!("`{ink}-{number}`"), &cell);
                }
            }
            sorted_names(&text)
        };
        let mut of_table: Vec<_> = of_table;
        for claim in &mut of_rules {
            claim.1 = named(&claim.1);
            claim.2 = claim.2.iter().map(|one| named(one)).collect();
        }
        for claim in &mut of_table {
            claim.1 = sorted_names(&claim.1);
        }
        of_rules.sort();
        of_table.sort();
        assert_eq!(of_table, of_rules, "seed {seed}\n{}", whole(&table));
        for (code, ..) in of_table {
            *seen.entry(code).or_default() += 1;
        }
    }
    for code in [
        Code::Contradiction,
        Code::WindowTooNarrow,
        Code::Implied,
        Code::VainAdvice,
    ] {
        assert!(seen.get(&code).is_some_and(|count| *count > 10), "{seen:?}");
    }
}

/// The names of the columns of a table; one empty name where it has none.
fn columns(table: &str) -> Vec<String> {
    let head = table.lines().find(|line| line.starts_with("  | "));
    match head {
        Some(line) => line[4..]
            .split(" | ")
            .map(|name| name.trim().to_owned())
            .collect(),
        None => vec![String::new()],
    }
}

/// The words of a headline in order of the alphabet: lists of rules are in that of their names, which differ.
fn sorted_names(text: &str) -> String {
    let mut parts: Vec<&str> = text.split('`').collect();
    parts.sort_unstable();
    parts.join("`")
}
