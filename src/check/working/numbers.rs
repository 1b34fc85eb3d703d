//! A formula with its numbers put in.

use crate::diagnostic::{Call, Input};
use crate::eval::{Aim, Binding, EvalContext, Found, Leaf, active_branch, range};
use crate::physics::{self, Accuracy};
use crate::types::{
    Aggregate, Arithmetic, Expression, ExpressionNode, Function, Path, Value, expression_words,
    precedence,
};
use crate::units::{Dimension, Exact, Unit, show_exact};

use super::super::deciding_comparison::unit_of;
use super::super::wording;
use super::{declared, own, quantity_words, reading_unit};

/// Most inputs of a call that is written out in its line.
const IN_LINE: usize = 3;

/// The formula, calls with many inputs cut short.
pub(super) fn short(context: &EvalContext<'_>, binding: Binding, formula: &Expression) -> String {
    Writer {
        context,
        numbers: false,
    }
    .text(binding, formula, 0)
}

/// The formula with every path replaced by its value, calls with many inputs cut short.
pub(super) fn put_in(context: &EvalContext<'_>, binding: Binding, formula: &Expression) -> String {
    Writer {
        context,
        numbers: true,
    }
    .text(binding, formula, 0)
}

struct Writer<'a> {
    context: &'a EvalContext<'a>,
    numbers: bool,
}

impl Writer<'_> {
    /// The text of an expression that must bind at least so tightly.
    fn text(&self, binding: Binding, expression: &Expression, needed: u8) -> String {
        let text = self.plain(binding, expression);
        // `(4.88 m ± 2 cm) / (4 m/min)`: without brackets a unit's own stroke would read as a division.
        let value = matches!(
            expression.node,
            ExpressionNode::Constant(_) | ExpressionNode::Path(_) | ExpressionNode::RangeEnd { .. }
        );
        let counts = active_branch(self.context, binding, expression);
        let loose = if value || self.numbers && !std::ptr::eq(counts, expression) {
            needed > 0 && is_loose(&text, needed)
        } else {
            precedence(expression) < needed
        };
        if loose { format!("({text})") } else { text }
    }

    fn plain(&self, binding: Binding, expression: &Expression) -> String {
        if self.numbers {
            // Of several branches only the one that counts has numbers.
            let counts = active_branch(self.context, binding, expression);
            if !std::ptr::eq(counts, expression) {
                return self.text(binding, counts, 0);
            }
        }
        match &expression.node {
            ExpressionNode::Constant(constant) => show_exact(&constant.exact, &constant.unit),
            ExpressionNode::Path(path) if self.numbers => value(self.context, binding, path),
            ExpressionNode::RangeEnd { path, high } if self.numbers => {
                range_end(self.context, binding, path, *high)
            }
            ExpressionNode::Path(_) | ExpressionNode::RangeEnd { .. } => {
                expression_words(self.context.standard, expression)
            }
            ExpressionNode::Negative(inner) => format!("- {}", self.text(binding, inner, 3)),
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => {
                let (sign, own) = match operator {
                    Arithmetic::Add => ("+", 1),
                    Arithmetic::Subtract => ("-", 1),
                    Arithmetic::Multiply => ("*", 2),
                    Arithmetic::Divide => ("/", 2),
                };
                let left = self.text(binding, left, own);
                format!("{left} {sign} {}", self.text(binding, right, own + 1))
            }
            ExpressionNode::Power(base, power) => {
                format!("{} ^ {power}", self.text(binding, base, 4))
            }
            ExpressionNode::Call(function, arguments) => {
                let name = match function {
                    Function::Least => "least",
                    Function::Most => "most",
                    Function::Root => "root",
                    Function::RoundUp => "round-up",
                    Function::Otherwise => "otherwise",
                    Function::Choose => "choose",
                    Function::Figure(figure) => figure.name,
                };
                if is_listed(*function, arguments) {
                    return format!("{name}(…)");
                }
                let arguments = arguments.iter().map(|one| self.text(binding, one, 0));
                format!("{name}({})", arguments.collect::<Vec<_>>().join(", "))
            }
            ExpressionNode::Over {
                aggregate,
                kind,
                body,
            } => {
                let members = &self.context.run.many[kind.0 as usize];
                let Some(body) = body else {
                    return if self.numbers {
                        members.len().to_string()
                    } else {
                        expression_words(self.context.standard, expression)
                    };
                };
                let name = match aggregate {
                    Aggregate::Count => "count",
                    Aggregate::Total => "total",
                    Aggregate::Least => "least",
                    Aggregate::Most => "most",
                };
                if !self.numbers {
                    return format!("{name}({})", self.text(binding, body, 0));
                }
                let each = members.iter().map(|member| {
                    let binding = Binding {
                        member: Some(*member),
                        ..binding
                    };
                    self.text(binding, body, 0)
                });
                format!("{name}({})", each.collect::<Vec<_>>().join(", "))
            }
        }
    }
}

/// Whether the text of a value would be misread beside an operator that binds so tightly.
fn is_loose(text: &str, needed: u8) -> bool {
    let spaced = text.contains(' ');
    let tolerant = [" ± ", " to ", " +", " -"]
        .iter()
        .any(|sign| text.contains(sign));
    spaced && (tolerant || text.contains(['/', '·', '^']) || needed > 3) || text.starts_with('-')
}

