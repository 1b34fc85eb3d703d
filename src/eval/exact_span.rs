//! Intervals with exact rational ends, for comparisons that floating ones cannot decide.

use super::number::{Fault, Marks, Number};
use super::{EvalContext, Leaf};
use crate::physics::{self, Direction};
use crate::types::{Calibration, Constant, Quantity};
use crate::units::Exact;

/// Ends with more bits than this are given up: no limit of the trade needs them.
const MOST_BITS: u64 = 2048;

/// An interval with exact ends.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ExactSpan {
    low: Exact,
    high: Exact,
    /// Given up: the ends would need too many bits.
    given_up: bool,
}

impl ExactSpan {
    /// The ends; `None` when they were given up.
    pub(super) fn ends(self) -> Option<(Exact, Exact)> {
        (!self.given_up).then_some((self.low, self.high))
    }

    /// A span whose ends are worked out, unless one of its parts was given up.
    ///
    /// Bits double with every product, so that a few dozen levels of formulas would fill any memory.
    fn of(parts: &[&Self], ends: impl FnOnce() -> (Exact, Exact)) -> Self {
        if !parts.iter().any(|part| part.given_up) {
            let (low, high) = ends();
            if low.bits() <= MOST_BITS && high.bits() <= MOST_BITS {
                return Self {
                    low,
                    high,
                    given_up: false,
                };
            }
        }
        Self {
            low: Exact::ZERO,
            high: Exact::ZERO,
            given_up: true,
        }
    }

    fn is_point(&self) -> bool {
        self.low == self.high
    }

    /// The ends, for an operation that may fail.
    fn known(&self) -> Result<(&Exact, &Exact), Fault> {
        if self.given_up {
            return Err(Fault::Unsupported);
        }
        Ok((&self.low, &self.high))
    }
}

impl Number for ExactSpan {
    fn constant(_: &EvalContext<'_>, constant: &Constant) -> Self {
        Self::of(&[], || (constant.exact.clone(), constant.exact.clone()))
    }

    fn whole(count: u32) -> Self {
        let exact = Exact::from_int(i64::from(count));
        Self::of(&[], || (exact.clone(), exact))
    }

    fn stated(context: &EvalContext<'_>, leaf: Leaf, quantity: &Quantity) -> Self {
        let (low, high) = match context.narrowed(leaf) {
            Some(stretch) => (&stretch.low, &stretch.high),
            None => (&quantity.low, &quantity.high),
        };
        Self::of(&[], || (low.clone(), high.clone()))
    }

    fn add(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            (self.low.add(&other.low), self.high.add(&other.high))
        })
    }

    fn subtract(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            (self.low.sub(&other.high), self.high.sub(&other.low))
        })
    }

    fn multiply(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            if self.is_point() && other.is_point() {
                let product = self.low.mul(&other.low);
                return (product.clone(), product);
            }
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
            (low, high)
        })
    }

    fn divide(&self, other: &Self) -> Result<Self, Fault> {
        let (low, high) = other.known()?;
        if low.signum() <= 0 && high.signum() >= 0 {
            return Err(Fault::divisor());
        }
        let from = Exact::ONE.div(high).ok_or_else(Fault::divisor)?;
        let to = if other.is_point() {
            from.clone()
        } else {
            Exact::ONE.div(low).ok_or_else(Fault::divisor)?
        };
        Ok(self.multiply(&Self::of(&[], || (from, to))))
    }

    fn negative(&self) -> Self {
        Self::of(&[self], || (self.high.neg(), self.low.neg()))
    }

    fn power(&self, power: i32) -> Result<Self, Fault> {
        if power < 0 {
            let one = Self::whole(1);
            return one.divide(&self.power(power.checked_neg().ok_or(Fault::Unsupported)?)?);
        }
        let (low, high) = self.known()?;
        // Weighed before it is worked out: the power itself may be what takes too long.
        let bits = low.bits().max(high.bits());
        if bits.saturating_mul(u64::from(power.unsigned_abs())) > 4 * MOST_BITS {
            return Err(Fault::Unsupported);
        }
        let ends = |value: &Exact| value.powi(power).ok_or(Fault::Unsupported);
        let (one, two) = (ends(low)?, ends(high)?);
        let straddles = low.signum() < 0 && high.signum() > 0;
        let least = if power % 2 == 0 && straddles {
            Exact::ZERO
        } else {
            Exact::min(&one, &two)
        };
        Ok(Self::of(&[self], || (least, Exact::max(&one, &two))))
    }

    fn root(&self) -> Result<Self, Fault> {
        let (low, high) = self.known()?;
        let low = low.root().ok_or(Fault::Unsupported)?;
        let high = high.root().ok_or(Fault::Unsupported)?;
        Ok(Self::of(&[], || (low, high)))
    }

    fn least(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            (
                Exact::min(&self.low, &other.low),
                Exact::min(&self.high, &other.high),
            )
        })
    }

    fn most(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            (
                Exact::max(&self.low, &other.low),
                Exact::max(&self.high, &other.high),
            )
        })
    }

    fn between(&self, other: &Self) -> Self {
        Self::of(&[self, other], || {
            (
                Exact::min(&self.low, &other.low),
                Exact::max(&self.high, &other.high),
            )
        })
    }

    fn round_up(&self) -> Result<Self, Fault> {
        Ok(Self::of(&[self], || (self.low.ceil(), self.high.ceil())))
    }

    fn calibrated(&self, by: &Calibration) -> Result<Self, Fault> {
        let (low, high) = self.known()?;
        let (low, high) = by.behind(low, high).ok_or_else(|| Fault::dial(by))?;
        Ok(Self::of(&[self], || (low, high)))
    }

    fn figure(
        _: &EvalContext<'_>,
        figure: &'static physics::Function,
        arguments: &[Self],
    ) -> Result<(Self, Marks), Fault> {
        let exact = physics::rational(figure).ok_or(Fault::Unsupported)?;
        let (mut lowest, mut highest) = (Vec::new(), Vec::new());
        let mut ends = Vec::new();
        for (argument, parameter) in arguments.iter().zip(figure.parameters) {
            let (low, high) = argument.known()?;
            ends.push((low.outward().0, high.outward().1));
            // The corner at which it is least, and that at which it is most.
            let (least, most) = match parameter.direction {
                Direction::Rises => (low, high),
                Direction::Falls => (high, low),
                _ if low == high => (low, high),
                _ => return Err(Fault::Unsupported),
            };
            lowest.push(least.clone());
            highest.push(most.clone());
        }
        // Why it has no value where it is not valid is said by the rounded numbers.
        if !physics::over::is_valid(figure, &ends) {
            return Err(Fault::Unsupported);
        }
        let low = exact(&lowest).ok_or(Fault::Unsupported)?;
        let high = exact(&highest).ok_or(Fault::Unsupported)?;
        let parts: Vec<&Self> = arguments.iter().collect();
        Ok((Self::of(&parts, || (low, high)), Marks::default()))
    }
}
