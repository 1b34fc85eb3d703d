//! How units are written: words, powers, slashes, one pair of brackets.
//!
//! ```text
//! unit  = [ "/" ] part { ("/" | "·") part }
//! part  = word [ power ]      or, once and after a slash, "(" part { "·" part } ")"
//! power = "²" | "³" | "⁻¹" … | "^2" | "^-1" …
//! ```
//!
//! Each further slash divides. A dot after a slash without brackets (`W/m²·K`) is refused: half of
//! its readers take it one way and half the other.

use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

use super::catalog::catalog;
use super::dimension::Dimension;
use super::exact::Exact;
use super::slip::suggestions;
use super::unit::Unit;

/// Longest text worth taking apart.
const LONGEST: usize = 120;
/// Largest power of one word.
const LARGEST_POWER: i32 = 12;

/// Why a text is not a unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum UnitProblem {
    /// A word in it is no unit.
    Unknown {
        /// The word.
        word: String,
        /// What may be meant, the likeliest first; ready to be written instead of the word.
        suggestions: Vec<&'static str>,
    },
    /// The words are not joined the way units are.
    Malformed,
    /// A temperature scale with a power: a point has no square.
    PointInCompound,
    /// A dot after a slash without brackets, as in `W/m²·K`.
    Ambiguous,
}

impl fmt::Display for UnitProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            UnitProblem::Unknown { word, suggestions } => {
                write!(out, "`{word}` is not a unit")?;
                for (index, suggestion) in suggestions.iter().enumerate() {
                    let before = if index == 0 { "; write" } else { " or" };
                    write!(out, "{before} `{suggestion}`")?;
                }
                Ok(())
            }
            UnitProblem::Malformed => out.write_str(
                "units are joined by `/` and `·`, with powers like `²` or `^2`: `N/cm`, `W/(m²·K)`",
            ),
            UnitProblem::PointInCompound => out.write_str(
                "a temperature has no power; write `Δ°C`, `Δ°F` or `K` for a difference",
            ),
            UnitProblem::Ambiguous => {
                out.write_str("this reads two ways; put what stands below the slash in brackets")
            }
        }
    }
}

impl std::error::Error for UnitProblem {}

/// Every spelling of the catalogue.
static WORDS: LazyLock<HashMap<&'static str, Unit>> = LazyLock::new(|| {
    let mut words = HashMap::new();
    for row in catalog() {
        let unit = Unit::from_row(row);
        for spelling in row.spellings {
            words.insert(*spelling, unit.clone());
        }
    }
    words
});

/// Every spelling of the catalogue, and the compounds that plans are full of.
static WHOLE: LazyLock<HashMap<&'static str, Unit>> = LazyLock::new(|| {
    let mut whole = WORDS.clone();
    for text in FREQUENT {
        if let Ok(unit) = compound(text, &|_| None) {
            whole.insert(text, unit);
        }
    }
    // Trade shorthand for a count of lines or dots, only as a whole.
    for text in ["lpi", "dpi"] {
        if let Some(unit) = whole.get("/in").cloned() {
            whole.insert(text, unit);
        }
    }
    whole
});

static FREQUENT: [&str; 40] = [
    "/in",
    "/cm",
    "m/min",
    "ft/min",
    "N/cm",
    "N/m",
    "g/cm³",
    "g/cm^3",
    "g/mL",
    "kg/m³",
    "g/m²",
    "g/m^2",
    "oz/yd²",
    "oz/yd^2",
    "lb/gal",
    "cm³/m²",
    "W/m²",
    "W/m^2",
    "kW/m²",
    "W/(m²·K)",
    "W/(m·K)",
    "J/(kg·K)",
    "kJ/kg",
    "J/kg",
    "kJ/mol",
    "J/mol",
    "pieces/h",
    "g/piece",
    "m²",
    "cm²",
    "mm²",
    "m³",
    "cm³",
    "mm³",
    "Pa·s",
    "mPa·s",
    "K/s",
    "K/min",
    "/min",
    "/s",
];

