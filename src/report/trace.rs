//! Which check a finding came from.
//!
//! A finding carries its rule, subject and outcome, and a label at the requirement's line; a check
//! carries the same and its clause. Joined on these, the views know the clause.

use std::collections::HashMap;

use crate::diagnostic::{Check, Diagnostic, Outcome, PlanReport};
use crate::source::Span;

type Kind<'r> = (&'r str, Option<&'r str>, Outcome);
type Place<'r> = (Kind<'r>, Span);

/// The checks of one plan, findable by their findings.
pub(super) struct Trace<'r> {
    checks: &'r [Check],
    by_place: HashMap<Place<'r>, usize>,
    by_kind: HashMap<Kind<'r>, usize>,
}

impl<'r> Trace<'r> {
    /// Reads the checks of a plan.
    pub(super) fn new(plan: &'r PlanReport) -> Self {
        let mut by_place = HashMap::with_capacity(plan.checks.len());
        let mut by_kind = HashMap::new();
        for (index, check) in plan.checks.iter().enumerate() {
            let kind = (check.rule.as_str(), check.subject.as_deref(), check.outcome);
            by_place.entry((kind, check.span)).or_insert(index);
            by_kind.entry(kind).or_insert(index);
        }
        Self {
            checks: &plan.checks,
            by_place,
            by_kind,
        }
    }

    /// The check's number in the plan. The line decides; without one, the first check of the
    /// rule on that subject with the same outcome.
    pub(super) fn index(&self, said: &Diagnostic) -> Option<usize> {
        let finding = said.finding.as_ref()?;
        let kind = (
            finding.rule.as_str(),
            finding.subject.as_deref(),
            finding.outcome,
        );
        said.labels()
            .iter()
            .find_map(|label| self.by_place.get(&(kind, label.span)))
            .or_else(|| self.by_kind.get(&kind))
            .copied()
    }

    /// The clause, from 1; `None` when no check fits.
    pub(super) fn clause(&self, said: &Diagnostic) -> Option<u32> {
        let check = self.checks.get(self.index(said)?)?;
        Some(check.clause)
    }
}
