//! Expressions: dimensions worked out and checked before anything runs.

use super::literal::Reader;
use super::mismatch;
use super::model::{Standard, Type};
use super::paths::{Context, End, resolve};
use super::terms::{Arithmetic, Constant, Expression, ExpressionNode, Function, Path};
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::source::Span;
use crate::syntax::tree::{Binary, Expr, ExprNode, Unary};
use crate::units::{Dimension, Exact, Unit};

/// Everything that is needed to work out what an expression means.
pub(super) struct Typer<'a> {
    /// The standard, kinds filled in.
    pub(super) standard: &'a Standard,
    /// For numbers.
    pub(super) reader: &'a Reader,
    /// What names mean here.
    pub(super) context: Context,
    /// What went wrong.
    pub(super) problems: &'a mut Vec<Diagnostic>,
}

impl Typer<'_> {
    /// Works out an expression that must be a quantity.
    pub(super) fn expression(&mut self, expr: &Expr<'_>) -> Option<Expression> {
        match &expr.node {
            ExprNode::Number(literal) => {
                let number = self.reader.number(literal, self.problems)?;
                let (low, high) = number.exact.outward();
                Some(Expression {
                    dimension: number.unit.dimension(),
                    node: ExpressionNode::Constant(Constant {
                        exact: number.exact,
                        bounds: Bounds::new(low, high),
                        unit: number.unit,
                    }),
                    span: expr.span,
                })
            }
            ExprNode::Path(path) => {
                let (path, end) = resolve(self.standard, &self.context, path, self.problems)?;
                self.quantity(path, &end, expr.span)
            }
            ExprNode::Call { name, arguments } => self.call(*name, arguments, expr.span),
            ExprNode::Group(inner) => self.expression(inner),
            ExprNode::Unary {
                operator: Unary::Minus,
                at,
                operand,
            } => {
                let inner = self.expression(operand)?;
                if inner.dimension.is_point() {
                    self.problems.push(mismatch::point_arithmetic(
                        *at,
                        inner.span,
                        inner.span,
                        "the negative of a temperature",
                    ));
                    return None;
                }
                Some(Expression {
                    dimension: inner.dimension,
                    node: ExpressionNode::Negative(Box::new(inner)),
                    span: expr.span,
                })
            }
            ExprNode::Binary {
                operator,
                at,
                left,
                right,
            } => match operator {
                Binary::Add | Binary::Subtract | Binary::Multiply | Binary::Divide => {
                    let left = self.expression(left);
                    let right = self.expression(right);
                    self.arithmetic(*operator, *at, left?, right?, expr.span)
                }
                Binary::Power => {
                    let base = self.expression(left)?;
                    self.power(base, right, *at, expr.span)
                }
                _ => self.not_a_quantity(expr.span, "a condition"),
            },
            ExprNode::Text(_) => self.not_a_quantity(expr.span, "a text"),
            ExprNode::Unary { .. }
            | ExprNode::OneOf { .. }
            | ExprNode::Stated { .. }
            | ExprNode::NotOlder { .. } => self.not_a_quantity(expr.span, "a condition"),
            ExprNode::TooDeep => None,
        }
    }

    fn not_a_quantity<T>(&mut self, span: Span, what: &str) -> Option<T> {
        self.problems.push(Diagnostic::new(
            Code::NotACondition,
            span,
            format!("a quantity is wanted here, not {what}"),
            format!("{what} here"),
        ));
        None
    }

    /// A path as a quantity. Where a dial may read wrong, what is so behind it is meant.
    pub(super) fn quantity(&mut self, path: Path, end: &End, span: Span) -> Option<Expression> {
        let dial = path.setting();
        let stated = self.stated_quantity(path, end, span)?;
        if !dial.is_some_and(|dial| self.standard.calibrated.contains(&dial)) {
            return Some(stated);
        }
        Some(Expression {
            dimension: stated.dimension,
            node: ExpressionNode::Call(Function::Calibrated, vec![stated]),
            span,
        })
    }

    fn stated_quantity(&mut self, path: Path, end: &End, span: Span) -> Option<Expression> {
        let dimension = match end {
            End::Value(Type::Quantity(measure)) => measure.dimension,
            End::Place => Dimension::NUMBER,
            End::Value(Type::Range(_)) => {
                self.problems.push(
                    Diagnostic::new(
                        Code::WrongValue,
                        span,
                        format!("`{}` is a range; a quantity is wanted here", path.text),
                        "a range here",
                    )
                    .help(format!(
                        "write `low({0})` or `high({0})`, or compare with `within {0}`",
                        path.text
                    )),
                );
                return None;
            }
            End::Value(Type::Text) => return self.not_a_quantity(span, "a text"),
            End::Value(Type::Day) => return self.not_a_quantity(span, "a date"),
            End::Value(Type::YesNo) => return self.not_a_quantity(span, "a `yes/no` setting"),
            End::Value(Type::Choice(_)) => return self.not_a_quantity(span, "a choice"),
            End::Value(Type::Reference(kind)) | End::Thing(kind) => {
                let name = self.standard.kind(*kind).name.clone();
                self.problems.push(
                    Diagnostic::new(
                        Code::WrongValue,
                        span,
                        format!(
                            "`{}` is a whole `{name}`; a quantity is wanted here",
                            path.text
                        ),
                        "a thing, not a value",
                    )
                    .help(format!("name one of its settings: `{}.…`", path.text)),
                );
                return None;
            }
            End::AnyStep => return self.not_a_quantity(span, "a step"),
        };
        Some(Expression {
            node: ExpressionNode::Path(path),
            dimension,
            span,
        })
    }

    /// Lets a bare number stand for a number of pieces next to one.
    pub(super) fn adapt(left: &mut Expression, right: &mut Expression) {
        let (of_left, of_right) = (left.dimension, right.dimension);
        for (number, other) in [(left, of_right), (right, of_left)] {
            if other == Dimension::PIECES
                && number.dimension == Dimension::NUMBER
                && let ExpressionNode::Constant(constant) = &mut number.node
                && !constant.unit.is_percent()
            {
                constant.unit = Unit::si(Dimension::PIECES);
                number.dimension = Dimension::PIECES;
            }
        }
    }

    fn arithmetic(
        &mut self,
        operator: Binary,
        at: Span,
        mut left: Expression,
        mut right: Expression,
        span: Span,
    ) -> Option<Expression> {
        let (points, plain) = (
            (left.dimension.is_point(), right.dimension.is_point()),
            (left.dimension.difference(), right.dimension.difference()),
        );
        let (operator, dimension) = match operator {
            Binary::Add | Binary::Subtract => {
                Self::adapt(&mut left, &mut right);
                let plain = if left.dimension == right.dimension {
                    (left.dimension.difference(), right.dimension.difference())
                } else {
                    plain
                };
                if plain.0 != plain.1 {
                    let what = if operator == Binary::Add {
                        "a sum"
                    } else {
                        "a difference"
                    };
                    self.problems.push(mismatch::sides(what, at, &left, &right));
                    return None;
                }
                match (operator, points) {
                    (Binary::Add, (true, true)) => {
                        self.problems.push(mismatch::point_arithmetic(
                            at,
                            left.span,
                            right.span,
                            "adding two temperatures",
                        ));
                        return None;
                    }
                    (Binary::Subtract, (false, true)) => {
                        self.problems.push(mismatch::point_arithmetic(
                            at,
                            left.span,
                            right.span,
                            "subtracting a temperature from a difference",
                        ));
                        return None;
                    }
                    (Binary::Add, (true, false)) | (Binary::Subtract, (true, false)) => (
                        if operator == Binary::Add {
                            Arithmetic::Add
                        } else {
                            Arithmetic::Subtract
                        },
                        left.dimension,
                    ),
                    (Binary::Add, (false, true)) => (Arithmetic::Add, right.dimension),
                    (Binary::Add, _) => (Arithmetic::Add, plain.0),
                    _ => (Arithmetic::Subtract, plain.0),
                }
            }
            _ => {
                if points.0 || points.1 {
                    let what = if operator == Binary::Multiply {
                        "multiplying temperatures"
                    } else {
                        "dividing temperatures"
                    };
                    self.problems
                        .push(mismatch::point_arithmetic(at, left.span, right.span, what));
                    return None;
                }
                let (operator, result) = if operator == Binary::Multiply {
                    (
                        Arithmetic::Multiply,
                        left.dimension.multiply(&right.dimension),
                    )
                } else {
                    (Arithmetic::Divide, left.dimension.divide(&right.dimension))
                };
                let Some(dimension) = result else {
                    return self.overflow(at);
                };
                (operator, dimension)
            }
        };
        Some(Expression {
            node: ExpressionNode::Binary {
                operator,
                left: Box::new(left),
                right: Box::new(right),
            },
            dimension,
            span,
        })
    }

    fn overflow<T>(&mut self, at: Span) -> Option<T> {
        self.problems.push(Diagnostic::new(
            Code::DimensionMismatch,
            at,
            "this gives a dimension with a power that nothing has",
            "here",
        ));
        None
    }

    fn power(
        &mut self,
        base: Expression,
        right: &Expr<'_>,
        at: Span,
        span: Span,
    ) -> Option<Expression> {
        let exponent = match &right.node {
            ExprNode::Number(literal) if literal.unit.is_none() => literal
                .number
                .text
                .parse::<i32>()
                .ok()
                .filter(|power| power.abs() <= 8),
            _ => None,
        };
        let Some(exponent) = exponent else {
            self.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    right.span,
                    "a power is a plain whole number from -8 to 8",
                    "not such a number",
                )
                .help("write `^ 2`; a square root is `root(x)`"),
            );
            return None;
        };
        if base.dimension.is_point() {
            self.problems.push(mismatch::point_arithmetic(
                at,
                base.span,
                base.span,
                "a power of a temperature",
            ));
            return None;
        }
        let Some(dimension) = base.dimension.powi(exponent) else {
            return self.overflow(at);
        };
        Some(Expression {
            node: ExpressionNode::Power(Box::new(base), exponent),
            dimension,
            span,
        })
    }
}

/// A number as an expression of its own, for limits written as `A to B`.
pub(super) fn constant(exact: Exact, unit: Unit, span: Span) -> Expression {
    let (low, high) = exact.outward();
    Expression {
        dimension: unit.dimension(),
        node: ExpressionNode::Constant(Constant {
            exact,
            bounds: Bounds::new(low, high),
            unit,
        }),
        span,
    }
}
