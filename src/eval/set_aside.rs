//! Which stated values count for nothing, because they are worked out as well.

use super::carry::carrying;
use super::{Aim, Binding, EvalContext, range};
use crate::types::{Quantity, Run, Sort, Standard, Value};

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
    for (target, field, declared) in run.leaves(standard) {
        let (Some(formula), Sort::WorkedOut | Sort::Measured(_)) =
            (&declared.formula, &declared.sort)
        else {
            continue;
        };
        let Some(stated) = context.stated(target, field) else {
            continue;
        };
        let Value::Quantity(quantity) = &stated.value else {
            continue;
        };
        let binding = Binding {
            own: Some(target),
            ..Binding::default()
        };
        if bare(quantity) && range(&context, binding, Aim::value(formula)).is_ok() {
            found.push((target, field));
        }
    }
    run.set_aside = found;
    carrying(standard, run)
}
