//! Comparisons of powers, as comparisons of what is raised.

use crate::diff::conditions::lower_condition::Lowering;
use crate::diff::conditions::term::Found;
use crate::types::{Condition, ConditionNode, Expression, ExpressionNode};

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

    /// Whether an expression is never below nothing, wherever it has a value.
    fn is_not_below_zero(&mut self, of: &Expression) -> bool {
        match self.term(of) {
            Found::Term(term) => term.is_not_below_zero(),
            Found::Missing => true,
            Found::Other => false,
        }
    }
}
