//! Decimal text of an exact number: whole where it ends, or rounded to a stated side.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{Signed, Zero};

use super::exact::{Exact, Form};

/// Longest decimal that counts as a way to write a number whole.
const LONGEST_DECIMAL: u32 = 12;
/// More places or digits than this say nothing about an `f64`, and cost time.
const MOST_PLACES: u32 = 400;
/// Most significant digits written.
const MOST_DIGITS: u32 = 40;

/// To which side a decimal is rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// Towards minus infinity.
    Down,
    /// Towards plus infinity.
    Up,
    /// To the nearest; a half away from zero.
    Near,
}

fn ten_to(power: u64) -> BigInt {
    // Every caller has bounded its power by then.
    BigInt::from(10).pow(u32::try_from(power).unwrap_or(u32::MAX))
}

/// `digits` with the last `places` of them behind the point.
fn set_point(digits: &BigInt, places: usize) -> String {
    let sign = if digits.is_negative() { "-" } else { "" };
    let text = digits.abs().to_string();
    if places == 0 {
        return format!("{sign}{text}");
    }
    let padded = format!("{text:0>width$}", width = places + 1);
    let (whole, fraction) = padded.split_at(padded.len() - places);
    format!("{sign}{whole}.{fraction}")
}

/// [`Exact::decimal`] of a fraction of two machine words, without big numbers.
fn small_decimal(num: i64, den: i64) -> Option<String> {
    let (whole, rest) = (num / den, num % den);
    // Below 2^63 times 10^12, far inside 128 bits.
    let scaled = i128::from(rest.unsigned_abs()) * 10_i128.pow(LONGEST_DECIMAL);
    let (places, left) = (scaled / i128::from(den), scaled % i128::from(den));
    if left != 0 {
        return None;
    }
    let sign = if num < 0 { "-" } else { "" };
    let whole = whole.unsigned_abs();
    if places == 0 {
        return Some(format!("{sign}{whole}"));
    }
    let width = LONGEST_DECIMAL as usize;
    let mut text = format!("{sign}{whole}.{places:0width$}");
    text.truncate(text.trim_end_matches('0').len());
    Some(text)
}

/// The text without zeros that say nothing: `46.40` is `46.4`, `5.00` is `5`, `1.20e-9` is `1.2e-9`.
pub(super) fn trim(text: &str) -> String {
    let (digits, power) = match text.split_once('e') {
        Some((digits, power)) => (digits, Some(power)),
        None => (text, None),
    };
    let digits = if digits.contains('.') {
        digits.trim_end_matches('0').trim_end_matches('.')
    } else {
        digits
    };
    match power {
        Some(power) => format!("{digits}e{power}"),
        None => digits.to_owned(),
    }
}

impl Exact {
    /// The decimal that is exactly this number, if it has at most 12 places.
    #[must_use]
    pub fn decimal(&self) -> Option<String> {
        if let Form::Small(num, den) = self.form() {
            return small_decimal(*num, *den);
        }
        let (num, den) = self.parts();
        let (scaled, rest) = (num * ten_to(LONGEST_DECIMAL.into())).div_rem(&den);
        rest.is_zero()
            .then(|| trim(&set_point(&scaled, LONGEST_DECIMAL as usize)))
    }

    /// With so many places, rounded towards minus infinity; zeros at the end are kept.
    #[must_use]
    pub fn decimal_down(&self, places: u32) -> String {
        self.decimal_to(places, Side::Down)
    }

    /// With so many places, rounded towards plus infinity; zeros at the end are kept.
    #[must_use]
    pub fn decimal_up(&self, places: u32) -> String {
        self.decimal_to(places, Side::Up)
    }

    /// With at most so many places, the nearest; zeros at the end are cut.
    #[must_use]
    pub fn decimal_near(&self, places: u32) -> String {
        trim(&self.decimal_to(places, Side::Near))
    }

    fn decimal_to(&self, places: u32, side: Side) -> String {
        let places = places.min(MOST_PLACES);
        set_point(&self.scaled(i64::from(places), side), places as usize)
    }

    /// With so many significant digits (1 to 40), rounded towards minus infinity. Plain from 1e-6
    /// up to 1e9, else like `1.2e-9`.
    #[must_use]
    pub fn significant_down(&self, digits: u32) -> String {
        self.significant(digits, Side::Down)
    }

    /// With so many significant digits (1 to 40), rounded towards plus infinity. Plain from 1e-6
    /// up to 1e9, else like `1.2e-9`.
    #[must_use]
    pub fn significant_up(&self, digits: u32) -> String {
        self.significant(digits, Side::Up)
    }

    pub(super) fn significant(&self, digits: u32, side: Side) -> String {
        if self.is_zero() {
            return "0".to_owned();
        }
        let digits = i64::from(digits.clamp(1, MOST_DIGITS));
        let places = digits - 1 - self.magnitude();
        // 9.999 rounded up to three digits is 10.0: the digit gained is one too many.
        let carried = self.scaled(places, side).abs() == ten_to(digits.unsigned_abs());
        self.to_place(places - i64::from(carried), side)
    }

    /// Rounded to the place of 10^-`places` (which may lie before the point), then written plain
    /// from 1e-6 up to 1e9, else with a power of ten.
    pub(super) fn to_place(&self, places: i64, side: Side) -> String {
        let scaled = self.scaled(places, side);
        let length = scaled.abs().to_string().len() as i64;
        let magnitude = length - 1 - places;
        let plain = (-6..9).contains(&magnitude) || scaled.is_zero();
        if plain && places >= 0 {
            return set_point(&scaled, usize::try_from(places).unwrap_or(0));
        }
        if plain {
            return set_point(&(scaled * ten_to(places.unsigned_abs())), 0);
        }
        let point = usize::try_from(length - 1).unwrap_or(0);
        format!("{}e{magnitude}", set_point(&scaled, point))
    }

    /// The power of ten of the first digit: 2 for 347, -3 for 0.0012; 0 for zero.
    pub(super) fn magnitude(&self) -> i64 {
        if self.is_zero() {
            return 0;
        }
        let (num, den) = self.parts();
        let num = num.abs();
        let guess = num.to_string().len() as i64 - den.to_string().len() as i64;
        let ten = ten_to(guess.unsigned_abs());
        let reached = if guess >= 0 {
            num >= den * ten
        } else {
            num * ten >= den
        };
        if reached { guess } else { guess - 1 }
    }

    /// The number times ten to `places`, rounded to a whole number.
    fn scaled(&self, places: i64, side: Side) -> BigInt {
        let (num, den) = self.parts();
        let ten = ten_to(places.unsigned_abs());
        let (num, den) = if places >= 0 {
            (num * ten, den)
        } else {
            (num, den * ten)
        };
        match side {
            Side::Down => num.div_floor(&den),
            Side::Up => num.div_ceil(&den),
            Side::Near => {
                let doubled: BigInt = num.abs() * 2 + &den;
                let size = doubled.div_floor(&(den * 2));
                if num.is_negative() { -size } else { size }
            }
        }
    }
}
