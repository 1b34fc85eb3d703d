//! A formula with its numbers put in.

use crate::diagnostic::{Call, Input};
use crate::eval::{Aim, Binding, EvalContext, Found, Leaf, active_branch, range};
use crate::physics::{self, Accuracy};
use crate::types::{
    Constant, Expression, ExpressionNode, Function, KindId, POWER, Path, Spelling, Value, WHOLE,
    expression_words, spell,
};
use crate::units::{Dimension, Exact, Unit, show_exact};

use super::super::deciding_comparison::unit_of;
use super::super::wording;
use super::{declared, own, quantity_words, reading_unit};

/// Most inputs of a call that is written out in its line.
const IN_LINE: usize = 3;

/// The formula, calls with many inputs cut short.
pub(super) fn short(context: &EvalContext<'_>, binding: Binding, formula: &Expression) -> String {
    written(context, binding, false, formula)
}

/// The formula with every path replaced by its value, calls with many inputs cut short.
pub(super) fn put_in(context: &EvalContext<'_>, binding: Binding, formula: &Expression) -> String {
    written(context, binding, true, formula)
}

fn written(
    context: &EvalContext<'_>,
    binding: Binding,
    numbers: bool,
    formula: &Expression,
) -> String {
    let spelling = InRun {
        context,
        binding,
        numbers,
    };
    spell(&spelling, formula).0
}

/// An expression as a run has it: with its numbers put in, or as it stands in the text.
struct InRun<'a> {
    context: &'a EvalContext<'a>,
    binding: Binding,
    numbers: bool,
}

impl Spelling for InRun<'_> {
    fn path(&self, path: &Path) -> String {
        if self.numbers {
            value(self.context, self.binding, path)
        } else {
            path.text.clone()
        }
    }

    fn number(&self, constant: &Constant) -> String {
        show_exact(&constant.exact, &constant.unit)
    }

    fn kind(&self, kind: KindId) -> String {
        if self.numbers {
            self.context.run.many[kind.index()].len().to_string()
        } else {
            self.context.standard.kind(kind).name.clone()
        }
    }

    fn own(&self, expression: &Expression) -> Option<(String, u8)> {
        if self.numbers {
            // Of several branches only the one that counts has numbers.
            let counts = active_branch(self.context, self.binding, expression);
            if !std::ptr::eq(counts, expression) {
                return Some(spell(self, counts));
            }
        }
        let value = match &expression.node {
            ExpressionNode::Call(Function::Calibrated, dial) if self.numbers => {
                let path = dial.first().and_then(|dial| match &dial.node {
                    ExpressionNode::Path(path) => Some(path),
                    _ => None,
                })?;
                behind_dial(self.context, self.binding, path)?
            }
            ExpressionNode::Constant(constant) => self.number(constant),
            ExpressionNode::Path(path) => self.path(path),
            ExpressionNode::RangeEnd { path, high } if self.numbers => {
                range_end(self.context, self.binding, path, *high)
            }
            ExpressionNode::Call(function, arguments) if is_listed(*function, arguments) => {
                return Some((format!("{}(…)", function.name()), WHOLE));
            }
            ExpressionNode::Over {
                aggregate,
                kind,
                body,
            } if self.numbers => {
                let Some(body) = body else {
                    return Some((self.kind(*kind), WHOLE));
                };
                let each = self.context.run.many[kind.index()].iter().map(|member| {
                    let binding = Binding {
                        member: Some(*member),
                        ..self.binding
                    };
                    written(self.context, binding, true, body)
                });
                let each: Vec<String> = each.collect();
                return Some((format!("{}({})", aggregate.name(), each.join(", ")), WHOLE));
            }
            _ => return None,
        };
        let binds = binds(&value);
        Some((value, binds))
    }
}

/// How tightly the text of a value binds: what would be misread beside an operator needs brackets.
///
/// `(4.88 m ± 2 cm) / (4 m/min)`: without brackets a unit's own stroke would read as a division.
fn binds(text: &str) -> u8 {
    let spaced = text.contains(' ');
    let tolerant = [" ± ", " to ", " +", " -"]
        .iter()
        .any(|sign| text.contains(sign));
    if text.starts_with('-') || spaced && (tolerant || text.contains(['/', '·', '^'])) {
        0
    } else if spaced {
        POWER
    } else {
        WHOLE
    }
}

fn is_listed(function: Function, arguments: &[Expression]) -> bool {
    matches!(function, Function::Figure(_)) && arguments.len() > IN_LINE
}

/// What is so behind a dial that reads wrong.
fn behind_dial(context: &EvalContext<'_>, binding: Binding, path: &Path) -> Option<String> {
    let Ok(Found::Setting(target, _, field)) = context.locate(binding, path) else {
        return None;
    };
    let leaf = Leaf { target, field };
    let (shown, found, _) = wording::behind_dial(context, leaf)?;
    Some(format!("{found}, where the dial shows {shown}"))
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
        node => {
            if let ExpressionNode::Call(Function::Figure(figure), arguments) = node {
                found(binding, figure, arguments);
            }
            for part in expression.children() {
                each_call(context, binding, part, found);
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
