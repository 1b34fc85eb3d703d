//! What is in doubt when a requirement is at risk, and which tolerance decides.

use crate::eval::{Conditions, Frame, Goal, Leaf, Scene, Truth, Verdict, condition_leaves};
use crate::source::Span;
use crate::types::{Condition, Rule};

use super::atom::decisive;
use super::tighten::tighten;
use super::words;

/// What is in doubt beside the requirement, which itself breaks at every point.
#[derive(Debug, Clone, Copy)]
pub(super) enum Doubt<'e> {
    /// Nothing else: the requirement itself is.
    None,
    /// Whether the rule applies.
    When(&'e Condition),
    /// Whether this permission lets the run through.
    Permission(&'e Condition),
}

impl<'e> Doubt<'e> {
    /// Finds it.
    pub(super) fn of(
        scene: &Scene<'_>,
        frame: Frame,
        rule: &'e Rule,
        requirement: usize,
        verdict: &Verdict,
    ) -> Self {
        let Verdict::AtRisk(_) = verdict else {
            return Self::None;
        };
        let conditions = Conditions::new(*scene);
        let truth = |condition: &Condition| conditions.truth(frame, condition);
        if truth(&rule.requirements[requirement].condition) != Truth::False {
            return Self::None;
        }
        let open = |when: &&Condition| conditions.truth_of_when(frame, when) == Truth::Unknown;
        if let Some(when) = rule.when.iter().find(open) {
            return Self::When(when);
        }
        let unknown = |condition: &&Condition| truth(condition) == Truth::Unknown;
        rule.permissions
            .iter()
            .find(unknown)
            .map_or(Self::None, Self::Permission)
    }

    fn condition(self) -> Option<&'e Condition> {
        match self {
            Self::None => None,
            Self::When(condition) | Self::Permission(condition) => Some(condition),
        }
    }

    /// The stated values that it rests on.
    pub(super) fn leaves(self, scene: &Scene<'_>, frame: Frame) -> Vec<Leaf> {
        let condition = self.condition();
        condition.map_or_else(Vec::new, |condition| {
            condition_leaves(scene, frame, &[condition])
        })
    }

    /// A note about it, and its line with a few words.
    pub(super) fn told(self, scene: &Scene<'_>, frame: Frame) -> Option<(String, Span, String)> {
        let condition = self.condition()?;
        let told = decisive(scene, frame, condition).told(scene, frame);
        let quantity = told.quantity.unwrap_or_default();
        let value = told.value.unwrap_or_default();
        let limit = told.limit.unwrap_or_default();
        let (note, words) = match self {
            Self::When(_) => (
                format!(
                    "whether the rule applies is in doubt: `{quantity}` is {value}, and it applies when that is {limit}"
                ),
                "it applies only then",
            ),
            _ => (
                format!(
                    "whether this is permitted is in doubt: `{quantity}` is {value}, and it is permitted when that is {limit}"
                ),
                "this `may` would let it through",
            ),
        };
        Some((note, condition.span, words.to_owned()))
    }
}

/// The tolerance that decides.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    /// Whose it is.
    pub(super) leaf: Option<Leaf>,
    /// In words, with how tight it would have to be.
    pub(super) words: String,
}

/// Finds the tolerance that decides a requirement that is at risk.
pub(super) fn decided_by(
    scene: &Scene<'_>,
    frame: Frame,
    goal: Goal<'_>,
    rests_on: &[Leaf],
) -> Decided {
    if let Some(found) = tighten(scene, frame, goal, rests_on) {
        let name = words::setting(scene, found.leaf);
        let quantity = scene.quantity(found.leaf.target, found.leaf.field);
        let tolerance = quantity
            .and_then(|quantity| quantity.tolerance.as_ref())
            .map(words::tolerance);
        let holds = if found.applies {
            "it holds"
        } else {
            "the rule does not apply"
        };
        let words = match (tolerance, found.needed) {
            (Some(now), Some(needed)) => {
                format!("the {now} of `{name}` decides: {holds} at {needed} or tighter")
            }
            (Some(now), None) => format!(
                "the {now} of `{name}` decides: the value is too near the limit for any tolerance"
            ),
            (None, _) => {
                format!("the span stated for `{name}` decides: {holds} nearer to its middle")
            }
        };
        return Decided {
            leaf: Some(found.leaf),
            words,
        };
    }
    let uncertain: Vec<Leaf> = rests_on
        .iter()
        .copied()
        .filter(|leaf| {
            scene
                .quantity(leaf.target, leaf.field)
                .is_some_and(|quantity| quantity.low < quantity.high)
        })
        .collect();
    let names: Vec<String> = uncertain
        .iter()
        .map(|leaf| format!("`{}`", words::setting(scene, *leaf)))
        .collect();
    let words = match &names[..] {
        [] => "the accuracy of the model decides; no stated tolerance does".to_owned(),
        [only] => format!(
            "the tolerance of {only} decides, and tightening it would not be enough: the value itself has to move"
        ),
        _ => format!(
            "the tolerances of {} decide together; tightening one of them would not be enough",
            names.join(", ")
        ),
    };
    Decided {
        leaf: match uncertain[..] {
            [only] => Some(only),
            _ => None,
        },
        words,
    }
}
