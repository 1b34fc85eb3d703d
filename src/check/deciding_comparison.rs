//! The part of a condition that decides, and its value, limit and margin in words.

use crate::eval::{
    Against, Aim, Binding, Conditions, EvalContext, Found, Leaf, Range, Truth, inputs, range,
};
use crate::interval::Bounds;
use crate::types::expression_words;
use crate::types::{
    Compare, Condition, ConditionNode, Expression, ExpressionNode, Limits, Path, Stating, Type,
    Value,
};
use crate::units::{Exact, Unit, show_down, show_exact, show_up};

use super::readings::bound;
use super::wording;

/// The part of a condition that decides.
#[derive(Debug, Clone)]
pub(super) struct DecidingComparison<'e> {
    /// The part.
    pub(super) condition: &'e Condition,
    /// Whether it is asked for its opposite.
    pub(super) negated: bool,
}

/// What an comparison compares, in words.
#[derive(Debug, Clone, Default)]
pub(super) struct Told {
    /// `dryer.dwell`
    pub(super) quantity: Option<String>,
    /// `46.4 to 51.4 s`
    pub(super) value: Option<String>,
    /// `at least 60 s`
    pub(super) limit: Option<String>,
    /// `13.6 s short`
    pub(super) margin: Option<String>,
}

/// How the margin ends of what lies within its limit.
const TO_SPARE: &str = "to spare";

impl Told {
    /// Whether the limit is kept as far as it was tried.
    pub(super) fn is_within(&self) -> bool {
        self.margin
            .as_deref()
            .is_some_and(|margin| margin.ends_with(TO_SPARE))
    }
}

/// The part that decides: for `and` the one furthest from holding, for `or` the nearest branch.
pub(super) fn decisive<'e>(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &'e Condition,
) -> DecidingComparison<'e> {
    let conditions = Conditions::new(*context);
    walk(context, &conditions, binding, condition, false)
}

fn walk<'e>(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    binding: Binding,
    condition: &'e Condition,
    negated: bool,
) -> DecidingComparison<'e> {
    match &condition.node {
        ConditionNode::Not(inner) => walk(context, conditions, binding, inner, !negated),
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            let all = matches!(condition.node, ConditionNode::And(_)) != negated;
            let rank = |part: &Condition| {
                let truth = conditions.truth(binding, part);
                match if negated { truth.not() } else { truth } {
                    Truth::False => 0,
                    Truth::Missing(_) => 1,
                    Truth::CannotWorkOut(_) => 2,
                    Truth::Unknown => 3,
                    Truth::True => 4,
                }
            };
            let chosen = if all {
                list.iter().min_by_key(|part| rank(part))
            } else {
                // Of several branches the nearest is the one that was meant.
                list.iter().min_by(|one, other| {
                    let near = |part: &Condition| distance(context, conditions, binding, part);
                    (4 - rank(one))
                        .cmp(&(4 - rank(other)))
                        .then(near(one).total_cmp(&near(other)))
                })
            };
            match chosen {
                Some(part) => walk(context, conditions, binding, part, negated),
                None => DecidingComparison { condition, negated },
            }
        }
        _ => DecidingComparison { condition, negated },
    }
}

/// How far a comparison is from holding, relative to its limit; words count as far.
fn distance(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    binding: Binding,
    condition: &Condition,
) -> f64 {
    match &condition.node {
        ConditionNode::And(list) => list
            .iter()
            .map(|part| distance(context, conditions, binding, part))
            .fold(0.0, f64::max),
        ConditionNode::Or(list) => list
            .iter()
            .map(|part| distance(context, conditions, binding, part))
            .fold(f64::INFINITY, f64::min),
        ConditionNode::Compare { left, right, .. } => {
            let side = |expression| {
                range(context, binding, Aim::value(expression)).map(|found| found.bounds.mid())
            };
            match (side(left), side(right)) {
                (Ok(left), Ok(right)) => (left - right).abs() / right.abs().max(f64::MIN_POSITIVE),
                _ => f64::INFINITY,
            }
        }
        ConditionNode::Within {
            subject,
            range: path,
        } => {
            let value =
                range(context, binding, Aim::value(subject)).map(|found| found.bounds.mid());
            match (value, conditions.limits(binding, path)) {
                (Ok(value), Ok(limits)) => [&limits.low, &limits.high]
                    .into_iter()
                    .flatten()
                    .map(|end| {
                        (value - end.nearest()).abs() / end.nearest().abs().max(f64::MIN_POSITIVE)
                    })
                    .fold(f64::INFINITY, f64::min),
                _ => f64::INFINITY,
            }
        }
        _ => f64::INFINITY,
    }
}

