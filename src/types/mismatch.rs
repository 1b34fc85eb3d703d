//! The explaining messages: what was written, what is wanted, and what to write instead.

use super::model::{Limits, Measure, Reading};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::Literal;
use crate::units::{Dimension, Exact, Unit, show_exact};

/// What a setting is measured in, in words: "a length, as in `mm`".
pub(super) fn wanted(measure: &Measure) -> String {
    match &measure.reading {
        Reading::Share => "a share in `%`".to_owned(),
        Reading::Count(Some(noun)) => format!("a number of {noun}"),
        Reading::Count(None) => "a whole number".to_owned(),
        Reading::Number => "a plain number".to_owned(),
        Reading::Unit => format!(
            "{}, as in `{}`",
            measure.dimension.describe(),
            Unit::usual(measure.dimension).spelling()
        ),
    }
}

/// A number without a unit where one is needed.
pub(super) fn unit_missing(literal: &Literal<'_>, measure: &Measure, setting: &str) -> Diagnostic {
    let number = literal.number.text;
    let unit = match measure.reading {
        Reading::Share => "%".to_owned(),
        _ => Unit::usual(measure.dimension).spelling().to_owned(),
    };
    Diagnostic::new(
        Code::UnitMissing,
        literal.span,
        format!("`{setting}` is {}; `{number}` has no unit", wanted(measure)),
        "which unit?",
    )
    .help(format!(
        "write `{number} {unit}`, or the unit that is meant"
    ))
}

/// A unit of the wrong dimension.
pub(super) fn wrong_unit(
    literal: &Literal<'_>,
    unit: &Unit,
    measure: &Measure,
    setting: &str,
) -> Diagnostic {
    let number = literal.number.text;
    let written = literal.unit.map_or("", |word| word.text);
    let span = literal.unit.map_or(literal.span, |word| word.span);
    let have = if unit.is_percent() {
        "a share".to_owned()
    } else if let Some(noun) = unit.as_noun() {
        format!("a number of {noun}")
    } else {
        unit.dimension().describe()
    };
    let mut diagnostic = Diagnostic::new(
        Code::WrongDimension,
        span,
        format!("`{setting}` is {}; `{written}` is {have}", wanted(measure)),
        format!("{have} here"),
    );
    let difference = measure.dimension == Dimension::TEMPERATURE_DIFFERENCE
        && unit.dimension() == Dimension::TEMPERATURE;
    let point = measure.dimension == Dimension::TEMPERATURE
        && unit.dimension() == Dimension::TEMPERATURE_DIFFERENCE;
    if difference {
        let spelling = unit.as_difference();
        diagnostic = diagnostic.help(format!(
            "a difference of temperatures is written `{number} {}`",
            spelling.spelling()
        ));
    } else if point {
        diagnostic = diagnostic.help("a temperature is written in `°C` or `°F`");
    } else if let Some(slip) = slip(unit, measure) {
        diagnostic = diagnostic.help(format!("did you mean `{number} {slip}`?"));
    } else {
        diagnostic = diagnostic.help(format!("write {}", wanted(measure)));
    }
    diagnostic
}

/// A unit that people write for another.
fn slip(unit: &Unit, measure: &Measure) -> Option<String> {
    let spelling = unit.spelling();
    for candidate in [
        format!("/{spelling}"),
        format!("{spelling}/min"),
        format!("{spelling}/m²"),
        spelling.replace('²', ""),
    ] {
        let fits =
            Unit::parse(&candidate).is_ok_and(|found| found.dimension() == measure.dimension);
        if fits && candidate != spelling {
            return Some(candidate);
        }
    }
    None
}

/// Units that are mistaken for each other.
const MISTAKEN: &[(&str, &str)] = &[
    ("°C", "°F"),
    ("/in", "/cm"),
    ("in", "mm"),
    ("in", "cm"),
    ("ft", "m"),
    ("mm", "µm"),
    ("mm", "cm"),
    ("m/min", "ft/min"),
    ("m/s", "m/min"),
    ("ft/s", "ft/min"),
    ("s", "min"),
    ("N/cm", "N/m"),
    ("oz/yd²", "g/m²"),
    ("g/cm³", "kg/m³"),
    ("g/cm³", "lb/gal"),
    ("psi", "bar"),
    ("kW/m²", "W/m²"),
];

