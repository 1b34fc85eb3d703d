//! What conditions and expressions are made of: the one place that knows the parts of every form.
//!
//! A module that only wants the parts (all paths, all numbers, whether some figure stands in it) asks
//! here, so that a new form of the language is added here and in what gives it meaning, nowhere else.

use super::terms::{
    Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode, Function, Path,
};

/// One thing that a condition or an expression reads.
#[derive(Debug, Clone, Copy)]
pub enum Read<'s> {
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

impl<'s> Read<'s> {
    /// The path it follows.
    #[must_use]
    pub fn path(self) -> Option<&'s Path> {
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

impl Condition {
    /// A comparison with a fixed number: how, what is compared, the number as it stands there, and the number.
    #[must_use]
    pub fn fixed_limit(&self) -> Option<(Compare, &Expression, &Expression, &Constant)> {
        match &self.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => match &right.node {
                ExpressionNode::Constant(constant) => Some((*compare, left, right, constant)),
                _ => None,
            },
            _ => None,
        }
    }

    /// The conditions it joins or negates; none for a comparison or another test.
    #[must_use]
    pub fn children(&self) -> &[Self] {
        match &self.node {
            ConditionNode::And(list) | ConditionNode::Or(list) => list,
            ConditionNode::Not(inner) => std::slice::from_ref(inner),
            ConditionNode::Compare { .. }
            | ConditionNode::Within { .. }
            | ConditionNode::RangeWithin { .. }
            | ConditionNode::Is { .. }
            | ConditionNode::Same { .. }
            | ConditionNode::IsStep { .. }
            | ConditionNode::Stated { .. }
            | ConditionNode::NotOlder { .. }
            | ConditionNode::Wrong => &[],
        }
    }

    /// Whether it is made of other conditions: `and`, `or`, `not`.
    #[must_use]
    pub const fn is_joined(&self) -> bool {
        matches!(
            self.node,
            ConditionNode::And(_) | ConditionNode::Or(_) | ConditionNode::Not(_)
        )
    }

    /// The expressions that it compares itself, not those of its children.
    pub fn expressions(&self) -> impl Iterator<Item = &Expression> {
        let (one, other) = match &self.node {
            ConditionNode::Compare { left, right, .. } => (Some(left), Some(right)),
            ConditionNode::Within { subject, .. } => (Some(subject), None),
            _ => (None, None),
        };
        one.into_iter().chain(other)
    }

    /// The paths that stand in it itself: not those of its children, nor of its expressions.
    pub fn own_reads(&self) -> impl Iterator<Item = Read<'_>> {
        let (one, other) = match &self.node {
            ConditionNode::Within { range, .. } => (Some(Read::Range(range)), None),
            ConditionNode::RangeWithin { inner, outer } => {
                (Some(Read::Range(inner)), Some(Read::Range(outer)))
            }
            ConditionNode::Is { path, .. } => (Some(Read::Word(path)), None),
            ConditionNode::Same { left, right } => {
                (Some(Read::Word(left)), Some(Read::Word(right)))
            }
            ConditionNode::IsStep { path, .. } => (Some(Read::Step(path)), None),
            ConditionNode::Stated { path, .. } => (Some(Read::Stated(path)), None),
            ConditionNode::NotOlder { path, .. } => (Some(Read::Word(path)), None),
            _ => (None, None),
        };
        one.into_iter().chain(other)
    }

    /// Goes over it and all conditions in it, each before its children.
    pub fn visit<'c>(&'c self, found: &mut dyn FnMut(&'c Self)) {
        found(self);
        for child in self.children() {
            child.visit(found);
        }
    }

    /// Whether it, or a condition in it, is such a one.
    #[must_use]
    pub fn any(&self, test: &mut dyn FnMut(&Self) -> bool) -> bool {
        test(self) || self.children().iter().any(|child| child.any(test))
    }

    /// Goes over all expressions in it, each before its children.
    pub fn visit_expressions<'c>(&'c self, found: &mut dyn FnMut(&'c Expression)) {
        self.visit(&mut |part| {
            for expression in part.expressions() {
                expression.visit(found);
            }
        });
    }

    /// Goes over everything it reads, in the order written.
    pub fn reads<'c>(&'c self, found: &mut dyn FnMut(Read<'c>)) {
        self.visit(&mut |part| {
            for expression in part.expressions() {
                expression.reads(found);
            }
            part.own_reads().for_each(&mut *found);
        });
    }

    /// All paths in it, in the order written.
    #[must_use]
    pub fn paths(&self) -> Vec<&Path> {
        let mut found = Vec::new();
        self.reads(&mut |read| found.extend(read.path()));
        found
    }

    /// The same condition of other children.
    #[must_use]
    pub fn map_children(&self, with: &mut dyn FnMut(&Self) -> Self) -> Self {
        let node = match &self.node {
            ConditionNode::And(list) => ConditionNode::And(list.iter().map(with).collect()),
            ConditionNode::Or(list) => ConditionNode::Or(list.iter().map(with).collect()),
            ConditionNode::Not(inner) => ConditionNode::Not(Box::new(with(inner))),
            leaf => leaf.clone(),
        };
        Self {
            node,
            span: self.span,
        }
    }

    /// The condition with some of those in it exchanged: what `with` gives something for is not looked into.
    #[must_use]
    pub fn map(&self, with: &mut dyn FnMut(&Self) -> Option<Self>) -> Self {
        with(self).unwrap_or_else(|| self.map_children(&mut |child| child.map(with)))
    }

    /// The condition with some of its comparisons exchanged: of each `with` is given the condition, the way it compares
    /// and both sides.
    #[must_use]
    pub fn map_comparisons(
        &self,
        with: &mut dyn FnMut(&Self, Compare, &Expression, &Expression) -> Option<Self>,
    ) -> Self {
        self.map(&mut |part| match &part.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => with(part, *compare, left, right),
            _ => None,
        })
    }

    /// The conditions that must all be true for it to be: those that `and` joins, however deep.
    #[must_use]
    pub fn conjuncts(&self) -> Vec<&Self> {
        match &self.node {
            ConditionNode::And(list) => list.iter().flat_map(Self::conjuncts).collect(),
            _ => vec![self],
        }
    }
}

