//! The limits that the rules set on a figure, for this run.

use crate::diagnostic::{Level, Side, Verb};
use crate::eval::{Aim, Conditions, Found, Frame, Leaf, Scene, Verdict, range};
use crate::types::{Compare, Condition, ConditionNode, Expression, ExpressionNode, Path, Rule};
use crate::units::{Exact, Unit, show_exact};

use super::super::outcome::{Applied, frame as frame_of, results};
use super::super::words;

/// The levels that rules which apply to the run set on one of these figures, each once.
pub(super) fn levels(scene: &Scene<'_>, figures: &[Leaf], unit: &Unit) -> Vec<Level> {
    let mut found: Vec<(Exact, Level)> = Vec::new();
    for result in results(scene) {
        let applies = !matches!(
            result.applied,
            Applied::ToNothing | Applied::To(Verdict::DoesNotApply(_))
        );
        if !applies {
            continue;
        }
        let rule = &scene.standard.rules[result.rule];
        let requirement = &rule.requirements[result.requirement];
        let walk = Walk {
            scene,
            figures,
            frame: frame_of(result.each),
            name: asker(rule, requirement.verb),
            unit,
        };
        walk.condition(&requirement.condition, &mut found);
    }
    found.sort_by(|(one, _), (other, _)| one.cmp(other));
    found.into_iter().map(|(_, level)| level).collect()
}

fn asker(rule: &Rule, verb: Verb) -> String {
    match verb {
        Verb::Shall => rule.name.clone(),
        Verb::Should => format!("{} (should)", rule.name),
    }
}

struct Walk<'a> {
    scene: &'a Scene<'a>,
    figures: &'a [Leaf],
    frame: Frame,
    name: String,
    unit: &'a Unit,
}

impl Walk<'_> {
    fn condition(&self, condition: &Condition, found: &mut Vec<(Exact, Level)>) {
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
        let ExpressionNode::Path(path) = &expression.node else {
            return false;
        };
        match self.scene.locate(self.frame, path) {
            Ok(Found::Setting(target, _, field)) => self.figures.contains(&Leaf { target, field }),
            _ => false,
        }
    }

    fn within(&self, path: &Path, found: &mut Vec<(Exact, Level)>) {
        let Ok(limits) = Conditions::new(*self.scene).limits(self.frame, path) else {
            return;
        };
        for (end, side) in [(&limits.low, Side::Above), (&limits.high, Side::Below)] {
            if let Some(end) = end {
                let words = format!("{} ({})", show_exact(end, &limits.unit), path.text);
                self.add(end, side, &words, found);
            }
        }
    }

    fn value(&self, expression: &Expression, side: Side, found: &mut Vec<(Exact, Level)>) {
        let Ok(value) = range(self.scene, self.frame, Aim::value(expression)) else {
            return;
        };
        let unit = super::super::atom::unit_of(self.scene, self.frame, expression);
        let unit = unit.as_ref().unwrap_or(self.unit);
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
        let words = words::shown(&value, unit);
        self.add(&end, side, &words, found);
    }

    fn add(&self, end: &Exact, side: Side, value: &str, found: &mut Vec<(Exact, Level)>) {
        let word = match side {
            Side::Above => "at least",
            Side::Below => "at most",
            Side::Watched => "level",
        };
        let words = format!("{word} {value}");
        let known = found
            .iter_mut()
            .find(|(at, level)| at == end && level.side == side);
        if let Some((_, level)) = known {
            if !level.asked_by.contains(&self.name) {
                level.asked_by.push(self.name.clone());
            }
            return;
        }
        let level = Level {
            at: in_unit(end, self.unit),
            side,
            words,
            asked_by: vec![self.name.clone()],
        };
        found.push((end.clone(), level));
    }
}

/// A base value in a unit, for drawing.
pub(super) fn in_unit(base: &Exact, unit: &Unit) -> f64 {
    unit.from_base(base).nearest()
}
