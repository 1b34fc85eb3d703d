//! Exact fractions of the test's own, so that nothing of the engine's arithmetic is trusted.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_integer::Integer as _;
use num_traits::{One as _, Signed as _, Zero as _};

/// A fraction in lowest terms, its denominator above zero.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fraction {
    pub(crate) num: BigInt,
    pub(crate) den: BigInt,
}

impl Fraction {
    pub(crate) fn new(num: impl Into<BigInt>, den: impl Into<BigInt>) -> Self {
        let (mut num, mut den) = (num.into(), den.into());
        assert!(!den.is_zero());
        if den.is_negative() {
            (num, den) = (-num, -den);
        }
        let common = num.gcd(&den);
        Self {
            num: num / &common,
            den: den / common,
        }
    }

    pub(crate) fn whole(number: i64) -> Self {
        Self::new(number, 1)
    }

    /// A finite floating number is a fraction.
    pub(crate) fn of_float(number: f64) -> Self {
        assert!(number.is_finite());
        let bits = number.abs().to_bits();
        let exponent = i64::try_from((bits >> 52) & 0x7ff).unwrap();
        let mantissa = bits & 0x000f_ffff_ffff_ffff;
        let (mantissa, power) = if exponent == 0 {
            (mantissa, -1074)
        } else {
            (mantissa | 1 << 52, exponent - 1075)
        };
        let scale = BigInt::one() << usize::try_from(power.abs()).unwrap();
        let sign = if number < 0.0 { -1 } else { 1 };
        let mantissa = BigInt::from(mantissa) * sign;
        if power < 0 {
            Self::new(mantissa, scale)
        } else {
            Self::new(mantissa * scale, 1)
        }
    }

    pub(crate) fn add(&self, other: &Self) -> Self {
        Self::new(
            &self.num * &other.den + &other.num * &self.den,
            &self.den * &other.den,
        )
    }

    pub(crate) fn sub(&self, other: &Self) -> Self {
        Self::new(
            &self.num * &other.den - &other.num * &self.den,
            &self.den * &other.den,
        )
    }

    pub(crate) fn mul(&self, other: &Self) -> Self {
        Self::new(&self.num * &other.num, &self.den * &other.den)
    }

    pub(crate) fn div(&self, other: &Self) -> Option<Self> {
        if other.num.is_zero() {
            return None;
        }
        Some(Self::new(&self.num * &other.den, &self.den * &other.num))
    }

    pub(crate) fn ceil(&self) -> Self {
        Self::new(self.num.div_ceil(&self.den), 1)
    }

    /// The square root, from below, to two hundred bits; exact where it is a fraction.
    pub(crate) fn root(&self) -> Option<Self> {
        if self.num.is_negative() {
            return None;
        }
        let (num, den) = (self.num.sqrt(), self.den.sqrt());
        if &num * &num == self.num && &den * &den == self.den {
            return Some(Self::new(num, den));
        }
        let scale = BigInt::one() << 200_usize;
        let scaled = (&self.num * &scale * &scale / &self.den).sqrt();
        Some(Self::new(scaled, scale))
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        (&self.num * &other.den).cmp(&(&other.num * &self.den))
    }
}

/// A decimal with so many places, as text and as a fraction.
pub(crate) fn decimal(number: i64, places: u32) -> (String, Fraction) {
    let scale = 10_i64.pow(places);
    let sign = if number < 0 { "-" } else { "" };
    let (whole, rest) = (number.abs() / scale, number.abs() % scale);
    let text = if places == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{rest:0width$}", width = places as usize)
    };
    (text, Fraction::new(number, scale))
}
