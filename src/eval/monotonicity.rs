//! Which way a requirement goes when a setting is raised, shown over everything the settings allow.
//!
//! Where a requirement only gets better, or only worse, with a setting, the two ends of a stretch tell of all of it. It is
//! read off the signs of slopes alone: a figure that takes milliseconds is not worked out for it, its table says which way
//! each input moves it.

use super::evaluator::{Evaluator, Halt};
use super::number::{Fault, Marks, Number};
use super::range::Aim;
use super::slope::Slope;
use super::{Binding, Conditions, EvalContext, EvalError, Found, Goal, Leaf};
use crate::interval::Bounds;
use crate::physics::{self, Accuracy, Direction};
use crate::types::{
    Calibration, Compare, Condition, ConditionNode, Constant, Expression, Path, Quantity, Read, Way,
};

/// What raising a setting does to a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Trend {
    /// Nothing.
    Flat,
    /// It never makes it worse.
    Better,
    /// It never makes it better.
    Worse,
    /// It never makes it worse wherever the bounds of its figures are shown rather than sampled.
    BetterWhereShown,
    /// It never makes it better wherever they are.
    WorseWhereShown,
    /// No number, but whether there is one: what is only asked to be stated may not be workable everywhere.
    Workable,
    /// Either, or it cannot be shown.
    Unknown,
}

impl Trend {
    fn of(sure: Bounds, shown: Bounds) -> Self {
        match (sure.lo >= 0.0, sure.hi <= 0.0) {
            (true, true) => Self::Flat,
            (true, false) => Self::Better,
            (false, true) => Self::Worse,
            (false, false) if shown.lo >= 0.0 => Self::BetterWhereShown,
            (false, false) if shown.hi <= 0.0 => Self::WorseWhereShown,
            (false, false) => Self::Unknown,
        }
    }

    fn turned(self) -> Self {
        match self {
            Self::Better => Self::Worse,
            Self::Worse => Self::Better,
            Self::BetterWhereShown => Self::WorseWhereShown,
            Self::WorseWhereShown => Self::BetterWhereShown,
            other => other,
        }
    }

    /// What raising a setting does that only moves this one, in that way.
    #[must_use]
    pub fn through(self, way: Way) -> Self {
        match (self, way) {
            (Self::Flat, _) => Self::Flat,
            (_, Way::Unknown) => Self::Unknown,
            (trend, Way::Rises) => trend,
            (trend, Way::Falls) => trend.turned(),
        }
    }

    /// Of two things that must, or may, both be so.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        match (self, other) {
            (Self::Flat, other) | (other, Self::Flat) => other,
            (Self::Workable, other) | (other, Self::Workable) => other,
            (one, other) if one == other => one,
            (Self::Better | Self::BetterWhereShown, Self::Better | Self::BetterWhereShown) => {
                Self::BetterWhereShown
            }
            (Self::Worse | Self::WorseWhereShown, Self::Worse | Self::WorseWhereShown) => {
                Self::WorseWhereShown
            }
            _ => Self::Unknown,
        }
    }

    /// Whether raising it makes something better: surely, or where its figures are shown.
    #[must_use]
    pub fn is_better(self) -> bool {
        matches!(self, Self::Better | Self::BetterWhereShown)
    }

    /// Whether that hangs on its figures being shown.
    #[must_use]
    pub fn is_conditional(self) -> bool {
        matches!(self, Self::BetterWhereShown | Self::WorseWhereShown)
    }
}

/// What raising each of the narrowed values of a context does to a goal, over all that they are narrowed to.
///
/// It says nothing of points at which the goal lacks a value or cannot be worked out.
#[must_use]
pub fn trends(context: &EvalContext<'_>, binding: Binding, goal: Goal<'_>) -> Vec<Trend> {
    let of = |condition: &Condition| condition_trends(context, binding, condition);
    let mut found = of(goal.requirement);
    let mut join = |more: Vec<Trend>, turned: bool| {
        for (known, more) in found.iter_mut().zip(more) {
            *known = known.with(if turned { more.turned() } else { more });
        }
    };
    for permission in goal.permissions {
        join(of(permission), false);
    }
    // A rule that stops applying no longer asks for anything.
    for when in goal.when {
        join(of(when), true);
    }
    found
}

