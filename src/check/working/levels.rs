//! The limits that the rules set on a figure, for this run.

use crate::diagnostic::{Level, Side, Verb};
use crate::eval::{
    self, Aim, Binding, Conditions, EvalContext, Leaf, Truth, Verdict, active_branch, range,
};
use crate::types::{Compare, Condition, ConditionNode, Expression, ExpressionNode, Path, Rule};
use crate::units::{Exact, Unit, show_exact};

use super::super::deciding_comparison::unit_of;
use super::super::outcome::{Applied, RuleResult, binding as binding_of};
use super::super::wording;
use super::{declared, own};

/// How often a setting may hand on another.
const MOST_ALIASES: u32 = 16;

/// A level before it is known in which unit it is drawn.
pub(super) struct Found {
    base: Exact,
    /// The unit it was written in.
    pub(super) unit: Unit,
    side: Side,
    value: String,
    asked_by: Vec<String>,
}

impl Found {
    /// A level in the unit that is drawn.
    pub(super) fn drawn(&self, unit: &Unit) -> Level {
        Level {
            at: in_unit(&self.base, unit),
            side: self.side,
            value: self.value.clone(),
            asked_by: self.asked_by.clone(),
        }
    }
}

/// The levels that rules which apply to the run set on one of these figures, each once, lowest first.
pub(super) fn levels(
    context: &EvalContext<'_>,
    results: &[RuleResult],
    figures: &[Leaf],
) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    for result in results {
        let applies = !matches!(
            result.applied,
            Applied::ToNothing | Applied::ToNoCell(_) | Applied::To(Verdict::DoesNotApply(_))
        );
        if !applies {
            continue;
        }
        let rule = &context.standard.rules[result.rule];
        let requirement = &rule.requirements[result.requirement];
        let walk = Walk {
            context,
            figures,
            binding: binding_of(result.each),
            name: asker(rule, requirement.verb, in_doubt(context, rule, result)),
        };
        walk.condition(&requirement.condition, &mut found);
    }
    found.sort_by(|one, other| one.base.cmp(&other.base).then(one.side.cmp(&other.side)));
    found
}

/// Whether it is not known that a rule applies.
fn in_doubt(context: &EvalContext<'_>, rule: &Rule, result: &RuleResult) -> bool {
    let conditions = Conditions::new(*context);
    let truth = |when| conditions.truth(binding_of(result.each), when);
    rule.when.iter().any(|when| truth(when) != Truth::True)
}

fn asker(rule: &Rule, verb: Verb, in_doubt: bool) -> String {
    let mut name = rule.name.clone();
    if verb == Verb::Should {
        name.push_str(" (should)");
    }
    if in_doubt {
        name.push_str(" (if it applies)");
    }
    name
}

struct Walk<'a> {
    context: &'a EvalContext<'a>,
    figures: &'a [Leaf],
    binding: Binding,
    name: String,
}

impl Walk<'_> {
    fn condition(&self, condition: &Condition, found: &mut Vec<Found>) {
        match &condition.node {
            ConditionNode::And(list) => {
                for part in list {
                    self.condition(part, found);
                }
            }
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let side = |compare: Compare| match compare {
                    Compare::AtLeast | Compare::Above => Some(Side::Above),
                    Compare::AtMost | Compare::Below => Some(Side::Below),
                    Compare::Is => None,
                };
                let Some(side) = side(*compare) else { return };
                if self.speaks_of(left) {
                    self.value(right, side, found);
                } else if self.speaks_of(right) {
                    let other = match side {
                        Side::Above => Side::Below,
                        _ => Side::Above,
                    };
                    self.value(left, other, found);
                }
            }
            ConditionNode::Within { subject, range } if self.speaks_of(subject) => {
                self.within(range, found);
            }
            // What one of several branches, or an opposite, asks for is no limit by itself.
            _ => {}
        }
    }

    fn speaks_of(&self, expression: &Expression) -> bool {
        let mut binding = self.binding;
        let mut expression = expression;
        // A setting that only hands on another, as `otherwise(pallet-after, press.pallet-last)` does, speaks of that one.
        for _ in 0..MOST_ALIASES {
            let ExpressionNode::Path(path) = &active_branch(self.context, binding, expression).node
            else {
                return false;
            };
            let Ok(eval::Found::Setting(target, _, field)) = self.context.locate(binding, path)
            else {
                return false;
            };
            let leaf = Leaf { target, field };
            if self.figures.contains(&leaf) {
                return true;
            }
            let Some(formula) = &declared(self.context, leaf).1.formula else {
                return false;
            };
            if self.context.quantity(target, field).is_some() {
                return false;
            }
            binding = own(leaf);
            expression = formula;
        }
        false
    }

    fn within(&self, path: &Path, found: &mut Vec<Found>) {
        let Ok(limits) = Conditions::new(*self.context).limits(self.binding, path) else {
            return;
        };
        for (end, side) in [(&limits.low, Side::Above), (&limits.high, Side::Below)] {
            if let Some(end) = end {
                let value = show_exact(end, &limits.unit);
                self.add(end, &limits.unit, side, value, found);
            }
        }
    }

    fn value(&self, expression: &Expression, side: Side, found: &mut Vec<Found>) {
        let Ok(value) = range(self.context, self.binding, Aim::value(expression)) else {
            return;
        };
        let unit = unit_of(self.context, self.binding, expression)
            .unwrap_or_else(|| Unit::usual(expression.dimension));
        // Of a limit that is itself uncertain the stricter end is drawn.
        let (low, high) = match &value.exact {
            Some((low, high)) => (Some(low.clone()), Some(high.clone())),
            None => (
                Exact::from_f64(value.bounds.lo),
                Exact::from_f64(value.bounds.hi),
            ),
        };
        let end = if side == Side::Above { high } else { low };
        let Some(end) = end else { return };
        let value = wording::shown(&value, &unit);
        self.add(&end, &unit, side, value, found);
    }

    fn add(&self, end: &Exact, unit: &Unit, side: Side, value: String, found: &mut Vec<Found>) {
        let known = found
            .iter_mut()
            .find(|level| level.base == *end && level.side == side);
        if let Some(level) = known {
            if !level.asked_by.contains(&self.name) {
                level.asked_by.push(self.name.clone());
            }
            return;
        }
        found.push(Found {
            base: end.clone(),
            unit: unit.clone(),
            side,
            value,
            asked_by: vec![self.name.clone()],
        });
    }
}

/// A base value in a unit, for drawing.
pub(super) fn in_unit(base: &Exact, unit: &Unit) -> f64 {
    unit.from_base(base).nearest()
}
