//! Comparisons of the least or the most of several values, as comparisons of each.

use crate::types::{Compare, Condition, ConditionNode, Expression, ExpressionNode, Function};

/// A condition in which `most(a, b) at least c` stands as `a at least c or b at least c`, and so on; each
/// value has to be there all the same.
pub(in crate::diff) fn expanded(of: &Condition) -> Condition {
    of.map_comparisons(&mut |part, compare, left, right| {
        let found = one_by_one(part, compare, left, right)
            .or_else(|| one_by_one(part, compare.mirrored(), right, left))?;
        Some(expanded(&found))
    })
}

/// The comparison of a call with something, value by value.
fn one_by_one(
    of: &Condition,
    compare: Compare,
    call: &Expression,
    other: &Expression,
) -> Option<Condition> {
    let ExpressionNode::Call(function, values) = &call.node else {
        return None;
    };
    // Whether all have to compare so, or one.
    let every = match (function, compare) {
        (Function::Most, Compare::AtMost | Compare::Below)
        | (Function::Least, Compare::AtLeast | Compare::Above) => true,
        (Function::Most, Compare::AtLeast | Compare::Above)
        | (Function::Least, Compare::AtMost | Compare::Below) => false,
        _ => return None,
    };
    let at = |node: ConditionNode| Condition {
        node,
        span: of.span,
    };
    let each: Vec<Condition> = values
        .iter()
        .map(|value| {
            at(ConditionNode::Compare {
                compare,
                left: value.clone(),
                right: other.clone(),
            })
        })
        .collect();
    // True or false, so that nothing is missing.
    let decided = each.iter().map(|part| {
        let not = at(ConditionNode::Not(Box::new(part.clone())));
        at(ConditionNode::Or(vec![part.clone(), not]))
    });
    let decided: Vec<Condition> = decided.collect();
    let mut all = decided.clone();
    if every {
        // False as soon as one is, but only where all are there: what is never true, and false where they are, beside it.
        all.push(at(ConditionNode::And(each)));
        let there = at(ConditionNode::And(decided));
        return Some(at(ConditionNode::Or(vec![
            at(ConditionNode::And(all)),
            at(ConditionNode::Not(Box::new(there))),
        ])));
    }
    all.push(at(ConditionNode::Or(each)));
    Some(at(ConditionNode::And(all)))
}