impl Unit {
    /// Reads a unit.
    ///
    /// # Errors
    ///
    /// [`UnitProblem`] if it is not one.
    pub fn parse(text: &str) -> Result<Unit, UnitProblem> {
        Unit::parse_with(text, &|_| None)
    }

    /// Reads a unit; words the catalogue lacks are asked of `custom`, alone and inside compounds.
    ///
    /// # Errors
    ///
    /// [`UnitProblem`] if it is not one.
    pub fn parse_with(
        text: &str,
        custom: &dyn Fn(&str) -> Option<Unit>,
    ) -> Result<Unit, UnitProblem> {
        if let Some(unit) = WHOLE.get(text) {
            return Ok(unit.clone());
        }
        if text.len() > LONGEST {
            return Err(UnitProblem::Malformed);
        }
        compound(text, custom)
    }
}

/// Base units of a dimension, as in `kg/(m·s²)`.
pub(super) fn of_bases(dimension: Dimension) -> String {
    const BASES: [&str; 10] = [
        "m", "kg", "s", "K", "mol", "pieces", "money", "ShoreA", "ShoreD", "°",
    ];
    let factors = BASES
        .iter()
        .zip(dimension.exponents())
        .filter(|(_, power)| *power != 0)
        .map(|(base, power)| ((*base).to_owned(), i32::from(power)))
        .collect::<Vec<_>>();
    written(&factors)
}

/// Takes a text apart and multiplies the words.
fn compound(text: &str, custom: &dyn Fn(&str) -> Option<Unit>) -> Result<Unit, UnitProblem> {
    let parts = take_apart(text)?;
    let find = |word: &str| {
        WORDS
            .get(word)
            .cloned()
            .or_else(|| custom(word))
            .ok_or_else(|| UnitProblem::Unknown {
                word: word.to_owned(),
                suggestions: suggestions(word),
            })
    };
    if let [(word, 1)] = parts.as_slice() {
        return find(word);
    }
    let mut dimension = Dimension::NUMBER;
    let mut factor = Exact::ONE;
    let mut factors: Vec<(String, i32)> = Vec::new();
    for (word, power) in parts {
        let unit = find(word)?;
        if unit.is_point() && power.abs() != 1 {
            return Err(UnitProblem::PointInCompound);
        }
        // A percent is a factor like any other here, not the difference of two shares.
        let unit = if unit.is_percent() {
            unit
        } else {
            unit.as_difference()
        };
        dimension = unit
            .dimension()
            .powi(power)
            .and_then(|powered| dimension.multiply(&powered))
            .ok_or(UnitProblem::Malformed)?;
        factor = unit
            .factor()
            .powi(power)
            .map(|powered| factor.mul(&powered))
            .ok_or(UnitProblem::Malformed)?;
        let spelling = unit.spelling();
        let same =
            |known: &&mut (String, i32)| known.0 == spelling && known.1.signum() == power.signum();
        match factors.iter_mut().find(same) {
            Some(known) => known.1 += power,
            None => factors.push((spelling.to_owned(), power)),
        }
    }
    if factors
        .iter()
        .any(|(word, power)| word.is_empty() || power.abs() > LARGEST_POWER)
    {
        return Err(UnitProblem::Malformed);
    }
    Ok(Unit::assembled(dimension, factor, written(&factors)))
}

/// The one way a product of words is written.
fn written(factors: &[(String, i32)]) -> String {
    let side = |sign: i32| {
        factors
            .iter()
            .filter(|(_, power)| power.signum() == sign)
            .map(|(word, power)| {
                // `g/piece`, but `pieces/h`.
                let word = if sign < 0 && word == "pieces" {
                    "piece"
                } else {
                    word
                };
                format!("{word}{}", superscript(power.unsigned_abs()))
            })
            .collect::<Vec<_>>()
    };
    let (above, below) = (side(1).join("·"), side(-1));
    match below.as_slice() {
        [] => above,
        [one] => format!("{above}/{one}"),
        many => format!("{above}/({})", many.join("·")),
    }
}