impl DecidingComparison<'_> {
    /// The stated quantities it rests on.
    pub(super) fn leaves(&self, context: &EvalContext<'_>, binding: Binding) -> Vec<Leaf> {
        let expressions: Vec<&Expression> = self.condition.expressions().collect();
        inputs(context, binding, &expressions)
            .into_iter()
            .map(|(leaf, _)| leaf)
            .collect()
    }

    /// Whether a figure it compares was sampled rather than shown.
    pub(super) fn is_sampled(&self, context: &EvalContext<'_>, binding: Binding) -> bool {
        self.condition.expressions().any(|expression| {
            range(context, binding, Aim::value(expression)).is_ok_and(|found| found.sampled)
        })
    }

    /// How wide the compared figure is, over what it is compared with where that is no fixed limit.
    pub(super) fn width(&self, context: &EvalContext<'_>, binding: Binding) -> Option<f64> {
        let aim = match &self.condition.node {
            ConditionNode::Compare { left, right, .. } => Aim::difference(left, right),
            ConditionNode::Within { subject, .. } => Aim::value(subject),
            _ => return None,
        };
        range(context, binding, aim)
            .ok()
            .map(|found| found.bounds.width())
    }

    /// The paths it names, the subject first.
    pub(super) fn paths(&self) -> Vec<&Path> {
        self.condition.paths()
    }

    /// Value, limit and margin in words.
    pub(super) fn told(&self, context: &EvalContext<'_>, binding: Binding) -> Told {
        let told = self.told_plainly(context, binding);
        // What was read at other settings is known from one side, and how far it lies from a limit is not.
        let subject = self.condition.expressions().next();
        let carried = subject.and_then(|of| match &of.node {
            ExpressionNode::Path(path) => match context.locate(binding, path) {
                Ok(Found::Setting(target, _, field)) => bound(context, Leaf { target, field }),
                _ => None,
            },
            _ => None,
        });
        match carried {
            Some(value) => Told {
                value: Some(value),
                margin: None,
                ..told
            },
            None => told,
        }
    }

    fn told_plainly(&self, context: &EvalContext<'_>, binding: Binding) -> Told {
        match &self.condition.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => self.compared(context, binding, *compare, left, right),
            ConditionNode::Within {
                subject,
                range: path,
            } => match Conditions::new(*context).limits(binding, path) {
                Ok(limits) => self.inside(context, binding, subject, path, limits),
                Err(_) => Told {
                    quantity: quantity_words(context, subject),
                    limit: Some(format!("within `{}`", path.text)),
                    ..Told::default()
                },
            },
            ConditionNode::RangeWithin { inner, outer } => {
                let conditions = Conditions::new(*context);
                let shown =
                    |path: &Path| conditions.limits(binding, path).ok().map(wording::limits);
                Told {
                    quantity: Some(inner.text.clone()),
                    value: shown(inner),
                    limit: conditions.limits(binding, outer).ok().map(wording::inside),
                    margin: None,
                }
            }
            ConditionNode::Is {
                path,
                words: wanted,
                ..
            } => Told {
                quantity: Some(path.text.clone()),
                value: word_value(context, binding, path),
                limit: Some(self.is_words(&wanted.join(" or "))),
                margin: None,
            },
            ConditionNode::Same { left, right } => Told {
                quantity: Some(left.text.clone()),
                value: word_value(context, binding, left),
                limit: Some(self.is_words(&format!("`{}`", right.text))),
                margin: None,
            },
            ConditionNode::IsStep { path, kinds } => {
                let names: Vec<String> = kinds
                    .iter()
                    .map(|kind| context.standard.kind(*kind).name.clone())
                    .collect();
                Told {
                    quantity: Some(path.text.clone()),
                    value: word_value(context, binding, path),
                    limit: Some(self.is_words(&names.join(" or "))),
                    margin: None,
                }
            }
            ConditionNode::NotOlder { path, than } => Told {
                quantity: Some(path.text.clone()),
                value: word_value(context, binding, path),
                limit: Some(self.is_words(&format!(
                    "at most {} old",
                    show_exact(&than.exact, &than.unit)
                ))),
                margin: None,
            },
            ConditionNode::Stated { path, how } => {
                let wanted = match how {
                    Stating::Anyhow => "stated".to_owned(),
                    Stating::WithTolerance => "stated with `±`".to_owned(),
                    Stating::ReadWithin(time) => {
                        format!("read within {}", show_exact(&time.exact, &time.unit))
                    }
                };
                let (value, limit) = if self.negated {
                    ("stated", format!("it not {wanted}"))
                } else {
                    ("not stated", format!("it {wanted}"))
                };
                Told {
                    quantity: Some(path.text.clone()),
                    value: Some(value.to_owned()),
                    limit: Some(limit),
                    margin: None,
                }
            }
            _ => Told::default(),
        }
    }

    fn is_words(&self, wanted: &str) -> String {
        if self.negated {
            format!("not {wanted}")
        } else {
            wanted.to_owned()
        }
    }

    fn compared(
        &self,
        context: &EvalContext<'_>,
        binding: Binding,
        compare: Compare,
        left: &Expression,
        right: &Expression,
    ) -> Told {
        let compare = if self.negated {
            compare.negated()
        } else {
            Some(compare)
        };
        let value = range(context, binding, Aim::value(left)).ok();
        let limit = range(context, binding, Aim::value(right)).ok();
        let unit = unit_of(context, binding, right)
            .or_else(|| unit_of(context, binding, left))
            .unwrap_or_else(|| Unit::usual(left.dimension));
        let own = stated_unit(context, binding, left);
        let unit = if matches!(left.node, ExpressionNode::Over { body: None, .. }) {
            Unit::bare()
        } else {
            unit
        };
        let word = match compare {
            Some(Compare::AtLeast) => "at least ",
            Some(Compare::AtMost) => "at most ",
            Some(Compare::Above) => "above ",
            Some(Compare::Below) => "below ",
            Some(Compare::Is) => "",
            None => "not ",
        };
        let mut limit_words = limit
            .as_ref()
            .map(|limit| format!("{word}{}", wording::shown(limit, &unit)));
        if let (Some(words), Some(name)) = (&mut limit_words, quantity_words(context, right)) {
            let told = wording::shown_plain(limit.as_ref(), &unit);
            if told.starts_with("at ") || told.starts_with("any") {
                // A time that may never end has no second end to show.
                *words = format!("{word}`{name}`, which is {told}");
            } else {
                words.push_str(&format!(" (`{name}`)"));
            }
        }
        let difference = range(context, binding, Aim::difference(left, right));
        let margin = match (compare, difference) {
            (Some(compare), Ok(found)) => margin(compare, &found, &unit.as_difference()),
            _ => None,
        };
        Told {
            quantity: quantity_words(context, left),
            value: value.map(|value| value_words(&value, own.as_ref(), &unit)),
            limit: limit_words,
            margin,
        }
    }

    fn inside(
        &self,
        context: &EvalContext<'_>,
        binding: Binding,
        subject: &Expression,
        path: &Path,
        limits: &Limits,
    ) -> Told {
        let value = range(context, binding, Aim::value(subject)).ok();
        let own = stated_unit(context, binding, subject);
        let mut worst: Option<(f64, Option<String>)> = None;
        for (compare, end) in [
            (Compare::AtLeast, &limits.low),
            (Compare::AtMost, &limits.high),
        ] {
            let Some(end) = end else { continue };
            let aim = Aim {
                value: subject,
                against: Against::Limit(end),
            };
            let Ok(found) = range(context, binding, aim) else {
                continue;
            };
            let reach = match compare {
                Compare::AtLeast => found.bounds.lo,
                _ => -found.bounds.hi,
            };
            // Where there is no end to it on one side, how much the other has to spare says nothing.
            let words = margin(compare, &found, &limits.unit.as_difference());
            let counts = words.is_some() || !reach.is_finite();
            if counts && worst.as_ref().is_none_or(|(known, _)| reach < *known) {
                worst = Some((reach, words));
            }
        }
        let not = if self.negated { "not " } else { "" };
        Told {
            quantity: quantity_words(context, subject),
            value: value.map(|value| value_words(&value, own.as_ref(), &limits.unit)),
            limit: Some(format!(
                "{not}{} (`{}`)",
                wording::inside(limits),
                path.text
            )),
            margin: worst.and_then(|(_, words)| words),
        }
    }
}

