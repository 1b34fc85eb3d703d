//! Whether repairs that do alone also do together.

use std::collections::BTreeMap;

use crate::diagnostic::{Outcome, PlanReport, Report, Severity};

/// What is left to do in a plan, counted: things are not told apart by their numbers, which a step that is put in moves.
type Left = BTreeMap<(String, u32), usize>;

fn left(report: &Report) -> Left {
    let mut left = Left::new();
    for plan in &report.plans {
        let mut add = |what: String, clause| *left.entry((what, clause)).or_default() += 1;
        for check in &plan.checks {
            if !matches!(check.outcome, Outcome::Holds | Outcome::DoesNotApply) {
                let rule = format!("`{}` {}", check.rule, verb(check.outcome));
                add(rule, check.clause);
            }
        }
        others(plan).for_each(|headline| add(headline, 0));
    }
    left
}

fn verb(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::AtRisk => "is at risk",
        Outcome::NotStated => "lacks a value",
        _ => "breaks",
    }
}

/// Errors that no rule made.
fn others(plan: &PlanReport) -> impl Iterator<Item = String> {
    let errors = plan.diagnostics.iter();
    errors
        .filter(|said| said.severity == Severity::Error && said.finding.is_none())
        .map(|said| said.headline.clone())
}

/// What stands against repairs put in together: a finding that neither the plan as it is nor any of them alone has, or one
/// that one of them mends and that is still there.
pub(super) fn worse(before: &Report, alone: &[Report], together: &Report) -> Option<String> {
    let (before, together) = (left(before), left(together));
    let alone: Vec<Left> = alone.iter().map(left).collect();
    let count = |left: &Left, what| left.get(what).copied().unwrap_or(0);
    for (what, found) in &together {
        let was = count(&before, what);
        let most = alone
            .iter()
            .map(|one| count(one, what))
            .fold(was, usize::max);
        if *found > most {
            return Some(format!("together {}", what.0));
        }
        let least = alone.iter().map(|one| count(one, what)).min();
        if least.is_some_and(|least| least < was && *found > least) {
            return Some(format!(
                "together {}, which one of them mends alone",
                what.0
            ));
        }
    }
    None
}
