//! Whether a plan, or a whole call, passes.

use super::{Code, Outcome, PlanReport, Report, Severity, Verb};

/// What a plan comes to, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// Every `shall` is kept.
    Passes,
    /// A `shall` breaks, cannot be shown or lacks a value.
    Fails,
    /// No rule ran.
    NotChecked,
}

impl Verdict {
    /// The verdict on one plan. A plan that no rule spoke of was not checked: silence is no pass.
    #[must_use]
    pub fn of_plan(plan: &PlanReport, allow_risk: bool) -> Self {
        if !plan.checked || (plan.checks.is_empty() && plan.counts.total() == 0) {
            return Self::NotChecked;
        }
        let said = plan.diagnostics.iter().any(|said| match &said.finding {
            // A risk may be taken; what could not be worked out at all is no risk that anyone knows.
            Some(finding) => {
                let known = said.code != Code::CannotWorkOut;
                fails(finding.verb, finding.outcome, allow_risk && known)
            }
            None => said.severity == Severity::Error,
        });
        let checks = &plan.checks;
        if said
            || checks
                .iter()
                .any(|check| fails(check.verb, check.outcome, allow_risk))
        {
            Self::Fails
        } else {
            Self::Passes
        }
    }

    /// The verdict on a whole call: the worst of its plans. Trouble with a file counts too.
    #[must_use]
    pub fn of_report(report: &Report) -> Self {
        let trouble = report
            .diagnostics
            .iter()
            .any(|said| said.severity == Severity::Error);
        let worst = report
            .plans
            .iter()
            .map(|plan| Self::of_plan(plan, report.allow_risk))
            .max();
        match worst {
            None | Some(Self::NotChecked) => Self::NotChecked,
            Some(_) if trouble => Self::Fails,
            Some(worst) => worst,
        }
    }

    /// The word people read.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Passes => "passes",
            Self::Fails => "does not pass",
            Self::NotChecked => "not checked",
        }
    }

    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Passes => "passes",
            Self::Fails => "fails",
            Self::NotChecked => "not-checked",
        }
    }
}

/// Whether one check alone keeps its plan from passing.
pub(super) fn fails(verb: Verb, outcome: Outcome, allow_risk: bool) -> bool {
    verb == Verb::Shall
        && match outcome {
            Outcome::Breaks | Outcome::NotStated => true,
            Outcome::AtRisk => !allow_risk,
            Outcome::Holds | Outcome::DoesNotApply => false,
        }
}
