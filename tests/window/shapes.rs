//! Known shapes: a sliver between three rules, an empty window, what fails whatever is set; and the same answer each time.

use super::{demo, found, looked, small};
use strikeoff::diagnostic::{Outcome, Window, Zone};

const KINDS: &str = r#"standard "Bench" edition "1"

kind pad, one to a run "two dials" {
  left      number from 0 to 10      "left dial" set
  right     number from 0 to 10      "right dial" set
  heat      number from 0 to 10      "another" set
}
"#;

const PLAN: &str =
    "run \"a\" against \"room.std\"\n\npad {\n  left   5\n  right  1\n  heat   3\n}\n";

fn ruled(rules: &[&str], budget: u64) -> Window {
    let mut standard = KINDS.to_owned();
    for (number, rule) in rules.iter().enumerate() {
        standard.push_str(&format!(
            "\nrule r{number} {{\n  shall {rule}\n  per practice\n}}\n"
        ));
    }
    let room = small(&standard, PLAN);
    let run = looked(&room, "a.plan", &["pad.left,pad.right"], budget);
    run.found.unwrap_or_else(|none| panic!("{none:?}"))
}

/// A triangle with the corners (4.99, 5.01), (5, 5) and (5.01, 5.01): a millionth of the dials.
const SLIVER: [&str; 3] = [
    "pad.right at least pad.left",
    "pad.left + pad.right at least 10",
    "pad.right at most 5.01",
];

#[test]
fn a_sliver_is_found_or_said_to_be_open() {
    let area = 0.5 * 0.02 * 0.01 / 100.0;
    for budget in [10, 100, 1_000, 10_000] {
        let window = ruled(&SLIVER, budget);
        let shares = window.shares;
        // Whatever was asked: nothing is lost, and no emptiness is claimed.
        assert!(!window.empty, "{budget}: {shares:?}");
        assert!(shares.holds <= area + 1e-12);
        assert!(shares.holds + shares.not_decided >= area - 1e-12);
    }
    let window = ruled(&SLIVER, 10_000);
    assert!(window.shares.holds > 0.9 * area, "{:?}", window.shares);
    let best = window.best.expect("the sliver is found");
    assert!((best.at[0] - 5.0).abs() < 0.01 && (5.0..=5.01).contains(&best.at[1]));
}

#[test]
fn an_empty_window_is_proved_and_the_rules_that_clash_are_named() {
    let window = ruled(
        &[
            "pad.right at least pad.left",
            "pad.left + pad.right at least 10",
            "pad.right at most 4.99",
            "pad.left at most 9",
        ],
        10_000,
    );
    assert!(window.empty, "{:?}", window.shares);
    assert!(window.best.is_none() && window.shares.holds == 0.0);
    let rules: Vec<&str> = window
        .clash
        .iter()
        .map(|number| window.cuts[*number].rule.as_str())
        .collect();
    assert_eq!(rules, ["r0", "r1", "r2"]);
}

#[test]
fn with_next_to_no_questions_nothing_is_claimed() {
    let window = ruled(&SLIVER, 0);
    assert!(!window.empty && window.best.is_none());
    assert!(window.shares.not_decided > 0.0);
}

#[test]
fn shares_make_one_and_boxes_do_not_overlap() {
    let window = ruled(&SLIVER, 2_000);
    let shares = window.shares;
    let sum = shares.holds + shares.at_risk + shares.breaks + shares.fails + shares.not_decided;
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    for (index, one) in window.boxes.iter().enumerate() {
        for other in &window.boxes[..index] {
            let apart = (0..2).any(|axis| {
                one.low[axis] >= other.high[axis] - 1e-12
                    || other.low[axis] >= one.high[axis] - 1e-12
            });
            assert!(apart, "{one:?} {other:?}");
        }
    }
}

