//! How far settings may drift: points inside hold, just outside something does not.

use strikeoff::check::Options;
use strikeoff::cli::Run;
use strikeoff::diagnostic::{Drift, DriftEnd, Margin, PlanReport};

use super::{Again, Dice, demo, path, rank, same};
use crate::room::{Room, keeping};

fn with_margins() -> Run {
    let (room, _) = demo();
    let options = Options {
        margins: true,
        repairs: false,
        ..Options::default()
    };
    room.check(room.ending(".plan"), options)
}

/// The plan with a setting moved; `None` for a span, which has two numbers.
fn moved(room: &Room, run: &Run, path: &str, margin: &Margin, by: f64) -> Option<String> {
    let text = room.texts[path].clone().unwrap();
    let (start, end) = (margin.place.start as usize, margin.place.end as usize);
    assert_eq!(run.store.get(margin.place.file).name(), path);
    let stated = text.get(start..end)?;
    let (number, behind) = stated.split_once(' ').unwrap_or((stated, ""));
    if behind.contains(" to ") || behind.starts_with("to ") {
        return None;
    }
    let number: f64 = number.parse().ok()?;
    let value = format!("{:.9}", number + by);
    let value = value.trim_end_matches('0').trim_end_matches('.');
    Some(format!(
        "{}{value} {behind}{}",
        &text[..start],
        &text[end..]
    ))
}

/// The same, with its readings where they were taken.
fn kept(room: &Room, run: &Run, plan: &PlanReport, margin: &Margin, text: String) -> String {
    let before = room.texts[&path(run, plan)].clone().unwrap();
    let old = &before[margin.place.start as usize..margin.place.end as usize];
    let standard = &run.prepared[plan.standard.unwrap()].standard;
    keeping(standard, &before, text, &[(&margin.setting, old)])
}

/// What held, or did not apply, and does not now.
fn fault(before: &PlanReport, after: &PlanReport) -> Option<String> {
    if !after.checked {
        return Some("not checked".to_owned());
    }
    let worse = after.checks.iter().find(|check| {
        let known = before.checks.iter().find(|known| same(known, check));
        let held = known.is_none_or(|known| rank(known.outcome) == 0);
        held && rank(check.outcome) > 0
    })?;
    Some(format!("{}: {}", worse.rule, worse.why))
}

#[test]
fn points_inside_hold_and_just_outside_something_does_not() {
    let (room, _) = demo();
    let run = with_margins();
    let mut dice = Dice(11);
    let mut again = Again::new(&run);
    let (mut inside, mut outside, mut wrong) = (0, 0, Vec::new());
    for (index, plan) in run.report.plans.iter().enumerate() {
        let path = path(&run, plan);
        let costly = path.contains("fitted");
        // Both rooms have many plans alike.
        if !plan.checked || (!costly && index % 3 != 0) {
            continue;
        }
        for margin in &plan.margins.as_ref().unwrap().rows {
            let counted = ["stroke", "coat", "station", "piece"]
                .iter()
                .any(|noun| margin.unit.starts_with(noun));
            let sides = [(&margin.down, -1.0), (&margin.up, 1.0)];
            for (drift, sign) in sides {
                let Some(Drift { size, end, .. }) = drift else {
                    continue;
                };
                let whole = |size: f64| if counted { size.round() } else { size };
                let shares = [1.0, dice.share()].into_iter();
                for share in shares.skip(usize::from(costly && sign > 0.0)) {
                    let by = sign * whole(size * share);
                    let Some(text) = moved(room, &run, &path, margin, by) else {
                        continue;
                    };
                    let text = kept(room, &run, plan, margin, text);
                    if let Some(words) = fault(plan, &again.check(plan, text)) {
                        wrong.push(format!("{path}: {} by {by}: {words}", margin.setting));
                    }
                    inside += 1;
                }
                // With worked-out heat the search is coarse, and ends before the limit.
                if costly || !matches!(end, DriftEnd::Rule { .. }) {
                    continue;
                }
                let by = if counted {
                    size + 1.0
                } else {
                    size * 1.012 + 1e-4
                };
                let Some(text) = moved(room, &run, &path, margin, sign * by) else {
                    continue;
                };
                let text = kept(room, &run, plan, margin, text);
                if fault(plan, &again.check(plan, text)).is_none() {
                    wrong.push(format!("{path}: {} still holds by {by}", margin.setting));
                }
                outside += 1;
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(inside >= 1000 && outside >= 200, "{inside} {outside}");
}

#[test]
fn the_nearest_comes_first_and_what_nothing_reads_is_said() {
    let run = with_margins();
    let mut unread = 0;
    for plan in run.report.plans.iter().filter(|plan| plan.checked) {
        let rows = &plan.margins.as_ref().unwrap().rows;
        let near: Vec<f64> = rows
            .iter()
            .map(|row| row.nearness.unwrap_or(f64::INFINITY))
            .collect();
        assert!(near.is_sorted(), "{near:?}");
        unread += rows.iter().filter(|row| !row.read).count();
    }
    assert!(unread > 0);
}

/// The margins of the mesh of so many screens, down and up, under a rule that is asked of each and one of them all.
fn of_screens(many: usize, all: &str) -> Vec<(Option<f64>, Option<Drift>)> {
    let standard = format!(
        "standard \"A room\" edition \"1\"\n\nkind screen, many to a run \"s\" {{\n  mesh number from 1 to 200 \"m\" set\n  fine number = mesh * 2 \"f\"\n}}\nrule each {{\n  for each screen\n  shall screen.fine at least 80\n  per practice\n}}\n{all}"
    );
    let mut plan = String::from("run \"a\" against \"room.std\"\n");
    for number in 0..many {
        plan.push_str(&format!("screen s{number} {{\n  mesh 54 ± 1\n}}\n"));
    }
    let mut room = Room::default();
    room.texts.insert("room.std".to_owned(), Ok(standard));
    room.texts.insert("a.plan".to_owned(), Ok(plan));
    let options = Options {
        margins: true,
        repairs: false,
        ..Options::default()
    };
    let run = room.check(vec!["a.plan".to_owned()], options);
    let margins = run.report.plans[0].margins.as_ref().expect("asked for");
    let rows = margins.rows.iter();
    rows.map(|row| (row.down.as_ref().map(|down| down.size), row.up.clone()))
        .collect()
}

/// A rule that is asked of each of a thousand screens rests on that screen alone: the margins of one cost no more than
/// if it were the only one, so all are worked out with the work there is.
#[test]
fn a_thousand_screens_have_their_margins() {
    let found = of_screens(1_000, "");
    assert_eq!(found.len(), 1_000);
    let told = found.iter().filter(|(down, _)| *down == Some(13.0));
    assert_eq!(told.count(), 1_000);
}

/// A rule that reads all things of a kind, itself or by way of a formula, can be ended by any of them.
#[test]
fn what_reads_all_of_a_kind_counts_for_each() {
    let all =
        "rule all {\n  for each screen\n  shall most(screen.fine) at most 300\n  per practice\n}\n";
    for (down, up) in of_screens(3, all) {
        assert_eq!(down, Some(13.0));
        let up = up.expect("worked out");
        assert_eq!(up.size, 95.0);
        assert!(matches!(&up.end, DriftEnd::Rule { rule, .. } if rule == "all"));
    }
}
