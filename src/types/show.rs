//! Expressions as they would be written.

use super::model::Standard;
use super::terms::{Aggregate, Arithmetic, Expression, ExpressionNode, Function};
use crate::units::show_exact;

/// How tightly an operator binds, for brackets.
pub(crate) fn precedence(expression: &Expression) -> u8 {
    match &expression.node {
        ExpressionNode::Binary {
            operator: Arithmetic::Add | Arithmetic::Subtract,
            ..
        } => 1,
        ExpressionNode::Binary { .. } | ExpressionNode::Negative(_) => 2,
        ExpressionNode::Power(..) => 3,
        _ => 4,
    }
}

fn at_least(standard: &Standard, expression: &Expression, needed: u8) -> String {
    let words = expression_words(standard, expression);
    if precedence(expression) < needed {
        format!("({words})")
    } else {
        words
    }
}

/// An expression as it would be written.
#[must_use]
pub fn expression_words(standard: &Standard, expression: &Expression) -> String {
    match &expression.node {
        ExpressionNode::Constant(constant) => show_exact(&constant.exact, &constant.unit),
        ExpressionNode::Path(path) => path.text.clone(),
        ExpressionNode::RangeEnd { path, high } => {
            format!("{}({})", if *high { "high" } else { "low" }, path.text)
        }
        ExpressionNode::Negative(inner) => format!("- {}", at_least(standard, inner, 3)),
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => {
            let (sign, own) = match operator {
                Arithmetic::Add => ("+", 1),
                Arithmetic::Subtract => ("-", 1),
                Arithmetic::Multiply => ("*", 2),
                Arithmetic::Divide => ("/", 2),
            };
            // Left to right: the right side of `-` and `/` needs brackets already at the same level.
            format!(
                "{} {sign} {}",
                at_least(standard, left, own),
                at_least(standard, right, own + 1)
            )
        }
        ExpressionNode::Power(base, power) => format!("{} ^ {power}", at_least(standard, base, 4)),
        ExpressionNode::Call(function, arguments) => {
            let name = match function {
                Function::Least => "least",
                Function::Most => "most",
                Function::Root => "root",
                Function::RoundUp => "round-up",
                Function::Otherwise => "otherwise",
                Function::Choose => "choose",
                Function::Figure(figure) => figure.name,
            };
            let arguments: Vec<String> = arguments
                .iter()
                .map(|argument| expression_words(standard, argument))
                .collect();
            format!("{name}({})", arguments.join(", "))
        }
        ExpressionNode::Over {
            aggregate,
            kind,
            body,
        } => {
            let name = match aggregate {
                Aggregate::Count => "count",
                Aggregate::Total => "total",
                Aggregate::Least => "least",
                Aggregate::Most => "most",
            };
            let body = match body {
                Some(body) => expression_words(standard, body),
                None => standard.kind(*kind).name.clone(),
            };
            format!("{name}({body})")
        }
    }
}
