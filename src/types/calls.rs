//! Calls: functions of values, functions over all things of a kind, figures of the physics table.

use super::expression::Typer;
use super::mismatch;
use super::model::{PlaceInRun, Standard, Type};
use super::paths::{End, resolve};
use super::terms::{Aggregate, Expression, ExpressionNode, Function};
use crate::diagnostic::{Code, Diagnostic};
use crate::names::did_you_mean;
use crate::physics;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprNode, Word};
use crate::units::Dimension;

/// Functions that are not figures of the physics table.
const FUNCTIONS: [&str; 11] = [
    "least",
    "most",
    "between",
    "root",
    "round-up",
    "otherwise",
    "choose",
    "low",
    "high",
    "count",
    "total",
];

impl Typer<'_> {
    pub(super) fn call(
        &mut self,
        name: Word<'_>,
        arguments: &[Expr<'_>],
        span: Span,
    ) -> Option<Expression> {
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
            "least" | "most" | "between" | "otherwise" => {
                if arguments.len() < 2 {
                    let wanted = match name.text {
                        "otherwise" => {
                            "two or more values, of which the first that is there counts"
                        }
                        "between" => "two or more values, between which it lies somewhere",
                        _ => "two or more values, or one over all things of a kind",
                    };
                    self.arguments(name, wanted);
                    return None;
                }
                let function = match name.text {
                    "least" => Function::Least,
                    "most" => Function::Most,
                    "between" => Function::Between,
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
                let wanted = "one value of one kind of which a run has many, as in `screen.…`";
                self.arguments(name, wanted);
                if let (ExprNode::Path(path), Some(said)) = (&body.node, self.problems.last_mut())
                    && let Some(first) = path.words.first()
                {
                    let many = self.standard.kinds.iter();
                    let many = many.filter(|kind| kind.place == PlaceInRun::Many);
                    let names = many.map(|kind| kind.name.as_str());
                    if let Some(help) = crate::names::did_you_mean(first.text, names) {
                        said.help = Some(help);
                    }
                }
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
