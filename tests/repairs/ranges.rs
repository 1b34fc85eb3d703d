//! The ranges that repairs may take: points inside hold, a step outside something does not.

use strikeoff::cli::Run;
use strikeoff::diagnostic::{Diagnostic, Edit, Move, PlanReport, Repair};

use super::{Again, Dice, demo, path, rank};
use crate::room::Room;

/// The text of a value: the number in the unit of the range, then what stands behind it in the repair.
fn value(moved: &Move, number: f64) -> String {
    let (_, behind) = moved.to.split_once(' ').unwrap_or((&moved.to, ""));
    let unit = moved.unit.as_str();
    // `1 coat` and `2 coats`: what stands behind is the tolerance, if any.
    let tail = behind.split_once(' ').map_or("", |(_, tail)| tail);
    let number = format!("{number:.9}");
    let number = number.trim_end_matches('0').trim_end_matches('.');
    format!("{number} {unit} {tail}").trim_end().to_owned()
}

/// The plan with a repair in which its settings have other values.
fn text(room: &Room, run: &Run, repair: &Repair, values: &[f64]) -> String {
    let edits = repair.edits.iter().zip(&repair.moves).zip(values);
    let edits: Vec<Edit> = edits
        .map(|((edit, moved), number)| Edit {
            span: edit.span,
            text: value(moved, *number),
        })
        .collect();
    let path = run.store.get(edits[0].span.file).name().to_owned();
    let moved = Repair {
        edits,
        ..repair.clone()
    };
    room.repaired(run, &moved).texts[&path].clone().unwrap()
}

/// Requirements on a dial and on a reading together. Where the dial moves, the reading has to be taken anew, and the repair says so:
/// what it was says nothing of them.
const OF_BOTH: &[(&str, u32)] = &[("polyester-not-too-long-in-heat", 2)];

/// What does not hold, or is worse, with a repair of one finding or of the whole run.
fn fault(
    plan: &PlanReport,
    said: Option<&Diagnostic>,
    whole: bool,
    again_read: bool,
    after: &PlanReport,
) -> Option<String> {
    if !after.checked {
        return Some("not checked".to_owned());
    }
    for check in &after.checks {
        let own = said
            .and_then(|said| said.finding.as_ref())
            .is_some_and(|finding| {
                (&finding.rule, finding.clause, &finding.subject)
                    == (&check.rule, check.clause, &check.subject)
            });
        if again_read && !own && OF_BOTH.contains(&(check.rule.as_str(), check.clause)) {
            continue;
        }
        let before = plan.checks.iter().find(|known| super::same(known, check));
        let allowed = match before {
            _ if own || whole => 0,
            Some(before) => rank(before.outcome),
            None => 0,
        };
        if rank(check.outcome) > allowed {
            return Some(format!("{} {:?}: {}", check.rule, check.subject, check.why));
        }
    }
    let error = |plan: &PlanReport| {
        let errors = plan.diagnostics.iter();
        errors
            .filter(|said| said.finding.is_none())
            .filter(|said| said.severity == strikeoff::diagnostic::Severity::Error)
            .count()
    };
    (error(after) > error(plan)).then(|| "a contradiction".to_owned())
}

/// The step of the dial of a setting, in the unit of its range.
fn step(run: &Run, moved: &Move) -> f64 {
    let (kind, field) = moved
        .setting
        .split_once(": ")
        .or_else(|| moved.setting.split_once('.'))
        .unwrap();
    let kind = kind.split([' ', ',']).next().unwrap();
    let standard = &run.prepared[0].standard;
    let kind = standard.kind(standard.kind_names[kind]);
    let field = &kind.fields[kind.field_names[field].0 as usize];
    let bare = |unit: &str| unit.replace('Δ', "");
    let own = field
        .steps
        .iter()
        .find(|(_, unit)| bare(unit.spelling()) == bare(&moved.unit));
    if let Some((size, unit)) = own {
        return unit.from_base(size).nearest();
    }
    if ["stroke", "coat", "station"]
        .iter()
        .any(|noun| moved.unit.starts_with(noun))
    {
        return 1.0;
    }
    // Three digits of the present value.
    let present: f64 = moved.from.split(' ').next().unwrap().parse().unwrap();
    10_f64.powf(present.abs().log10().floor() - 2.0)
}

#[test]
fn points_inside_hold_and_a_step_outside_does_not() {
    let (room, run) = demo();
    let mut dice = Dice(7);
    let mut again = Again::new(run);
    let (mut inside, mut outside, mut wrong) = (0, 0, Vec::new());
    for plan in &run.report.plans {
        let path = path(run, plan);
        let findings = plan.diagnostics.iter().flat_map(|said| {
            let repairs = said.repairs.iter();
            repairs.map(move |repair| (Some(said), repair))
        });
        let whole = plan.whole.iter().filter_map(|whole| whole.repair.as_ref());
        let whole = whole.map(|repair| (None, repair));
        for (said, repair) in findings.chain(whole) {
            if repair.moves.is_empty() {
                continue;
            }
            let costly = path.contains("fitted");
            let again_read = !repair.measure_again.is_empty();
            let counted = |moved: &Move| {
                moved.unit.is_empty()
                    || ["stroke", "coat", "station", "piece"]
                        .iter()
                        .any(|noun| moved.unit.starts_with(noun))
            };
            for point in 0..if costly { 4 } else { 8 } {
                let values: Vec<f64> = repair
                    .moves
                    .iter()
                    .map(|moved| {
                        let share = match point {
                            0 => 0.0,
                            1 => 1.0,
                            _ => dice.share(),
                        };
                        let value = moved.low + share * (moved.high - moved.low);
                        if counted(moved) { value.round() } else { value }
                    })
                    .collect();
                let after = again.check(plan, text(room, run, repair, &values));
                let all = said.is_none() && repair.whole;
                if let Some(words) = fault(plan, said, all, again_read, &after) {
                    wrong.push(format!("{path}: {} at {values:?}: {words}", repair.words));
                }
                inside += 1;
            }
            // The findings' own ranges are as wide as can be; those of two settings depend on each other.
            let [moved] = &repair.moves[..] else { continue };
            let Some(said) = said else { continue };
            let step = step(run, moved);
            for value in [moved.low - step, moved.high + step] {
                let after = again.check(plan, text(room, run, repair, &[value]));
                if fault(plan, Some(said), false, false, &after).is_none() {
                    wrong.push(format!("{path}: {} still holds at {value}", repair.words));
                }
                outside += 1;
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(inside >= 200 && outside >= 50, "{inside} {outside}");
}
