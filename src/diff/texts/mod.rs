//! What texts of plans come to: read and checked by both editions, as people write them.

mod climb;
pub(in crate::diff) mod focus;
mod neighbours;
pub(in crate::diff) mod plan_text;
pub(in crate::diff) mod search;
mod sweep;
mod vocabulary;

use crate::check::{Options, Prepared, check_built};
use crate::constraint::read_run;
use crate::diagnostic::{Code, PlanOutcome, Severity, Verdict};
use crate::types::{Date, Run};

/// What a text comes to: the better, the smaller.
pub(in crate::diff) fn outcome(prepared: &Prepared, text: &str, on: Option<Date>) -> PlanOutcome {
    match read_run(&prepared.standard, text) {
        Some(run) => outcome_of_run(prepared, &run, on),
        None => PlanOutcome::Unreadable,
    }
}

/// What a run comes to as a whole: every rule, every deviation, and whether what it states fits together.
pub(in crate::diff) fn outcome_of_run(
    prepared: &Prepared,
    run: &Run,
    on: Option<Date>,
) -> PlanOutcome {
    let options = Options {
        explain: false,
        repairs: false,
        on,
        ..Options::default()
    };
    let report = check_built(prepared, run, options);
    let contradicts = report.diagnostics.iter().any(|said| {
        matches!(said.code, Code::Disagrees | Code::NotPossibleTogether)
            && said.severity == Severity::Error
    });
    match Verdict::of_plan(&report, false) {
        Verdict::Passes => PlanOutcome::Passes,
        _ if contradicts => PlanOutcome::Contradicts,
        Verdict::Fails | Verdict::NotChecked => PlanOutcome::Fails,
    }
}
