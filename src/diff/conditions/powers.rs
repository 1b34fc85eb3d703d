//! Comparisons of powers, as comparisons of what is raised.

use crate::diff::conditions::lower_condition::Lowering;
use crate::diff::conditions::term::Found;
use crate::types::{Compare, Condition, ConditionNode, Expression, ExpressionNode};

impl Lowering<'_> {
    /// A condition in which `a ^ 2 at least b ^ 2` stands as `a at least b`, where neither is ever below nothing;
    /// of an odd power, wherever they lie.
    pub(in crate::diff) fn unpowered(&mut self, of: &Condition) -> Condition {
        of.map_comparisons(&mut |part, compare, left, right| {
            let (ExpressionNode::Power(one, power), ExpressionNode::Power(other, same)) =
                (&left.node, &right.node)
            else {
                return None;
            };
            if power == same && *power > 0 && power % 2 == 0 && !self.is_not_below_zero(one) {
                return self.either_way(part, compare, one, other);
            }
            let grows = power == same
                && *power > 0
                && (power % 2 == 1 || self.is_not_below_zero(one) && self.is_not_below_zero(other));
            grows.then(|| Condition {
                node: ConditionNode::Compare {
                    compare,
                    left: (**one).clone(),
                    right: (**other).clone(),
                },
                span: part.span,
            })
        })
    }

    /// An even power of what may be below nothing, beside that of a number that is not: `a ^ 2 at least 3 ^ 2` as
    /// `a at least 3 or a at most -3`, and `a ^ 2 at most 3 ^ 2` as both ends.
    fn either_way(
        &mut self,
        part: &Condition,
        compare: Compare,
        one: &Expression,
        other: &Expression,
    ) -> Option<Condition> {
        if !matches!(other.node, ExpressionNode::Constant(_)) || !self.is_not_below_zero(other) {
            return None;
        }
        let at = |node: ConditionNode| Condition {
            node,
            span: part.span,
        };
        let below = Expression {
            node: ExpressionNode::Negative(Box::new(other.clone())),
            ..other.clone()
        };
        let compared = |compare: Compare, right: Expression| {
            at(ConditionNode::Compare {
                compare,
                left: one.clone(),
                right,
            })
        };
        let both = vec![
            compared(compare, other.clone()),
            compared(compare.mirrored(), below),
        ];
        match compare {
            Compare::AtLeast | Compare::Above => Some(at(ConditionNode::Or(both))),
            Compare::AtMost | Compare::Below => Some(at(ConditionNode::And(both))),
            Compare::Is => None,
        }
    }

    /// Whether an expression is never below nothing, wherever it has a value.
    fn is_not_below_zero(&mut self, of: &Expression) -> bool {
        match self.term(of) {
            Found::Term(term) => term.is_not_below_zero(),
            Found::Missing => true,
            Found::Other => false,
        }
    }
}
