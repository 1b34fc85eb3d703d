//! Plans that fare otherwise, in version 1 of the JSON form of `diff`.

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{Fared, PlanMove, PlanMoves, RuleMove, Unchecked};
use crate::source::Store;

/// How the plans of a folder fare under both standards.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "plans", deny_unknown_fields)]
pub(super) struct V1Plans<'r> {
    /// How many plans were checked against both.
    compared: usize,
    /// How many plans are against a standard that was not compared.
    elsewhere: usize,
    /// Plans that fare otherwise, worst first.
    moved: Vec<V1PlanMove<'r>>,
    /// Plans that could be checked against neither.
    unchecked: Vec<V1Unchecked<'r>>,
}

/// A plan that fares otherwise.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "plan-move", deny_unknown_fields)]
struct V1PlanMove<'r> {
    /// Its file.
    file: &'r str,
    /// The run's name.
    name: &'r str,
    /// Which way it went.
    #[schemars(extend("enum" = ["lost", "unreadable", "gained", "readable", "still-fails", "still-passes"]))]
    way: &'static str,
    /// The verdict under the old standard.
    #[schemars(extend("enum" = ["passes", "fails", "not-checked"]))]
    old: &'static str,
    /// The verdict under the new standard.
    #[schemars(extend("enum" = ["passes", "fails", "not-checked"]))]
    new: &'static str,
    /// Why one standard cannot read it; null where both can.
    why: Option<&'r str>,
    /// Rules that come to something else, worst first.
    rules: Vec<V1RuleMove<'r>>,
}

/// A rule that comes to something else on a thing of a plan.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "rule-move", deny_unknown_fields)]
struct V1RuleMove<'r> {
    /// The rule, by its new name if it has one.
    rule: &'r str,
    /// The thing; null for the run as a whole.
    subject: Option<&'r str>,
    /// The worst that came of it under the old standard; null where there is no such rule.
    old: Option<V1Fared<'r>>,
    /// The same under the new standard.
    new: Option<V1Fared<'r>>,
}

/// What came of a rule.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "fared", deny_unknown_fields)]
struct V1Fared<'r> {
    /// What came out.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply"]))]
    outcome: &'static str,
    /// The verb of the requirement.
    #[schemars(extend("enum" = ["shall", "should"]))]
    verb: &'static str,
    /// Why, in a few words.
    why: &'r str,
    /// A stretch of a text, half open.
    place: V1Place<'r>,
}

/// A plan that could be checked against neither.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "unchecked", deny_unknown_fields)]
struct V1Unchecked<'r> {
    /// Its file.
    file: &'r str,
    /// The first thing in the way.
    why: &'r str,
}

impl<'r> V1Plans<'r> {
    pub(super) fn new(moves: &'r PlanMoves, store: &'r Store) -> Self {
        let unchecked = |plan: &'r Unchecked| V1Unchecked {
            file: &plan.path,
            why: &plan.why,
        };
        Self {
            compared: moves.compared,
            elsewhere: moves.elsewhere,
            moved: moves
                .moved
                .iter()
                .map(|plan| V1PlanMove::new(plan, store))
                .collect(),
            unchecked: moves.unchecked.iter().map(unchecked).collect(),
        }
    }
}

impl<'r> V1PlanMove<'r> {
    fn new(plan: &'r PlanMove, store: &'r Store) -> Self {
        Self {
            file: &plan.path,
            name: &plan.name,
            way: plan.way().slug(),
            old: plan.old.slug(),
            new: plan.new.slug(),
            why: plan.why.as_deref(),
            rules: plan
                .rules
                .iter()
                .map(|rule| V1RuleMove::new(rule, store))
                .collect(),
        }
    }
}

impl<'r> V1RuleMove<'r> {
    fn new(rule: &'r RuleMove, store: &'r Store) -> Self {
        let fared = |fared: &'r Fared| V1Fared {
            outcome: fared.outcome.slug(),
            verb: fared.verb.word(),
            why: &fared.why,
            place: V1Place::new(fared.span, store),
        };
        Self {
            rule: &rule.rule,
            subject: rule.subject.as_deref(),
            old: rule.old.as_ref().map(fared),
            new: rule.new.as_ref().map(fared),
        }
    }
}
