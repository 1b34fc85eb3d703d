//! A window of a run that deviations speak of: what it says at a set point is what a check of the plan says.
//!
//! Each case leaves one thing open that a deviation asks for, so that what is in force at one set point is not at
//! another.

use super::{found, small};
use crate::demo_room;
use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{FreedSetting, Outcome, Zone};

const STANDARD: &str = r#"standard "Bench" edition "1"

kind oven, one to a run "the tunnel" {
  chamber   length from 0.3 m to 15 m                     "heated length" given
  belt      speed from 0.05 m/min to 20 m/min             "speed of the belt" set in steps of 0.1 m/min
  air       temperature from 20 °C to 250 °C              "air" set in steps of 5 °C
  dwell     time from 1 s to 7200 s = chamber / belt      "time under heat"
}

kind order, one to a run "what was ordered" {
  pieces    pieces from 1 pieces to 1000 pieces           "how many" set
}

rule slow "heated slowly" {
  shall     oven.dwell at least 60 s
  per       practice
}
"#;

const PLAN: &str = r#"run "a" against "room.std"

oven {
  chamber   2.44 m
  belt      2.6 m/min
  air       150 °C
}

order {
  pieces    200 pieces
}
"#;

/// A deviation from `slow` with these lines.
fn deviation(lines: &[&str]) -> String {
    format!(
        "deviation from slow {{\n  {}\n  because  \"tried\"\n  approved \"lead, 2026-11-20\"\n  until    2026-12-31\n}}\n",
        lines.join("\n  ")
    )
}

/// Whether a check of the plan passes.
fn passes(standard: &str, plan: &str) -> bool {
    let (mut store, prepared) = demo_room::Room::of(standard).prepare("room.std");
    assert!(prepared.usable(), "{:?}\n{standard}", prepared.problems);
    let file = store.add("a.plan", plan);
    let options = Options {
        explain: true,
        ..demo_room::quick()
    };
    let report = check_plan(&store, &prepared, 0, file, options);
    assert!(report.checked, "{:?}\n{plan}", report.diagnostics);
    assert!(!report.checks.is_empty());
    report
        .checks
        .iter()
        .all(|check| check.outcome == Outcome::Holds)
}

fn zone(setting: &FreedSetting, at: f64) -> Zone {
    let inside = |stretch: &&strikeoff::diagnostic::ZoneStretch| {
        let (low, high) = (&stretch.low, &stretch.high);
        (low.at < at || low.at == at && low.within)
            && (at < high.at || at == high.at && high.within)
    };
    let stretch = setting.stretches.iter().find(inside);
    stretch
        .unwrap_or_else(|| panic!("nothing is said at {at}: {:?}", setting.stretches))
        .zone
}

/// Frees a setting, and holds the window against a check at every one of these values; how many passed.
fn agrees(deviations: &[String], setting: &str, line: &str, values: &[(f64, String)]) -> usize {
    let standard = format!("{STANDARD}{}", deviations.concat());
    let window = found(&small(&standard, PLAN), "a.plan", &[setting]);
    let (mut passed, mut open) = (0, 0);
    for (at, written) in values {
        let plan: String = PLAN
            .lines()
            .map(|of| {
                let here = of.trim_start().starts_with(line);
                if here {
                    format!("  {line} {written}\n")
                } else {
                    format!("{of}\n")
                }
            })
            .collect();
        let checked = passes(&standard, &plan);
        let zone = zone(&window.settings[0], *at);
        let right = match zone {
            Zone::Holds => checked,
            Zone::Breaks | Zone::Fails => !checked,
            // Not decided: right beside an edge that is found by halving.
            _ => {
                open += 1;
                true
            }
        };
        assert!(
            right,
            "{setting} {written}: the window says {zone:?}, a check {checked}\n{standard}"
        );
        passed += usize::from(checked);
    }
    assert!(open <= 1, "{open} of {} are open\n{standard}", values.len());
    passed
}

fn belts() -> Vec<(f64, String)> {
    let tenths = 15..=35;
    tenths
        .map(|tenth| {
            (
                f64::from(tenth) / 10.0,
                format!("{}.{} m/min", tenth / 10, tenth % 10),
            )
        })
        .collect()
}

#[test]
fn a_deviation_that_asks_for_nothing_else_moves_the_edge() {
    // 2.44 m/min without, 2.928 m/min with it.
    assert_eq!(agrees(&[], "oven.belt", "belt", &belts()), 10);
    assert_eq!(
        agrees(&[deviation(&["up to 50 s"])], "oven.belt", "belt", &belts()),
        15
    );
}

#[test]
fn a_deviation_whose_when_reads_what_is_freed_counts_only_where_it_is_true() {
    let own = deviation(&["when oven.belt at most 2.7 m/min", "up to 50 s"]);
    assert_eq!(agrees(&[own], "oven.belt", "belt", &belts()), 13);
    // At a belt of 2.6 m/min, which only the deviation lets pass.
    let cool = deviation(&["when oven.air at most 160 °C", "up to 50 s"]);
    let airs: Vec<_> = (120..=200)
        .step_by(5)
        .map(|air| (f64::from(air), format!("{air} °C")))
        .collect();
    assert_eq!(agrees(&[cool], "oven.air", "air", &airs), 9);
}

#[test]
fn a_deviation_for_so_many_pieces_ends_at_them() {
    let few = deviation(&["pieces 300", "up to 50 s"]);
    let pieces: Vec<_> = [1, 200, 299, 300, 301, 302, 900]
        .iter()
        .map(|count| (f64::from(*count), format!("{count} pieces")))
        .collect();
    assert_eq!(
        agrees(
            std::slice::from_ref(&few),
            "order.pieces",
            "pieces",
            &pieces
        ),
        4
    );
    // Too many where the belt is freed: it lets nothing pass anywhere.
    let other = deviation(&["pieces 199", "up to 50 s"]);
    assert_eq!(agrees(&[other], "oven.belt", "belt", &belts()), 10);
    assert_eq!(agrees(&[few], "oven.belt", "belt", &belts()), 15);
}

#[test]
fn two_deviations_in_force_each_let_pass_by_themselves() {
    let far = deviation(&["when oven.air at most 160 °C", "up to 50 s"]);
    let near = deviation(&["up to 55 s"]);
    for order in [[far.clone(), near.clone()], [near.clone(), far.clone()]] {
        assert_eq!(agrees(&order, "oven.belt", "belt", &belts()), 15);
    }
    let elsewhere = deviation(&["when oven.air at least 160 °C", "up to 50 s"]);
    assert_eq!(
        agrees(&[near, elsewhere], "oven.belt", "belt", &belts()),
        12
    );
}
