//! Where figures are only sampled, at some set points or between them, nothing is promised of a whole box; and no box is lost.

use std::fmt::Write as _;

use super::{looked, small};
use strikeoff::check::{Options, check_plan, prepare};
use strikeoff::diagnostic::{Severity, Window, Zone, ZoneBox};
use strikeoff::names::read_text;
use strikeoff::source::Store;

/// An oven of one zone, by its own settings; `%1` stands for what is freed and `%2` for the limit.
const OVEN: &str = "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {\n  air       temperature from 5 °C to 250 °C \"air\" set\n  panel     temperature from 5 °C to 900 °C \"panel\" set\n  transfer  heat-transfer from 1 W/(m²·K) to 200 W/(m²·K) \"heat transfer\" given\n  passes    count from 1 to 3 \"passes\" set\n  layers    count from 1 to 2 \"layers\" set\n}\n\nrule film {\n  shall    film-peak(25 °C, 120 g/m², 0.1 mm, 1400 J/(kg·K), 0.17 W/(m·K), 0 g/m², MASS, 0.7 mm, 1300 J/(kg·K), 0.05 W/(m·K), 0.05, 7.5 %, TIME, oven.air, oven.air, oven.transfer, 25 W/(m²·K), oven.panel, 30 %, 0 W/m², 1500 Pa, 0 %, 0 %, 1, 0.005 m²·K/W, 0 W/(m²·K), 22 °C) LIMIT\n  because  \"so it is\"\n  per      practice\n}\n";

fn oven(mass: &str, time: &str, limit: &str) -> String {
    OVEN.replace("MASS", mass)
        .replace("TIME", time)
        .replace("LIMIT", limit)
}

fn plan(air: f64, panel: f64) -> String {
    let mut text = "run \"A run\" against \"room.std\"\n\noven {\n".to_owned();
    let _ = writeln!(
        text,
        "  air       {air} °C\n  panel     {panel} °C\n  transfer  30 W/(m²·K) to 40 W/(m²·K)\n  passes    2\n  layers    1\n}}"
    );
    text
}

fn window(standard: &str, free: &[&str], budget: u64) -> Window {
    let room = small(standard, &plan(150.0, 200.0));
    let found = looked(&room, "a.plan", free, budget).found;
    found.unwrap_or_else(|none| panic!("{free:?}: {none:?}"))
}

/// Whether a check of the plan with these values passes.
fn passes(standard: &str, air: f64, panel: f64) -> bool {
    let mut store = Store::new();
    let room = small(standard, "");
    let file = read_text(&mut store, &room, "room.std", None).unwrap();
    let prepared = prepare(&mut store, &room, file);
    let file = store.add("point.plan", plan(air, panel));
    let options = Options {
        repairs: false,
        ..Options::default()
    };
    let report = check_plan(&store, &prepared, 0, file, options);
    assert!(report.checked, "{:#?}", report.diagnostics);
    let said = report.diagnostics.iter();
    !said
        .into_iter()
        .any(|said| said.severity == Severity::Error)
}

fn all(window: &Window) -> f64 {
    let shares = window.shares;
    shares.holds + shares.at_risk + shares.breaks + shares.fails + shares.not_decided
}

/// Cool air below a hot panel: the film gets hotter than the air, and more heat transfer may cool it. At the hottest and at
/// the coolest set point of a box it is cooler than the air, and the figure is shown.
#[test]
fn what_is_sampled_between_two_corners_that_are_shown_is_not_promised() {
    let standard = oven("180 g/m²", "25 s", "at most 220 °C");
    let free = ["oven.air 60 to 200 °C", "oven.panel 60 to 300 °C"];
    let window = window(&standard, &free, 300);
    let shares = window.shares;
    assert!((all(&window) - 1.0).abs() < 1e-9, "{shares:?}");
    assert!(shares.holds > 0.4, "{shares:?}");
    // Of most of the rest it is known that no further question helps.
    assert!(shares.sampled > 0.5, "{shares:?}");
    let holds = |part: &&ZoneBox| part.zone == Zone::Holds;
    for part in window.boxes.iter().filter(holds) {
        for (air, panel) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            let end = |axis: usize, high: usize| [part.low[axis], part.high[axis]][high];
            let (air, panel) = (end(0, air), end(1, panel));
            assert!(passes(&standard, air, panel), "{air} and {panel}: {part:?}");
        }
    }
    let open = window.boxes.iter();
    for part in open.filter(|part| part.zone == Zone::NotDecided) {
        assert!(part.by.is_some(), "{part:?}");
    }
}

