//! A deviation lets its own rule pass and touches no other: random ones over the demo room.
//!
//! To the demo standard deviations are added from random rules, with a random limit, scope and end. Of
//! every plan, all that other rules come to is the same to the byte as without them: outcomes, findings,
//! cautions. Of the rule itself only what broke or was at risk may hold now, and then it says by which
//! deviation; what is still found beyond it carries the same figures as before.
//!
//! `STRIKEOFF_LONG=300 cargo test --release --test all deviations::` tries so many.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::demo_room::{ROOT, Random, Room, cases, quick};
use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{Code, DeviationState, Diagnostic, Outcome, PlanReport};
use strikeoff::types::{Date, limits};
use strikeoff::units::Unit;

/// A requirement on a thing.
type Key = (String, u32, Option<String>);

fn outcomes(report: &PlanReport) -> BTreeMap<Key, Outcome> {
    let keyed = report.checks.iter().map(|check| {
        let key = (check.rule.clone(), check.clause, check.subject.clone());
        (key, check.outcome)
    });
    keyed.collect()
}

/// All that is said of a plan by rules other than this one.
fn others<'r>(report: &'r PlanReport, rule: &str) -> Vec<&'r Diagnostic> {
    let own = |said: &&Diagnostic| {
        let finding = said.finding.as_ref();
        finding.is_some_and(|finding| finding.rule == rule)
            || said
                .headline
                .starts_with(&format!("`{rule}` holds by a permission"))
    };
    report
        .diagnostics
        .iter()
        .filter(|said| !own(said))
        .collect()
}

fn options() -> Options {
    Options {
        explain: true,
        ..quick()
    }
}

/// A deviation from a random rule of the standard, and the rule.
fn deviation(random: &Random, standard: &strikeoff::types::Standard) -> (String, String) {
    let rules: Vec<_> = standard
        .rules
        .iter()
        .filter(|rule| rule.form == strikeoff::types::RuleForm::Rule)
        .collect();
    let rule = random.pick(&rules);
    let mut text = format!("\ndeviation from {} {{\n", rule.name);
    let mut moved = Vec::new();
    for requirement in &rule.requirements {
        for limit in limits(&requirement.condition) {
            let Some((figure, _)) = limit.subjects().first().copied() else {
                continue;
            };
            let words = strikeoff::types::expression_words(standard, figure);
            // A path names it; what is worked out on the spot is meant where it is alone.
            let name = words
                .chars()
                .all(|one| one.is_alphanumeric() || ".-".contains(one));
            if moved.contains(&words) || !name && rule.requirements.len() > 1 {
                continue;
            }
            let unit = Unit::usual(figure.dimension);
            let size = [0.0, 0.1, 5.0, 55.0, 250.0, 900.0][random.below(6)];
            let of = if name {
                format!("{words} ")
            } else {
                String::new()
            };
            let _ = writeln!(text, "  {of}up to {size} {}", unit.spelling());
            moved.push(words);
        }
    }
    match random.below(4) {
        0 => text.push_str("  when garment.polyester above 0 %\n"),
        1 => text.push_str("  pieces 200\n"),
        _ => {}
    }
    let until = ["2026-11-24", "2026-11-25", "2027-06-30"][random.below(3)];
    let _ = writeln!(
        text,
        "  because \"a reason\"\n  approved \"someone\"\n  until {until}\n}}"
    );
    (rule.name.clone(), text)
}

#[test]
fn a_deviation_never_hides_what_another_rule_finds() {
    let mut room = Room::demo();
    let root = room.files.get_mut(ROOT).unwrap();
    // Without the room's own deviations, which would be numbered anew.
    *root = root.replace("use \"deviations.std\"\n", "");
    let (store, bare) = room.prepare(ROOT);
    assert!(bare.standard.deviations.is_empty());
    let before: BTreeMap<&str, PlanReport> = room
        .plans()
        .map(|path| {
            let mut store = store.clone();
            let file = store.add(path, room.files[path].clone());
            (path, check_plan(&store, &bare, 0, file, options()))
        })
        .collect();
    let (mut passed, mut refused, mut malformed) = (0, 0, 0);
    for seed in 0..cases(40) {
        let random = Random::new(seed);
        let (rule, text) = deviation(&random, &bare.standard);
        let mut changed = room.clone();
        changed.files.get_mut(ROOT).unwrap().push_str(&text);
        let (store, prepared) = changed.prepare(ROOT);
        assert!(prepared.usable(), "{text}");
        malformed += usize::from(prepared.standard.deviations[0].malformed);
        for path in changed.plans() {
            let mut store = store.clone();
            let file = store.add(path, changed.files[path].clone());
            let after = check_plan(&store, &prepared, 0, file, options());
            let old = &before[path];
            assert_eq!(others(old, &rule), others(&after, &rule), "{path}{text}");
            assert_eq!(old.cautions, after.cautions, "{path}{text}");
            let (was, is) = (outcomes(old), outcomes(&after));
            assert!(was.keys().eq(is.keys()), "{path}{text}");
            for (key, outcome) in &was {
                if is[key] == *outcome {
                    refused += usize::from(key.0 == rule && *outcome == Outcome::Breaks);
                    continue;
                }
                assert_eq!(key.0, rule, "{path}{text}");
                assert!(matches!(outcome, Outcome::Breaks | Outcome::AtRisk));
                assert_eq!(is[key], Outcome::Holds);
                let said = after.diagnostics.iter().any(|said| {
                    said.code == Code::ByDeviation
                        && said.finding.as_ref().is_some_and(|finding| {
                            finding.rule == rule
                                && finding.clause == key.1
                                && finding.subject == key.2
                                && finding.deviation.as_ref().unwrap().without == *outcome
                        })
                });
                assert!(said, "{path}: {key:?} holds without a word{text}");
                passed += 1;
            }
        }
    }
    assert!(
        passed > 5 && refused > 5 && malformed > 2,
        "{passed} {refused} {malformed}"
    );
}

