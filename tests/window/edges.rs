//! The edges of plain limits are the algebraic ones, exactly.

use super::{Room, found, refused, small};
use strikeoff::diagnostic::{FreedSetting, Zone, ZoneStretch};

const STANDARD: &str = r#"standard "Bench" edition "1"

kind oven, one to a run "the tunnel" {
  chamber   length from 0.3 m to 15 m                     "heated length" given
  belt      speed from 0.05 m/min to 20 m/min             "speed of the belt" set in steps of 0.1 m/min
  air       temperature from 20 °C to 250 °C              "air" set in steps of 5 °F, 5 °C
  pitch     length from 0.05 m to 3 m                     "from one to the next" set
  racks     count of racks from 1 to 12                   "racks behind it" set
  dwell     time from 1 s to 7200 s = chamber / belt      "time under heat"
  load      length from 0 m to 100 m = racks * pitch      "what stands behind it"
}

kind frame, many to a run "a frame" {
  pull      tension from 1 N/cm to 80 N/cm                "tension" set
}

rule slow "heated slowly" {
  shall     oven.dwell at least 60 s
  per       practice
}
"#;

const PLAN: &str = r#"run "a" against "room.std"

frame one {
  pull      20 N/cm ± 1 N/cm
}

frame two {
  pull      22 N/cm ± 1 N/cm
}

oven {
  chamber   2.44 m
  belt      3 m/min ± 5 %
  air       320 °F ± 10 °F
  pitch     0.5 m
  racks     3 racks
}
"#;

fn with(rules: &str) -> Room {
    small(&format!("{STANDARD}{rules}"), PLAN)
}

fn holding(setting: &FreedSetting) -> Vec<&ZoneStretch> {
    let all = setting.stretches.iter();
    all.filter(|stretch| stretch.zone == Zone::Holds).collect()
}

#[test]
fn a_dwell_cuts_the_belt_at_the_fraction_that_algebra_gives() {
    // 60 s ≤ 2.44 m ÷ (1.05 v)  ⇔  v ≤ 2.44 / 1.05 m/min = 244/105 m/min, and that itself still holds.
    let window = found(&with(""), "a.plan", &["oven.belt"]);
    let [holds] = holding(&window.settings[0])[..] else {
        panic!("{:?}", window.settings[0].stretches)
    };
    assert_eq!(holds.high.exact.as_deref(), Some("244/105"));
    assert!(holds.high.within);
    // Printed as the largest dial step below.
    assert_eq!(holds.dial.as_ref().unwrap().1.1, "2.3 m/min");
    let cut = &window.cuts[holds.high.cut.unwrap()];
    assert_eq!((cut.rule.as_str(), cut.clause), ("slow", 1));
    assert_eq!(cut.wants, "`oven.dwell` at least 60 s");
    // It breaks from 60 s = 2.44 m ÷ (0.95 v) on, v = 244/95, which itself is only at risk.
    let zones: Vec<Zone> = window.settings[0]
        .stretches
        .iter()
        .map(|stretch| stretch.zone)
        .collect();
    assert_eq!(zones, [Zone::Holds, Zone::AtRisk, Zone::Breaks]);
    let breaks = &window.settings[0].stretches[2];
    assert_eq!(breaks.low.exact.as_deref(), Some("244/95"));
}

#[test]
fn above_leaves_its_own_limit_out() {
    let room = with("rule warm {\n  shall oven.air above 300 °F\n  per practice\n}\n");
    let window = found(&room, "a.plan", &["oven.air"]);
    let [holds] = holding(&window.settings[0])[..] else {
        panic!()
    };
    // 300 °F + 10 °F.
    assert_eq!(holds.low.exact.as_deref(), Some("310"));
    assert!(!holds.low.within);
    assert_eq!(holds.dial.as_ref().unwrap().0.1, "315 °F");
}