fn condition_trends(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &Condition,
) -> Vec<Trend> {
    let count = context.narrowed.len();
    match &condition.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => {
            let aim = Aim::difference(left, right);
            let slopes = slopes(context, binding, aim);
            slopes
                .into_iter()
                .map(|trend| match compare {
                    Compare::AtLeast | Compare::Above => trend,
                    Compare::AtMost | Compare::Below => trend.turned(),
                    Compare::Is if trend == Trend::Flat => trend,
                    Compare::Is => Trend::Unknown,
                })
                .collect()
        }
        ConditionNode::Within { subject, range } => {
            let ends = Conditions::new(*context).limits(binding, range);
            let one_sided = |trend: Trend| match ends.as_ref().map(|e| (&e.low, &e.high)) {
                Ok((Some(_), None)) => trend,
                Ok((None, Some(_))) => trend.turned(),
                Ok((None, None)) | Err(_) => Trend::Flat,
                _ if trend == Trend::Flat => trend,
                _ => Trend::Unknown,
            };
            let slopes = slopes(context, binding, Aim::value(subject));
            slopes.into_iter().map(one_sided).collect()
        }
        ConditionNode::And(_) | ConditionNode::Or(_) => {
            let mut all = vec![Trend::Flat; count];
            for part in condition.children() {
                for (known, more) in all.iter_mut().zip(condition_trends(context, binding, part)) {
                    *known = known.with(more);
                }
            }
            all
        }
        ConditionNode::Not(inner) => condition_trends(context, binding, inner)
            .into_iter()
            .map(Trend::turned)
            .collect(),
        ConditionNode::Stated { path, .. } => {
            let formula = behind(context, binding, path);
            let reads = formula.map_or_else(Vec::new, |(binding, formula)| {
                super::inputs(context, binding, &[formula])
            });
            let each = context.narrowed.iter();
            each.map(|(leaf, _)| {
                if reads.iter().any(|(read, _)| read == leaf) {
                    Trend::Workable
                } else {
                    Trend::Flat
                }
            })
            .collect()
        }
        // Choices, texts and steps do not hang on numbers.
        _ => vec![Trend::Flat; count],
    }
}

/// What raising each of the narrowed values does to a value: [`Trend::Better`] where it never lowers it.
pub(super) fn slopes(context: &EvalContext<'_>, binding: Binding, aim: Aim<'_>) -> Vec<Trend> {
    let count = context.narrowed.len();
    // The bounds that a memory keeps are those of figures; none is worked out here.
    let context = EvalContext {
        cache: None,
        ..*context
    };
    match aim.work_out(&Evaluator::<Lean>::new(context), binding) {
        Ok(Lean { sure, shown }) => (0..count)
            .map(|index| Trend::of(sure.slope(index), shown.slope(index)))
            .collect(),
        // What is missing is missing everywhere, unless something else before it cannot be worked out.
        Err(Halt::EvalError(EvalError::Missing(_))) => vec![Trend::Workable; count],
        Err(_) => vec![Trend::Unknown; count],
    }
}

/// The formula of a setting that is not stated, and the binding it stands in.
fn behind<'a>(
    context: &EvalContext<'a>,
    binding: Binding,
    path: &Path,
) -> Option<(Binding, &'a Expression)> {
    let Ok(Found::Setting(target, kind, field)) = context.locate(binding, path) else {
        return None;
    };
    if context.stated(target, field).is_some() {
        return None;
    }
    let formula = context.standard.field(kind, field).formula.as_ref()?;
    let own = Binding {
        own: Some(target),
        ..Binding::default()
    };
    Some((own, formula))
}

/// Whether a goal rests on a stated quantity, be it only for being workable.
#[must_use]
pub fn rests_on(context: &EvalContext<'_>, binding: Binding, goal: Goal<'_>, leaf: Leaf) -> bool {
    let all: Vec<&Condition> = goal
        .conditions()
        .chain([goal.requirement])
        .chain(goal.permissions)
        .collect();
    if super::condition_inputs(context, binding, &all).contains(&leaf) {
        return true;
    }
    let mut asked = Vec::new();
    for condition in all {
        condition.reads(&mut |read| {
            if let Read::Stated(path) = read {
                asked.push(path);
            }
        });
    }
    asked.into_iter().any(|path| {
        behind(context, binding, path).is_some_and(|(binding, formula)| {
            let read = super::inputs(context, binding, &[formula]);
            read.iter().any(|(read, _)| *read == leaf)
        })
    })
}

