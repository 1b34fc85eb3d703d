//! Conditions as the solver takes them: exact limits on single settings where they are plain.
//!
//! A record's own tolerance is on the safe side: `sure` asks for what holds at every point inside
//! it, otherwise for what may hold at one.

use super::cast::Cast;
use super::reads::{self, Read};
use super::set::{End, Set};
use crate::eval::{Aim, Binding, Conditions, EvalContext, Found, Leaf, Truth, range};
use crate::types::{
    Compare, Condition, ConditionNode, Expression, ExpressionNode, Path, Type, Value,
};
use crate::units::Exact;

/// A condition in one situation.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node<'s> {
    /// True.
    True,
    /// False.
    False,
    /// Not known here: nothing is proved by it.
    Unknown,
    /// A free setting lies in a set.
    Limit(usize, Set),
    /// All.
    And(Vec<Node<'s>>),
    /// Any.
    Or(Vec<Node<'s>>),
    /// A figure decides: worked out box by box.
    Figure(Figure<'s>),
}

/// A condition that is worked out box by box.
#[derive(Debug, Clone)]
pub(super) struct Figure<'s> {
    /// The condition.
    pub(super) condition: &'s Condition,
    /// What its words stand for.
    pub(super) binding: Binding,
    /// Whether its opposite is asked for.
    pub(super) negated: bool,
    /// The free settings it rests on.
    pub(super) vars: Vec<usize>,
}

impl PartialEq for Figure<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.condition.span == other.condition.span
            && self.binding == other.binding
            && self.negated == other.negated
    }
}

impl Node<'_> {
    /// The free settings it speaks of.
    pub(super) fn vars(&self, found: &mut Vec<usize>) {
        match self {
            Self::Limit(var, _) => found.push(*var),
            Self::And(list) | Self::Or(list) => list.iter().for_each(|node| node.vars(found)),
            Self::Figure(figure) => found.extend(&figure.vars),
            Self::True | Self::False | Self::Unknown => {}
        }
    }
}

/// All of these.
pub(super) fn all<'s>(list: impl IntoIterator<Item = Node<'s>>) -> Node<'s> {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Node::True => {}
            Node::False => return Node::False,
            Node::And(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Node::True,
        1 => parts.remove(0),
        _ => Node::And(parts),
    }
}

/// Any of these.
pub(super) fn any<'s>(list: impl IntoIterator<Item = Node<'s>>) -> Node<'s> {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Node::False => {}
            Node::True => return Node::True,
            Node::Or(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Node::False,
        1 => parts.remove(0),
        _ => Node::Or(parts),
    }
}

/// Reads conditions in one situation.
pub(super) struct Reader<'a> {
    context: EvalContext<'a>,
    cast: &'a Cast,
    truths: Conditions<'a>,
}

/// How a condition is asked.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ask {
    /// For its opposite.
    pub(super) negated: bool,
    /// At every point inside a record's tolerance, rather than at some.
    pub(super) sure: bool,
}

impl<'a> Reader<'a> {
    /// For a run that was put into a situation.
    pub(super) fn new(context: EvalContext<'a>, cast: &'a Cast) -> Self {
        Self {
            context,
            cast,
            truths: Conditions::new(context),
        }
    }