/// What an expression is called: as it is written; nothing for a bare number.
fn quantity_words(context: &EvalContext<'_>, expression: &Expression) -> Option<String> {
    match &expression.node {
        ExpressionNode::Constant(_) => None,
        _ => Some(expression_words(context.standard, expression)),
    }
}

/// The unit a value was stated in.
fn stated_unit(
    context: &EvalContext<'_>,
    binding: Binding,
    expression: &Expression,
) -> Option<Unit> {
    let path = match &expression.node {
        ExpressionNode::Path(path) => path,
        ExpressionNode::Over { .. } | ExpressionNode::RangeEnd { .. } => {
            return unit_of(context, binding, expression);
        }
        _ => return None,
    };
    match context.locate(binding, path).ok()? {
        crate::eval::Found::Setting(target, _, field) => context
            .quantity(target, field)
            .map(|quantity| quantity.unit.clone()),
        _ => None,
    }
}

/// The unit a person would read an expression in.
pub(super) fn unit_of(
    context: &EvalContext<'_>,
    binding: Binding,
    expression: &Expression,
) -> Option<Unit> {
    match &expression.node {
        ExpressionNode::Constant(constant) => Some(constant.unit.clone()),
        ExpressionNode::Path(path) => match context.locate(binding, path).ok()? {
            crate::eval::Found::Setting(target, kind, field) => {
                if let Some(quantity) = context.quantity(target, field) {
                    return Some(quantity.unit.clone());
                }
                let declared = context.standard.field(kind, field);
                match &declared.ty {
                    Type::Quantity(measure) if measure.reading == crate::types::Reading::Share => {
                        Some(Unit::percent())
                    }
                    _ => declared
                        .possible
                        .as_ref()
                        .map(|possible| possible.unit.clone()),
                }
            }
            _ => None,
        },
        ExpressionNode::RangeEnd { path, .. } => Conditions::new(*context)
            .limits(binding, path)
            .ok()
            .map(|limits| limits.unit.clone()),
        ExpressionNode::Negative(inner) => unit_of(context, binding, inner),
        ExpressionNode::Binary { left, right, .. } if left.dimension == expression.dimension => {
            unit_of(context, binding, left).or_else(|| unit_of(context, binding, right))
        }
        // Over all things of a kind: in the unit of the first.
        ExpressionNode::Over {
            kind,
            body: Some(body),
            ..
        } => {
            let member = context.run.many[kind.0 as usize].first().copied();
            unit_of(context, Binding { member, ..binding }, body)
        }
        ExpressionNode::Call(_, arguments) => arguments
            .iter()
            .find(|argument| argument.dimension == expression.dimension)
            .and_then(|argument| unit_of(context, binding, argument)),
        _ => None,
    }
}

