//! Plans that fare otherwise, in version 1 of the JSON form of `diff`.

use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{Fared, PlanMove, PlanMoves, RuleMove, Unchecked};
use crate::source::Store;

/// How the plans of a folder fare under both standards.
#[derive(Serialize)]
pub(super) struct V1Plans<'r> {
    compared: usize,
    elsewhere: usize,
    moved: Vec<V1PlanMove<'r>>,
    unchecked: Vec<V1Unchecked<'r>>,
}

#[derive(Serialize)]
struct V1PlanMove<'r> {
    file: &'r str,
    name: &'r str,
    way: &'static str,
    old: &'static str,
    new: &'static str,
    why: Option<&'r str>,
    rules: Vec<V1RuleMove<'r>>,
}

#[derive(Serialize)]
struct V1RuleMove<'r> {
    rule: &'r str,
    subject: Option<&'r str>,
    old: Option<V1Fared<'r>>,
    new: Option<V1Fared<'r>>,
}

#[derive(Serialize)]
struct V1Fared<'r> {
    outcome: &'static str,
    verb: &'static str,
    why: &'r str,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Unchecked<'r> {
    file: &'r str,
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
