//! Exact rational numbers, without allocation as long as they are small.
//!
//! A plan is checked with thousands of small fractions, so the usual form is two machine words with
//! the work done in 128 bits; only a result that does not fit moves to big integers.
//! The form is canonical (lowest terms, positive denominator, small whenever it fits), so equality
//! and hashing can be derived.

use std::cmp::Ordering;
use std::fmt;
use std::ops;

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// Powers beyond this are refused: nothing in the trade needs them, and the digits explode.
const LARGEST_POWER: u32 = 64;

/// An exact rational number.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Exact(Form);

/// Numerator and denominator: lowest terms, denominator positive, `Small` whenever both fit.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) enum Form {
    /// Both fit a machine word.
    Small(i64, i64),
    /// At least one does not.
    Large(Box<(BigInt, BigInt)>),
}

/// Greatest common divisor; `gcd(0, b)` is `b`.
const fn gcd(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl Exact {
    /// Zero.
    pub const ZERO: Exact = Exact(Form::Small(0, 1));
    /// One.
    pub const ONE: Exact = Exact(Form::Small(1, 1));

    /// A whole number.
    #[must_use]
    pub const fn from_int(number: i64) -> Exact {
        Exact(Form::Small(number, 1))
    }

    /// The fraction `num / den` in lowest terms. A zero denominator gives zero: where a denominator
    /// can come from a user, use [`Exact::div`], which refuses it.
    #[must_use]
    pub fn ratio(num: i64, den: i64) -> Exact {
        if num == 0 || den == 0 {
            return Exact::ZERO;
        }
        let divisor = i128::from(gcd(num.unsigned_abs(), den.unsigned_abs()));
        let sign = if den < 0 { -1 } else { 1 };
        Exact::reduced(
            sign * i128::from(num) / divisor,
            sign * i128::from(den) / divisor,
        )
    }

    /// A fraction known when the program is built; both positive. Zero where that is not so.
    pub(super) const fn fixed(num: i64, den: i64) -> Exact {
        if num <= 0 || den <= 0 {
            return Exact::ZERO;
        }
        let divisor = gcd(num.unsigned_abs(), den.unsigned_abs()).cast_signed();
        Exact(Form::Small(num / divisor, den / divisor))
    }

    /// A fraction already in lowest terms with a positive denominator.
    fn reduced(num: i128, den: i128) -> Exact {
        match (i64::try_from(num), i64::try_from(den)) {
            (Ok(num), Ok(den)) => Exact(Form::Small(num, den)),
            _ => Exact(Form::Large(Box::new((
                BigInt::from(num),
                BigInt::from(den),
            )))),
        }
    }

    /// A fraction of big integers, in any terms. A zero denominator gives zero.
    pub(super) fn from_big(num: BigInt, den: BigInt) -> Exact {
        if num.is_zero() || den.is_zero() {
            return Exact::ZERO;
        }
        let divisor = num.gcd(&den);
        let (mut num, mut den) = (num / &divisor, den / divisor);
        if den.is_negative() {
            (num, den) = (-num, -den);
        }
        match (num.to_i64(), den.to_i64()) {
            (Some(num), Some(den)) => Exact(Form::Small(num, den)),
            _ => Exact(Form::Large(Box::new((num, den)))),
        }
    }

    /// The form inside, for the modules that round and write it.
    pub(super) fn form(&self) -> &Form {
        &self.0
    }

    /// Numerator and denominator in lowest terms; the denominator is positive.
    #[must_use]
    pub fn parts(&self) -> (BigInt, BigInt) {
        match &self.0 {
            Form::Small(num, den) => (BigInt::from(*num), BigInt::from(*den)),
            Form::Large(parts) => parts.as_ref().clone(),
        }
    }

    /// The sum.
    #[must_use]
    pub fn add(&self, other: &Exact) -> Exact {
        let (Form::Small(a, b), Form::Small(c, d)) = (&self.0, &other.0) else {
            let ((a, b), (c, d)) = (self.parts(), other.parts());
            return Exact::from_big(a * &d + c * &b, b * d);
        };
        if (*b, *d) == (1, 1)
            && let Some(sum) = a.checked_add(*c)
        {
            return Exact::from_int(sum);
        }
        // Knuth, The Art of Computer Programming, volume 2, 4.5.1: all divisors stay in one word.
        let shared = gcd(b.unsigned_abs(), d.unsigned_abs());
        let wide = i128::from(shared);
        let (b, d) = (i128::from(*b), i128::from(*d));
        let top = i128::from(*a) * (d / wide) + i128::from(*c) * (b / wide);
        if top == 0 {
            return Exact::ZERO;
        }
        let rest = (top.unsigned_abs() % u128::from(shared)) as u64;
        let divisor = i128::from(gcd(rest, shared));
        Exact::reduced(top / divisor, (b / wide) * (d / divisor))
    }

    /// The difference.
    #[must_use]
    pub fn sub(&self, other: &Exact) -> Exact {
        self.add(&other.neg())
    }

    /// The product.
    #[must_use]
    pub fn mul(&self, other: &Exact) -> Exact {
        let (Form::Small(a, b), Form::Small(c, d)) = (&self.0, &other.0) else {
            let ((a, b), (c, d)) = (self.parts(), other.parts());
            return Exact::from_big(a * c, b * d);
        };
        if *a == 0 || *c == 0 {
            return Exact::ZERO;
        }
        let first = i128::from(gcd(a.unsigned_abs(), d.unsigned_abs()));
        let second = i128::from(gcd(c.unsigned_abs(), b.unsigned_abs()));
        Exact::reduced(
            (i128::from(*a) / first) * (i128::from(*c) / second),
            (i128::from(*b) / second) * (i128::from(*d) / first),
        )
    }

    /// The quotient; none if `other` is zero.
    #[must_use]
    pub fn div(&self, other: &Exact) -> Option<Exact> {
        let reciprocal = match &other.0 {
            Form::Small(0, _) => return None,
            Form::Small(num, den) => {
                let sign = i128::from(num.signum());
                Exact::reduced(sign * i128::from(*den), sign * i128::from(*num))
            }
            Form::Large(parts) => Exact::from_big(parts.1.clone(), parts.0.clone()),
        };
        Some(self.mul(&reciprocal))
    }

    /// The whole power; none for zero to a negative power, or beyond 64 either way.
    #[must_use]
    pub fn powi(&self, power: i32) -> Option<Exact> {
        let mut left = power.unsigned_abs();
        if left > LARGEST_POWER {
            return None;
        }
        let mut square = if power < 0 {
            Exact::ONE.div(self)?
        } else {
            self.clone()
        };
        let mut result = Exact::ONE;
        while left > 0 {
            if left & 1 == 1 {
                result = result.mul(&square);
            }
            left >>= 1;
            if left > 0 {
                square = square.mul(&square);
            }
        }
        Some(result)
    }

    /// The square root, where that is a fraction again.
    #[must_use]
    pub fn root(&self) -> Option<Exact> {
        if self.signum() < 0 {
            return None;
        }
        let (num, den) = self.parts();
        let (top, bottom) = (num.sqrt(), den.sqrt());
        (&top * &top == num && &bottom * &bottom == den).then(|| Exact::from_big(top, bottom))
    }

    /// The number with its sign turned.
    #[must_use]
    pub fn neg(&self) -> Exact {
        match &self.0 {
            Form::Small(num, den) => Exact::reduced(-i128::from(*num), i128::from(*den)),
            Form::Large(parts) => Exact::from_big(-parts.0.clone(), parts.1.clone()),
        }
    }

    /// The number without its sign.
    #[must_use]
    pub fn abs(&self) -> Exact {
        if self.signum() < 0 {
            self.neg()
        } else {
            self.clone()
        }
    }

    /// -1, 0 or 1.
    #[must_use]
    pub fn signum(&self) -> i32 {
        match &self.0 {
            Form::Small(num, _) => match num.cmp(&0) {
                Ordering::Less => -1,
                Ordering::Equal => 0,
                Ordering::Greater => 1,
            },
            Form::Large(parts) if parts.0.is_negative() => -1,
            Form::Large(_) => 1,
        }
    }

    /// Whether it is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Form::Small(0, _))
    }

    /// Whether it is a whole number.
    #[must_use]
    pub fn is_integer(&self) -> bool {
        match &self.0 {
            Form::Small(_, den) => *den == 1,
            Form::Large(parts) => parts.1.is_one(),
        }
    }

    /// The whole number, if it is one and fits.
    #[must_use]
    pub fn to_i64(&self) -> Option<i64> {
        match self.0 {
            Form::Small(num, 1) => Some(num),
            _ => None,
        }
    }

    /// The largest whole number not above it.
    #[must_use]
    pub fn floor(&self) -> Exact {
        match &self.0 {
            Form::Small(num, den) => Exact::from_int(num.div_euclid(*den)),
            Form::Large(parts) => Exact::from_big(parts.0.div_floor(&parts.1), BigInt::one()),
        }
    }

    /// The smallest whole number not below it.
    #[must_use]
    pub fn ceil(&self) -> Exact {
        self.neg().floor().neg()
    }

    /// The smaller of the two. (On an owned number `Ord::min` comes first and takes the other owned.)
    #[must_use]
    pub fn min(&self, other: &Exact) -> Exact {
        if self <= other { self } else { other }.clone()
    }

    /// The larger of the two. (On an owned number `Ord::max` comes first and takes the other owned.)
    #[must_use]
    pub fn max(&self, other: &Exact) -> Exact {
        if self >= other { self } else { other }.clone()
    }

    /// How many bits the longer of numerator and denominator takes.
    ///
    /// Nothing here refuses a long number; a caller that multiplies in a chain looks at this and stops.
    #[must_use]
    pub fn bits(&self) -> u64 {
        match &self.0 {
            Form::Small(num, den) => {
                let longer = num.unsigned_abs() | den.unsigned_abs();
                u64::from(u64::BITS - longer.leading_zeros())
            }
            Form::Large(parts) => parts.0.bits().max(parts.1.bits()),
        }
    }
}

