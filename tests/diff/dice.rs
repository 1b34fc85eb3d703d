//! Numbers that can be repeated, and the limits of two standards.

use strikeoff::check::Prepared;
use strikeoff::types::{ConditionNode, Expression, ExpressionNode, Type, Value};
use strikeoff::units::{Dimension, Exact};

/// SplitMix64.
#[derive(Debug, Clone)]
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % (count.max(1) as u64)).unwrap_or(0)
    }

    pub(crate) fn often(&mut self, percent: u64) -> bool {
        self.next() % 100 < percent
    }

    pub(crate) fn one<'a, T>(&mut self, list: &'a [T]) -> Option<&'a T> {
        if list.is_empty() {
            None
        } else {
            list.get(self.below(list.len()))
        }
    }
}

/// All limits of two standards, so that random values come to lie on and near them.
pub(crate) struct Limits(Vec<(Dimension, Exact)>);

impl Limits {
    pub(crate) fn of(sides: [&Prepared; 2]) -> Self {
        let mut found = Vec::new();
        for side in sides {
            for rule in &side.standard.rules {
                let wanted = rule.requirements.iter().map(|of| &of.condition);
                for condition in rule.when.iter().chain(&rule.permissions).chain(wanted) {
                    condition_limits(&condition.node, &mut found);
                }
            }
            for record in &side.standard.records {
                let kind = side.standard.kind(record.kind);
                for (field, stated) in kind.fields.iter().zip(&record.values) {
                    let (Type::Range(measure), Some(stated)) = (&field.ty, stated) else {
                        continue;
                    };
                    if let Value::Range(range) = &stated.value {
                        for end in [&range.low, &range.high].into_iter().flatten() {
                            found.push((measure.dimension, end.clone()));
                        }
                    }
                }
            }
        }
        Self(found)
    }

    pub(crate) fn near(&self, dimension: Dimension) -> Vec<&Exact> {
        let same = self.0.iter().filter(|(of, _)| *of == dimension);
        same.map(|(_, value)| value).collect()
    }
}

fn condition_limits(node: &ConditionNode, found: &mut Vec<(Dimension, Exact)>) {
    match node {
        ConditionNode::Compare { left, right, .. } => {
            expression_limits(left, found);
            expression_limits(right, found);
        }
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            list.iter()
                .for_each(|part| condition_limits(&part.node, found));
        }
        ConditionNode::Not(inner) => condition_limits(&inner.node, found),
        _ => {}
    }
}

fn expression_limits(of: &Expression, found: &mut Vec<(Dimension, Exact)>) {
    if let ExpressionNode::Constant(constant) = &of.node {
        found.push((of.dimension, constant.exact.clone()));
    }
}