impl Expression {
    /// The expressions it is made of.
    pub fn children(&self) -> impl Iterator<Item = &Self> {
        let (one, other, list): (Option<&Self>, Option<&Self>, &[Self]) = match &self.node {
            ExpressionNode::Constant(_)
            | ExpressionNode::Path(_)
            | ExpressionNode::RangeEnd { .. } => (None, None, &[]),
            ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => {
                (Some(inner), None, &[])
            }
            ExpressionNode::Binary { left, right, .. } => (Some(left), Some(right), &[]),
            ExpressionNode::Call(_, arguments) => (None, None, arguments),
            ExpressionNode::Over { body, .. } => (body.as_deref(), None, &[]),
        };
        one.into_iter().chain(other).chain(list)
    }

    /// What it reads itself, not through its children.
    fn own_read(&self) -> Option<Read<'_>> {
        match &self.node {
            ExpressionNode::Path(path) => Some(Read::Value(path)),
            ExpressionNode::RangeEnd { path, .. } => Some(Read::Range(path)),
            ExpressionNode::Call(Function::Figure(_), _) => Some(Read::Figure),
            ExpressionNode::Over { .. } => Some(Read::Over),
            _ => None,
        }
    }

    /// Goes over it and all expressions in it, each before its children.
    pub fn visit<'e>(&'e self, found: &mut dyn FnMut(&'e Self)) {
        found(self);
        for child in self.children() {
            child.visit(found);
        }
    }

    /// Whether it, or an expression in it, is such a one.
    #[must_use]
    pub fn any(&self, test: &mut dyn FnMut(&Self) -> bool) -> bool {
        test(self) || self.children().any(|child| child.any(test))
    }

    /// Goes over everything it reads, in the order written.
    pub fn reads<'e>(&'e self, found: &mut dyn FnMut(Read<'e>)) {
        self.visit(&mut |part| part.own_read().into_iter().for_each(&mut *found));
    }

    /// All paths in it, in the order written.
    #[must_use]
    pub fn paths(&self) -> Vec<&Path> {
        let mut found = Vec::new();
        self.reads(&mut |read| found.extend(read.path()));
        found
    }

    /// The same expression of other children.
    #[must_use]
    pub fn map_children(&self, with: &mut dyn FnMut(&Self) -> Self) -> Self {
        let node = match &self.node {
            ExpressionNode::Negative(inner) => ExpressionNode::Negative(Box::new(with(inner))),
            ExpressionNode::Power(inner, power) => {
                ExpressionNode::Power(Box::new(with(inner)), *power)
            }
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => ExpressionNode::Binary {
                operator: *operator,
                left: Box::new(with(left)),
                right: Box::new(with(right)),
            },
            ExpressionNode::Call(function, arguments) => {
                ExpressionNode::Call(*function, arguments.iter().map(with).collect())
            }
            ExpressionNode::Over {
                aggregate,
                kind,
                body,
            } => ExpressionNode::Over {
                aggregate: *aggregate,
                kind: *kind,
                body: body.as_deref().map(|body| Box::new(with(body))),
            },
            leaf @ (ExpressionNode::Constant(_)
            | ExpressionNode::Path(_)
            | ExpressionNode::RangeEnd { .. }) => leaf.clone(),
        };
        Self {
            node,
            dimension: self.dimension,
            span: self.span,
        }
    }

    /// The expression with some of those in it exchanged: what `with` gives something for is not looked into.
    #[must_use]
    pub fn map(&self, with: &mut dyn FnMut(&Self) -> Option<Self>) -> Self {
        with(self).unwrap_or_else(|| self.map_children(&mut |child| child.map(with)))
    }
}

impl Path {
    /// All settings it passes, the last one included.
    pub fn settings(&self) -> impl Iterator<Item = (super::KindId, super::FieldId)> + '_ {
        self.hops.iter().filter_map(|hop| match hop {
            super::Hop::Field(kind, field) => Some((*kind, *field)),
            _ => None,
        })
    }

    /// The setting it ends at; `None` where it ends at a thing or a place of the sequence.
    #[must_use]
    pub fn setting(&self) -> Option<(super::KindId, super::FieldId)> {
        match self.hops.last()? {
            super::Hop::Field(kind, field) => Some((*kind, *field)),
            _ => None,
        }
    }

    /// Whether it goes by the order of the sequence.
    #[must_use]
    pub fn goes_by_order(&self) -> bool {
        let field = |hop: &super::Hop| matches!(hop, super::Hop::Field(..));
        !self.hops.iter().all(field)
    }
}
