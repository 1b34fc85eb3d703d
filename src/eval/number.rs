//! What an evaluator needs of a number: floating intervals, exact intervals, intervals with slopes.

use super::{EvalContext, Leaf};
use crate::interval::Bounds;
use crate::physics;
use crate::types::{Calibration, CalibrationPoint, Constant, Quantity};
use crate::units::{Dimension, Unit, show_bounds, show_exact};

/// Why an operation has no result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    /// In plain words.
    Words(String),
    /// This sort of number has no such operation; another sort may.
    Unsupported,
}

impl Fault {
    pub(super) fn divisor() -> Self {
        Self::Words("it divides by something that may be zero".to_owned())
    }

    /// Beyond the positions of a dial that were looked at.
    pub(super) fn dial(by: &Calibration) -> Self {
        let shown = |point: &CalibrationPoint| show_exact(&point.shown, &point.unit);
        let reach = by.reach().map_or_else(
            || "nothing".to_owned(),
            |(first, last)| format!("{} to {}", shown(first), shown(last)),
        );
        Self::Words(format!(
            "the standard says what `{0}` is where its dial shows {reach}, not beyond; set it inside that, or measure it \
             beyond and add a line `{0} shows …` to the record",
            by.name
        ))
    }

    pub(super) fn root() -> Self {
        Self::Words("it takes a square root of something that may be below zero".to_owned())
    }
}

/// A sort of number.
pub(super) trait Number: Clone {
    fn constant(context: &EvalContext<'_>, constant: &Constant) -> Self;
    fn whole(count: u32) -> Self;
    fn stated(context: &EvalContext<'_>, leaf: Leaf, quantity: &Quantity) -> Self;
    fn add(&self, other: &Self) -> Self;
    fn subtract(&self, other: &Self) -> Self;
    fn multiply(&self, other: &Self) -> Self;
    fn divide(&self, other: &Self) -> Result<Self, Fault>;
    fn negative(&self) -> Self;
    fn power(&self, power: i32) -> Result<Self, Fault>;
    fn root(&self) -> Result<Self, Fault>;
    fn least(&self, other: &Self) -> Self;
    fn most(&self, other: &Self) -> Self;
    /// Any value from one to the other.
    fn between(&self, other: &Self) -> Self;
    fn round_up(&self) -> Result<Self, Fault>;
    fn calibrated(&self, by: &Calibration) -> Result<Self, Fault>;
    fn figure(
        context: &EvalContext<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault>;
}

/// What a value rests on beyond its inputs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Marks {
    /// Bounds of a figure that were sampled rather than shown.
    pub(super) sampled: bool,
    /// A figure that takes milliseconds: no box is split for it.
    pub(super) costly: bool,
}

impl Marks {
    /// What a figure brings whatever it comes to.
    pub(super) fn of(figure: &physics::Function) -> Self {
        Self {
            sampled: false,
            costly: figure.accuracy != physics::Accuracy::Rounding,
        }
    }

    pub(super) fn with(self, other: Self) -> Self {
        Self {
            sampled: self.sampled || other.sampled,
            costly: self.costly || other.costly,
        }
    }
}

/// Says in words why a figure has no value of these inputs.
pub(super) fn outside(
    figure: &physics::Function,
    outside: &physics::Outside,
    inputs: &[(f64, f64)],
) -> Fault {
    Fault::Words(match outside {
        physics::Outside::Parameter(index) => {
            match (figure.parameters.get(*index), inputs.get(*index)) {
                (Some(parameter), Some((low, high))) => {
                    let unit = Unit::usual_for(parameter.dimension).unwrap_or_else(|| {
                        Dimension::named(parameter.dimension).map_or_else(Unit::bare, Unit::usual)
                    });
                    format!(
                        "`{}` is {}; the model of `{}` is valid {}",
                        parameter.name,
                        show_bounds(*low, *high, &unit),
                        figure.name,
                        valid(parameter, &unit)
                    )
                }
                _ => format!(
                    "an input lies outside what the model of `{}` is valid for",
                    figure.name
                ),
            }
        }
        physics::Outside::Together(words) | physics::Outside::Never(words) => (*words).to_owned(),
    })
}

/// What a figure is valid for: `from 0.1 to 20 %`.
fn valid(parameter: &physics::Parameter, unit: &Unit) -> String {
    let one = |end: f64| show_bounds(end, end, unit);
    match (parameter.low.is_finite(), parameter.high.is_finite()) {
        (true, true) => format!("from {}", show_bounds(parameter.low, parameter.high, unit)),
        (true, false) => format!("from {} on", one(parameter.low)),
        _ => format!("up to {}", one(parameter.high)),
    }
}

impl Number for Bounds {
    fn constant(_: &EvalContext<'_>, constant: &Constant) -> Self {
        constant.bounds
    }

    fn whole(count: u32) -> Self {
        Self::point(f64::from(count))
    }

    fn stated(context: &EvalContext<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        context
            .narrowed(leaf)
            .map_or(quantity.bounds, |stretch| stretch.bounds)
    }

    fn add(&self, other: &Self) -> Self {
        (*self).add(*other)
    }

    fn subtract(&self, other: &Self) -> Self {
        (*self).sub(*other)
    }

    fn multiply(&self, other: &Self) -> Self {
        (*self).mul(*other)
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        (*self).div(*other).ok_or_else(Fault::divisor)
    }

    fn negative(&self) -> Self {
        (*self).neg()
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        (*self).powi(power).ok_or_else(Fault::divisor)
    }

    fn root(&self) -> Result<Self, Fault> {
        (*self).sqrt().ok_or_else(Fault::root)
    }

    fn least(&self, other: &Self) -> Self {
        (*self).min(*other)
    }

    fn most(&self, other: &Self) -> Self {
        (*self).max(*other)
    }

    fn between(&self, other: &Self) -> Self {
        self.hull(*other)
    }

    fn round_up(&self) -> Result<Self, Fault> {
        Ok((*self).ceil())
    }

    fn calibrated(&self, by: &Calibration) -> Result<Self, Fault> {
        by.bounds(*self).ok_or_else(|| Fault::dial(by))
    }

    fn figure(
        context: &EvalContext<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        let ends: Vec<(f64, f64)> = arguments
            .iter()
            .map(|bounds| (bounds.lo, bounds.hi))
            .collect();
        match super::figure_cache::worst(context.cache, figure, &ends) {
            Ok((low, high, sampled)) => {
                let marks = Marks {
                    sampled,
                    ..Marks::of(figure)
                };
                Ok((Self::new(low, high), marks))
            }
            Err(problem) => Err(outside(figure, &problem, &ends)),
        }
    }
}