/// Slopes of which only the signs count.
#[derive(Debug, Clone)]
struct Lean {
    /// What is so everywhere.
    sure: Slope,
    /// What is so where conditional directions hold.
    shown: Slope,
}

impl Lean {
    fn both(of: Slope) -> Self {
        Self {
            sure: of.clone(),
            shown: of,
        }
    }

    fn each(&self, other: &Self, of: fn(&Slope, &Slope) -> Slope) -> Self {
        Self {
            sure: of(&self.sure, &other.sure),
            shown: of(&self.shown, &other.shown),
        }
    }
}

impl Number for Lean {
    fn constant(context: &EvalContext<'_>, constant: &Constant) -> Self {
        Self::both(Slope::constant(context, constant))
    }

    fn whole(count: u32) -> Self {
        Self::both(Slope::whole(count))
    }

    fn stated(context: &EvalContext<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        Self::both(Slope::stated(context, leaf, quantity))
    }

    fn add(&self, other: &Self) -> Self {
        self.each(other, Slope::add)
    }

    fn subtract(&self, other: &Self) -> Self {
        self.each(other, Slope::subtract)
    }

    fn multiply(&self, other: &Self) -> Self {
        self.each(other, Slope::multiply)
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        Ok(Self {
            sure: self.sure.divide(&other.sure)?,
            shown: self.shown.divide(&other.shown)?,
        })
    }

    fn negative(&self) -> Self {
        Self {
            sure: self.sure.negative(),
            shown: self.shown.negative(),
        }
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        Ok(Self {
            sure: self.sure.power(power)?,
            shown: self.shown.power(power)?,
        })
    }

    fn root(&self) -> Result<Self, Fault> {
        Ok(Self {
            sure: self.sure.root()?,
            shown: self.shown.root()?,
        })
    }

    fn least(&self, other: &Self) -> Self {
        self.each(other, Slope::least)
    }

    fn most(&self, other: &Self) -> Self {
        self.each(other, Slope::most)
    }

    fn between(&self, other: &Self) -> Self {
        self.each(other, Slope::between)
    }

    fn round_up(&self) -> Result<Self, Fault> {
        Ok(Self {
            sure: self.sure.round_up()?,
            shown: self.shown.round_up()?,
        })
    }

    fn calibrated(&self, by: &Calibration) -> Result<Self, Fault> {
        Ok(Self {
            sure: self.sure.calibrated(by)?,
            shown: self.shown.calibrated(by)?,
        })
    }

    fn figure(
        _: &EvalContext<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        // No heat figure lies below zero; of a closed form no more is taken for granted than that it is a number.
        let value = match figure.accuracy {
            Accuracy::Rounding => Bounds::ENTIRE,
            _ => Bounds::new(0.0, f64::INFINITY),
        };
        let (up, down) = (
            Bounds::new(0.0, f64::INFINITY),
            Bounds::new(f64::NEG_INFINITY, 0.0),
        );
        let mut result = Self::both(Slope::flat(value));
        for (argument, parameter) in arguments.iter().zip(figure.parameters) {
            let (sure, shown) = match parameter.direction {
                Direction::Rises => (up, up),
                Direction::Falls => (down, down),
                Direction::RisesWhileHeating => (Bounds::ENTIRE, up),
                Direction::FallsWhileHeating => (Bounds::ENTIRE, down),
                Direction::Mixed => (Bounds::ENTIRE, Bounds::ENTIRE),
            };
            let with = |so_far: &Slope, factor: Bounds, of: &Slope| {
                let one = Bounds::point(1.0);
                let part = Slope::chain(value, factor, of);
                Slope::combine(value, one, so_far, one, &part)
            };
            result = Self {
                sure: with(&result.sure, sure, &argument.sure),
                shown: with(&result.shown, shown, &argument.shown),
            };
        }
        Ok((result, Marks::default()))
    }
}
