//! From an exact number to floating point and back: correctly rounded, or outward on both sides.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{Signed, ToPrimitive, Zero};

use super::exact::{Exact, Form};

/// Whole numbers up to this are exact as `f64`.
const EXACT_INT: u64 = 1 << 53;
/// The power of two of the smallest positive `f64`.
const LEAST_POWER: i64 = -1074;

/// A magnitude cut off after 53 bits.
struct Cut {
    /// The bits kept.
    kept: u64,
    /// Power of two of the last bit kept.
    power: i64,
    /// Whether something was cut off, and how it compares with half a unit of the last bit.
    rest: Rest,
}

/// What was cut off.
#[derive(PartialEq, PartialOrd)]
enum Rest {
    Nothing,
    BelowHalf,
    Half,
    AboveHalf,
}

/// `kept · 2^power`, which is exact unless it overflows to infinity.
fn assemble(kept: u64, power: i64) -> f64 {
    let (kept, power) = if kept == EXACT_INT {
        (kept >> 1, power + 1)
    } else {
        (kept, power)
    };
    if kept < EXACT_INT >> 1 {
        // Only a number below the normal range is cut this short; its bits are the number.
        return f64::from_bits(kept);
    }
    let biased = power + 1075;
    if biased >= 2047 {
        return f64::INFINITY;
    }
    f64::from_bits(((biased as u64) << 52) | (kept - (EXACT_INT >> 1)))
}

/// Cuts the magnitude of `num / den` (both positive) to the bits an `f64` holds.
fn cut(num: &BigInt, den: &BigInt) -> Cut {
    let size = num.bits().cast_signed() - den.bits().cast_signed();
    // So many bits after the binary point that the quotient has 54 or 55 bits, or fewer near zero.
    let shift = (54 - size).min(1 - LEAST_POWER);
    let (quotient, remainder) = if shift >= 0 {
        (num << shift).div_rem(den)
    } else {
        num.div_rem(&(den << -shift))
    };
    let quotient = quotient.to_u64().unwrap_or(u64::MAX);
    let bits = i64::from(u64::BITS - quotient.leading_zeros());
    let drop = (bits - 53).max(shift + LEAST_POWER).max(0);
    let low = quotient & ((1 << drop) - 1);
    let half = if drop > 0 { 1 << (drop - 1) } else { 0 };
    let rest = match (low.cmp(&half), remainder.is_zero()) {
        _ if low == 0 && remainder.is_zero() => Rest::Nothing,
        (std::cmp::Ordering::Less, _) => Rest::BelowHalf,
        (std::cmp::Ordering::Equal, true) => Rest::Half,
        _ => Rest::AboveHalf,
    };
    Cut {
        kept: quotient >> drop,
        power: drop - shift,
        rest,
    }
}

impl Exact {
    /// The number an `f64` stands for exactly; none for an infinity or a NaN.
    #[must_use]
    pub fn from_f64(value: f64) -> Option<Exact> {
        if !value.is_finite() {
            return None;
        }
        let bits = value.abs().to_bits();
        let biased = (bits >> 52).cast_signed();
        let fraction = bits & ((1 << 52) - 1);
        let (kept, power) = if biased == 0 {
            (fraction, LEAST_POWER)
        } else {
            (fraction | (1 << 52), biased - 1075)
        };
        if kept == 0 {
            return Some(Exact::ZERO);
        }
        let spare = i64::from(kept.trailing_zeros());
        let (kept, power) = ((kept >> spare).cast_signed(), power + spare);
        let kept = if value < 0.0 { -kept } else { kept };
        Some(match power {
            0..=9 => Exact::from_int(kept << power),
            -62..=-1 => Exact::ratio(kept, 1 << -power),
            10.. => Exact::from_big(BigInt::from(kept) << power, BigInt::from(1)),
            _ => Exact::from_big(BigInt::from(kept), BigInt::from(1) << -power),
        })
    }

    /// The nearest `f64`, ties to even; infinite beyond the range.
    #[must_use]
    pub fn nearest(&self) -> f64 {
        if let Some((num, den)) = self.both_exact() {
            return num / den;
        }
        let (num, den) = self.parts();
        let cut = cut(&num.abs(), &den);
        let up = match cut.rest {
            Rest::Half => cut.kept & 1,
            Rest::AboveHalf => 1,
            Rest::Nothing | Rest::BelowHalf => 0,
        };
        let size = assemble(cut.kept + up, cut.power);
        if num.is_negative() { -size } else { size }
    }

    /// The largest `f64` not above it and the smallest not below it: the same number twice if it is
    /// one. Beyond the range the far side is infinite: `(f64::MAX, f64::INFINITY)`.
    #[must_use]
    pub fn outward(&self) -> (f64, f64) {
        if let Some((num, den)) = self.both_exact() {
            let quotient = num / den;
            // In lowest terms the quotient is a binary fraction only over a power of two; otherwise
            // the rest of the division, exact in one fused step, says on which side it fell.
            if let Form::Small(_, den) = self.form()
                && den.count_ones() == 1
            {
                return (quotient, quotient);
            }
            return if quotient.mul_add(-den, num) > 0.0 {
                (quotient, quotient.next_up())
            } else {
                (quotient.next_down(), quotient)
            };
        }
        let (num, den) = self.parts();
        let cut = cut(&num.abs(), &den);
        let below = match assemble(cut.kept, cut.power) {
            f64::INFINITY => f64::MAX,
            size => size,
        };
        let above = if cut.rest == Rest::Nothing {
            assemble(cut.kept, cut.power)
        } else {
            assemble(cut.kept + 1, cut.power)
        };
        if num.is_negative() {
            (-above, -below)
        } else {
            (below, above)
        }
    }

    /// Numerator and denominator as floating point, if both are exact there.
    fn both_exact(&self) -> Option<(f64, f64)> {
        match self.form() {
            Form::Small(num, den)
                if num.unsigned_abs() <= EXACT_INT && den.unsigned_abs() <= EXACT_INT =>
            {
                Some((*num as f64, *den as f64))
            }
            _ => None,
        }
    }
}
