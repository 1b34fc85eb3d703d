//! An interval of numbers, and arithmetic on it that never loses a possible result.

use std::ops;

use super::directed::{
    add_down, add_up, div_down, div_up, four_down, four_up, mul_down, mul_up, power, root,
};

/// All numbers from `lo` to `hi`.
///
/// Never empty, never a NaN: an operation whose result would be one gives [`Bounds::ENTIRE`].
/// Ends may be infinite, meaning without a limit on that side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// The lower end.
    pub lo: f64,
    /// The upper end.
    pub hi: f64,
}

impl Bounds {
    /// Every number.
    pub const ENTIRE: Bounds = Bounds {
        lo: f64::NEG_INFINITY,
        hi: f64::INFINITY,
    };

    /// From one end to the other, in either order. A NaN gives [`Bounds::ENTIRE`]; an end at the
    /// wrong infinity is pulled back to the largest number.
    #[must_use]
    pub fn new(lo: f64, hi: f64) -> Bounds {
        if lo.is_nan() || hi.is_nan() {
            return Bounds::ENTIRE;
        }
        let (lo, hi) = if lo > hi { (hi, lo) } else { (lo, hi) };
        // Adding zero turns a negative zero into a plain one.
        Bounds {
            lo: lo.min(f64::MAX) + 0.0,
            hi: hi.max(f64::MIN) + 0.0,
        }
    }

    /// One number.
    #[must_use]
    pub fn point(value: f64) -> Bounds {
        Bounds::new(value, value)
    }

    /// The sum.
    #[must_use]
    #[allow(clippy::should_implement_trait)] // The operator is implemented below as well.
    pub fn add(self, other: Bounds) -> Bounds {
        Bounds::new(add_down(self.lo, other.lo), add_up(self.hi, other.hi))
    }

    /// The difference.
    #[must_use]
    #[allow(clippy::should_implement_trait)]
    pub fn sub(self, other: Bounds) -> Bounds {
        self.add(other.neg())
    }

    /// The product.
    #[must_use]
    #[allow(clippy::should_implement_trait)]
    pub fn mul(self, other: Bounds) -> Bounds {
        let Bounds { lo: a, hi: b } = self;
        let Bounds { lo: c, hi: d } = other;
        if a >= 0.0 && c >= 0.0 {
            return Bounds::new(mul_down(a, c), mul_up(b, d));
        }
        let least = |rounded: fn(f64, f64) -> f64| {
            [rounded(a, c), rounded(a, d), rounded(b, c), rounded(b, d)]
        };
        let lo = least(mul_down).into_iter().fold(f64::INFINITY, f64::min);
        let hi = least(mul_up).into_iter().fold(f64::NEG_INFINITY, f64::max);
        Bounds::new(lo, hi)
    }

    /// The numbers with their signs turned.
    #[must_use]
    #[allow(clippy::should_implement_trait)]
    pub fn neg(self) -> Bounds {
        Bounds::new(-self.hi, -self.lo)
    }

    /// The quotient; none if the divisor holds zero.
    #[must_use]
    #[allow(clippy::should_implement_trait)] // It may fail, so there is no operator for it.
    pub fn div(self, other: Bounds) -> Option<Bounds> {
        if other.contains(0.0) {
            return None;
        }
        let Bounds { lo: a, hi: b } = self;
        let Bounds { lo: c, hi: d } = other;
        if a >= 0.0 && c > 0.0 {
            return Some(Bounds::new(div_down(a, d), div_up(b, c)));
        }
        let least = |rounded: fn(f64, f64) -> f64| {
            [rounded(a, c), rounded(a, d), rounded(b, c), rounded(b, d)]
        };
        let lo = least(div_down).into_iter().fold(f64::INFINITY, f64::min);
        let hi = least(div_up).into_iter().fold(f64::NEG_INFINITY, f64::max);
        Some(Bounds::new(lo, hi))
    }

    /// A whole power; none for a negative one if zero is inside.
    #[must_use]
    pub fn powi(self, exponent: i32) -> Option<Bounds> {
        let size = exponent.unsigned_abs();
        let raise = |sizes: Bounds| {
            Bounds::new(
                power(sizes.lo, size, mul_down),
                power(sizes.hi, size, mul_up),
            )
        };
        let raised = if size == 0 {
            Bounds::point(1.0)
        } else if size.is_multiple_of(2) || self.lo >= 0.0 {
            raise(self.abs())
        } else if self.hi <= 0.0 {
            raise(self.neg()).neg()
        } else {
            // An odd power through zero: each side on its own.
            let below = power(-self.lo, size, mul_up);
            Bounds::new(-below, power(self.hi, size, mul_up))
        };
        if exponent < 0 {
            if self.contains(0.0) {
                return None;
            }
            return Bounds::point(1.0).div(raised).or(Some(Bounds::ENTIRE));
        }
        Some(raised)
    }

    /// The square root; none if a negative number is inside.
    #[must_use]
    pub fn sqrt(self) -> Option<Bounds> {
        if self.lo < 0.0 {
            return None;
        }
        Some(Bounds::new(root(self.lo).0, root(self.hi).1))
    }

