//! Intervals with their slopes against chosen stated values (forward differentiation).
//!
//! A slope that cannot change sign over the box shows that the worst case lies at an end.

use super::number::{Fault, Marks, Number};
use super::{EvalContext, Leaf};
use crate::interval::Bounds;
use crate::physics::{self, Direction};
use crate::types::{Calibration, Constant, Quantity};

/// A value with its slopes against the values of [`EvalContext::narrowed`], in that order.
///
/// No slopes at all means that they are all zero.
#[derive(Debug, Clone)]
pub(super) struct Slope {
    pub(super) value: Bounds,
    pub(super) slopes: Vec<Bounds>,
}

const ZERO: Bounds = Bounds { lo: 0.0, hi: 0.0 };
const UP: Bounds = Bounds {
    lo: 0.0,
    hi: f64::INFINITY,
};
const DOWN: Bounds = Bounds {
    lo: f64::NEG_INFINITY,
    hi: 0.0,
};

/// `factor * slope`, where a slope of exactly zero stays zero whatever the factor.
fn scaled(factor: Bounds, slope: Bounds) -> Bounds {
    if slope == ZERO || factor == ZERO {
        return ZERO;
    }
    // Infinite factors only come from functions of known direction; keep the sign, drop the size.
    if factor == UP || factor == DOWN {
        let slope = if factor == DOWN { slope.neg() } else { slope };
        return Bounds {
            lo: if slope.lo < 0.0 {
                f64::NEG_INFINITY
            } else {
                0.0
            },
            hi: if slope.hi > 0.0 { f64::INFINITY } else { 0.0 },
        };
    }
    factor.mul(slope)
}

impl Slope {
    pub(super) fn flat(value: Bounds) -> Self {
        Self {
            value,
            slopes: Vec::new(),
        }
    }

    pub(super) fn slope(&self, index: usize) -> Bounds {
        self.slopes.get(index).copied().unwrap_or(ZERO)
    }

    /// `mine * d(self) + theirs * d(other)`.
    pub(super) fn combine(
        value: Bounds,
        mine: Bounds,
        one: &Self,
        theirs: Bounds,
        other: &Self,
    ) -> Self {
        let count = one.slopes.len().max(other.slopes.len());
        let slopes = (0..count)
            .map(|index| scaled(mine, one.slope(index)).add(scaled(theirs, other.slope(index))))
            .collect();
        Self { value, slopes }
    }

    pub(super) fn chain(value: Bounds, factor: Bounds, inner: &Self) -> Self {
        let slopes = inner
            .slopes
            .iter()
            .map(|slope| scaled(factor, *slope))
            .collect();
        Self { value, slopes }
    }
}

impl Number for Slope {
    fn constant(context: &EvalContext<'_>, constant: &Constant) -> Self {
        Self::flat(<Bounds as Number>::constant(context, constant))
    }

    fn whole(count: u32) -> Self {
        Self::flat(<Bounds as Number>::whole(count))
    }

    fn stated(context: &EvalContext<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        let Some(index) = context.narrowed.iter().position(|(of, _)| *of == leaf) else {
            return Self::flat(quantity.bounds);
        };
        let mut slopes = vec![ZERO; context.narrowed.len()];
        slopes[index] = Bounds::point(1.0);
        Self {
            value: context.narrowed[index].1.bounds,
            slopes,
        }
    }

    fn add(&self, other: &Self) -> Self {
        let one = Bounds::point(1.0);
        Self::combine(self.value.add(other.value), one, self, one, other)
    }

    fn subtract(&self, other: &Self) -> Self {
        let one = Bounds::point(1.0);
        Self::combine(self.value.sub(other.value), one, self, one.neg(), other)
    }

    fn multiply(&self, other: &Self) -> Self {
        Self::combine(
            self.value.mul(other.value),
            other.value,
            self,
            self.value,
            other,
        )
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        let value = self.value.div(other.value).ok_or_else(Fault::divisor)?;
        let inverse = Bounds::point(1.0)
            .div(other.value)
            .ok_or_else(Fault::divisor)?;
        // d(a/b) = da / b - (a/b) / b * db
        let against = value.mul(inverse).neg();
        Ok(Self::combine(value, inverse, self, against, other))
    }

    fn negative(&self) -> Self {
        Self::chain(self.value.neg(), Bounds::point(-1.0), self)
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        let value = self.value.powi(power).ok_or_else(Fault::divisor)?;
        if power == 0 {
            return Ok(Self::flat(value));
        }
        let below = self.value.powi(power - 1).ok_or_else(Fault::divisor)?;
        let factor = below.mul(Bounds::point(f64::from(power)));
        Ok(Self::chain(value, factor, self))
    }

    fn root(&self) -> Result<Self, Fault> {
        let value = self.value.sqrt().ok_or_else(Fault::root)?;
        Ok(Self::chain(value, UP, self))
    }

    fn least(&self, other: &Self) -> Self {
        Self::either(self.value.min(other.value), self, other)
    }

    fn most(&self, other: &Self) -> Self {
        Self::either(self.value.max(other.value), self, other)
    }

    fn between(&self, other: &Self) -> Self {
        Self::either(self.value.hull(other.value), self, other)
    }

    fn round_up(&self) -> Result<Self, Fault> {
        Ok(Self::chain(self.value.ceil(), UP, self))
    }

    fn calibrated(&self, by: &Calibration) -> Result<Self, Fault> {
        let value = self.value.calibrated(by)?;
        Ok(Self::chain(value, by.slope(), self))
    }

    fn figure(
        context: &EvalContext<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        let values: Vec<Bounds> = arguments.iter().map(|argument| argument.value).collect();
        let (value, marks) = <Bounds as Number>::figure(context, figure, &values)?;
        let mut result = Self::flat(value);
        for (argument, parameter) in arguments.iter().zip(figure.parameters) {
            let factor = match parameter.direction {
                Direction::Rises => UP,
                Direction::Falls => DOWN,
                // Directions that hold under a condition are left to the worst case of the figure itself.
                _ => Bounds::ENTIRE,
            };
            let part = Self::chain(result.value, factor, argument);
            let one = Bounds::point(1.0);
            result = Self::combine(result.value, one, &result, one, &part);
        }
        Ok((result, marks))
    }
}

impl Slope {
    /// Either of the two is the result, so either of the slopes may be.
    fn either(value: Bounds, one: &Self, other: &Self) -> Self {
        let count = one.slopes.len().max(other.slopes.len());
        let slopes = (0..count)
            .map(|index| one.slope(index).hull(other.slope(index)))
            .collect();
        Self { value, slopes }
    }
}
