//! Which of several expressions counts.

use super::evaluator::{Evaluator, Halt, chosen};
use super::{Binding, EvalContext, EvalError};
use crate::interval::Bounds;
use crate::types::{Expression, ExpressionNode, Function};

/// The expression that counts: of `otherwise` the first that has a value, else the last; of `choose` the chosen one.
/// Any other expression counts itself, and so does a choice that cannot be made.
#[must_use]
pub fn active_branch<'e>(
    context: &EvalContext<'_>,
    binding: Binding,
    expression: &'e Expression,
) -> &'e Expression {
    let mut at = expression;
    loop {
        at = match &at.node {
            ExpressionNode::Call(Function::Otherwise, arguments) => {
                let values = Evaluator::<Bounds>::new(*context);
                let there = arguments.iter().find(|argument| {
                    let value = values.expression(binding, argument);
                    !matches!(value, Err(Halt::EvalError(EvalError::Missing(_))))
                });
                match there.or(arguments.last()) {
                    Some(argument) => argument,
                    None => return at,
                }
            }
            ExpressionNode::Call(Function::Choose, arguments) => {
                let values = Evaluator::<Bounds>::new(*context);
                match chosen(context, binding, arguments, values.nesting()) {
                    Ok(argument) => argument,
                    Err(_) => return at,
                }
            }
            _ => return at,
        };
    }
}
