//! How far is looked: what is asked for, what is possible, and where the standard states no possible range; and that
//! the looking ends, by counted work.

use super::{found, looked, refused, small};
use strikeoff::diagnostic::{Extent, Window};

const STANDARD: &str = r#"standard "A made-up room" edition "1"
unit hole = 10 µm "a word of the room"
kind oven, one to a run "oven" {
  chamber   length "chamber" given
  belt      speed "belt" set
  air       temperature "air" set in steps of 1 °C
  warmer    temperature "a difference that may go down" set
  dwell     time = chamber / belt "dwell"
}
kind cloth, one to a run "cloth" {
  heat      range of temperature "heat" given
}
kind pan, many to a run "pan" {
  thread    length "thread" set in steps of 1 µm
}
rule r-1 {
  when      not (oven.dwell below 10 s)
  shall     oven.air within cloth.heat
  per       practice
}
"#;

const PLAN: &str = r#"run "5 meadow" against "room.std"
oven {
  chamber   2.5 m -0.25 m +0.125 m
  belt      3 m/min
  air       18 °C
  warmer    -5 °C
}
pan pan-1 {
  thread    6.4 hole
}
"#;

fn of(free: &[&str]) -> Window {
    found(&small(STANDARD, PLAN), "a.plan", free)
}

#[test]
fn settings_without_a_possible_range_are_looked_at_within_the_budget() {
    // Along the thread nothing changes, and all that is asked there was answered before: a search that counted only
    // new questions halved a thousand million times.
    let free = ["oven.belt", "pan.thread"];
    for budget in [100, 1_000] {
        let run = looked(&small(STANDARD, PLAN), "a.plan", &free, budget);
        let window = run.found.expect("both can be freed");
        assert!(window.trials < 60_000 + budget, "{} asked", window.trials);
        let thread = &window.settings[1].stretches;
        assert_eq!(thread.len(), 1, "nothing changes along the thread");
    }
}

#[test]
fn any_budget_ends() {
    let standard = r#"standard "w" edition "1"
kind bed, one to a run "bed" {
  x   length from 0 m to 10 m "x" set
  y   length from 0 m to 10 m "y" set
}
rule a {
  shall bed.x * bed.y at most 8 m²
  per practice
}
"#;
    let plan = "run \"a\" against \"room.std\"\nbed {\n  x 2 m\n  y 2 m\n}\n";
    let room = small(standard, plan);
    let mut decided = 0.0;
    for budget in [0, 1, 2, 3, 4, 5, 6, 100, 1_000] {
        let run = looked(&room, "a.plan", &["bed.x", "bed.y"], budget);
        let shares = run.found.expect("both can be freed").shares;
        assert!(
            1.0 - shares.not_decided >= decided - 1e-9,
            "{budget}: more work decides no less"
        );
        decided = 1.0 - shares.not_decided;
    }
    assert!(decided > 0.99);
}

#[test]
fn what_is_called_all_that_is_possible_is() {
    let window = of(&["pan.thread"]);
    let extents: Vec<Extent> = window.settings.iter().map(|of| of.extent).collect();
    assert_eq!(extents, [Extent::AroundPresent]);
    assert_eq!(window.settings[0].range, "0 to 640 µm");
    let run = looked(&small(STANDARD, PLAN), "a.plan", &["pan.thread"], 1_000);
    let mut text = Vec::new();
    let style = strikeoff::report::Style {
        width: 1000,
        ..strikeoff::report::Style::default()
    };
    let window = run.found.as_ref().expect("it can be freed");
    strikeoff::report::window(window, &run.store, &style, &mut text).unwrap();
    let text = String::from_utf8(text).unwrap();
    let text: Vec<&str> = text.split_whitespace().collect();
    let text = text.join(" ");
    let words = "looked at 0 to 640 µm, to ten times what the plan states, as the standard states no possible range, taken as exact";
    assert!(text.contains(words), "{text}");
}

#[test]
fn a_range_that_is_asked_for_needs_no_value_of_the_plan() {
    for free in ["pan.thread 1 to 2 mm", "oven.air 100 to 400 °C"] {
        let window = of(&[free]);
        assert_eq!(window.settings[0].extent, Extent::Asked);
    }
    let thread = of(&["pan.thread 1 to 2 mm"]);
    assert_eq!(
        (thread.settings[0].low, thread.settings[0].high),
        (1_000.0, 2_000.0)
    );
    let without = PLAN.replace("  thread    6.4 hole\n", "");
    let room = small(STANDARD, &without);
    let window = found(&room, "a.plan", &["pan.thread 1 to 2 mm"]);
    assert_eq!(window.settings[0].extent, Extent::Asked);
    let words = refused(&room, "a.plan", &["pan.thread"]);
    assert!(words.contains("write how far to look"), "{words}");
    // Nothing is ten times nothing.
    let zero = PLAN.replace("6.4 hole", "0 µm");
    let words = refused(&small(STANDARD, &zero), "a.plan", &["pan.thread"]);
    assert!(words.contains("write how far to look"), "{words}");
}

#[test]
fn what_the_plan_states_lies_in_what_is_looked_at() {
    // On the scale that it is stated on, and below zero too.
    for (free, low, high) in [("oven.air", 0.0, 180.0), ("oven.warmer", -50.0, 0.0)] {
        let window = of(&[free]);
        let setting = &window.settings[0];
        assert!((setting.low - low).abs() < 1e-9, "{setting:?}");
        assert!((setting.high - high).abs() < 1e-9, "{setting:?}");
        let (present, _) = setting.present.clone().expect("the plan states it");
        assert!(setting.low <= present && present <= setting.high);
    }
}