    /// The smaller of two numbers, one from each.
    #[must_use]
    pub fn min(self, other: Bounds) -> Bounds {
        Bounds::new(self.lo.min(other.lo), self.hi.min(other.hi))
    }

    /// The larger of two numbers, one from each.
    #[must_use]
    pub fn max(self, other: Bounds) -> Bounds {
        Bounds::new(self.lo.max(other.lo), self.hi.max(other.hi))
    }

    /// The sizes without their signs.
    #[must_use]
    pub fn abs(self) -> Bounds {
        if self.lo >= 0.0 {
            self
        } else if self.hi <= 0.0 {
            self.neg()
        } else {
            Bounds::new(0.0, self.hi.max(-self.lo))
        }
    }

    /// Rounded up to whole numbers.
    #[must_use]
    pub fn ceil(self) -> Bounds {
        Bounds::new(self.lo.ceil(), self.hi.ceil())
    }

    /// Rounded down to whole numbers.
    #[must_use]
    pub fn floor(self) -> Bounds {
        Bounds::new(self.lo.floor(), self.hi.floor())
    }

    /// e to the power; the library's value widened by four units in the last place.
    #[must_use]
    pub fn exp(self) -> Bounds {
        let low = four_down(libm::exp(self.lo)).max(0.0);
        let high = if self.hi == f64::NEG_INFINITY {
            0.0
        } else {
            four_up(libm::exp(self.hi))
        };
        Bounds::new(low, high)
    }

    /// The natural logarithm; the library's value widened by four units in the last place.
    /// If a negative number is inside, or nothing above zero, anything may come out.
    #[must_use]
    pub fn ln(self) -> Bounds {
        if self.lo < 0.0 || self.hi <= 0.0 {
            return Bounds::ENTIRE;
        }
        Bounds::new(four_down(libm::log(self.lo)), four_up(libm::log(self.hi)))
    }

    /// The smallest interval that holds both.
    #[must_use]
    pub fn hull(self, other: Bounds) -> Bounds {
        Bounds::new(self.lo.min(other.lo), self.hi.max(other.hi))
    }

    /// What both hold; none if they have nothing in common.
    #[must_use]
    pub fn intersect(self, other: Bounds) -> Option<Bounds> {
        let (lo, hi) = (self.lo.max(other.lo), self.hi.min(other.hi));
        (lo <= hi).then_some(Bounds { lo, hi })
    }

    /// Whether the number is inside; the ends are.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        self.lo <= value && value <= self.hi
    }

    /// How far the ends are apart, rounded up.
    #[must_use]
    pub fn width(self) -> f64 {
        if self.is_point() {
            return 0.0;
        }
        add_up(self.hi, -self.lo)
    }

    /// A finite number inside, in the middle where both ends are finite.
    #[must_use]
    pub fn mid(self) -> f64 {
        if self == Bounds::ENTIRE {
            return 0.0;
        }
        let (lo, hi) = (self.lo.max(f64::MIN), self.hi.min(f64::MAX));
        // Halves first, so that the sum does not overflow.
        (lo * 0.5 + hi * 0.5).clamp(lo, hi)
    }

    /// Whether it is one number.
    #[must_use]
    pub fn is_point(self) -> bool {
        self.lo == self.hi
    }

    /// Widened by so much on both sides; the sign does not matter.
    #[must_use]
    pub fn widen(self, by: f64) -> Bounds {
        let by = by.abs();
        Bounds::new(add_down(self.lo, -by), add_up(self.hi, by))
    }

    /// Every number inside, give or take this share of itself; the sign does not matter.
    #[must_use]
    pub fn widen_relative(self, share: f64) -> Bounds {
        if share.is_nan() {
            return Bounds::ENTIRE;
        }
        // A factor, not a step at each end: beyond 100 % a number may change its sign.
        let share = share.abs();
        self.mul(Bounds::new(add_down(1.0, -share), add_up(1.0, share)))
    }

    /// Cut in two at a number, which both keep; one outside, or a NaN, cuts at the nearest end.
    #[must_use]
    pub fn split(self, at: f64) -> (Bounds, Bounds) {
        let at = at.max(self.lo).min(self.hi);
        (Bounds::new(self.lo, at), Bounds::new(at, self.hi))
    }
}

impl ops::Add for Bounds {
    type Output = Bounds;
    fn add(self, other: Bounds) -> Bounds {
        Bounds::add(self, other)
    }
}

impl ops::Sub for Bounds {
    type Output = Bounds;
    fn sub(self, other: Bounds) -> Bounds {
        Bounds::sub(self, other)
    }
}

impl ops::Mul for Bounds {
    type Output = Bounds;
    fn mul(self, other: Bounds) -> Bounds {
        Bounds::mul(self, other)
    }
}

impl ops::Neg for Bounds {
    type Output = Bounds;
    fn neg(self) -> Bounds {
        Bounds::neg(self)
    }
}
