//! The fitted demo room's figures, each by a second way: an energy balance, a pallet followed second by
//! second, the arithmetic of a plan's comment. What its plans say is tested with the other demo plans.

mod budget;
mod flash;
mod pace;
mod pallet;
mod tour;

use std::path::Path;

use crate::room::Room;
use strikeoff::check::{Options, Wanted};
use strikeoff::cli::working;
use strikeoff::diagnostic::{Diagnostic, Interval, PlanReport};

const PLANS: &str = "demo-data/fitted/plans";

/// The room from the disk.
fn fitted() -> Room {
    let mut room = Room::default();
    for folder in ["demo-data/fitted", PLANS] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in std::fs::read_dir(path).unwrap() {
            let entry = entry.unwrap().path();
            let name = entry.file_name().unwrap().to_str().unwrap();
            if name.ends_with(".std") || name.ends_with(".plan") {
                let text = std::fs::read_to_string(&entry).unwrap();
                room.texts.insert(format!("{folder}/{name}"), Ok(text));
            }
        }
    }
    room
}

fn path(plan: &str) -> String {
    format!("{PLANS}/{plan}.plan")
}

/// The report on one plan.
fn report(room: &Room, plan: &str) -> PlanReport {
    let run = room.check(vec![path(plan)], Options::default());
    let report = run.report.plans[0].clone();
    assert!(report.checked, "{plan}: {:#?}", report.diagnostics);
    report
}

/// What is said of a rule.
fn finding<'r>(report: &'r PlanReport, rule: &str) -> &'r Diagnostic {
    let about = |said: &&Diagnostic| {
        said.finding
            .as_ref()
            .is_some_and(|found| found.rule == rule)
    };
    report.diagnostics.iter().find(about).expect("a finding")
}

/// What a figure of a plan comes to, in its unit.
fn worked(room: &Room, plan: &str, setting: &str) -> Interval {
    let fields = [setting.to_owned()];
    let wanted = Wanted {
        fields: &fields,
        picture: false,
    };
    let run = working(Some(&path(plan)), None, None, wanted, room);
    let (working, _) = run.found.unwrap_or_else(|none| panic!("{none:?}"));
    let figure = working.figures.iter().find(|one| one.setting == setting);
    figure.expect("the figure").result.clone().unwrap().unwrap()
}

/// A plan with a line changed.
fn changed(plan: &str, from: &str, to: &str) -> Room {
    let mut room = fitted();
    let text = room.texts.get_mut(&path(plan)).unwrap().as_mut().unwrap();
    assert!(text.contains(from), "{plan} has no `{from}`");
    *text = text.replace(from, to);
    room
}