/// A value in the user's own unit, and in the limit's when that is another.
fn value_words(value: &Range, own: Option<&Unit>, limit: &Unit) -> String {
    let in_limit = wording::shown(value, limit);
    match own {
        // A number of things is said with its noun, whatever the limit says.
        Some(own) if limit.is_bare() => wording::shown(value, own),
        Some(own) if own.spelling() != limit.spelling() && own.dimension() == limit.dimension() => {
            format!("{} ({in_limit})", wording::shown(value, own))
        }
        _ => in_limit,
    }
}

/// The distance to the limit at the worst point: `13.6 s short`, `12 °F over`, `3 s to spare`.
fn margin(compare: Compare, difference: &Range, unit: &Unit) -> Option<String> {
    margin_words(compare, difference, unit).map(wording::plain_degrees)
}

fn margin_words(compare: Compare, difference: &Range, unit: &Unit) -> Option<String> {
    let Bounds { lo, hi } = difference.bounds;
    let (worst, word) = match compare {
        Compare::AtLeast | Compare::Above => (-lo, "short"),
        Compare::AtMost | Compare::Below => (hi, "over"),
        Compare::Is => return None,
    };
    if !worst.is_finite() {
        // Without an end it is over by no less than where it begins.
        let least = match compare {
            Compare::AtLeast | Compare::Above => -hi,
            _ => lo,
        };
        let known = (0.0..1e100).contains(&least) && least > 0.0;
        return known.then(|| format!("at least {} {word}", show_down(least, unit, 3)));
    }
    if let Some((low, high)) = &difference.exact {
        let worst = match compare {
            Compare::AtLeast | Compare::Above => low.neg(),
            _ => high.clone(),
        };
        return Some(sized(&worst, word, unit));
    }
    if worst <= 0.0 {
        return Some(format!("{} {TO_SPARE}", show_down(-worst, unit, 3)));
    }
    Some(format!("{} {word}", show_up(worst, unit, 3)))
}