impl Default for Exact {
    fn default() -> Exact {
        Exact::ZERO
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Exact) -> Ordering {
        if let (Form::Small(a, b), Form::Small(c, d)) = (&self.0, &other.0) {
            return (i128::from(*a) * i128::from(*d)).cmp(&(i128::from(*c) * i128::from(*b)));
        }
        self.signum().cmp(&other.signum()).then_with(|| {
            let ((a, b), (c, d)) = (self.parts(), other.parts());
            (a * d).cmp(&(c * b))
        })
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Exact) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Exact {
    /// A short decimal where there is one, else the fraction.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.decimal() {
            Some(text) => out.write_str(&text),
            None => {
                let (num, den) = self.parts();
                write!(out, "{num}/{den}")
            }
        }
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Exact({self})")
    }
}

impl From<i64> for Exact {
    fn from(number: i64) -> Exact {
        Exact::from_int(number)
    }
}

impl<'a> ops::Add<&'a Exact> for &Exact {
    type Output = Exact;
    fn add(self, other: &'a Exact) -> Exact {
        Exact::add(self, other)
    }
}

impl<'a> ops::Sub<&'a Exact> for &Exact {
    type Output = Exact;
    fn sub(self, other: &'a Exact) -> Exact {
        Exact::sub(self, other)
    }
}

impl<'a> ops::Mul<&'a Exact> for &Exact {
    type Output = Exact;
    fn mul(self, other: &'a Exact) -> Exact {
        Exact::mul(self, other)
    }
}

impl ops::Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        Exact::neg(self)
    }
}