#[test]
fn an_absolute_tolerance_stays_as_it_is_and_both_ends_are_kept() {
    let room = with("rule warm {\n  shall oven.air within 150 °C to 180 °C\n  per practice\n}\n");
    let window = found(&room, "a.plan", &["oven.air"]);
    let [holds] = holding(&window.settings[0])[..] else {
        panic!()
    };
    // 150 °C = 302 °F and 180 °C = 356 °F, ten degrees inside each.
    assert_eq!(holds.low.exact.as_deref(), Some("312"));
    assert_eq!(holds.high.exact.as_deref(), Some("346"));
    let dial = holds.dial.as_ref().unwrap();
    assert_eq!((dial.0.1.as_str(), dial.1.1.as_str()), ("315 °F", "345 °F"));
}

#[test]
fn whole_numbers_stay_whole() {
    let room = with("rule room {\n  shall oven.load at most 2.6 m\n  per practice\n}\n");
    let window = found(&room, "a.plan", &["oven.racks"]);
    let [holds] = holding(&window.settings[0])[..] else {
        panic!()
    };
    assert_eq!((holds.low.at, holds.high.at), (1.0, 5.0));
    assert_eq!(window.settings[0].stretches[1].low.at, 6.0);
}

#[test]
fn a_product_of_two_freed_settings_is_paved() {
    let room = with("rule room {\n  shall oven.load at most 2.6 m\n  per practice\n}\n");
    let window = found(&room, "a.plan", &["oven.racks, oven.pitch"]);
    // racks · pitch ≤ 2.6 m: the mean over 1 to 12 racks of the part of the pitches that do.
    let part = |racks: f64| ((2.6 / racks).clamp(0.05, 3.0) - 0.05) / 2.95;
    let exact: f64 = (1..=12).map(|racks| part(f64::from(racks))).sum::<f64>() / 12.0;
    assert!((window.shares.holds - exact).abs() <= window.shares.not_decided + 1e-3);
    assert!(window.shares.not_decided < 0.01, "{:?}", window.shares);
}

#[test]
fn a_range_and_a_tolerance_may_be_asked_for() {
    let window = found(&with(""), "a.plan", &["oven.belt 1 to 4 m/min ± 10 %"]);
    let setting = &window.settings[0];
    assert_eq!((setting.low, setting.high), (1.0, 4.0));
    assert_eq!(setting.tolerance.as_deref(), Some("± 10 %"));
    assert_eq!(
        holding(setting)[0].high.exact.as_deref(),
        Some("122/55"),
        "2.44 / 1.1"
    );
}

#[test]
fn a_setting_that_the_plan_does_not_state_can_be_freed() {
    let plan = PLAN.replace("  belt      3 m/min ± 5 %\n", "");
    let room = small(STANDARD, &plan);
    let window = found(&room, "a.plan", &["oven.belt"]);
    assert!(window.present.is_none());
    let setting = &window.settings[0];
    assert_eq!((setting.tolerance.as_deref(), setting.low), (None, 0.05));
    assert_eq!(holding(setting)[0].high.exact.as_deref(), Some("2.44"));
    assert!(window.best.is_some());
}

#[test]
fn what_cannot_be_freed_is_said() {
    let room = with("");
    let said = |free: &str| refused(&room, "a.plan", &[free]);
    assert_eq!(
        said("oven.belr"),
        "there is no setting `oven.belr`; did you mean `oven.belt`?"
    );
    assert_eq!(
        said("oven.dwell"),
        "`oven.dwell` is worked out, not set; free what it is worked out from: `oven.belt`"
    );
    assert_eq!(
        said("frame.pull"),
        "`frame.pull` is a setting of several things of the run; name one of them: `frame one: pull`, `frame two: pull`"
    );
    assert_eq!(said("oven.belt, oven.belt"), "`oven.belt` is named twice");
    assert!(said("oven.belt 1 to 4 s").contains("`belt` is a speed"));
    assert!(said("oven.belt 1 to 400 m/min").contains("belt"));
    assert!(said("oven.belt ± 5 K").contains("belt"));
    assert!(said("oven.belt {").contains("cannot be read"));
    assert!(said("").contains("name a setting"));
    for free in ["frame one: pull", "frame.pull of one"] {
        let window = found(&room, "a.plan", &[free]);
        assert_eq!(window.settings[0].setting, "frame one: pull");
    }
}
