//! The comparisons of a condition that set a limit on a figure, so that a deviation can move one.

use super::terms::{Compare, Condition, ConditionNode, Expression, ExpressionNode};
use crate::units::Exact;

/// A comparison that sets a limit.
#[derive(Debug, Clone, Copy)]
pub struct Limit<'c> {
    /// Its number among all comparisons of the condition, in the order written.
    pub number: usize,
    /// The comparison.
    pub condition: &'c Condition,
    /// Whether it is asked for its opposite.
    pub negated: bool,
}

impl<'c> Limit<'c> {
    /// The figures that may be meant to be limited: the left side, unless that is a number; and the
    /// right side, where that is a figure too. `true`: the figure stands on the right.
    #[must_use]
    pub fn subjects(&self) -> Vec<(&'c Expression, bool)> {
        match &self.condition.node {
            ConditionNode::Compare { left, right, .. } => [(left, false), (right, true)]
                .into_iter()
                .filter(|(side, _)| !matches!(side.node, ExpressionNode::Constant(_)))
                .collect(),
            ConditionNode::Within { subject, .. } => vec![(subject, false)],
            _ => Vec::new(),
        }
    }

    /// Whether the limit on the figure of this side is loosened upwards; `None` for a range, which has both ends.
    #[must_use]
    pub fn loosens_up(&self, on_right: bool) -> Option<bool> {
        let ConditionNode::Compare { compare, .. } = &self.condition.node else {
            return None;
        };
        let up = matches!(compare, Compare::AtMost | Compare::Below);
        Some(up ^ on_right ^ self.negated)
    }

    /// The limit on the figure of this side, where it is a plain number.
    #[must_use]
    pub fn fixed(&self, on_right: bool) -> Option<&'c Exact> {
        let ConditionNode::Compare { left, right, .. } = &self.condition.node else {
            return None;
        };
        match &if on_right { left } else { right }.node {
            ExpressionNode::Constant(constant) => Some(&constant.exact),
            _ => None,
        }
    }
}

/// All comparisons of a condition that set a limit, in the order written.
#[must_use]
pub fn limits(condition: &Condition) -> Vec<Limit<'_>> {
    let mut found = Vec::new();
    let mut number = 0;
    walk(condition, false, &mut number, &mut found);
    found
}

fn walk<'c>(
    condition: &'c Condition,
    negated: bool,
    number: &mut usize,
    found: &mut Vec<Limit<'c>>,
) {
    match &condition.node {
        _ if condition.is_joined() => {
            let negated = negated ^ matches!(condition.node, ConditionNode::Not(_));
            for part in condition.children() {
                walk(part, negated, number, found);
            }
        }
        node => {
            let limits = match node {
                ConditionNode::Compare { compare, .. } => *compare != Compare::Is,
                // To lie outside a range is no limit that could be moved.
                ConditionNode::Within { .. } => !negated,
                _ => false,
            };
            if limits {
                found.push(Limit {
                    number: *number,
                    condition,
                    negated,
                });
            }
            *number += 1;
        }
    }
}

/// The condition with some of its comparisons replaced; they are numbered as in [`Limit::number`].
#[must_use]
pub fn replaced(
    condition: &Condition,
    with: &mut dyn FnMut(usize, &Condition) -> Option<ConditionNode>,
) -> Condition {
    let mut number = 0;
    condition.map(&mut |part| {
        if part.is_joined() {
            return None;
        }
        number += 1;
        let node = with(number - 1, part).unwrap_or_else(|| part.node.clone());
        Some(Condition {
            node,
            span: part.span,
        })
    })
}
