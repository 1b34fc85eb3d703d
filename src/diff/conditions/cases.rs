//! Comparisons of the first value that is there, case by case.

use crate::diff::conditions::lower_condition::{Lowering, is_plain};
use crate::diff::conditions::resolve_path::PathEnd;
use crate::types::{Condition, ConditionNode, Expression, ExpressionNode, Function, Path, Stating};

impl Lowering<'_> {
    /// A condition in which `otherwise(a, b) at least c` stands as `a` and its limit where `a` is stated, and `b` and its
    /// limit where it is not. Only of what a plan or a record states: a figure may be there and have no value.
    pub(in crate::diff) fn by_case(&self, of: &Condition) -> Condition {
        of.map_comparisons(&mut |part, compare, left, right| {
            let (left, right) = (simpler(left), simpler(right));
            let at = |node: ConditionNode| Condition {
                node,
                span: part.span,
            };
            let found = match (self.cases(&left), self.cases(&right)) {
                (Some((path, first, rest)), _) => {
                    Some((path, [(first, right.clone()), (rest, right.clone())]))
                }
                (None, Some((path, first, rest))) => {
                    Some((path, [(left.clone(), first), (left.clone(), rest)]))
                }
                (None, None) => None,
            };
            let Some((path, both)) = found else {
                let plain = at(ConditionNode::Compare {
                    compare,
                    left,
                    right,
                });
                return Some(plain);
            };
            let [there, not] = both.map(|(left, right)| {
                self.by_case(&at(ConditionNode::Compare {
                    compare,
                    left,
                    right,
                }))
            });
            let stated = at(ConditionNode::Stated {
                path,
                how: Stating::Anyhow,
            });
            let missing = at(ConditionNode::Not(Box::new(stated.clone())));
            Some(at(ConditionNode::Or(vec![
                at(ConditionNode::And(vec![stated, there])),
                at(ConditionNode::And(vec![missing, not])),
            ])))
        })
    }

    /// The setting that `otherwise` asks for first, it, and what is taken where it is not stated.
    fn cases(&self, of: &Expression) -> Option<(Path, Expression, Expression)> {
        let ExpressionNode::Call(Function::Otherwise, values) = &of.node else {
            return None;
        };
        let (first, rest) = values.split_first()?;
        let ExpressionNode::Path(path) = &first.node else {
            return None;
        };
        if !self.is_stated_only(path) {
            return None;
        }
        let rest = match rest {
            [] => return None,
            [only] => only.clone(),
            more => Expression {
                node: ExpressionNode::Call(Function::Otherwise, more.to_vec()),
                ..of.clone()
            },
        };
        Some((path.clone(), first.clone(), rest))
    }

    /// Whether a path leads to a setting that a plan or a record states, straight from a thing.
    pub(in crate::diff) fn is_stated_only(&self, path: &Path) -> bool {
        let here = path.hops.len() == 1;
        let plain = match self.end(path) {
            PathEnd::Stated(..) | PathEnd::Zero | PathEnd::Missing => true,
            PathEnd::Free(kind, field, _) => self.standard.field(kind, field).formula.is_none(),
            PathEnd::Thing(..) | PathEnd::Place(_) => false,
        };
        here && plain && self.own.is_none()
    }

    /// Whether a path leads straight from a thing to a figure that has a value wherever what it needs is stated: it is
    /// missing then or a number, as what is stated is.
    pub(in crate::diff) fn is_worked_out_where_stated(&mut self, path: &Path) -> bool {
        let PathEnd::Free(kind, field, key) = self.end(path) else {
            return false;
        };
        let formula = self.standard.field(kind, field).formula.as_ref();
        let Some(formula) =
            formula.filter(|of| path.hops.len() == 1 && self.own.is_none() && is_plain(of))
        else {
            return false;
        };
        let place = key
            .rsplit_once('.')
            .map_or(key.as_str(), |(place, _)| place);
        self.own = Some((kind, place.to_owned()));
        let found = self.term(formula);
        self.own = None;
        found.total().is_some()
    }
}

/// The same without what is never asked for: behind a number, `otherwise` takes no other value.
fn simpler(of: &Expression) -> Expression {
    let ExpressionNode::Call(Function::Otherwise, values) = &of.node else {
        return of.clone();
    };
    let number = |of: &Expression| matches!(of.node, ExpressionNode::Constant(_));
    match values.iter().position(number) {
        Some(0) => values[0].clone(),
        Some(at) => Expression {
            node: ExpressionNode::Call(Function::Otherwise, values[..=at].to_vec()),
            ..of.clone()
        },
        None => of.clone(),
    }
}