fn superscript(power: u32) -> String {
    if power == 1 {
        return String::new();
    }
    power
        .to_string()
        .chars()
        .map(|digit| SUPERSCRIPTS[digit.to_digit(10).unwrap_or(0) as usize])
        .collect()
}

const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];

/// Words and their powers, in the order written.
fn take_apart(text: &str) -> Result<Vec<(&str, i32)>, UnitProblem> {
    let mut parts = Vec::new();
    let mut rest = text;
    let (mut below, mut slashes, mut brackets) = (false, 0_u32, 0_u32);
    let mut first = true;
    while !rest.is_empty() || first {
        if let Some(after) = rest.strip_prefix('/') {
            (rest, below, slashes) = (after, true, slashes + 1);
        } else if let Some(after) = rest.strip_prefix(is_dot) {
            if first {
                return Err(UnitProblem::Malformed);
            }
            if below {
                return Err(UnitProblem::Ambiguous);
            }
            rest = after;
        } else if !first {
            return Err(UnitProblem::Malformed);
        }
        first = false;
        if let Some(after) = rest.strip_prefix('(') {
            let Some((inside, after)) = after.split_once(')') else {
                return Err(UnitProblem::Malformed);
            };
            brackets += 1;
            if slashes == 0 || brackets > 1 {
                return Err(UnitProblem::Malformed);
            }
            for piece in inside.split(is_dot) {
                let (word, power, after) = part(piece)?;
                if !after.is_empty() {
                    return Err(UnitProblem::Malformed);
                }
                parts.push((word, -power));
            }
            rest = after;
        } else {
            let (word, power, after) = part(rest)?;
            parts.push((word, if below { -power } else { power }));
            rest = after;
        }
    }
    Ok(parts)
}

fn is_dot(letter: char) -> bool {
    matches!(letter, '·' | '⋅' | '*')
}

/// A word, its power, and what follows.
fn part(text: &str) -> Result<(&str, i32, &str), UnitProblem> {
    let joins = |letter: char| {
        is_dot(letter)
            || matches!(letter, '/' | '^' | '(' | ')' | '⁻')
            || letter.is_whitespace()
            || SUPERSCRIPTS.contains(&letter)
    };
    let (word, after) = text.split_at(text.find(joins).unwrap_or(text.len()));
    if word.is_empty() {
        return Err(UnitProblem::Malformed);
    }
    let (power, after) = power(after)?;
    Ok((word, power, after))
}

/// A power at the start of `text`, or 1, and what follows.
fn power(text: &str) -> Result<(i32, &str), UnitProblem> {
    let plain = |letter: char| letter.to_digit(10);
    let raised = |letter: char| {
        let place = SUPERSCRIPTS.iter().position(|digit| *digit == letter)?;
        u32::try_from(place).ok()
    };
    let (digits, minus, value): (_, _, &dyn Fn(char) -> Option<u32>) = match text.strip_prefix('^')
    {
        Some(digits) => (digits, '-', &plain),
        None if text.starts_with(|letter| letter == '⁻' || raised(letter).is_some()) => {
            (text, '⁻', &raised)
        }
        None => return Ok((1, text)),
    };
    let (negative, digits) = match digits.strip_prefix(minus) {
        Some(digits) => (true, digits),
        None => (false, digits),
    };
    let end = digits
        .find(|letter| value(letter).is_none())
        .unwrap_or(digits.len());
    let size = digits[..end]
        .chars()
        .filter_map(value)
        .fold(0_u32, |sum, digit| {
            sum.saturating_mul(10).saturating_add(digit)
        });
    let size = i32::try_from(size).unwrap_or(i32::MAX);
    if !(1..=LARGEST_POWER).contains(&size) {
        return Err(UnitProblem::Malformed);
    }
    Ok((if negative { -size } else { size }, &digits[end..]))
}
