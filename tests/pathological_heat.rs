//! Plans that leave everything open that heat depends on: the check ends within its budget of work, and says where that
//! ended. Work is counted, and no clock is looked at.

use std::fmt::Write as _;

use crate::demo_room::Room;
use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{Outcome, PlanReport};
use strikeoff::physics::{Function, Parameter, functions};

/// Nothing here may count more steps: twice what the budgets of one check come to (help 16, figures 12, values 3 and
/// searches 1 million).
const MOST_WORK: u64 = 64_000_000;

/// What a budget that ran out is called.
const SAID: &str = "it takes too much work to work out";

/// A likely value of an input, its unit, and how the plan states a tolerance on it.
fn nominal(parameter: &Parameter) -> (f64, &'static str) {
    let name = parameter.name;
    match parameter.dimension {
        "temperature" if name.starts_with("air") => (170.0, "°C"),
        "temperature" if name.starts_with("panel") => (320.0, "°C"),
        "temperature" if name == "level" => (140.0, "°C"),
        "temperature" if name == "reference" || name == "passed-temperature" => (180.0, "°C"),
        "temperature" => (25.0, "°C"),
        "areal-mass" if name == "ink-water" => (40.0, "g/m²"),
        "areal-mass" if name == "fabric-mass" => (180.0, "g/m²"),
        "areal-mass" => (60.0, "g/m²"),
        "length" if name.starts_with("fabric") => (0.7, "mm"),
        "length" => (0.08, "mm"),
        "specific-heat" => (1400.0, "J/(kg·K)"),
        "conductivity" if name.starts_with("fabric") => (0.06, "W/(m·K)"),
        "conductivity" => (0.2, "W/(m·K)"),
        "share" if name.starts_with("panel-factor") => (20.0, "%"),
        "share" if name.starts_with("edge") => (5.0, "%"),
        "share" if name == "moisture" => (6.0, "%"),
        "share" => (7.0, "%"),
        "heat-transfer" => (25.0, "W/(m²·K)"),
        "heat-flux" => (500.0, "W/m²"),
        "pressure" => (3.0, "kPa"),
        "areal-heat-capacity" => (14.6, "kJ/(m²·K)"),
        "thermal-resistance" => (0.004, "m²·K/W"),
        "count" if name == "plies" => (2.0, ""),
        "count" => (50.0, ""),
        "molar-energy" => (120.0, "kJ/mol"),
        "time" => (30.0, "s"),
        "number" => (1.5, ""),
        other => panic!("{name} is of {other}"),
    }
}

/// The figures whose names end so, such as those of a tunnel with three zones, which share their inputs; with a limit for
/// each that some points pass.
fn figures(named: &str) -> Vec<(&'static Function, &'static str)> {
    let limit = |function: &Function| match function.result {
        "temperature" => "155 °C",
        "time" => "20 s",
        "areal-mass" => "1 g/m²",
        _ => "0.5",
    };
    functions()
        .iter()
        .filter(|function| function.name.ends_with(named))
        .map(|function| (function, limit(function)))
        .collect()
}

