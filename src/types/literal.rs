//! Numbers with units, from the text to SI base units.

use std::collections::{HashMap, HashSet};

use super::mismatch;
use super::model::{Limits, Measure, Reading};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::{Literal, Word};
use crate::units::{Dimension, Exact, NumberProblem, Unit, UnitProblem};

/// What is needed to read numbers: the shop's own units and the nouns that things are counted in.
#[derive(Debug, Default, Clone)]
pub(super) struct Reader {
    /// Units of the shop's own, by name.
    pub(super) units: HashMap<String, Unit>,
    /// Nouns of `count of NOUN`.
    pub(super) nouns: HashSet<String>,
}

/// A number that could be read.
#[derive(Debug, Clone)]
pub(super) struct Number {
    /// In SI base units.
    pub(super) exact: Exact,
    /// The unit it was written in.
    pub(super) unit: Unit,
    /// Half a unit of the last written digit, in SI base units.
    pub(super) resolution: Exact,
}

impl Reader {
    /// Reads the digits of a literal.
    pub(super) fn digits(literal: &Literal<'_>, problems: &mut Vec<Diagnostic>) -> Option<Exact> {
        match Exact::parse_decimal(literal.number.text) {
            Ok(number) => Some(number),
            Err(problem) => {
                let words = match problem {
                    NumberProblem::TooLong => {
                        "no measure has so many digits, or so large a power of ten"
                    }
                    NumberProblem::Malformed => "write digits with a decimal point",
                };
                problems.push(
                    Diagnostic::new(
                        Code::NumberMalformed,
                        literal.number.span,
                        format!("the number `{}` cannot be read", start(literal.number.text)),
                        "this number",
                    )
                    .help(words),
                );
                None
            }
        }
    }

    /// Reads a unit.
    pub(super) fn unit(&self, word: Word<'_>, problems: &mut Vec<Diagnostic>) -> Option<Unit> {
        if let Some(noun) = self.noun(word.text) {
            return Some(Unit::noun(&noun));
        }
        let own = |name: &str| self.units.get(name).cloned();
        match Unit::parse_with(word.text, &own) {
            Ok(unit) => Some(unit),
            Err(problem) => {
                problems.push(self.unit_problem(word, &problem));
                None
            }
        }
    }

    /// The noun a word means: itself, or its plural.
    fn noun(&self, word: &str) -> Option<String> {
        if self.nouns.contains(word) {
            return Some(word.to_owned());
        }
        let plural = format!("{word}s");
        self.nouns.contains(&plural).then_some(plural)
    }

    /// Which unit of what is wanted may be meant.
    fn meant(&self, written: &str, measure: &Measure) -> String {
        let own = |name: &str| self.units.get(name).cloned();
        let mut fitting: Vec<String> = Vec::new();
        if let Err(UnitProblem::Unknown { word, suggestions }) = Unit::parse_with(written, &own) {
            let names = self.units.keys().chain(&self.nouns).map(String::as_str);
            let near = crate::names::nearest(&word, names);
            for meant in suggestions.into_iter().chain(near) {
                let whole = written.replacen(&word, meant, 1);
                let unit = match self.noun(&whole) {
                    Some(noun) => Some(Unit::noun(&noun)),
                    None => Unit::parse_with(&whole, &own).ok(),
                };
                if unit.is_some_and(|unit| suits(&unit, measure)) {
                    fitting.push(format!("`{whole}`"));
                }
            }
        }
        if fitting.is_empty() {
            format!("write {}", mismatch::wanted(measure))
        } else {
            format!("did you mean {}?", fitting.join(" or "))
        }
    }

    fn unit_problem(&self, word: Word<'_>, problem: &UnitProblem) -> Diagnostic {
        let named = |part: &str| {
            if part == word.text {
                format!("there is no unit `{part}`")
            } else {
                format!("there is no unit `{part}` in `{}`", word.text)
            }
        };
        match problem {
            UnitProblem::Unknown {
                word: part,
                suggestions,
            } => {
                let mut diagnostic =
                    Diagnostic::new(Code::UnknownUnit, word.span, named(part), "not a unit");
                let own = self.units.keys().chain(&self.nouns).map(String::as_str);
                if let Some(first) = suggestions.first() {
                    diagnostic = diagnostic.help(format!("did you mean `{first}`?"));
                } else if let Some(near) = crate::names::nearest(part, own) {
                    diagnostic = diagnostic.help(format!("did you mean `{near}`?"));
                }
                diagnostic
            }
            _ => Diagnostic::new(
                Code::UnknownUnit,
                word.span,
                format!("the unit `{}` cannot be read", word.text),
                "not a unit",
            )
            .help("write units as in `m/min`, `g/cm³`, `/in`, `W/(m²·K)`"),
        }
    }