    /// A condition as the solver takes it.
    pub(super) fn node<'s>(&self, binding: Binding, of: &'s Condition, ask: Ask) -> Node<'s> {
        match &of.node {
            ConditionNode::Not(inner) => {
                let negated = !ask.negated;
                self.node(binding, inner, Ask { negated, ..ask })
            }
            ConditionNode::And(list) | ConditionNode::Or(list) => {
                let parts = list.iter().map(|part| self.node(binding, part, ask));
                let conjunction = matches!(of.node, ConditionNode::And(_)) != ask.negated;
                if conjunction { all(parts) } else { any(parts) }
            }
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => self.compare(binding, of, *compare, (left, right), ask),
            ConditionNode::Within { subject, range } => {
                self.within(binding, of, subject, range, ask)
            }
            ConditionNode::Is { path, values, .. } => self.is(binding, of, path, values, ask),
            ConditionNode::Same { .. }
            | ConditionNode::IsStep { .. }
            | ConditionNode::RangeWithin { .. }
            | ConditionNode::Stated(_) => self.known(binding, of, ask),
            ConditionNode::Wrong => Node::Unknown,
        }
    }

    /// A condition on records and places only, which are all known.
    fn known<'s>(&self, binding: Binding, of: &Condition, ask: Ask) -> Node<'s> {
        let mut free = false;
        reads::condition(of, &mut |read| match read {
            Read::Stated(_) => {}
            Read::Over => free = true,
            read => {
                let path = read.path();
                free |= path.is_some_and(|path| self.var(binding, path).is_some());
            }
        });
        if free {
            return Node::Unknown;
        }
        match self.truths.truth(binding, of) {
            Truth::True if !ask.negated => Node::True,
            Truth::False if !ask.negated => Node::False,
            Truth::True => Node::False,
            Truth::False => Node::True,
            _ => Node::Unknown,
        }
    }

    /// The free setting at the end of a path.
    pub(super) fn var(&self, binding: Binding, path: &Path) -> Option<usize> {
        match self.context.locate(binding, path) {
            Ok(Found::Setting(target, _, field)) => self.cast.var(Leaf { target, field }),
            _ => None,
        }
    }

    /// The free settings of an expression; `None` where it goes over all things of a kind.
    fn vars(&self, binding: Binding, of: &Expression) -> Option<Vec<usize>> {
        let (mut found, mut over) = (Vec::new(), false);
        reads::expression(of, &mut |read| match read {
            Read::Value(path) => found.extend(self.var(binding, path)),
            Read::Over => over = true,
            _ => {}
        });
        (!over).then_some(found)
    }

    /// The exact ends of an expression that rests on records only.
    fn constant(&self, binding: Binding, of: &Expression) -> Option<(Exact, Exact)> {
        let found = range(&self.context, binding, Aim::value(of)).ok()?;
        if found.sampled {
            return None;
        }
        match found.exact {
            Some(ends) => Some(ends),
            None => Some((
                Exact::from_f64(found.bounds.lo)?,
                Exact::from_f64(found.bounds.hi)?,
            )),
        }
    }

    fn compare<'s>(
        &self,
        binding: Binding,
        of: &'s Condition,
        compare: Compare,
        (left, right): (&'s Expression, &'s Expression),
        ask: Ask,
    ) -> Node<'s> {
        let (Some(mine), Some(others)) = (self.vars(binding, left), self.vars(binding, right))
        else {
            return Node::Unknown;
        };
        let plain = |of: &Expression| match &of.node {
            ExpressionNode::Path(path) => self.var(binding, path),
            _ => None,
        };
        if mine.is_empty() && others.is_empty() {
            let (Some(one), Some(other)) =
                (self.constant(binding, left), self.constant(binding, right))
            else {
                return Node::Unknown;
            };
            // Two constants: the left one against the set that the right one leaves.
            let sets = sets(compare, &other, ask);
            let sure = sets
                .iter()
                .any(|set| set.holds(&one.0) && set.holds(&one.1));
            let maybe = sets
                .iter()
                .any(|set| set.holds(&one.0) || set.holds(&one.1));
            return if if ask.sure { sure } else { maybe } {
                Node::True
            } else {
                Node::False
            };
        }
        let limit = match (plain(left), plain(right)) {
            (Some(var), None) if others.is_empty() => self
                .constant(binding, right)
                .map(|ends| (var, compare, ends)),
            (None, Some(var)) if mine.is_empty() => self
                .constant(binding, left)
                .map(|ends| (var, compare.mirrored(), ends)),
            _ => None,
        };
        if let Some((var, compare, ends)) = limit {
            let sets = sets(compare, &ends, ask);
            return any(sets.into_iter().map(|set| self.limit(var, set)));
        }
        self.figure(binding, of, mine.into_iter().chain(others).collect(), ask)
    }

    /// A limit on a free setting; true where its possible range says so already.
    fn limit<'s>(&self, var: usize, set: Set) -> Node<'s> {
        let free = &self.cast.vars[var];
        let met = free.domain.meet(&set);
        let met = if free.whole {
            met.and_then(|met| met.whole())
        } else {
            met
        };
        match met {
            Some(met) if met == free.domain => Node::True,
            Some(met) => Node::Limit(var, met),
            // Outside what is possible: the solver finds that nothing is left.
            None => Node::Limit(var, set),
        }
    }

    fn within<'s>(
        &self,
        binding: Binding,
        of: &'s Condition,
        subject: &'s Expression,
        path: &Path,
        ask: Ask,
    ) -> Node<'s> {
        let Ok(limits) = self.truths.limits(binding, path) else {
            return Node::Unknown;
        };
        let Some(vars) = self.vars(binding, subject) else {
            return Node::Unknown;
        };
        let ends = [
            (Compare::AtLeast, &limits.low),
            (Compare::AtMost, &limits.high),
        ];
        let ends = ends
            .into_iter()
            .filter_map(|(compare, end)| Some((compare, end.clone()?)));
        let one = |value: &dyn Fn(Compare, (Exact, Exact)) -> Node<'s>| {
            let parts = ends
                .clone()
                .map(|(compare, end)| value(compare, (end.clone(), end)));
            if ask.negated { any(parts) } else { all(parts) }
        };
        if let ExpressionNode::Path(path) = &subject.node
            && let Some(var) = self.var(binding, path)
        {
            return one(&|compare, ends| {
                any(sets(compare, &ends, ask)
                    .into_iter()
                    .map(|set| self.limit(var, set)))
            });
        }
        if !vars.is_empty() {
            return self.figure(binding, of, vars, ask);
        }
        let Some((low, high)) = self.constant(binding, subject) else {
            return Node::Unknown;
        };
        one(&|compare, ends| {
            let sets = sets(compare, &ends, ask);
            let holds = |value: &Exact| sets.iter().any(|set| set.holds(value));
            let true_here = if ask.sure {
                holds(&low) && holds(&high)
            } else {
                holds(&low) || holds(&high)
            };
            if true_here { Node::True } else { Node::False }
        })
    }

    fn figure<'s>(
        &self,
        binding: Binding,
        condition: &'s Condition,
        mut vars: Vec<usize>,
        ask: Ask,
    ) -> Node<'s> {
        vars.sort_unstable();
        vars.dedup();
        // Something it needs may be missing whatever is chosen.
        match self.truths.truth(binding, condition) {
            Truth::Missing(_) | Truth::CannotWorkOut(_) => return Node::Unknown,
            _ => {}
        }
        Node::Figure(Figure {
            condition,
            binding,
            negated: ask.negated,
            vars,
        })
    }

    fn is<'s>(
        &self,
        binding: Binding,
        of: &'s Condition,
        path: &Path,
        values: &[Value],
        ask: Ask,
    ) -> Node<'s> {
        let Some(var) = self.var(binding, path) else {
            return self.known(binding, of, ask);
        };
        let (Set::Words(all), setting) = (&self.cast.vars[var].domain, self.cast.vars[var].setting)
        else {
            return Node::Unknown;
        };
        let mut mask = 0_u64;
        for value in values {
            mask |= match (value, &self.context.standard.field(setting.0, setting.1).ty) {
                (Value::Choice(number), Type::Choice(_)) => 1 << number.min(&63),
                (Value::YesNo(yes), Type::YesNo) => 1 << u32::from(*yes),
                _ => return Node::Unknown,
            };
        }
        let wanted = if ask.negated { all & !mask } else { mask };
        self.limit(var, Set::Words(wanted))
    }
}