/// A value that cannot be.
pub(super) fn impossible(
    low: &Exact,
    high: &Exact,
    unit: &Unit,
    limits: &Limits,
    setting: &str,
    span: Span,
) -> Diagnostic {
    let shown = if low == high {
        show_exact(low, unit)
    } else {
        format!("{} to {}", show_exact(low, unit), show_exact(high, unit))
    };
    let range = show_limits(limits);
    let mut diagnostic = Diagnostic::new(
        Code::Impossible,
        span,
        format!("`{setting}` cannot be {shown}: possible is {range}"),
        "outside what is possible",
    )
    .related(limits.span, format!("possible is {range}"));
    let inside = |value: &Exact| {
        limits.low.as_ref().is_none_or(|least| value >= least)
            && limits.high.as_ref().is_none_or(|most| value <= most)
    };
    for (one, other) in MISTAKEN {
        for (from, to) in [(one, other), (other, one)] {
            if unit.spelling() != *from {
                continue;
            }
            let Ok(meant) = Unit::parse(to) else { continue };
            let again = |value: &Exact| meant.to_base(&unit.from_base(value));
            if inside(&again(low)) && inside(&again(high)) {
                let number = if low == high {
                    show_exact(&again(low), &meant)
                } else {
                    format!(
                        "{} to {}",
                        show_exact(&again(low), &meant),
                        show_exact(&again(high), &meant)
                    )
                };
                return diagnostic.help(format!("did you mean {number}?"));
            }
        }
    }
    diagnostic = diagnostic.help("check the number and its unit");
    diagnostic
}

/// A range in words and its own unit.
pub(super) fn show_limits(limits: &Limits) -> String {
    match (&limits.low, &limits.high) {
        (Some(low), Some(high)) if low == high => show_exact(low, &limits.unit),
        (Some(low), Some(high)) => format!(
            "{} to {}",
            show_exact(low, &limits.unit),
            show_exact(high, &limits.unit)
        ),
        (Some(low), None) => format!("at least {}", show_exact(low, &limits.unit)),
        (None, Some(high)) => format!("at most {}", show_exact(high, &limits.unit)),
        (None, None) => "anything".to_owned(),
    }
}

/// Two sides that measure different things.
pub(super) fn different(
    what: &str,
    at: Span,
    left: (Dimension, Span),
    right: (Dimension, Span),
) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::DimensionMismatch,
        at,
        format!(
            "{what} needs the same dimension on both sides: {} and {}",
            left.0.describe(),
            right.0.describe()
        ),
        "different dimensions",
    )
    .related(left.1, left.0.describe())
    .related(right.1, right.0.describe());
    if let Some(help) = bridge(left.0, right.0) {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}

/// What would make the right side into the left, when it is one well-known factor.
fn bridge(left: Dimension, right: Dimension) -> Option<String> {
    if left == Dimension::TEMPERATURE && right == Dimension::TEMPERATURE_DIFFERENCE
        || right == Dimension::TEMPERATURE && left == Dimension::TEMPERATURE_DIFFERENCE
    {
        return Some(
            "a temperature is written in `°C` or `°F`, a difference in `K`, `Δ°C` or `Δ°F`"
                .to_owned(),
        );
    }
    let article = |name: &str| {
        if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
            format!("an {name}")
        } else {
            format!("a {name}")
        }
    };
    let ratio = left.divide(&right)?;
    if let Some(name) = ratio.name() {
        return Some(format!(
            "multiplying the right side by {} would fit",
            article(name)
        ));
    }
    let inverse = right.divide(&left)?;
    let name = inverse.name()?;
    Some(format!(
        "dividing the right side by {} would fit",
        article(name)
    ))
}

/// Arithmetic that a temperature point does not have.
pub(super) fn point_arithmetic(at: Span, left: Span, right: Span, what: &str) -> Diagnostic {
    Diagnostic::new(
        Code::PointArithmetic,
        at,
        format!("{what} temperatures has no meaning"),
        "with a temperature point",
    )
    .related(left, "left side")
    .related(right, "right side")
    .help("subtract two temperatures to get a difference; write a difference as `10 K`, `10 Δ°C` or `10 Δ°F`")
}
