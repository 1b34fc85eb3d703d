//! What is in doubt when a requirement is at risk, and which tolerance decides.

use crate::eval::{
    Binding, Conditions, EvalContext, ExactInterval, Goal, Leaf, Truth, Verdict, condition_inputs,
};
use crate::source::Span;
use crate::types::{Condition, Rule};
use crate::units::show_exact;

use super::deciding_comparison::{DecidingComparison, decisive};
use super::measure::{found_by, rough};
use super::readings::bound;
use super::tighten::{Needed, Tightened, tighten, tolerance_of};
use super::wording;

/// What is in doubt beside the requirement, which itself breaks at every point.
#[derive(Debug, Clone, Copy)]
pub(super) enum UncertaintySource<'e> {
    /// Nothing else: the requirement itself is.
    None,
    /// Whether the rule applies.
    When(&'e Condition),
    /// Whether this permission lets the run through.
    Permission(&'e Condition),
}

impl<'e> UncertaintySource<'e> {
    /// Finds it.
    pub(super) fn of(
        context: &EvalContext<'_>,
        binding: Binding,
        rule: &'e Rule,
        requirement: usize,
        verdict: &Verdict,
    ) -> Self {
        let Verdict::AtRisk(_) = verdict else {
            return Self::None;
        };
        let conditions = Conditions::new(*context);
        let truth = |condition: &Condition| conditions.truth(binding, condition);
        if truth(&rule.requirements[requirement].condition) != Truth::False {
            return Self::None;
        }
        let open = |when: &&Condition| conditions.truth_of_when(binding, when) == Truth::Unknown;
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
    pub(super) fn leaves(self, context: &EvalContext<'_>, binding: Binding) -> Vec<Leaf> {
        let condition = self.condition();
        condition.map_or_else(Vec::new, |condition| {
            condition_inputs(context, binding, &[condition])
        })
    }

    /// A note about it, and its line with a few words.
    pub(super) fn told(
        self,
        context: &EvalContext<'_>,
        binding: Binding,
    ) -> Option<(String, Span, String)> {
        let condition = self.condition()?;
        let told = decisive(context, binding, condition).told(context, binding);
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
    /// That one, or those that decide together, the one that matters most first.
    pub(super) order: Vec<Leaf>,
    /// In words, with how tight it would have to be.
    pub(super) words: String,
}

/// How many tolerances that decide together are named.
const MOST_NAMED: usize = 4;

/// Those first whose value, known exactly, would narrow the compared figure most.
///
/// Few come as they are used: there all are named, and the order tells nothing.
fn heaviest_first(
    context: &EvalContext<'_>,
    binding: Binding,
    comparison: &DecidingComparison<'_>,
    uncertain: &[Leaf],
) -> Vec<Leaf> {
    let since = context.cache.map_or(0, |cache| cache.budget().work());
    let mut weighed: Vec<(f64, Leaf)> = Vec::new();
    if uncertain.len() <= MOST_NAMED + 1 {
        return uncertain.to_vec();
    }
    for leaf in uncertain {
        let tired = context
            .cache
            .is_some_and(|cache| !cache.budget().may_help(since));
        let quantity = context.quantity(leaf.target, leaf.field).filter(|_| !tired);
        let width = quantity.and_then(|quantity| {
            let mut narrowed = context.narrowed.to_vec();
            narrowed.retain(|(known, _)| known != leaf);
            let sharp = ExactInterval::new(quantity.nominal.clone(), quantity.nominal.clone());
            narrowed.push((*leaf, sharp));
            let context = EvalContext {
                narrowed: &narrowed,
                ..*context
            };
            comparison.width(&context, binding)
        });
        weighed.push((width.unwrap_or(f64::INFINITY), *leaf));
    }
    if let Some(cache) = context.cache {
        cache.budget().count_help(since);
    }
    weighed.sort_by(|one, other| one.0.total_cmp(&other.0));
    weighed.into_iter().map(|(_, leaf)| leaf).collect()
}

/// Which tolerance decides, and what would have to be known of it.
fn tightened_words(context: &EvalContext<'_>, found: &Tightened) -> String {
    let name = wording::setting(context, found.leaf);
    let holds = if found.applies {
        "it holds"
    } else {
        "the rule does not apply"
    };
    if let Some(bound) = bound(context, found.leaf) {
        let by = found_by(context, found.leaf).map_or_else(String::new, |by| format!(": {by}"));
        return format!(
            "`{name}` was read at other settings, and is {bound} here; measure it again at these{by}"
        );
    }
    let quantity = context.quantity(found.leaf.target, found.leaf.field);
    let decides = match quantity.and_then(|quantity| quantity.tolerance.as_ref()) {
        Some(tolerance) => format!("the {} of `{name}` decides", wording::tolerance(tolerance)),
        None => format!("the span stated for `{name}` decides"),
    };
    let middle = quantity
        .filter(|quantity| quantity.tolerance.is_none())
        .map(|quantity| show_exact(&quantity.nominal, &quantity.unit));
    let mut words = match (&found.needed, middle) {
        (Needed::Tolerance(needed), None) => format!("{decides}: {holds} at {needed} or tighter"),
        (Needed::Tolerance(needed), Some(middle)) => {
            let now = quantity.and_then(tolerance_of);
            let now = now.map_or_else(String::new, |now| format!(" ({middle} {})", rough(&now)));
            format!("{decides}{now}: {holds} at {middle} {needed} or tighter")
        }
        (Needed::UpTo(end), _) => format!("{decides}: {holds} up to {end}"),
        (Needed::From(end), _) => format!("{decides}: {holds} from {end} up"),
        (Needed::Sharp, None) => {
            format!("{decides}: the value is too near the limit for any tolerance")
        }
        (Needed::Sharp, Some(middle)) => format!(
            "{decides}: {holds} at {middle}, and over no stretch around it could that be shown"
        ),
    };
    if let Some(by) = found_by(context, found.leaf) {
        words.push_str(&format!("; it is found by {by}"));
    }
    words
}

/// Finds the tolerance that decides a requirement that is at risk.
pub(super) fn decided_by(
    context: &EvalContext<'_>,
    binding: Binding,
    goal: Goal<'_>,
    comparison: &DecidingComparison<'_>,
    rests_on: &[Leaf],
) -> Decided {
    if let Some(found) = tighten(context, binding, goal, rests_on) {
        return Decided {
            words: tightened_words(context, &found),
            leaf: Some(found.leaf),
            order: vec![found.leaf],
        };
    }
    let uncertain: Vec<Leaf> = rests_on
        .iter()
        .copied()
        .filter(|leaf| {
            context
                .quantity(leaf.target, leaf.field)
                .is_some_and(|quantity| quantity.low < quantity.high)
        })
        .collect();
    let by_weight = heaviest_first(context, binding, comparison, &uncertain);
    let shown = if by_weight.len() > MOST_NAMED + 1 {
        MOST_NAMED
    } else {
        by_weight.len()
    };
    let mut names: Vec<String> = by_weight[..shown]
        .iter()
        .map(|leaf| format!("`{}`", wording::setting(context, *leaf)))
        .collect();
    if by_weight.len() > shown {
        names.push(format!("and {} others", by_weight.len() - shown));
    }
    let words = match &names[..] {
        [] => "what nobody says, or the accuracy of the model, decides; no stated tolerance does"
            .to_owned(),
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
        order: by_weight,
        words,
    }
}