/// A standard with every input a setting, every figure a formula, and a rule on each; and a plan that states them all for
/// so many beds, each a little slower than the last.
fn open(named: &str, beds: u32, [tolerance, kelvin, percent]: [&str; 3]) -> (Room, String) {
    let mut settings = String::new();
    let mut formulas = String::new();
    let mut rules = String::new();
    let mut plan = String::new();
    let mut known = Vec::new();
    let figures = figures(named);
    for (function, limit) in &figures {
        let names: Vec<String> = function
            .parameters
            .iter()
            .map(|p| format!("x-{}", p.name))
            .collect();
        for (parameter, name) in function.parameters.iter().zip(&names) {
            if known.contains(name) {
                continue;
            }
            known.push(name.clone());
            let turned = ["x-time", "x-flash-time", "x-air"].contains(&name.as_str());
            let sort = if turned { "set" } else { "given" };
            writeln!(settings, "  {name} {} {sort}", parameter.dimension).unwrap();
            let (value, unit) = nominal(parameter);
            let open = match unit {
                // They are whole.
                _ if parameter.name == "plies" => "",
                "°C" => kelvin,
                "%" => percent,
                _ => tolerance,
            };
            writeln!(plan, "  {name} {value} {unit} {open}").unwrap();
        }
        let adjust = if known.contains(&"x-time".to_owned()) {
            "bed.x-time, bed.x-air"
        } else {
            "bed.x-flash-time, bed.x-air"
        };
        let (name, result) = (function.name, function.result);
        writeln!(
            formulas,
            "  y-{name} {result} = {name}({})",
            names.join(", ")
        )
        .unwrap();
        write!(
            rules,
            "rule r-{name} {{\n  for each bed\n  shall bed.y-{name} at most {limit}\n  should bed.y-{name} at least {limit}\n  \
             per practice\n  adjust {adjust}\n}}\n"
        )
        .unwrap();
    }
    let mut all = String::from("run \"open\" against \"room.std\"\n");
    for bed in 0..beds {
        let own = plan.replace("x-time 30 ", &format!("x-time 30.{bed} "));
        write!(all, "bed b{bed} {{\n{own}}}\n").unwrap();
    }
    let standard = format!(
        "standard \"open\" edition \"1\"\nkind bed, many to a run \"a\" {{\n{settings}{formulas}}}\n{rules}"
    );
    (Room::of(&standard), all)
}

fn bounded(name: &str, named: &str, beds: u32, tolerances: [&str; 3]) -> PlanReport {
    let (room, plan) = open(named, beds, tolerances);
    let (mut store, prepared) = room.prepare("room.std");
    assert!(prepared.usable(), "{:#?}", prepared.problems);
    let file = store.add("a.plan", plan);
    let report = check_plan(&store, &prepared, 0, file, Options::default());
    eprintln!("{name}: {} steps, {:?}", report.work, report.counts);
    assert!(report.checked, "{:#?}", report.diagnostics);
    assert_eq!(
        report.checks.len(),
        2 * beds as usize * figures(named).len()
    );
    assert!(report.work < MOST_WORK, "{name}: {}", report.work);
    report
}

fn says_so(report: &PlanReport) -> bool {
    let mut notes = report.diagnostics.iter().flat_map(|one| &one.notes);
    notes.any(|note| note.contains(SAID))
}

#[test]
fn everything_open_ends_within_the_budget_and_says_so() {
    let report = bounded(
        "everything open by a fifth",
        "-three-zones",
        8,
        ["± 20 %", "± 20 K", "± 1.2 points"],
    );
    assert!(says_so(&report), "{:#?}", report.diagnostics);
    for check in &report.checks {
        assert_ne!(check.outcome, Outcome::Holds, "{}", check.rule);
    }
}

#[test]
fn everything_open_a_little_ends_within_the_budget() {
    bounded(
        "everything open by a hundredth",
        "-three-zones",
        1,
        ["± 1 %", "± 1 K", "± 0.1 points"],
    );
}

#[test]
fn everything_sharp_is_decided() {
    let report = bounded("everything sharp", "-three-zones", 1, ["", "", ""]);
    assert!(!says_so(&report));
    let decided = report
        .checks
        .iter()
        .filter(|check| check.outcome != Outcome::AtRisk);
    assert!(decided.count() >= 20, "{:#?}", report.checks);
}

#[test]
fn a_pallet_of_which_nothing_is_known_ends_within_the_budget() {
    let open = ["± 20 %", "± 10 K", "± 1.2 points"];
    let report = bounded("a pallet, open", "flash-pallet-after", 4, open);
    for check in &report.checks {
        assert_ne!(check.outcome, Outcome::Holds, "{}", check.rule);
    }
}
