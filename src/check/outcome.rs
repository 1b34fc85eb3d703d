//! Every requirement of a standard on every thing it speaks of, without words.

use crate::diagnostic::Outcome;
use crate::eval::{Binding, Conditions, EvalContext, Goal, Truth, Verdict, decide};
use crate::types::{InstanceId, Rule, RuleForm, Table};

use super::table::{Lookup, NoCell, look_up};

/// What one requirement came to on one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleResult {
    /// Index into [`crate::types::Standard::rules`].
    pub rule: usize,
    /// Index into [`Rule::requirements`].
    pub requirement: usize,
    /// The thing of `for each`.
    pub each: Option<InstanceId>,
    /// What it came to.
    pub applied: Applied,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Applied {
    /// The requirement was worked out.
    To(Verdict),
    /// The run has nothing of the kind of `for each`.
    ToNothing,
    /// The rule is a table, and it has no limit for the run.
    ToNoCell(Box<NoCell>),
}

impl RuleResult {
    /// The outcome it counts as.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        match &self.applied {
            Applied::ToNothing | Applied::ToNoCell(_) | Applied::To(Verdict::DoesNotApply(_)) => {
                Outcome::DoesNotApply
            }
            Applied::To(Verdict::Holds(_)) => Outcome::Holds,
            Applied::To(Verdict::Breaks) => Outcome::Breaks,
            // What cannot be worked out has not been shown to hold.
            Applied::To(Verdict::AtRisk(_) | Verdict::CannotWorkOut(_)) => Outcome::AtRisk,
            Applied::To(Verdict::NotStated(_)) => Outcome::NotStated,
        }
    }
}

/// The goal of a requirement.
#[must_use]
pub(super) fn goal(rule: &Rule, requirement: usize) -> Goal<'_> {
    Goal::of(rule, &rule.requirements[requirement])
}

/// The binding of a rule on a thing.
#[must_use]
pub(super) fn binding(each: Option<InstanceId>) -> Binding {
    Binding {
        each,
        ..Binding::default()
    }
}

/// The things a rule runs over: `None` once for a rule without `for each`.
pub(super) fn subjects<'a>(
    context: &EvalContext<'a>,
    rule: &Rule,
) -> impl Iterator<Item = Option<InstanceId>> + Clone + use<'a> {
    let many: &'a [InstanceId] = match rule.each {
        None => &[],
        Some(kind) => &context.run.many[kind.0 as usize],
    };
    let whole = rule.each.is_none().then_some(None);
    whole.into_iter().chain(many.iter().copied().map(Some))
}

/// All requirements on all things, in the order of the standard.
#[must_use]
pub fn results(context: &EvalContext<'_>) -> Vec<RuleResult> {
    let conditions = Conditions::new(*context);
    let mut results = Vec::with_capacity(context.standard.rules.len() * 2);
    for rule in 0..context.standard.rules.len() {
        of_rule(&conditions, context, rule, &mut results);
    }
    results
}

/// All requirements of one rule on all things; none for a caution. `conditions` must be for the context.
pub(crate) fn of_rule(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    index: usize,
    results: &mut Vec<RuleResult>,
) {
    let rule = &context.standard.rules[index];
    if rule.form != RuleForm::Rule {
        return;
    }
    let subjects = subjects(context, rule);
    let none = subjects.clone().next().is_none();
    if let Some(table) = rule.table.as_deref().filter(|_| !none) {
        results.extend(subjects.map(|each| of_table(context, conditions, index, table, each)));
        return;
    }
    // A table without things to look at is one requirement that speaks of nothing.
    let count = rule.requirements.len();
    let count = if rule.table.is_some() {
        count.min(1)
    } else {
        count
    };
    for requirement in 0..count {
        let result = |each, applied| RuleResult {
            rule: index,
            requirement,
            each,
            applied,
        };
        if none {
            results.push(result(None, Applied::ToNothing));
        }
        for each in subjects.clone() {
            let verdict = decide(conditions, context, binding(each), goal(rule, requirement));
            results.push(result(each, Applied::To(verdict)));
        }
    }
}

/// What a table comes to on one thing: the requirement of its cell.
fn of_table(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    index: usize,
    table: &Table,
    each: Option<InstanceId>,
) -> RuleResult {
    let rule = &context.standard.rules[index];
    let binding = binding(each);
    let mut result = RuleResult {
        rule: index,
        requirement: 0,
        each,
        applied: Applied::ToNothing,
    };
    result.applied = match look_up(context, conditions, binding, rule, table) {
        Lookup::Requirement(requirement) => {
            result.requirement = requirement;
            Applied::To(decide(
                conditions,
                context,
                binding,
                goal(rule, requirement),
            ))
        }
        // Where it does not apply, what it would have looked up does not matter.
        other => match (not_applying(conditions, binding, rule), other) {
            (Some(when), _) => Applied::To(Verdict::DoesNotApply(when)),
            (None, Lookup::None(no_cell)) => Applied::ToNoCell(Box::new(no_cell)),
            (None, Lookup::Unknown(verdict)) => Applied::To(verdict),
            (None, Lookup::Requirement(_)) => Applied::ToNothing,
        },
    };
    result
}

/// The `when` that is false.
fn not_applying(conditions: &Conditions<'_>, binding: Binding, rule: &Rule) -> Option<usize> {
    rule.when
        .iter()
        .position(|when| conditions.truth_of_when(binding, when) == Truth::False)
}

/// One requirement on one thing once more, where the context has changed. `conditions` must be for it.
#[must_use]
pub(super) fn again(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    result: &RuleResult,
) -> RuleResult {
    let rule = &context.standard.rules[result.rule];
    if let (Some(table), Applied::To(_)) = (rule.table.as_deref(), &result.applied) {
        return of_table(context, conditions, result.rule, table, result.each);
    }
    let goal = goal(rule, result.requirement);
    RuleResult {
        applied: Applied::To(decide(conditions, context, binding(result.each), goal)),
        ..*result
    }
}

/// Whether a rule or caution fits the run: for some thing its `when` is not plainly false.
///
/// A caution is shown when in doubt.
#[must_use]
pub(super) fn fits(context: &EvalContext<'_>, rule: &Rule) -> bool {
    let conditions = Conditions::new(*context);
    subjects(context, rule).any(|each| {
        rule.when
            .iter()
            .all(|when| conditions.truth(binding(each), when) != Truth::False)
    })
}
