//! What a run comes to, counted and without words: for searches that look at thousands of runs.

use crate::diagnostic::{Outcome, Verb};
use crate::eval::{Conditions, EvalContext, FigureCache, MissingValue, Verdict};
use crate::types::{Date, InstanceId, Run, overruled};

use super::deviation::standing;
use super::disagree::contradicted;
use super::outcome::{Applied, results};
use super::plan::Prepared;

/// What one requirement came to on one thing.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TallyLine {
    /// Index into [`crate::types::Standard::rules`].
    pub(crate) rule: usize,
    /// Index into [`crate::types::Rule::requirements`].
    pub(crate) requirement: usize,
    /// The thing of `for each`.
    pub(crate) each: Option<InstanceId>,
    /// Its verb.
    pub(crate) verb: Verb,
    /// What it counts as; one that a deviation lets pass holds.
    pub(crate) outcome: Outcome,
    /// What is missing.
    pub(crate) gap: Option<MissingValue>,
}

impl TallyLine {
    /// Whether it is kept, or asks for nothing.
    pub(crate) fn is_kept(&self) -> bool {
        matches!(self.outcome, Outcome::Holds | Outcome::DoesNotApply)
    }
}

/// What a run comes to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tally {
    /// Every requirement on every thing, in the order of the standard.
    pub(crate) lines: Vec<TallyLine>,
    /// How many stated values the others contradict, or overrule what is given.
    pub(crate) contradictions: usize,
    /// The work it took, as the evaluator counts it.
    pub(crate) work: u64,
}

impl Tally {
    /// The requirements by which the run fails.
    pub(crate) fn failing(&self) -> impl Iterator<Item = &TallyLine> {
        let fails = |line: &&TallyLine| line.verb == Verb::Shall && !line.is_kept();
        self.lines.iter().filter(fails)
    }

    /// By how much the run fails: nothing where it passes.
    pub(crate) fn faults(&self) -> usize {
        self.failing().count() + self.contradictions
    }
}

/// Counts what a run comes to on a day.
pub(crate) fn tally(prepared: &Prepared, run: &Run, on: Option<Date>) -> Tally {
    let cache = FigureCache::default();
    let context = EvalContext::new(&prepared.standard, run).remembering(&cache);
    let conditions = Conditions::new(context);
    let mut lines = Vec::new();
    for result in results(&context) {
        let rule = &prepared.standard.rules[result.rule];
        let Some(requirement) = rule.requirements.get(result.requirement) else {
            continue;
        };
        let mut outcome = result.outcome();
        if standing(&conditions, &context, on, &result)
            .passes
            .is_some()
        {
            outcome = Outcome::Holds;
        }
        lines.push(TallyLine {
            rule: result.rule,
            requirement: result.requirement,
            each: result.each,
            verb: requirement.verb,
            outcome,
            gap: match result.applied {
                Applied::To(Verdict::NotStated(gap)) => Some(*gap),
                _ => None,
            },
        });
    }
    Tally {
        lines,
        contradictions: contradicted(&context) + overruled(&prepared.standard, run).len(),
        work: cache.budget().work(),
    }
}