fn sized(worst: &Exact, word: &str, unit: &Unit) -> String {
    let short = worst.signum() > 0;
    let size = worst.abs();
    if size.is_zero() {
        return "exactly on the limit".to_owned();
    }
    let exact = show_exact(&size, unit);
    let sharp = unit
        .from_base(&size)
        .decimal()
        .is_some_and(|text| text.len() <= 6);
    let text = match (sharp, short) {
        (true, _) => exact,
        (false, true) => show_up(size.outward().1, unit, 3),
        (false, false) => show_down(size.outward().0, unit, 3),
    };
    if short {
        format!("{text} {word}")
    } else {
        format!("{text} {TO_SPARE}")
    }
}

/// A choice, text, answer, record or step in words.
fn word_value(context: &EvalContext<'_>, binding: Binding, path: &Path) -> Option<String> {
    match context.locate(binding, path) {
        Ok(crate::eval::Found::Setting(target, kind, field)) => {
            let declared = context.standard.field(kind, field);
            if let Type::Reference(_) = declared.ty {
                let found = context.refer(target, kind, field, path, 0).ok()?;
                return Some(wording::target(context, found));
            }
            Some(match &context.stated(target, field)?.value {
                Value::Text(text) => format!("\"{}\"", crate::source::visible(text)),
                Value::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
                Value::Choice(index) => match &declared.ty {
                    Type::Choice(choices) => choices.get(*index as usize)?.clone(),
                    _ => return None,
                },
                _ => return None,
            })
        }
        Ok(crate::eval::Found::Thing(found)) => {
            let instance = context.run.target(context.standard, found);
            match instance.parent {
                Some(parent) => Some(wording::target(
                    context,
                    crate::types::Target::Record(parent),
                )),
                None => Some(wording::target(context, found)),
            }
        }
        Ok(crate::eval::Found::Place(place)) => Some(place.to_string()),
        Err(_) => Some("nothing".to_owned()),
    }
}
