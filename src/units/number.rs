//! Reading a number as it is written.

use std::fmt;

use num_bigint::BigInt;

use super::exact::Exact;

/// Most digits a written number may have.
const MOST_DIGITS: usize = 40;
/// Largest power of ten it may name, either way.
const LARGEST_EXPONENT: i32 = 40;

/// Why a text is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NumberProblem {
    /// It is not written like one: `.5`, `1,5`, `--3`.
    Malformed,
    /// More than 40 digits, or a power of ten beyond 40.
    TooLong,
}

impl fmt::Display for NumberProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            NumberProblem::Malformed => {
                "a number is written like `12`, `-0.5` or `1.4e4`, with a decimal point"
            }
            NumberProblem::TooLong => {
                "a number may have at most 40 digits and a power of ten up to 40"
            }
        })
    }
}

impl std::error::Error for NumberProblem {}

/// Splits leading ASCII digits off.
fn digits(text: &str) -> (&str, &str) {
    let end = text.bytes().take_while(u8::is_ascii_digit).count();
    text.split_at(end)
}

impl Exact {
    /// Reads `12`, `-12.5`, `1.4e4`. A digit stands on both sides of the point; there is no comma
    /// and no leading plus.
    ///
    /// # Errors
    ///
    /// [`NumberProblem`] if it is not a number, or one too long to be meant.
    pub fn parse_decimal(text: &str) -> Result<Exact, NumberProblem> {
        let (negative, rest) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, rest) = digits(rest);
        let (fraction, rest) = match rest.strip_prefix('.') {
            Some(rest) => {
                let (fraction, rest) = digits(rest);
                if fraction.is_empty() {
                    return Err(NumberProblem::Malformed);
                }
                (fraction, rest)
            }
            None => ("", rest),
        };
        if whole.is_empty() {
            return Err(NumberProblem::Malformed);
        }
        let exponent = match rest.strip_prefix(['e', 'E']) {
            Some(rest) => exponent(rest)?,
            None if rest.is_empty() => 0,
            None => return Err(NumberProblem::Malformed),
        };
        if whole.len() + fraction.len() > MOST_DIGITS {
            return Err(NumberProblem::TooLong);
        }
        // At most 40 digits after the point, so this stays small.
        let scale = exponent - fraction.len() as i32;
        let value = value(whole, fraction, scale);
        Ok(if negative { value.neg() } else { value })
    }
}

/// Reads what follows the `e`.
fn exponent(text: &str) -> Result<i32, NumberProblem> {
    let (negative, rest) = match text.as_bytes().first() {
        Some(b'-') => (true, &text[1..]),
        Some(b'+') => (false, &text[1..]),
        _ => (false, text),
    };
    let (number, rest) = digits(rest);
    if number.is_empty() || !rest.is_empty() {
        return Err(NumberProblem::Malformed);
    }
    match number.parse::<i32>() {
        Ok(size) if size <= LARGEST_EXPONENT => Ok(if negative { -size } else { size }),
        _ => Err(NumberProblem::TooLong),
    }
}

/// The digits of `whole` and `fraction` as one number, times ten to `scale`.
fn value(whole: &str, fraction: &str, scale: i32) -> Exact {
    let power = scale.unsigned_abs();
    if whole.len() + fraction.len() <= 18 && power <= 18 {
        let add = |sum: i64, digit: u8| sum * 10 + i64::from(digit - b'0');
        let digits = whole.bytes().chain(fraction.bytes()).fold(0, add);
        let ten = 10_i64.pow(power);
        if scale <= 0 {
            return Exact::ratio(digits, ten);
        }
        return Exact::from_int(digits).mul(&Exact::from_int(ten));
    }
    let add = |sum: BigInt, digit: u8| sum * 10 + (digit - b'0');
    let digits = whole
        .bytes()
        .chain(fraction.bytes())
        .fold(BigInt::ZERO, add);
    let ten = BigInt::from(10).pow(power);
    if scale <= 0 {
        Exact::from_big(digits, ten)
    } else {
        Exact::from_big(digits * ten, BigInt::from(1))
    }
}