/// At the better corner the limit lies inside what is shown, at the worse one inside what is sampled: it holds nowhere.
#[test]
fn what_holds_at_no_corner_holds_nowhere_though_one_of_them_is_sampled() {
    let standard = oven("180 g/m²", "25 s", "at most 148 °C");
    let free = ["oven.air 150 to 150.5 °C", "oven.panel 200 to 214 °C"];
    let window = window(&standard, &free, 60);
    let shares = window.shares;
    assert!((shares.at_risk - 1.0).abs() < 1e-9, "{shares:?}");
}

/// Six set points, fewer than there are boxes to share out.
#[test]
fn set_points_that_cannot_be_halved_are_looked_at_all() {
    let standard = oven(
        "oven.layers * 180 g/m²",
        "oven.passes * 20 s",
        "at least 100 °C",
    );
    let window = window(&standard, &["oven.passes", "oven.layers"], 300);
    let shares = window.shares;
    assert!((all(&window) - 1.0).abs() < 1e-9, "{shares:?}");
    let points: f64 = window
        .boxes
        .iter()
        .map(|part| {
            let side = |axis: usize| part.high[axis] - part.low[axis] + 1.0;
            side(0) * side(1)
        })
        .sum();
    assert_eq!(points, 6.0, "{:?}", window.boxes);
}

/// Plain limits are the same all over a box that is alike at its worst and its best corner: no third set point is asked, so
/// that six hundred questions leave little open.
#[test]
fn what_is_alike_at_both_corners_takes_no_third_question() {
    let standard = "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {\n  air    number from 0 to 20 \"a\" set in steps of 0.5\n  panel  number from 0 to 20 \"b\" set in steps of 0.5\n}\nrule one {\n  shall  oven.air - oven.panel at least -5\n  per    practice\n}\nrule two {\n  shall  oven.air * oven.panel within 5 to 19\n  per    practice\n}\n";
    let plan = "run \"A run\" against \"room.std\"\n\noven {\n  air    15\n  panel  20\n}\n";
    let room = small(standard, plan);
    let found = looked(&room, "a.plan", &["oven.air", "oven.panel"], 600).found;
    let shares = found.expect("both can be freed").shares;
    assert!(shares.not_decided < 0.04, "{shares:?}");
}

/// Neither setting makes a requirement on what is stated better or worse; both together decide whether it can be worked out.
#[test]
fn what_only_makes_a_value_workable_is_looked_at_at_all_corners() {
    let standard = "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {\n  air    number from 0 to 10 \"a\" set\n  panel  number from 0 to 10 \"b\" set\n  load   number = root(air - panel) \"l\"\n}\nrule one {\n  shall  oven.load stated\n  per    practice\n}\n";
    let plan = "run \"A run\" against \"room.std\"\n\noven {\n  air    8\n  panel  3\n}\n";
    let room = small(standard, plan);
    let found = looked(&room, "a.plan", &["oven.air", "oven.panel"], 300).found;
    let window = found.expect("both can be freed");
    let shares = window.shares;
    // The root is there where the first is no less than the second: half of all.
    assert!(shares.holds < 0.5 && shares.holds > 0.45, "{shares:?}");
    let holds = |part: &&ZoneBox| part.zone == Zone::Holds;
    for part in window.boxes.iter().filter(holds) {
        assert!(part.low[0] >= part.high[1], "{part:?}");
    }
}
