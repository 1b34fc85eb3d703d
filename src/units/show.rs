//! Values as people read them: few digits, rounded to the side that stays true.
//!
//! Bounds are rounded outward, so what is shown holds what was proved. An end that is the
//! floating-point bound of a short decimal is shown as that decimal: the limit written `280 °F`
//! reads `280 °F` again, not 279.9.

use super::decimal::{Side, trim};
use super::exact::Exact;
use super::unit::Unit;

/// Significant digits of the larger end.
const DIGITS: i64 = 3;
/// Significant digits at most, where the ends are close together.
const MOST_DIGITS: i64 = 6;
/// Longest decimal that is written whole.
const SHORT: usize = 7;
/// Longest whole number that is written whole.
const SHORT_WHOLE: usize = 12;

/// A number with its unit.
fn with_unit(number: &str, unit: &Unit) -> String {
    match unit.spelling() {
        "" => number.to_owned(),
        "pieces" | "points" if number == "1" || number == "-1" => {
            format!("{number} {}", unit.spelling().trim_end_matches('s'))
        }
        spelling => format!("{number} {spelling}"),
    }
}

/// The decimal that is the number, if it is short enough to be read.
fn short(value: &Exact) -> Option<String> {
    let text = value.decimal()?;
    let digits = text
        .trim_start_matches(['-', '0', '.'])
        .bytes()
        .filter(u8::is_ascii_digit)
        .count();
    let most = if value.is_integer() {
        SHORT_WHOLE
    } else {
        SHORT
    };
    (digits <= most).then_some(text)
}

/// An exact base value in a unit: whole if that is short, else the nearest with 4 significant digits.
#[must_use]
pub fn show_exact(base: &Exact, unit: &Unit) -> String {
    let value = unit.from_base(base);
    let text = short(&value).unwrap_or_else(|| trim(&value.significant(4, Side::Near)));
    with_unit(&text, unit)
}

/// An exact base value in a unit as it would be written, not rounded; `None` for one that is no decimal of at most 12
/// places.
#[must_use]
pub fn write_exact(base: &Exact, unit: &Unit) -> Option<String> {
    Some(with_unit(&unit.from_base(base).decimal()?, unit))
}

/// Bounds in SI base units, rounded outward: "46.4 to 51.4 s", "at least 46.4 s", "at most 51.4 s",
/// "any value"; one number where both ends are that number.
///
/// Read back and bounded outward again, the text holds what was shown.
#[must_use]
pub fn show_bounds(lo: f64, hi: f64, unit: &Unit) -> String {
    let (lo, hi) = if lo > hi { (hi, lo) } else { (lo, hi) };
    match (Exact::from_f64(lo), Exact::from_f64(hi)) {
        (Some(low), Some(high)) => between(&low, &high, unit),
        (Some(_), None) if hi == f64::INFINITY => {
            format!("at least {}", end(lo, unit, 3, Side::Down))
        }
        (None, Some(_)) if lo == f64::NEG_INFINITY => {
            format!("at most {}", end(hi, unit, 3, Side::Up))
        }
        _ => "any value".to_owned(),
    }
}

/// A base value in a unit with so many significant digits, not above it.
#[must_use]
pub fn show_down(value: f64, unit: &Unit, digits: u32) -> String {
    end(value, unit, digits, Side::Down)
}

/// A base value in a unit with so many significant digits, not below it.
#[must_use]
pub fn show_up(value: f64, unit: &Unit, digits: u32) -> String {
    end(value, unit, digits, Side::Up)
}

fn end(value: f64, unit: &Unit, digits: u32, side: Side) -> String {
    let Some(base) = Exact::from_f64(value) else {
        let word = match value {
            f64::INFINITY => "without an upper limit",
            f64::NEG_INFINITY => "without a lower limit",
            _ => "unknown",
        };
        return word.to_owned();
    };
    let digits = i64::from(digits.clamp(1, 17));
    let places = digits - 1 - unit.from_base(&base).magnitude();
    with_unit(&rounded(&base, unit, places, side), unit)
}

/// A base value in a unit, rounded to a side at the place of 10^-`places`. The nearest decimal
/// there will do if its own floating-point bounds already lie on that side.
fn rounded(base: &Exact, unit: &Unit, places: i64, side: Side) -> String {
    let value = unit.from_base(base);
    let near = value.to_place(places, Side::Near);
    let reaches = Exact::parse_decimal(&near).is_ok_and(|near| {
        let (low, high) = unit.to_base(&near).outward();
        match side {
            Side::Down => Exact::from_f64(low).is_some_and(|low| low <= *base),
            Side::Up => Exact::from_f64(high).is_some_and(|high| high >= *base),
            Side::Near => true,
        }
    });
    if reaches {
        trim(&near)
    } else {
        trim(&value.to_place(places, side))
    }
}

/// The decimal of at most seven digits whose floating-point bounds hold both ends.
fn single(low: &Exact, high: &Exact, unit: &Unit) -> Option<String> {
    let value = unit.from_base(low);
    let digits = if value.is_integer() {
        SHORT_WHOLE
    } else {
        SHORT
    };
    let text = trim(&value.significant(u32::try_from(digits).ok()?, Side::Near));
    let (below, above) = unit.to_base(&Exact::parse_decimal(&text).ok()?).outward();
    let holds = Exact::from_f64(below)? <= *low && *high <= Exact::from_f64(above)?;
    holds.then_some(text)
}

fn between(low: &Exact, high: &Exact, unit: &Unit) -> String {
    if let Some(text) = single(low, high, unit) {
        return with_unit(&text, unit);
    }
    let (first, second) = (unit.from_base(low), unit.from_base(high));
    // A unit that counts backwards turns the ends round.
    let (low, high) = if first <= second {
        (low, high)
    } else {
        (high, low)
    };
    let largest = first.abs().max(second.abs());
    let width = first.sub(&second).abs();
    let usual = DIGITS - 1 - largest.magnitude();
    let most = MOST_DIGITS - 1 - largest.magnitude();
    // One step of the last place shall not be more than about a tenth of the width.
    let wanted = if width.is_zero() {
        usual + 1
    } else {
        1 - width.magnitude()
    };
    let places = wanted.clamp(usual, most);
    let low = rounded(low, unit, places, Side::Down);
    let high = rounded(high, unit, places, Side::Up);
    if low == high {
        return with_unit(&low, unit);
    }
    format!("{low} to {}", with_unit(&high, unit))
}
