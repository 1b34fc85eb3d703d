//! Expressions: dimensions worked out and checked before anything runs.

use super::literal::Reader;
use super::mismatch;
use super::model::{
    Aggregate, Arithmetic, Constant, Expression, ExpressionNode, Function, Path, PlaceInRun,
    Standard, Type,
};
use super::paths::{Context, End, resolve};
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::names::did_you_mean;
use crate::physics;
use crate::source::Span;
use crate::syntax::tree::{Binary, Expr, ExprNode, Unary, Word};
use crate::units::{Dimension, Exact, Unit};

/// Functions that are not figures of the physics table.
const FUNCTIONS: [&str; 10] = [
    "least",
    "most",
    "root",
    "round-up",
    "otherwise",
    "choose",
    "low",
    "high",
    "count",
    "total",
];

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
            ExprNode::Unary { .. } | ExprNode::OneOf { .. } | ExprNode::Stated { .. } => {
                self.not_a_quantity(expr.span, "a condition")
            }
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

    /// A path as a quantity.
    pub(super) fn quantity(&mut self, path: Path, end: &End, span: Span) -> Option<Expression> {
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

    fn call(&mut self, name: Word<'_>, arguments: &[Expr<'_>], span: Span) -> Option<Expression> {
        if let [only] = arguments
            && let Some(done) = self.over(name, only, span)
        {
            return done;
        }
        match name.text {
            "low" | "high" => self.range_end(name, arguments, span),
            "root" | "round-up" => {
                let inner = self.one(name, arguments)?;
                let dimension = if name.text == "root" {
                    match inner.dimension.root() {
                        Some(dimension) => dimension,
                        None => {
                            self.problems.push(Diagnostic::new(
                                Code::DimensionMismatch,
                                inner.span,
                                format!("{} has no square root", inner.dimension.describe()),
                                inner.dimension.describe(),
                            ));
                            return None;
                        }
                    }
                } else {
                    if inner.dimension != Dimension::NUMBER {
                        self.problems.push(
                            Diagnostic::new(
                                Code::DimensionMismatch,
                                inner.span,
                                format!(
                                    "`round-up` takes a number, not {}",
                                    inner.dimension.describe()
                                ),
                                inner.dimension.describe(),
                            )
                            .help("divide by the unit first: `round-up(x / 1 s)`"),
                        );
                        return None;
                    }
                    inner.dimension
                };
                let function = if name.text == "root" {
                    Function::Root
                } else {
                    Function::RoundUp
                };
                Some(Expression {
                    node: ExpressionNode::Call(function, vec![inner]),
                    dimension,
                    span,
                })
            }
            "least" | "most" | "otherwise" => {
                if arguments.len() < 2 {
                    let wanted = if name.text == "otherwise" {
                        "two or more values, of which the first that is there counts"
                    } else {
                        "two or more values, or one over all things of a kind"
                    };
                    self.arguments(name, wanted);
                    return None;
                }
                let function = match name.text {
                    "least" => Function::Least,
                    "most" => Function::Most,
                    _ => Function::Otherwise,
                };
                self.alike(name, function, None, arguments, span)
            }
            "choose" => {
                let [number, choices @ ..] = arguments else {
                    self.arguments(name, "a whole number and the values to choose from");
                    return None;
                };
                if choices.is_empty() {
                    self.arguments(name, "a whole number and the values to choose from");
                    return None;
                }
                let number = self.expression(number)?;
                if number.dimension != Dimension::NUMBER {
                    self.problems.push(Diagnostic::new(
                        Code::DimensionMismatch,
                        number.span,
                        format!(
                            "`choose` goes by a whole number, not {}",
                            number.dimension.describe()
                        ),
                        number.dimension.describe(),
                    ));
                    return None;
                }
                self.alike(name, Function::Choose, Some(number), choices, span)
            }
            _ => self.figure(name, arguments, span),
        }
    }

    /// A function of values that must be of one dimension; `before` stands in front of them.
    fn alike(
        &mut self,
        name: Word<'_>,
        function: Function,
        before: Option<Expression>,
        arguments: &[Expr<'_>],
        span: Span,
    ) -> Option<Expression> {
        let mut values = Vec::new();
        for argument in arguments {
            values.push(self.expression(argument)?);
        }
        let dimension = values[0].dimension;
        for value in &values[1..] {
            if value.dimension != dimension {
                self.problems.push(mismatch::different(
                    &format!("`{}`", name.text),
                    name.span,
                    (dimension, values[0].span),
                    (value.dimension, value.span),
                ));
                return None;
            }
        }
        Some(Expression {
            node: ExpressionNode::Call(function, before.into_iter().chain(values).collect()),
            dimension,
            span,
        })
    }

    /// A function over all things of a kind; `None` when it is another sort of call.
    fn over(&mut self, name: Word<'_>, body: &Expr<'_>, span: Span) -> Option<Option<Expression>> {
        let aggregate = match name.text {
            "count" => Aggregate::Count,
            "total" => Aggregate::Total,
            "least" => Aggregate::Least,
            "most" => Aggregate::Most,
            _ => return None,
        };
        let mut kinds = Vec::new();
        plural_kinds(self.standard, body, &mut kinds);
        let kind = match kinds[..] {
            [kind] => kind,
            _ => {
                self.arguments(
                    name,
                    "one value of one kind of which a run has many, as in `screen.…`",
                );
                return Some(None);
            }
        };
        if aggregate == Aggregate::Count {
            if !matches!(&body.node, ExprNode::Path(path) if path.words.len() == 1) {
                self.arguments(name, "just the kind, as in `count(screen)`");
                return Some(None);
            }
            return Some(Some(Expression {
                node: ExpressionNode::Over {
                    aggregate,
                    kind,
                    body: None,
                },
                dimension: Dimension::NUMBER,
                span,
            }));
        }
        let outer = self.context.member.replace(kind);
        let value = self.expression(body);
        self.context.member = outer;
        let value = match value {
            Some(value) => value,
            None => return Some(None),
        };
        if aggregate == Aggregate::Total && value.dimension.is_point() {
            self.problems.push(mismatch::point_arithmetic(
                name.span,
                value.span,
                value.span,
                "adding up temperatures",
            ));
            return Some(None);
        }
        Some(Some(Expression {
            dimension: value.dimension,
            node: ExpressionNode::Over {
                aggregate,
                kind,
                body: Some(Box::new(value)),
            },
            span,
        }))
    }

    fn one(&mut self, name: Word<'_>, arguments: &[Expr<'_>]) -> Option<Expression> {
        let [only] = arguments else {
            self.arguments(name, "one value");
            return None;
        };
        self.expression(only)
    }

    fn arguments(&mut self, name: Word<'_>, wanted: &str) {
        self.problems.push(Diagnostic::new(
            Code::WrongValue,
            name.span,
            format!("`{}` takes {wanted}", name.text),
            "this function",
        ));
    }

    fn range_end(
        &mut self,
        name: Word<'_>,
        arguments: &[Expr<'_>],
        span: Span,
    ) -> Option<Expression> {
        if let [only] = arguments
            && let ExprNode::Path(path) = &only.node
        {
            let (path, end) = resolve(self.standard, &self.context, path, self.problems)?;
            if let End::Value(Type::Range(measure)) = end {
                return Some(Expression {
                    node: ExpressionNode::RangeEnd {
                        path,
                        high: name.text == "high",
                    },
                    dimension: measure.dimension,
                    span,
                });
            }
        }
        self.arguments(name, "a setting that holds a range");
        None
    }

    /// A figure of the physics table.
    fn figure(&mut self, name: Word<'_>, arguments: &[Expr<'_>], span: Span) -> Option<Expression> {
        let Some(figure) = physics::functions()
            .iter()
            .find(|figure| figure.name == name.text)
        else {
            let known = physics::functions().iter().map(|figure| figure.name);
            let mut diagnostic = Diagnostic::new(
                Code::UnknownFunction,
                name.span,
                format!("there is no function `{}`", name.text),
                "not a function",
            );
            let near = did_you_mean(name.text, known.chain(FUNCTIONS));
            diagnostic = diagnostic.help(near.unwrap_or_else(|| {
                format!(
                    "there is `{}`, and the figures of the trade",
                    FUNCTIONS.join("`, `")
                )
            }));
            self.problems.push(diagnostic);
            return None;
        };
        if arguments.len() != figure.parameters.len() {
            let names: Vec<&str> = figure
                .parameters
                .iter()
                .map(|parameter| parameter.name)
                .collect();
            let words = format!("{} values: {}", names.len(), names.join(", "));
            self.arguments(name, &words);
            return None;
        }
        let mut values = Vec::new();
        for (argument, parameter) in arguments.iter().zip(figure.parameters) {
            let value = self.expression(argument)?;
            let wanted = Dimension::named(parameter.dimension).unwrap_or(Dimension::NUMBER);
            if value.dimension != wanted {
                self.problems.push(
                    Diagnostic::new(
                        Code::DimensionMismatch,
                        argument.span,
                        format!(
                            "`{}` of `{}` is {}; this is {}",
                            parameter.name,
                            name.text,
                            wanted.describe(),
                            value.dimension.describe()
                        ),
                        value.dimension.describe(),
                    )
                    .related(
                        name.span,
                        format!("this function wants {}", wanted.describe()),
                    ),
                );
                return None;
            }
            values.push(value);
        }
        Some(Expression {
            node: ExpressionNode::Call(Function::Figure(figure), values),
            dimension: Dimension::named(figure.result).unwrap_or(Dimension::NUMBER),
            span,
        })
    }
}

/// The kinds of which a run has many that an expression speaks of, outside inner functions over kinds.
fn plural_kinds(standard: &Standard, expr: &Expr<'_>, found: &mut Vec<super::KindId>) {
    match &expr.node {
        ExprNode::Path(path) => {
            let Some(&kind) = path
                .words
                .first()
                .and_then(|word| standard.kind_names.get(word.text))
            else {
                return;
            };
            let many = matches!(
                standard.kind(kind).place,
                PlaceInRun::Many | PlaceInRun::Step
            );
            if many && !found.contains(&kind) {
                found.push(kind);
            }
        }
        ExprNode::Group(inner) | ExprNode::Unary { operand: inner, .. } => {
            plural_kinds(standard, inner, found);
        }
        ExprNode::Binary { left, right, .. } => {
            plural_kinds(standard, left, found);
            plural_kinds(standard, right, found);
        }
        ExprNode::Call { name, arguments } => {
            let over =
                matches!(name.text, "count" | "total" | "least" | "most") && arguments.len() == 1;
            if !over {
                for argument in arguments {
                    plural_kinds(standard, argument, found);
                }
            }
        }
        _ => {}
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
