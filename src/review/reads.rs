//! What conditions and formulas read.

use std::collections::BTreeSet;

use super::cast::Setting;
use crate::types::{
    Condition, ConditionNode, Expression, ExpressionNode, Function, Hop, Path, Root, Standard,
};

/// One thing that a condition reads.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Read<'s> {
    /// The value of a setting.
    Value(&'s Path),
    /// The range a setting holds.
    Range(&'s Path),
    /// The word, answer, text or thing a setting holds.
    Word(&'s Path),
    /// Whether there is a value.
    Stated(&'s Path),
    /// Which kind a step is of.
    Step(&'s Path),
    /// All things of a kind together.
    Over,
    /// A figure of the physics table.
    Figure,
}

/// Goes over everything a condition reads.
pub(crate) fn condition<'s>(of: &'s Condition, found: &mut dyn FnMut(Read<'s>)) {
    match &of.node {
        ConditionNode::Compare { left, right, .. } => {
            expression(left, found);
            expression(right, found);
        }
        ConditionNode::Within { subject, range } => {
            expression(subject, found);
            found(Read::Range(range));
        }
        ConditionNode::RangeWithin { inner, outer } => {
            found(Read::Range(inner));
            found(Read::Range(outer));
        }
        ConditionNode::Is { path, .. } => found(Read::Word(path)),
        ConditionNode::Same { left, right } => {
            found(Read::Word(left));
            found(Read::Word(right));
        }
        ConditionNode::IsStep { path, .. } => found(Read::Step(path)),
        ConditionNode::Stated(path) => found(Read::Stated(path)),
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            list.iter().for_each(|part| condition(part, found));
        }
        ConditionNode::Not(inner) => condition(inner, found),
        ConditionNode::Wrong => {}
    }
}

/// Goes over everything an expression reads.
pub(crate) fn expression<'s>(of: &'s Expression, found: &mut dyn FnMut(Read<'s>)) {
    match &of.node {
        ExpressionNode::Constant(_) => {}
        ExpressionNode::Path(path) => found(Read::Value(path)),
        ExpressionNode::RangeEnd { path, .. } => found(Read::Range(path)),
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => {
            expression(inner, found);
        }
        ExpressionNode::Binary { left, right, .. } => {
            expression(left, found);
            expression(right, found);
        }
        ExpressionNode::Call(function, arguments) => {
            if let Function::Figure(_) = function {
                found(Read::Figure);
            }
            arguments.iter().for_each(|part| expression(part, found));
        }
        ExpressionNode::Over { body, .. } => {
            found(Read::Over);
            if let Some(body) = body {
                expression(body, found);
            }
        }
    }
}

impl<'s> Read<'s> {
    /// The path it follows.
    pub(crate) fn path(self) -> Option<&'s Path> {
        match self {
            Self::Value(path)
            | Self::Range(path)
            | Self::Word(path)
            | Self::Stated(path)
            | Self::Step(path) => Some(path),
            Self::Over | Self::Figure => None,
        }
    }
}

/// All settings a path passes, the last one included.
pub(crate) fn settings(path: &Path) -> impl Iterator<Item = Setting> + '_ {
    path.hops.iter().filter_map(|hop| match hop {
        Hop::Field(kind, field) => Some((*kind, *field)),
        _ => None,
    })
}

/// The setting a path ends at.
pub(crate) fn last(path: &Path) -> Option<Setting> {
    match path.hops.last()? {
        Hop::Field(kind, field) => Some((*kind, *field)),
        _ => None,
    }
}

/// Whether a path goes by the order of the sequence.
pub(crate) fn by_order(path: &Path) -> bool {
    let by_order = |hop: &Hop| !matches!(hop, Hop::Field(..));
    path.hops.iter().any(by_order)
}

/// The plain settings that a worked-out one rests on in the end; `None` where a figure of the
/// physics table, a neighbour in the sequence or a function over a kind stands in between.
pub(crate) fn inputs(standard: &Standard, of: Setting) -> Option<BTreeSet<Setting>> {
    let mut found = BTreeSet::new();
    let mut left = vec![of];
    let mut seen = BTreeSet::new();
    while let Some(setting) = left.pop() {
        if !seen.insert(setting) {
            continue;
        }
        let field = standard.field(setting.0, setting.1);
        let Some(formula) = &field.formula else {
            found.insert(setting);
            continue;
        };
        let mut plain = true;
        expression(formula, &mut |read| match read {
            Read::Value(path) if !by_order(path) && !matches!(path.root, Root::Member(_)) => {
                left.extend(last(path));
            }
            _ => plain = false,
        });
        if !plain {
            return None;
        }
    }
    Some(found)
}
