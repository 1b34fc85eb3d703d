//! Intervals with exact rational ends, for comparisons that floating ones cannot decide.

use super::number::{Fault, Marks, Number};
use super::{Leaf, Scene};
use crate::physics;
use crate::types::{Constant, Quantity};
use crate::units::Exact;

/// Ends with more bits than this are given up: no limit of the trade needs them.
const MOST_BITS: u64 = 4096;

/// An interval with exact ends.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ExactSpan {
    pub(super) low: Exact,
    pub(super) high: Exact,
}

impl ExactSpan {
    fn sized(self) -> Result<Self, Fault> {
        if self.low.bits() > MOST_BITS || self.high.bits() > MOST_BITS {
            return Err(Fault::Unsupported);
        }
        Ok(self)
    }
}

impl Number for ExactSpan {
    fn constant(_: &Scene<'_>, constant: &Constant) -> Self {
        Self {
            low: constant.exact.clone(),
            high: constant.exact.clone(),
        }
    }

    fn whole(count: u32) -> Self {
        let exact = Exact::from_int(i64::from(count));
        Self {
            low: exact.clone(),
            high: exact,
        }
    }

    fn stated(scene: &Scene<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        let (low, high) = match scene.narrowed(leaf) {
            Some(stretch) => (&stretch.low, &stretch.high),
            None => (&quantity.low, &quantity.high),
        };
        Self {
            low: low.clone(),
            high: high.clone(),
        }
    }

    fn add(&self, other: &Self) -> Self {
        Self {
            low: self.low.add(&other.low),
            high: self.high.add(&other.high),
        }
    }

    fn subtract(&self, other: &Self) -> Self {
        Self {
            low: self.low.sub(&other.high),
            high: self.high.sub(&other.low),
        }
    }

    fn multiply(&self, other: &Self) -> Self {
        let products = [
            self.low.mul(&other.low),
            self.low.mul(&other.high),
            self.high.mul(&other.low),
            self.high.mul(&other.high),
        ];
        let mut low = products[0].clone();
        let mut high = products[0].clone();
        for product in &products[1..] {
            low = Exact::min(&low, product);
            high = Exact::max(&high, product);
        }
        Self { low, high }
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        if other.low.signum() <= 0 && other.high.signum() >= 0 {
            return Err(Fault::divisor());
        }
        let inverse = Self {
            low: Exact::ONE.div(&other.high).ok_or_else(Fault::divisor)?,
            high: Exact::ONE.div(&other.low).ok_or_else(Fault::divisor)?,
        };
        self.multiply(&inverse).sized()
    }

    fn negative(&self) -> Self {
        Self {
            low: self.high.neg(),
            high: self.low.neg(),
        }
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        if power < 0 {
            let one = Self::whole(1);
            return one.divide(&self.power(power.checked_neg().ok_or(Fault::Unsupported)?)?);
        }
        let ends = |value: &Exact| value.powi(power).ok_or(Fault::Unsupported);
        let (one, two) = (ends(&self.low)?, ends(&self.high)?);
        let straddles = self.low.signum() < 0 && self.high.signum() > 0;
        let even = power % 2 == 0;
        let low = if even && straddles {
            Exact::ZERO
        } else {
            Exact::min(&one, &two)
        };
        Self {
            low,
            high: Exact::max(&one, &two),
        }
        .sized()
    }

    /// Exact where both ends are squares of fractions, as lengths and counts often are.
    fn root(&self) -> Result<Self, Fault> {
        Ok(Self {
            low: self.low.root().ok_or(Fault::Unsupported)?,
            high: self.high.root().ok_or(Fault::Unsupported)?,
        })
    }

    fn least(&self, other: &Self) -> Self {
        Self {
            low: Exact::min(&self.low, &other.low),
            high: Exact::min(&self.high, &other.high),
        }
    }

    fn most(&self, other: &Self) -> Self {
        Self {
            low: Exact::max(&self.low, &other.low),
            high: Exact::max(&self.high, &other.high),
        }
    }

    fn round_up(&self) -> Result<Self, Fault> {
        Ok(Self {
            low: self.low.ceil(),
            high: self.high.ceil(),
        })
    }

    fn figure(
        _: &Scene<'_>,
        _: &'static physics::Function,
        _: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        Err(Fault::Unsupported)
    }
}
