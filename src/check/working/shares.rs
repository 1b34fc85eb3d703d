//! Which inputs widen a figure most.
//!
//! One input at a time is set to its nominal value, the others as stated; what the width loses is that input's part.
//! Parts are then made shares of their sum, since widths of inputs that work together do not add up exactly.

use crate::diagnostic::Widening;
use crate::eval::{Aim, Binding, EvalContext, ExactInterval, Leaf, Range, inputs, range};
use crate::types::Expression;

use super::super::wording;
use super::{own, quantity_words};

/// Inputs that are listed.
const MOST_LISTED: usize = 5;

/// What widens a figure.
pub(super) struct Shares {
    /// The inputs that widen it most.
    pub(super) listed: Vec<Widening>,
    /// The share of all others together.
    pub(super) others: f64,
}

/// A stated value at its nominal.
fn at_nominal(context: &EvalContext<'_>, leaf: Leaf) -> Option<(Leaf, ExactInterval)> {
    let quantity = context.quantity(leaf.target, leaf.field)?;
    let nominal = quantity.nominal.clone();
    Some((leaf, ExactInterval::new(nominal.clone(), nominal)))
}

/// Every stated value that some expressions rest on, at its nominal.
pub(super) fn all_nominal(
    context: &EvalContext<'_>,
    binding: Binding,
    expressions: &[&Expression],
) -> Vec<(Leaf, ExactInterval)> {
    inputs(context, binding, expressions)
        .into_iter()
        .filter_map(|(leaf, _)| at_nominal(context, leaf))
        .collect()
}

/// The shares of the inputs in the width of a figure.
pub(super) fn shares(
    context: &EvalContext<'_>,
    of: Leaf,
    formula: &Expression,
    found: &Range,
) -> Shares {
    let mut shares = Shares {
        listed: Vec::new(),
        others: 0.0,
    };
    let width = found.bounds.width();
    if !(width.is_finite() && width > 0.0) {
        return shares;
    }
    let mut parts: Vec<(f64, Leaf)> = Vec::new();
    for (leaf, _) in inputs(context, own(of), &[formula]) {
        let uncertain = context
            .quantity(leaf.target, leaf.field)
            .is_some_and(|quantity| quantity.low < quantity.high);
        if !uncertain {
            continue;
        }
        let Some(nominal) = at_nominal(context, leaf) else {
            continue;
        };
        let narrowed = [nominal];
        let context = EvalContext {
            narrowed: &narrowed,
            ..*context
        };
        let Ok(narrower) = range(&context, own(of), Aim::value(formula)) else {
            continue;
        };
        let part = width - narrower.bounds.width();
        // What only rounding makes narrower is no part.
        if part > width * 1e-9 {
            parts.push((part, leaf));
        }
    }
    let sum: f64 = parts.iter().map(|(part, _)| part).sum();
    // The sort is stable: equal parts stay in the order in which the formula names them.
    parts.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    for (index, (part, leaf)) in parts.iter().enumerate() {
        let share = part / sum;
        if index >= MOST_LISTED {
            shares.others += share;
            continue;
        }
        let value = context
            .quantity(leaf.target, leaf.field)
            .map(quantity_words)
            .unwrap_or_default();
        shares.listed.push(Widening {
            setting: wording::setting(context, *leaf),
            value,
            share,
        });
    }
    shares
}
