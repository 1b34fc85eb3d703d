//! Numbers that are a multiple of one thing and something beside it.

use crate::diff::conditions::formula::Formula;
use crate::types::{Expression, ExpressionNode};
use crate::units::{Exact, Unit};

/// A number `times * var + plus`.
pub(in crate::diff) struct Affine {
    /// What it is a multiple of.
    pub(in crate::diff) var: Option<(usize, Exact)>,
    /// What stands beside it.
    pub(in crate::diff) plus: Exact,
}

pub(in crate::diff) fn known(truth: bool) -> Formula {
    if truth { Formula::True } else { Formula::False }
}

pub(in crate::diff) fn scaled(line: Affine, by: &Exact) -> Affine {
    Affine {
        var: line.var.map(|(var, factor)| (var, factor.mul(by))),
        plus: line.plus.mul(by),
    }
}

pub(in crate::diff) fn sum(one: Affine, other: Affine) -> Option<Affine> {
    let var = match (one.var, other.var) {
        (None, var) | (var, None) => var,
        (Some((var, factor)), Some((same, more))) if var == same => Some((var, factor.add(&more))),
        _ => return None,
    };
    Some(Affine {
        var,
        plus: one.plus.add(&other.plus),
    })
}

/// The unit that a number was written in.
pub(in crate::diff) fn unit_of(of: &Expression) -> Option<Unit> {
    match &of.node {
        ExpressionNode::Constant(constant) => Some(constant.unit.clone()),
        ExpressionNode::Binary { left, right, .. } => unit_of(left).or_else(|| unit_of(right)),
        _ => None,
    }
}
