//! Paths, expressions and conditions: what formulas and rules are made of.

use super::model::{FieldId, KindId, Value};
use crate::interval::Bounds;
use crate::source::Span;
use crate::units::{Dimension, Exact, Unit};

/// A path to a value.
#[derive(Debug, Clone)]
pub struct Path {
    /// Where it starts.
    pub root: Root,
    /// What it follows.
    pub hops: Vec<Hop>,
    /// As written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// Where a path starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Root {
    /// The thing whose formula this is.
    Own,
    /// The run's one thing of a kind.
    Single(KindId),
    /// The thing that `for each` stands on.
    Each(KindId),
    /// The thing that the innermost function over a kind stands on.
    Member(KindId),
}

/// One step of a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hop {
    /// To a setting.
    Field(KindId, FieldId),
    /// To the next step, or the next of a kind.
    Next(Option<KindId>),
    /// To the previous step, or the previous of a kind.
    Previous(Option<KindId>),
    /// To the place in the sequence, from 1.
    Place,
}

/// An expression with its dimension.
#[derive(Debug, Clone)]
pub struct Expression {
    /// Which form.
    pub node: ExpressionNode,
    /// Its dimension.
    pub dimension: Dimension,
    /// Where it stands.
    pub span: Span,
}

/// The forms of an expression.
#[derive(Debug, Clone)]
pub enum ExpressionNode {
    /// A number.
    Constant(Constant),
    /// A setting that holds a quantity.
    Path(Path),
    /// `low(range)` or `high(range)`.
    RangeEnd {
        /// The range.
        path: Path,
        /// The upper end.
        high: bool,
    },
    /// `- x`.
    Negative(Box<Expression>),
    /// `a + b` and the like.
    Binary {
        /// The operator.
        operator: Arithmetic,
        /// Left.
        left: Box<Expression>,
        /// Right.
        right: Box<Expression>,
    },
    /// `x ^ 2`.
    Power(Box<Expression>, i32),
    /// A function of values.
    Call(Function, Vec<Expression>),
    /// A function over all things of a kind.
    Over {
        /// Which.
        aggregate: Aggregate,
        /// The kind.
        kind: KindId,
        /// What is worked out for each; `None` for a count.
        body: Option<Box<Expression>>,
    },
}

/// A literal.
#[derive(Debug, Clone)]
pub struct Constant {
    /// In SI base units.
    pub exact: Exact,
    /// The same, rounded outward.
    pub bounds: Bounds,
    /// The unit it was written in.
    pub unit: Unit,
}

/// Operators of arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Arithmetic {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
}

/// Functions of values.
#[derive(Debug, Clone, Copy)]
pub enum Function {
    /// The smaller.
    Least,
    /// The larger.
    Most,
    /// Any value from the smallest to the largest, nobody knows which.
    Between,
    /// Square root.
    Root,
    /// Up to the next whole number.
    RoundUp,
    /// The first that has a value.
    Otherwise,
    /// By a whole number: the first value where it is 1, the second where it is 2.
    Choose,
    /// What is so behind the dial of a setting, where its record says that the dial reads wrong; never written, it is put
    /// around the setting.
    Calibrated,
    /// A figure of the physics table.
    Figure(&'static crate::physics::Function),
}

/// Functions over all things of a kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Aggregate {
    /// How many.
    Count,
    /// The sum.
    Total,
    /// The smallest.
    Least,
    /// The largest.
    Most,
}

/// A condition.
#[derive(Debug, Clone)]
pub struct Condition {
    /// Which form.
    pub node: ConditionNode,
    /// Where it stands.
    pub span: Span,
}

/// The forms of a condition.
#[derive(Debug, Clone)]
pub enum ConditionNode {
    /// Two quantities.
    Compare {
        /// How.
        compare: Compare,
        /// Left.
        left: Expression,
        /// Right.
        right: Expression,
    },
    /// A quantity, or a range, inside a range that a setting holds.
    Within {
        /// The quantity.
        subject: Expression,
        /// The range.
        range: Path,
    },
    /// A range inside a range.
    RangeWithin {
        /// The inner.
        inner: Path,
        /// The outer.
        outer: Path,
    },
    /// A choice, text, yes/no or reference is one of these.
    Is {
        /// The setting.
        path: Path,
        /// The values; `true` for any.
        values: Vec<Value>,
        /// As written.
        words: Vec<String>,
    },
    /// Two settings hold the same choice, text, yes/no or reference.
    Same {
        /// One.
        left: Path,
        /// The other.
        right: Path,
    },
    /// A step is of one of these kinds.
    IsStep {
        /// The path to the step.
        path: Path,
        /// The kinds.
        kinds: Vec<KindId>,
    },
    /// There is a value, stated in this way.
    Stated {
        /// The setting.
        path: Path,
        /// How it has to be stated.
        how: Stating,
    },
    /// A day lies at most so long before the day of the check.
    NotOlder {
        /// The setting that holds the day.
        path: Path,
        /// The time.
        than: Constant,
    },
    /// All.
    And(Vec<Condition>),
    /// Any.
    Or(Vec<Condition>),
    /// Not.
    Not(Box<Condition>),
    /// Could not be read; reported. The rule is not run.
    Wrong,
}

/// How a value has to be stated.
#[derive(Debug, Clone)]
pub enum Stating {
    /// Anyhow; what is worked out counts too.
    Anyhow,
    /// With how far it may be off.
    WithTolerance,
    /// Read off at most this time before the day of the check.
    ReadWithin(Constant),
}

/// Comparisons of quantities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Compare {
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `above`
    Above,
    /// `below`
    Below,
    /// `is`
    Is,
}
