//! What a case works out, and how it compares with what is expected.

use super::format::{Fault, Tolerance, number, unit_of};
use super::unit;
use serde_json::Value;
use std::collections::BTreeMap;

/// One number or word worked out.
#[derive(Debug, Clone)]
pub(crate) enum Answer {
    /// In SI base units.
    Si(f64),
    /// A temperature, K.
    Kelvin(f64),
    /// In the unit in which the case gives its inputs.
    AsGiven(f64),
    /// A word.
    Word(&'static str),
}

/// What is worked out, by the key of `expected`.
pub(crate) type Answers = BTreeMap<String, Answer>;

pub(crate) fn answers<const N: usize>(list: [(&str, Answer); N]) -> Answers {
    list.into_iter()
        .map(|(key, answer)| (key.to_owned(), answer))
        .collect()
}

pub(crate) fn si(key: &str, value: f64) -> Answers {
    answers([(key, Answer::Si(value))])
}

/// One line of the table.
pub(crate) struct Row {
    pub(crate) text: String,
    pub(crate) pass: bool,
}

pub(crate) fn compare(
    got: &Answer,
    expected: &Value,
    tolerance: Result<Tolerance, Fault>,
) -> Result<Row, String> {
    if let Answer::Word(word) = got {
        let wanted = expected.get("value").unwrap_or(expected).as_str();
        let wanted = wanted.ok_or_else(|| format!("got the word `{word}`, expected a number"))?;
        let pass = *word == wanted;
        return Ok(Row {
            text: format!(
                "{word:>14} {wanted:>14} {:>12} {:>6} {}",
                "",
                "",
                mark(pass)
            ),
            pass,
        });
    }
    let wanted = number(expected).map_err(|fault| format!("{fault:?}"))?;
    let name = unit_of(expected);
    let got = match (got, name) {
        (Answer::Kelvin(kelvin), name) => unit::temperature_in(name.unwrap_or("degC"), *kelvin),
        (Answer::Si(value), Some(name)) => unit::factor(name).map(|factor| value / factor),
        (Answer::Si(value) | Answer::AsGiven(value), _) => Some(*value),
        (Answer::Word(_), _) => None,
    };
    let got = got.ok_or_else(|| format!("the expected number has the unknown unit {name:?}"))?;
    let limit = match tolerance.map_err(|fault| format!("{fault:?}"))? {
        Tolerance::Abs(abs) => abs,
        Tolerance::Rel(rel) => rel * wanted.abs(),
        Tolerance::None => return Err("the case states no tolerance".to_owned()),
    };
    let off = if got == wanted {
        0.0
    } else {
        (got - wanted).abs()
    };
    // A limit of zero means equal; one rounding of the unit's factor is not a difference.
    let pass = off == 0.0 || off <= limit + 1.0e-12 * wanted.abs().clamp(1.0, f64::MAX);
    let used = if limit > 0.0 {
        format!("{:.2}", off / limit)
    } else {
        "-".to_owned()
    };
    Ok(Row {
        text: format!(
            "{got:>14.6} {wanted:>14.6} {limit:>12.3e} {used:>6} {}",
            mark(pass)
        ),
        pass,
    })
}

fn mark(pass: bool) -> &'static str {
    if pass { "pass" } else { "FAIL" }
}