/// What a comparison with something between two ends leaves of a value: any of these sets.
fn sets(compare: Compare, ends: &(Exact, Exact), ask: Ask) -> Vec<Set> {
    // The end that is harder to be above, and the one that is harder to be below.
    let (above, below) = if ask.sure {
        (ends.1.clone(), ends.0.clone())
    } else {
        ends.clone()
    };
    match (compare, ask.negated) {
        (Compare::AtLeast, false) => vec![Set::from(End::closed(above))],
        (Compare::AtMost, false) => vec![Set::to(End::closed(below))],
        (Compare::Above, false) => vec![Set::from(End::open(above))],
        (Compare::Below, false) => vec![Set::to(End::open(below))],
        (Compare::AtLeast, true) => vec![Set::to(End::open(below))],
        (Compare::AtMost, true) => vec![Set::from(End::open(above))],
        (Compare::Above, true) => vec![Set::to(End::closed(below))],
        (Compare::Below, true) => vec![Set::from(End::closed(above))],
        (Compare::Is, false) => {
            if ask.sure && ends.0 != ends.1 {
                return Vec::new();
            }
            vec![Set::ExactInterval {
                low: Some(End::closed(ends.0.clone())),
                high: Some(End::closed(ends.1.clone())),
            }]
        }
        (Compare::Is, true) => vec![Set::to(End::open(below)), Set::from(End::open(above))],
    }
}