    /// Reads a number as it stands, for expressions. A bare number is a plain number.
    pub(super) fn number(
        &self,
        literal: &Literal<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Number> {
        let digits = Self::digits(literal, problems)?;
        let unit = match literal.unit {
            Some(word) => self.unit(word, problems)?,
            None => Unit::bare(),
        };
        Some(finish(literal, &digits, unit))
    }

    /// Reads a number for a setting. `shared` is the unit of the other end of a range.
    pub(super) fn measured(
        &self,
        literal: &Literal<'_>,
        measure: &Measure,
        shared: Option<&Unit>,
        setting: &str,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Number> {
        let digits = Self::digits(literal, problems)?;
        let unit = match (literal.unit, shared) {
            (Some(word), _) => {
                let before = problems.len();
                let unit = self.unit(word, problems);
                if let (None, Some(problem)) = (&unit, problems.get_mut(before)) {
                    problem.help = Some(self.meant(word.text, measure));
                }
                unit?
            }
            (None, Some(unit)) => unit.clone(),
            (None, None) => match bare(measure) {
                Some(unit) => unit,
                None => {
                    problems.push(mismatch::unit_missing(literal, measure, setting));
                    return None;
                }
            },
        };
        if let Err(problem) = fits(&unit, measure, literal, setting) {
            problems.push(*problem);
            return None;
        }
        let number = finish(literal, &digits, unit);
        let counted = measure.is_whole();
        if counted && !number.exact.is_integer() {
            problems.push(
                Diagnostic::new(
                    Code::NotWhole,
                    literal.span,
                    format!("`{setting}` is a number of things, so it is whole"),
                    "not whole",
                )
                .help("write a whole number"),
            );
            return None;
        }
        Some(number)
    }
}

fn finish(literal: &Literal<'_>, digits: &Exact, unit: Unit) -> Number {
    let exact = unit.to_base(digits);
    let step = unit
        .as_difference()
        .to_base(&last_digit(literal.number.text));
    let resolution = step.abs().div(&Exact::from_int(2)).unwrap_or(Exact::ZERO);
    Number {
        exact,
        unit,
        resolution,
    }
}

/// The start of a number, for messages about one that is too long to be read.
fn start(number: &str) -> String {
    const LONGEST: usize = 24;
    match number.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &number[..end]),
        None => number.to_owned(),
    }
}

/// One unit of the last written digit: 0.01 for `2.44`, 1 for `60`.
pub(crate) fn last_digit(number: &str) -> Exact {
    let (mantissa, exponent) = number
        .split_once(['e', 'E'])
        .map_or((number, 0), |(mantissa, exponent)| {
            (mantissa, exponent.parse::<i32>().unwrap_or(0))
        });
    let places = mantissa.split_once('.').map_or(0, |(_, fraction)| {
        i32::try_from(fraction.len()).unwrap_or(0)
    });
    Exact::from_int(10)
        .powi((exponent - places).clamp(-60, 60))
        .unwrap_or(Exact::ONE)
}

/// The unit a bare number has, where one may stand.
fn bare(measure: &Measure) -> Option<Unit> {
    match &measure.reading {
        Reading::Count(Some(noun)) => Some(Unit::noun(noun)),
        Reading::Count(None) | Reading::Number => Some(Unit::bare()),
        _ if measure.dimension == Dimension::PIECES => Some(Unit::si(Dimension::PIECES)),
        _ => None,
    }
}

/// Whether a unit suits a setting.
fn fits(
    unit: &Unit,
    measure: &Measure,
    literal: &Literal<'_>,
    setting: &str,
) -> Result<(), Box<Diagnostic>> {
    if suits(unit, measure) {
        return Ok(());
    }
    Err(Box::new(mismatch::wrong_unit(
        literal, unit, measure, setting,
    )))
}

fn suits(unit: &Unit, measure: &Measure) -> bool {
    if unit.dimension() != measure.dimension {
        return false;
    }
    match &measure.reading {
        Reading::Share => unit.is_percent(),
        Reading::Count(noun) => match unit.as_noun() {
            Some(written) => noun.as_deref().is_none_or(|noun| noun == written),
            None => !unit.is_percent(),
        },
        Reading::Number => !unit.is_percent() && unit.as_noun().is_none(),
        Reading::Unit => true,
    }
}

/// Refuses a value outside what is physically possible.
pub(super) fn check_possible(
    low: &Exact,
    high: &Exact,
    unit: &Unit,
    possible: Option<&Limits>,
    setting: &str,
    span: Span,
) -> Option<Diagnostic> {
    let limits = possible?;
    let below = limits.low.as_ref().is_some_and(|least| low < least);
    let above = limits.high.as_ref().is_some_and(|most| high > most);
    (below || above).then(|| mismatch::impossible(low, high, unit, limits, setting, span))
}