#[test]
fn what_fails_whatever_is_set_is_said_first() {
    let mut rules = SLIVER.to_vec();
    rules.push("pad.heat at least 4");
    let window = ruled(&rules, 1_000);
    let [still] = &window.standstill[..] else {
        panic!("{:?}", window.standstill)
    };
    assert_eq!(still.words, "breaks");
    assert_eq!(window.cuts[still.cut].wants, "`pad.heat` at least 4");
}

#[test]
fn a_limit_that_turns_is_no_single_stretch() {
    // (left − 5)² ≥ 4: below 3 and above 7, and nothing between.
    let window = ruled(&["(pad.left - 5) * (pad.left - 5) at least 4"], 2_000);
    let setting = &window.settings[0];
    let holds: Vec<(f64, f64)> = setting
        .stretches
        .iter()
        .filter(|stretch| stretch.zone == Zone::Holds)
        .map(|stretch| (stretch.low.at, stretch.high.at))
        .collect();
    let [(from, to), (again, end)] = holds[..] else {
        panic!("{:?}", setting.stretches)
    };
    assert_eq!((from, end), (0.0, 10.0));
    assert!((to - 3.0).abs() < 1e-6 && to <= 3.0, "{to}");
    assert!((again - 7.0).abs() < 1e-6 && again >= 7.0, "{again}");
}

#[test]
fn the_same_question_has_the_same_answer() {
    let room = demo();
    let plan = "demo-data/fitted/plans/cotton-from-a-dry-store.plan";
    let free = ["dryer.belt 2 to 9 m/min, dryer.set-point 280 to 380 °F"];
    let once = looked(&room, plan, &free, 800).found.unwrap();
    let again = looked(&room, plan, &free, 800).found.unwrap();
    assert_eq!(once, again);
    // More questions leave less open.
    let more = looked(&room, plan, &free, 3_000).found.unwrap();
    assert!(more.shares.not_decided < once.shares.not_decided);
}

#[test]
fn the_present_and_the_proposed_set_points_are_those_of_a_check() {
    let room = demo();
    let plan = "demo-data/plans/blade-too-soft.plan";
    let window = found(&room, plan, &["screen.squeegee"]);
    assert_eq!(window.present.as_ref().unwrap().zone, Zone::Breaks);
    for point in [window.best.as_ref(), window.nearest.as_ref()] {
        let point = point.expect("a set point");
        let of = |outcome| point.counts.of(outcome);
        assert_eq!(of(Outcome::Breaks) + of(Outcome::AtRisk), 0);
    }
    // The air alone cannot mend a belt that is too fast.
    let plan = "demo-data/plans/tri-blend-too-fast.plan";
    assert_eq!(found(&room, plan, &["dryer.set-point"]).standstill.len(), 1);
}

/// What is said to fail whatever is set fails a check of the proposed set points too.
#[test]
fn what_fails_whatever_is_set_fails_at_the_proposed_set_points() {
    let room = demo();
    let (mut looked_at, mut standing) = (0, 0);
    for plan in room.texts.keys().filter(|path| path.ends_with(".plan")) {
        let asked = ["screen.squeegee,screen.off-contact"];
        let Ok(window) = looked(&room, plan, &asked, 400).found else {
            continue;
        };
        for point in [&window.best, &window.nearest].into_iter().flatten() {
            looked_at += 1;
            let of = |outcome| point.counts.of(outcome);
            let fails = of(Outcome::Breaks) + of(Outcome::AtRisk) + of(Outcome::NotStated);
            standing += usize::from(!window.standstill.is_empty());
            assert!(
                window.standstill.is_empty() || fails > 0,
                "{plan}: {:?}",
                window.standstill
            );
        }
    }
    assert!(looked_at > 20 && standing > 5, "{looked_at} {standing}");
    // A figure of which a part is not stated is not stated, also where the belt is too slow for the heat model.
    let plan = "demo-data/fitted/plans/cotton-from-a-damp-store.plan";
    let window = found(&room, plan, &["dryer.belt"]);
    assert!(window.standstill.is_empty(), "{:?}", window.standstill);
}