fn is_listed(function: Function, arguments: &[Expression]) -> bool {
    matches!(function, Function::Figure(_)) && arguments.len() > IN_LINE
}

/// What a path comes to: as stated, or as worked out.
fn value(context: &EvalContext<'_>, binding: Binding, path: &Path) -> String {
    match context.locate(binding, path) {
        Ok(Found::Setting(target, _, field)) => {
            let leaf = Leaf { target, field };
            if let Some(quantity) = context.quantity(target, field) {
                return quantity_words(quantity);
            }
            let found = declared(context, leaf)
                .1
                .formula
                .as_ref()
                .and_then(|formula| range(context, own(leaf), Aim::value(formula)).ok());
            found.map_or_else(
                || "not known".to_owned(),
                |found| wording::shown(&found, &reading_unit(context, leaf)),
            )
        }
        Ok(Found::Place(place)) => place.to_string(),
        Ok(Found::Thing(_)) | Err(_) => "not known".to_owned(),
    }
}

fn range_end(context: &EvalContext<'_>, binding: Binding, path: &Path, high: bool) -> String {
    let end = match context.locate(binding, path) {
        Ok(Found::Setting(target, _, field)) => {
            match context.stated(target, field).map(|stated| &stated.value) {
                Some(Value::Range(limits)) => {
                    let end = if high { &limits.high } else { &limits.low };
                    end.as_ref().map(|end| show_exact(end, &limits.unit))
                }
                _ => None,
            }
        }
        _ => None,
    };
    end.unwrap_or_else(|| "not known".to_owned())
}

/// Every figure of the physics table that a formula calls, with what is put into it.
pub(super) fn calls(
    context: &EvalContext<'_>,
    binding: Binding,
    formula: &Expression,
) -> Vec<Call> {
    let mut found = Vec::new();
    each_call(
        context,
        binding,
        formula,
        &mut |binding, function, arguments| {
            let inputs = arguments.iter().zip(function.parameters);
            found.push(Call {
                figure: function.name.to_owned(),
                formula: function.formula.to_owned(),
                source: function.source.to_owned(),
                accuracy: accuracy(function),
                inputs: inputs
                    .map(|(argument, parameter)| Input {
                        parameter: parameter.name.to_owned(),
                        written: expression_words(context.standard, argument),
                        numbers: argument_words(context, binding, argument, parameter.dimension),
                    })
                    .collect(),
                listed: is_listed(Function::Figure(function), arguments),
            });
        },
    );
    found
}

/// Visits every call of a figure of the physics table that counts, outer ones first.
pub(super) fn each_call<'e>(
    context: &EvalContext<'_>,
    binding: Binding,
    expression: &'e Expression,
    found: &mut dyn FnMut(Binding, &'static physics::Function, &'e [Expression]),
) {
    let expression = active_branch(context, binding, expression);
    match &expression.node {
        ExpressionNode::Constant(_) | ExpressionNode::Path(_) | ExpressionNode::RangeEnd { .. } => {
        }
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => {
            each_call(context, binding, inner, found);
        }
        ExpressionNode::Binary { left, right, .. } => {
            each_call(context, binding, left, found);
            each_call(context, binding, right, found);
        }
        ExpressionNode::Call(function, arguments) => {
            if let Function::Figure(figure) = function {
                found(binding, figure, arguments);
            }
            for argument in arguments {
                each_call(context, binding, argument, found);
            }
        }
        ExpressionNode::Over { kind, body, .. } => {
            let Some(body) = body else { return };
            for member in &context.run.many[kind.0 as usize] {
                let binding = Binding {
                    member: Some(*member),
                    ..binding
                };
                each_call(context, binding, body, found);
            }
        }
    }
}

/// What is put into a call: a value as stated, or what an expression comes to.
fn argument_words(
    context: &EvalContext<'_>,
    binding: Binding,
    argument: &Expression,
    dimension: &str,
) -> String {
    let argument = active_branch(context, binding, argument);
    match &argument.node {
        ExpressionNode::Constant(constant) => show_exact(&constant.exact, &constant.unit),
        ExpressionNode::Path(path) => value(context, binding, path),
        ExpressionNode::RangeEnd { path, high } => range_end(context, binding, path, *high),
        _ => {
            let unit = unit_of(context, binding, argument)
                .filter(|unit| unit.dimension() == argument.dimension)
                .or_else(|| Unit::usual_for(dimension))
                .unwrap_or_else(|| Unit::usual(argument.dimension));
            range(context, binding, Aim::value(argument)).map_or_else(
                |_| "not known".to_owned(),
                |found| wording::shown(&found, &unit),
            )
        }
    }
}

/// How far a figure may be from its model's true value, where that is more than rounding.
fn accuracy(function: &physics::Function) -> Option<String> {
    match function.accuracy {
        Accuracy::Absolute(error) if error > 0.0 => {
            // A difference of temperatures is said in kelvin, whatever people read the temperature in.
            let dimension = Dimension::named(function.result)?;
            let unit = if dimension.is_point() {
                Unit::si(dimension.difference())
            } else {
                Unit::usual_for(function.result)?
            };
            let size = show_exact(&Exact::from_f64(error)?, &unit);
            Some(format!("± {size}"))
        }
        Accuracy::Relative(share) if share >= 1e-6 => {
            let size = show_exact(&Exact::from_f64(share)?, &Unit::percent());
            Some(format!("± {size}"))
        }
        _ => None,
    }
}
