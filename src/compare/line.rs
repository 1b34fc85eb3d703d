//! Numbers that are a multiple of one thing and something beside it.

use super::ground::Node;
use crate::types::{Expression, ExpressionNode};
use crate::units::{Exact, Unit};

/// A number `times * var + plus`.
pub(super) struct Line {
    /// What it is a multiple of.
    pub(super) var: Option<(usize, Exact)>,
    /// What stands beside it.
    pub(super) plus: Exact,
}

pub(super) fn known(truth: bool) -> Node {
    if truth { Node::True } else { Node::False }
}

pub(super) fn scaled(line: Line, by: &Exact) -> Line {
    Line {
        var: line.var.map(|(var, factor)| (var, factor.mul(by))),
        plus: line.plus.mul(by),
    }
}

pub(super) fn sum(one: Line, other: Line) -> Option<Line> {
    let var = match (one.var, other.var) {
        (None, var) | (var, None) => var,
        (Some((var, factor)), Some((same, more))) if var == same => Some((var, factor.add(&more))),
        _ => return None,
    };
    Some(Line {
        var,
        plus: one.plus.add(&other.plus),
    })
}

/// The unit that a number was written in.
pub(super) fn unit_of(of: &Expression) -> Option<Unit> {
    match &of.node {
        ExpressionNode::Constant(constant) => Some(constant.unit.clone()),
        ExpressionNode::Binary { left, right, .. } => unit_of(left).or_else(|| unit_of(right)),
        _ => None,
    }
}
