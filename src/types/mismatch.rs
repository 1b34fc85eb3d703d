//! The explaining messages: what was written, what is wanted, and what to write instead.

use super::model::{Limits, Measure, Reading, Standard, Type};
use super::terms::{Arithmetic, Expression, ExpressionNode, Hop};
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
        Reading::Unit if measure.dimension == Dimension::PIECES => "a number of pieces".to_owned(),
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

/// Units of the two systems that a bare number is meant in, the more usual first.
const EITHER: &[(&str, &str)] = &[
    ("°C", "°F"),
    ("/cm", "/in"),
    ("mm", "in"),
    ("cm", "in"),
    ("m", "ft"),
    ("µm", "mil"),
    ("m/min", "ft/min"),
    ("m/s", "in/s"),
    ("g/m²", "oz/yd²"),
    ("N/cm", "lbf/in"),
    ("bar", "psi"),
];

/// The units that a bare number may be meant in: the setting's own and that of the other system, where the
/// number is possible in it; the setting's own where it is in none.
pub(super) fn units_meant(
    number: &str,
    measure: &Measure,
    possible: Option<&Limits>,
) -> Vec<String> {
    let own = match possible {
        Some(possible) => possible.unit.spelling().to_owned(),
        None => Unit::usual(measure.dimension).spelling().to_owned(),
    };
    let pair = EITHER
        .iter()
        .find(|(one, other)| *one == own || *other == own);
    let Some((one, other)) = pair else {
        return vec![own];
    };
    let fits = |spelling: &&str| {
        let (Ok(unit), Ok(digits)) = (Unit::parse(spelling), Exact::parse_decimal(number)) else {
            return false;
        };
        let value = unit.to_base(&digits);
        possible.is_none_or(|limits| {
            limits.low.as_ref().is_none_or(|least| &value >= least)
                && limits.high.as_ref().is_none_or(|most| &value <= most)
        })
    };
    let fitting = [*one, *other].into_iter().filter(fits);
    let fitting: Vec<String> = fitting.map(str::to_owned).collect();
    if fitting.is_empty() {
        vec![own]
    } else {
        fitting
    }
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
        // What a keyboard has.
        let spelling = match unit.as_difference().spelling() {
            "Δ°F" => "delta-°F",
            _ => "K",
        };
        diagnostic = diagnostic.help(format!(
            "a difference of temperatures is written `{number} {spelling}`"
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
        // Cloth is weighed by the ounce to the square yard.
        match spelling {
            "oz" | "lb" => format!("{spelling}/yd²"),
            _ => format!("{spelling}/m²"),
        },
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
    let shown = show_between(low, high, unit);
    let range = show_limits(limits);
    let diagnostic = Diagnostic::new(
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
    match (inside(low), inside(high)) {
        (true, _) => {
            let end = show_exact(high, unit);
            return diagnostic.help(format!("its upper end, {end}, lies outside"));
        }
        (_, true) => {
            let end = show_exact(low, unit);
            return diagnostic.help(format!("its lower end, {end}, lies outside"));
        }
        _ => {}
    }
    for (one, other) in MISTAKEN {
        for (from, to) in [(one, other), (other, one)] {
            if unit.spelling() != *from {
                continue;
            }
            let Ok(meant) = Unit::parse(to) else { continue };
            let again = |value: &Exact| meant.to_base(&unit.from_base(value));
            let (low, high) = (again(low), again(high));
            if inside(&low) && inside(&high) {
                let meant = show_between(&low, &high, &meant);
                return diagnostic.help(format!("did you mean {meant}?"));
            }
        }
    }
    diagnostic.help("check the number and its unit")
}

/// `266 to 274 °C`, or one number where the ends meet.
fn show_between(low: &Exact, high: &Exact, unit: &Unit) -> String {
    if low == high {
        return show_exact(low, unit);
    }
    let (least, most) = (show_exact(low, unit), show_exact(high, unit));
    match (least.split_once(' '), most.split_once(' ')) {
        (Some((number, one)), Some((_, other))) if one == other => format!("{number} to {most}"),
        // "1 stroke", but "12 strokes".
        (Some((number, _)), Some(_)) if unit.is_noun() => format!("{number} to {most}"),
        _ => format!("{least} to {most}"),
    }
}

/// A range in words and its own unit.
pub(super) fn show_limits(limits: &Limits) -> String {
    match (&limits.low, &limits.high) {
        (Some(low), Some(high)) => show_between(low, high, &limits.unit),
        (Some(low), None) => format!("at least {}", show_exact(low, &limits.unit)),
        (None, Some(high)) => format!("at most {}", show_exact(high, &limits.unit)),
        (None, None) => "anything".to_owned(),
    }
}

/// Two sides of one operator that do not go together. A bare number beside a quantity lacks its unit.
pub(super) fn sides(what: &str, at: Span, left: &Expression, right: &Expression) -> Diagnostic {
    for (number, other) in [(right, left), (left, right)] {
        let dimension = other.dimension;
        if let ExpressionNode::Constant(constant) = &number.node
            && constant.unit.is_bare()
            && !dimension.is_point()
        {
            let shown = show_exact(&constant.exact, &constant.unit);
            let unit = Unit::usual(dimension);
            return Diagnostic::new(
                Code::UnitMissing,
                number.span,
                format!("`{shown}` has no unit beside {}", dimension.describe()),
                "which unit?",
            )
            .related(other.span, dimension.describe())
            .help(format!(
                "write `{shown} {}`, or the unit that is meant",
                unit.spelling()
            ));
        }
    }
    different(
        what,
        at,
        (left.dimension, left.span),
        (right.dimension, right.span),
    )
}

/// A share beside a number that is none, or a number of things beside another sort of number.
pub(super) fn readings(
    standard: &Standard,
    left: &Expression,
    right: &Expression,
) -> Option<Diagnostic> {
    for (number, other) in [(right, left), (left, right)] {
        let ExpressionNode::Constant(constant) = &number.node else {
            continue;
        };
        let shown = show_exact(&constant.exact, &constant.unit);
        match reading(standard, other)? {
            Reading::Share if !constant.unit.is_percent() => {
                let percent = show_exact(&constant.exact, &Unit::percent());
                return Some(
                    Diagnostic::new(
                        Code::UnitMissing,
                        number.span,
                        format!("`{shown}` beside a share has no `%`"),
                        "which unit?",
                    )
                    .related(other.span, "a share")
                    .help(format!("write `{percent}`, or the share that is meant")),
                );
            }
            Reading::Count(noun)
                if constant.unit.is_percent()
                    || constant
                        .unit
                        .as_noun()
                        .is_some_and(|word| noun.as_deref() != Some(word)) =>
            {
                let counted = noun.unwrap_or_else(|| "things".to_owned());
                return Some(
                    Diagnostic::new(
                        Code::WrongDimension,
                        number.span,
                        format!("`{shown}` is compared with a number of {counted}"),
                        "another sort of number",
                    )
                    .related(other.span, format!("a number of {counted}"))
                    .help(format!("write a number of {counted}")),
                );
            }
            _ => {}
        }
    }
    None
}

/// How a setting's number is read, where an expression is one, or a sum of such.
fn reading(standard: &Standard, expression: &Expression) -> Option<Reading> {
    match &expression.node {
        ExpressionNode::Path(path) => match path.hops.last()? {
            Hop::Field(kind, field) => match &standard.field(*kind, *field).ty {
                Type::Quantity(measure) => Some(measure.reading.clone()),
                _ => None,
            },
            _ => None,
        },
        ExpressionNode::Binary {
            operator: Arithmetic::Add | Arithmetic::Subtract,
            left,
            right,
        } => reading(standard, left).or_else(|| reading(standard, right)),
        ExpressionNode::Negative(inner) => reading(standard, inner),
        ExpressionNode::Over {
            body: Some(body), ..
        } => reading(standard, body),
        _ => None,
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
    // Only what a person would have in mind: nobody divides by a specific energy by mistake.
    let plain = |dimension: Dimension| {
        let known = [
            "length",
            "time",
            "speed",
            "area",
            "mass",
            "pieces",
            "thread-count",
        ];
        dimension.name().filter(|name| known.contains(name))
    };
    let ratio = left.divide(&right)?;
    if let Some(name) = plain(ratio) {
        return Some(format!(
            "multiplying the right side by {} would fit",
            article(name)
        ));
    }
    let name = plain(right.divide(&left)?)?;
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
        format!("{what} has no meaning"),
        "with a temperature point",
    )
    .related(left, "left side")
    .related(right, "right side")
    .help("subtract two temperatures to get a difference; write a difference as `10 K`, `10 Δ°C` or `10 Δ°F`")
}
