//! Which of several expressions counts.

use super::evaluator::{Evaluator, Halt, chosen};
use super::{Frame, Scene, Stop};
use crate::interval::Bounds;
use crate::types::{Expression, ExpressionNode, Function};

/// The expression that counts: of `otherwise` the first that has a value, else the last; of `choose` the chosen one.
/// Any other expression counts itself, and so does a choice that cannot be made.
#[must_use]
pub fn taken<'e>(scene: &Scene<'_>, frame: Frame, expression: &'e Expression) -> &'e Expression {
    let mut at = expression;
    loop {
        at = match &at.node {
            ExpressionNode::Call(Function::Otherwise, arguments) => {
                let values = Evaluator::<Bounds>::new(*scene);
                let there = arguments.iter().find(|argument| {
                    let value = values.expression(frame, argument);
                    !matches!(value, Err(Halt::Stop(Stop::Missing(_))))
                });
                match there.or(arguments.last()) {
                    Some(argument) => argument,
                    None => return at,
                }
            }
            ExpressionNode::Call(Function::Choose, arguments) => {
                let values = Evaluator::<Bounds>::new(*scene);
                match chosen(scene, frame, arguments, values.nesting()) {
                    Ok(argument) => argument,
                    Err(_) => return at,
                }
            }
            _ => return at,
        };
    }
}
