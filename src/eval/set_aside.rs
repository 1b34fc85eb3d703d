//! Which stated values count for nothing, because they are worked out as well.

use super::carry::carrying;
use super::{Aim, Binding, EvalContext, Leaf, range};
use crate::types::{Expression, Quantity, Run, Sort, Standard, Stated, Value};

/// The run, with the bare values set aside that are worked out as well.
///
/// A value that says how far it may be off is evidence, and counts. A bare one would count as exact, and make of a
/// requirement that is at risk one that holds: it is compared only. Where the formula has no value, the bare one is all
/// there is, and counts. What is set or given is no observation: what is stated of it is what it is.
#[must_use]
pub fn setting_aside(standard: &Standard, mut run: Run) -> Run {
    run.set_aside.clear();
    let context = EvalContext::new(standard, &run);
    let bare = |quantity: &Quantity| {
        quantity.tolerance.is_none() && quantity.scatter.is_none() && quantity.low == quantity.high
    };
    let mut found = Vec::new();
    for (leaf, formula, _, quantity) in observed(standard, &run) {
        let binding = Binding {
            own: Some(leaf.target),
            ..Binding::default()
        };
        if bare(quantity) && range(&context, binding, Aim::value(formula)).is_ok() {
            found.push((leaf.target, leaf.field));
        }
    }
    run.set_aside = found;
    carrying(standard, run)
}

/// The numbers that a run states beside a formula, or in its place, as somebody found them.
pub(super) fn observed<'r>(
    standard: &'r Standard,
    run: &'r Run,
) -> impl Iterator<Item = (Leaf, &'r Expression, &'r Stated, &'r Quantity)> {
    run.leaves(standard)
        .filter_map(|(target, field, declared)| {
            let (Some(formula), Sort::WorkedOut | Sort::Measured(_)) =
                (&declared.formula, &declared.sort)
            else {
                return None;
            };
            let stated = run.stated(standard, target, field)?;
            let Value::Quantity(quantity) = &stated.value else {
                return None;
            };
            Some((Leaf { target, field }, formula, stated, quantity.as_ref()))
        })
}