/// The same plans on every day: from its last day to the next, what passed is found again, and nothing else changes.
#[test]
fn what_a_deviation_lets_pass_comes_back_the_day_after() {
    let room = Room::demo();
    let (store, prepared) = room.prepare(ROOT);
    let path = "demo-data/plans/tri-blend-by-deviation.plan";
    let mut store = store.clone();
    let file = store.add(path, room.files[path].clone());
    let on = |day: &str| {
        let options = Options {
            on: Date::parse(day),
            ..options()
        };
        check_plan(&store, &prepared, 0, file, options)
    };
    let (last, after, none) = (on("2026-12-31"), on("2027-01-01"), on("no day"));
    assert_eq!(last.counts.of(Outcome::Breaks), 0);
    assert_eq!(after.counts.of(Outcome::Breaks), 1);
    // Without a day nothing is in force.
    assert_eq!(none.counts.of(Outcome::Breaks), 1);
    assert_eq!(last.counts.total(), after.counts.total());
    assert!(
        after.diagnostics[0]
            .notes
            .iter()
            .any(|note| note.contains("ended on 2026-12-31"))
    );
}

/// What would do, does; and what is a little less, does not.
#[test]
fn what_would_do_does() {
    let standard = |up_to: &str| {
        format!(
            "standard \"A room\" edition \"1\"\nuse trade\n\
             rule slow {{\n  shall dryer.dwell at least 60 s\n  per practice\n}}\n\
             deviation from slow {{\n  run \"a\"\n  up to {up_to}\n  because \"b\"\n  approved \"c\"\n  until 2027-01-01\n}}\n"
        )
    };
    for (belt, tolerance) in [
        ("2.7", "3 %"),
        ("2.63", "1 %"),
        ("2.5", "4 %"),
        ("2.99", "2 %"),
    ] {
        let plan = format!(
            "run \"a\" against \"room.std\"\ndryer {{\n  chamber 2.44 m\n  belt {belt} m/min ± {tolerance}\n}}\n"
        );
        let check = |up_to: &str| {
            let mut room = Room::of(&standard(up_to));
            room.files.insert("a.plan".to_owned(), plan.clone());
            let (_, report) = room.check(options());
            let info = report.standards[0].deviations[0].clone();
            (report.counts().of(Outcome::Holds), info)
        };
        let (holds, info) = check("1 s");
        assert_eq!((holds, info.states), (1, vec![DeviationState::Wide]));
        let would_do = info.would_do[0].strip_prefix("dryer.dwell up to ").unwrap();
        let (holds, info) = check(would_do);
        assert_eq!(
            (holds, info.states),
            (1, vec![DeviationState::Active]),
            "{would_do}"
        );
        let seconds: f64 = would_do.strip_suffix(" s").unwrap().parse().unwrap();
        let (holds, info) = check(&format!("{} s", seconds + 0.2));
        assert_eq!((holds, info.states), (0, vec![DeviationState::Unused]));
    }
}

/// Dates of ISO 8601 on the Gregorian calendar: leap years are those that 4 divides, but of the hundreds
/// only those that 400 divides. Day counts from the tables of Julian day numbers: 2000-01-01 is 2451545 and
/// 2026-12-31 is 2461406 at noon (from memory).
#[test]
fn dates() {
    for good in [
        "2024-02-29",
        "2000-02-29",
        "2026-12-31",
        "2026-04-30",
        "0001-01-01",
        "9999-12-31",
    ] {
        assert_eq!(Date::parse(good).unwrap().to_string(), good);
    }
    for bad in [
        "2026-02-29",
        "1900-02-29",
        "2026-02-30",
        "2026-04-31",
        "2026-13-01",
        "2026-00-10",
        "2026-01-00",
        "2026-1-01",
        "26-01-01",
        "2026-01-01 ",
        "2026/01/01",
        "+026-01-01",
        "",
        "２026-01-01",
    ] {
        assert!(Date::parse(bad).is_none(), "{bad}");
    }
    let day = |text: &str| Date::parse(text).unwrap();
    assert_eq!(
        day("2000-01-01").days_to(day("2026-12-31")),
        2_461_406 - 2_451_545
    );
    assert_eq!(day("2024-02-28").days_to(day("2024-03-01")), 2);
    assert_eq!(day("2026-02-28").days_to(day("2026-03-01")), 1);
    assert_eq!(day("2026-12-31").days_to(day("2026-11-25")), -36);
    assert!(day("2026-12-31") < day("2027-01-01"));
}
