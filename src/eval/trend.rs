//! Which way a requirement goes when a setting is raised, shown over everything the settings allow.
//!
//! Where a requirement only gets better, or only worse, with a setting, the two ends of a stretch tell of all of it. It is
//! read off the signs of slopes alone: a figure that takes milliseconds is not worked out for it, its table says which way
//! each input moves it.

use super::evaluator::Evaluator;
use super::number::{Fault, Marks, Number};
use super::range::{Against, Aim};
use super::slope::Slope;
use super::{Conditions, Frame, Goal, Leaf, Scene};
use crate::interval::Bounds;
use crate::physics::{self, Accuracy, Direction};
use crate::types::{Compare, Condition, ConditionNode, Constant, Quantity};

/// What raising a setting does to a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Trend {
    /// Nothing.
    Flat,
    /// It never makes it worse.
    Better,
    /// It never makes it better.
    Worse,
    /// Either, or it cannot be shown.
    Unknown,
}

impl Trend {
    fn of(slope: Bounds) -> Self {
        match (slope.lo >= 0.0, slope.hi <= 0.0) {
            (true, true) => Self::Flat,
            (true, false) => Self::Better,
            (false, true) => Self::Worse,
            (false, false) => Self::Unknown,
        }
    }

    fn turned(self) -> Self {
        match self {
            Self::Better => Self::Worse,
            Self::Worse => Self::Better,
            other => other,
        }
    }

    /// Of two things that must, or may, both be so.
    fn with(self, other: Self) -> Self {
        match (self, other) {
            (Self::Flat, other) | (other, Self::Flat) => other,
            (one, other) if one == other => one,
            _ => Self::Unknown,
        }
    }
}

/// What raising each of the narrowed values of a scene does to a goal, over all that they are narrowed to.
///
/// It says nothing of points at which the goal lacks a value or cannot be worked out.
#[must_use]
pub fn trends(scene: &Scene<'_>, frame: Frame, goal: Goal<'_>) -> Vec<Trend> {
    let of = |condition: &Condition| condition_trends(scene, frame, condition);
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

fn condition_trends(scene: &Scene<'_>, frame: Frame, condition: &Condition) -> Vec<Trend> {
    let count = scene.narrowed.len();
    match &condition.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => {
            let aim = Aim {
                value: left,
                against: Against::Value(right),
            };
            let slopes = slopes(scene, frame, aim);
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
            let ends = Conditions::new(*scene).limits(frame, range);
            let one_sided = |trend: Trend| match ends.as_ref().map(|e| (&e.low, &e.high)) {
                Ok((Some(_), None)) => trend,
                Ok((None, Some(_))) => trend.turned(),
                Ok((None, None)) => Trend::Flat,
                _ if trend == Trend::Flat => trend,
                _ => Trend::Unknown,
            };
            let slopes = slopes(scene, frame, Aim::value(subject));
            slopes.into_iter().map(one_sided).collect()
        }
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            let mut all = vec![Trend::Flat; count];
            for part in list {
                for (known, more) in all.iter_mut().zip(condition_trends(scene, frame, part)) {
                    *known = known.with(more);
                }
            }
            all
        }
        ConditionNode::Not(inner) => condition_trends(scene, frame, inner)
            .into_iter()
            .map(Trend::turned)
            .collect(),
        // Choices, texts, steps and whether something is stated do not hang on numbers.
        _ => vec![Trend::Flat; count],
    }
}

fn slopes(scene: &Scene<'_>, frame: Frame, aim: Aim<'_>) -> Vec<Trend> {
    let count = scene.narrowed.len();
    // The bounds that a memory keeps are those of figures; none is worked out here.
    let scene = Scene {
        memory: None,
        ..*scene
    };
    match aim.work_out(&Evaluator::<Lean>::new(scene), frame) {
        Ok(Lean(slope)) => (0..count)
            .map(|index| {
                slope
                    .slopes
                    .get(index)
                    .map_or(Trend::Flat, |s| Trend::of(*s))
            })
            .collect(),
        Err(_) => vec![Trend::Unknown; count],
    }
}

/// Whether a goal rests on a stated quantity.
#[must_use]
pub fn rests_on(scene: &Scene<'_>, frame: Frame, goal: Goal<'_>, leaf: Leaf) -> bool {
    let all: Vec<&Condition> = goal
        .when
        .iter()
        .chain([goal.requirement])
        .chain(goal.permissions)
        .collect();
    super::condition_leaves(scene, frame, &all).contains(&leaf)
}

/// A slope of which only the sign counts.
#[derive(Debug, Clone)]
struct Lean(Slope);

impl Number for Lean {
    fn constant(scene: &Scene<'_>, constant: &Constant) -> Self {
        Self(Slope::constant(scene, constant))
    }

    fn whole(count: u32) -> Self {
        Self(Slope::whole(count))
    }

    fn stated(scene: &Scene<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        Self(Slope::stated(scene, leaf, quantity))
    }

    fn add(&self, other: &Self) -> Self {
        Self(self.0.add(&other.0))
    }

    fn subtract(&self, other: &Self) -> Self {
        Self(self.0.subtract(&other.0))
    }

    fn multiply(&self, other: &Self) -> Self {
        Self(self.0.multiply(&other.0))
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        self.0.divide(&other.0).map(Self)
    }

    fn negative(&self) -> Self {
        Self(self.0.negative())
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        self.0.power(power).map(Self)
    }

    fn root(&self) -> Result<Self, Fault> {
        self.0.root().map(Self)
    }

    fn least(&self, other: &Self) -> Self {
        Self(self.0.least(&other.0))
    }

    fn most(&self, other: &Self) -> Self {
        Self(self.0.most(&other.0))
    }

    fn round_up(&self) -> Result<Self, Fault> {
        self.0.round_up().map(Self)
    }

    fn figure(
        _: &Scene<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        // No heat figure lies below zero; of a closed form no more is taken for granted than that it is a number.
        let value = match figure.accuracy {
            Accuracy::Rounding => Bounds::ENTIRE,
            _ => Bounds::new(0.0, f64::INFINITY),
        };
        let mut result = Slope::flat(value);
        for (argument, parameter) in arguments.iter().zip(figure.parameters) {
            let factor = match parameter.direction {
                Direction::Rises => Bounds::new(0.0, f64::INFINITY),
                Direction::Falls => Bounds::new(f64::NEG_INFINITY, 0.0),
                _ => Bounds::ENTIRE,
            };
            let part = Slope::chain(value, factor, &argument.0);
            let one = Bounds::point(1.0);
            result = Slope::combine(value, one, &result, one, &part);
        }
        Ok((Self(result), Marks::default()))
    }
}
