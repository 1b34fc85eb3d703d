//! A number that stayed while its unit changed: most likely a slip.

use crate::types::{Condition, Expression, ExpressionNode, Limits, Value};
use crate::units::{Exact, Unit, show_exact};

/// Numbers with the units they were written in, in the order written.
pub(in crate::diff) type Numbers = Vec<(Exact, Unit)>;

/// The numbers of a condition.
pub(in crate::diff) fn of_condition(condition: &Condition, found: &mut Numbers) {
    condition.visit_expressions(&mut |part| number(part, found));
}

/// The numbers of an expression.
pub(in crate::diff) fn of_expression(expression: &Expression, found: &mut Numbers) {
    expression.visit(&mut |part| number(part, found));
}

fn number(part: &Expression, found: &mut Numbers) {
    if let ExpressionNode::Constant(constant) = &part.node {
        found.push((constant.exact.clone(), constant.unit.clone()));
    }
}

/// The numbers of a range.
pub(in crate::diff) fn of_limits(limits: &Limits, found: &mut Numbers) {
    for end in [&limits.low, &limits.high].into_iter().flatten() {
        found.push((end.clone(), limits.unit.clone()));
    }
}

/// The numbers of a value.
pub(in crate::diff) fn of_value(value: &Value, found: &mut Numbers) {
    match value {
        Value::Quantity(quantity) => found.push((quantity.nominal.clone(), quantity.unit.clone())),
        Value::Range(range) => of_limits(range, found),
        _ => {}
    }
}

/// Says so where a number stayed, its unit changed, and so its meaning moved.
pub(in crate::diff) fn alarm(old: &Numbers, new: &Numbers) -> Option<String> {
    if old.len() != new.len() {
        return None;
    }
    let said: Vec<String> = old
        .iter()
        .zip(new)
        .filter_map(|((before, from), (after, to))| {
            let stayed = from.from_base(before) == to.from_base(after);
            let moved = before != after && from.spelling() != to.spelling();
            if !stayed || !moved || before.is_zero() && after.is_zero() {
                return None;
            }
            Some(format!(
                "the number stayed and the unit changed: {} was {}, and is {} now",
                show_exact(before, from),
                show_exact(before, to),
                show_exact(after, to)
            ))
        })
        .collect();
    (!said.is_empty()).then(|| said.join("; "))
}
