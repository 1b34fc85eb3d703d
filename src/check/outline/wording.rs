//! Conditions and values as written, and in the two systems of units.
//!
//! The text is that of the standard; only its numbers are exchanged, so that nothing is said in words
//! that nobody wrote.

use crate::diagnostic::Wording;
use crate::source::{Span, Store};
use crate::types::{Condition, Constant, ExpressionNode, Limits, Quantity, Value};
use crate::units::{Exact, System, Unit, show_exact};

/// A condition.
pub(super) fn of_condition(store: &Store, condition: &Condition) -> Wording {
    let mut numbers = Vec::new();
    condition.visit_expressions(&mut |part| {
        if let ExpressionNode::Constant(constant) = &part.node {
            numbers.push((part.span, constant));
        }
    });
    numbers.sort_by_key(|(span, _)| span.start);
    numbers.dedup_by_key(|(span, _)| span.start);
    let written = |system| exchange(store, condition.span, &numbers, system);
    Wording {
        written: written(None),
        si: written(Some(System::Si)),
        inch_pound: written(Some(System::InchPound)),
    }
}

/// A value of a record.
pub(super) fn of_value(store: &Store, value: &Value, span: Span) -> Wording {
    let written = on_one_line(store.slice(span));
    let in_system = |system| match value {
        Value::Quantity(quantity) => of_quantity(quantity, system),
        Value::Range(range) => of_range(range, system),
        _ => None,
    };
    Wording {
        si: in_system(System::Si).unwrap_or_else(|| written.clone()),
        inch_pound: in_system(System::InchPound).unwrap_or_else(|| written.clone()),
        written,
    }
}

/// The text of a clause on one line, comments and all left out by its span.
pub(super) fn on_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text with its numbers in another system's units; `None` leaves them.
fn exchange(
    store: &Store,
    span: Span,
    numbers: &[(Span, &Constant)],
    system: Option<System>,
) -> String {
    let text = store.get(span.file).text();
    let mut out = String::new();
    let mut at = span.start as usize;
    for (place, constant) in numbers {
        let unit = system.and_then(|system| constant.unit.in_system(system));
        let (Some(unit), true) = (unit, span.file == place.file) else {
            continue;
        };
        if unit.spelling() == constant.unit.spelling() {
            continue;
        }
        let (start, end) = (place.start as usize, place.end as usize);
        if start < at || end > span.end as usize {
            continue;
        }
        out.push_str(text.get(at..start).unwrap_or_default());
        out.push_str(&show_exact(&constant.exact, &unit));
        at = end;
    }
    out.push_str(text.get(at..span.end as usize).unwrap_or_default());
    on_one_line(&out)
}

/// A unit of the system that is not the one written; `None` where nothing changes.
fn other(unit: &Unit, system: System) -> Option<Unit> {
    unit.in_system(system)
        .filter(|other| other.spelling() != unit.spelling())
}

fn of_range(range: &Limits, system: System) -> Option<String> {
    let unit = other(&range.unit, system)?;
    Some(match (&range.low, &range.high) {
        (Some(low), Some(high)) if low == high => show_exact(low, &unit),
        (Some(low), Some(high)) => from_to(low, high, &unit),
        (Some(low), None) => format!("at least {}", show_exact(low, &unit)),
        (None, Some(high)) => format!("at most {}", show_exact(high, &unit)),
        (None, None) => return None,
    })
}

/// `31.5 to 62.99 /cm`: the unit once.
/// Both ends, the unit once.
pub(super) fn from_to(low: &Exact, high: &Exact, unit: &Unit) -> String {
    let first = show_exact(low, unit);
    let number = first
        .strip_suffix(unit.spelling())
        .map_or(first.as_str(), str::trim_end);
    format!("{number} to {}", show_exact(high, unit))
}

fn of_quantity(quantity: &Quantity, system: System) -> Option<String> {
    let unit = other(&quantity.unit, system)?;
    let Some(tolerance) = &quantity.tolerance else {
        return Some(if quantity.low == quantity.high {
            show_exact(&quantity.nominal, &unit)
        } else {
            from_to(&quantity.low, &quantity.high, &unit)
        });
    };
    let size = |size: &Exact| {
        if tolerance.relative {
            return show_exact(size, &Unit::percent());
        }
        let own = tolerance.unit.in_system(system);
        let difference = own.map_or_else(|| unit.as_difference(), |own| own.as_difference());
        // What follows `±` is a difference, so a degree needs no sign of its own there.
        show_exact(size, &difference).replace('Δ', "")
    };
    let nominal = show_exact(&quantity.nominal, &unit);
    let (plus, minus) = (&tolerance.plus, &tolerance.minus);
    let of_it = if tolerance.of_it { " of it" } else { "" };
    Some(if plus == minus {
        format!("{nominal} ± {}{of_it}", size(plus))
    } else {
        format!("{nominal} +{} -{}{of_it}", size(plus), size(minus))
    })
}
