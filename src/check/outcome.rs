//! Every requirement of a standard on every thing it speaks of, without words.

use crate::diagnostic::Outcome;
use crate::eval::{Conditions, Frame, Goal, Scene, Truth, Verdict, decide};
use crate::types::{InstanceId, Rule, RuleForm};

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
}

impl RuleResult {
    /// The outcome it counts as.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        match &self.applied {
            Applied::ToNothing | Applied::To(Verdict::DoesNotApply(_)) => Outcome::DoesNotApply,
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
    Goal {
        when: &rule.when,
        requirement: &rule.requirements[requirement].condition,
        permissions: &rule.permissions,
    }
}

/// The frame of a rule on a thing.
#[must_use]
pub(super) fn frame(each: Option<InstanceId>) -> Frame {
    Frame {
        each,
        ..Frame::default()
    }
}

/// The things a rule runs over: `None` once for a rule without `for each`.
pub(super) fn subjects(scene: &Scene<'_>, rule: &Rule) -> Vec<Option<InstanceId>> {
    match rule.each {
        None => vec![None],
        Some(kind) => scene.run.many[kind.0 as usize]
            .iter()
            .map(|id| Some(*id))
            .collect(),
    }
}

/// All requirements on all things, in the order of the standard.
#[must_use]
pub fn results(scene: &Scene<'_>) -> Vec<RuleResult> {
    let conditions = Conditions::new(*scene);
    let mut results = Vec::with_capacity(scene.standard.rules.len() * 2);
    for (index, rule) in scene.standard.rules.iter().enumerate() {
        if rule.form != RuleForm::Rule {
            continue;
        }
        let subjects = subjects(scene, rule);
        for requirement in 0..rule.requirements.len() {
            if subjects.is_empty() {
                results.push(RuleResult {
                    rule: index,
                    requirement,
                    each: None,
                    applied: Applied::ToNothing,
                });
            }
            for each in &subjects {
                let verdict = decide(&conditions, scene, frame(*each), goal(rule, requirement));
                results.push(RuleResult {
                    rule: index,
                    requirement,
                    each: *each,
                    applied: Applied::To(verdict),
                });
            }
        }
    }
    results
}

/// Whether a rule or caution fits the run: for some thing its `when` is not plainly false.
///
/// A caution is shown when in doubt.
#[must_use]
pub(super) fn fits(scene: &Scene<'_>, rule: &Rule) -> bool {
    let conditions = Conditions::new(*scene);
    subjects(scene, rule).iter().any(|each| {
        rule.when
            .iter()
            .all(|when| conditions.truth(frame(*each), when) != Truth::False)
    })
}
