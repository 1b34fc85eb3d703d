//! Names of things and values in words.

use crate::eval::{EvalContext, Leaf, Range};
use crate::source::{FileId, Span, visible};
use crate::types::{
    CalibrationPoint, FieldId, InstanceId, KindId, Limits, Quantity, Standard, Target, Tolerance,
    Type, Value,
};
use crate::units::{Dimension, Exact, Unit, show_bounds, show_exact, write_exact};

/// A thing of the run: `screen base`, `flash, step 2`, `dryer`.
pub(super) fn thing(context: &EvalContext<'_>, id: InstanceId) -> String {
    let instance = context.run.instance(id);
    let kind = &context.standard.kind(instance.kind).name;
    if let Some(place) = context.place(Target::Thing(id)) {
        return format!("{kind}, step {}", place + 1);
    }
    if instance.name.is_empty() {
        return kind.clone();
    }
    format!("{kind} {}", visible(&instance.name))
}

/// A thing or a record: `screen base`, `ink soft-white`.
pub(super) fn target(context: &EvalContext<'_>, of: Target) -> String {
    match of {
        Target::Thing(id) => thing(context, id),
        Target::Record(id) => {
            let record = context.standard.record(id);
            format!(
                "{} {}",
                context.standard.kind(record.kind).name,
                visible(&record.name)
            )
        }
    }
}

/// A setting with its thing: `dryer.belt`, `screen base: tension`.
pub(super) fn setting(context: &EvalContext<'_>, leaf: Leaf) -> String {
    let instance = context.run.target(context.standard, leaf.target);
    let field = &context.standard.field(instance.kind, leaf.field).name;
    let kind = &context.standard.kind(instance.kind).name;
    let plain = instance.name.is_empty()
        && matches!(leaf.target, Target::Thing(id) if context.place(Target::Thing(id)).is_none());
    if plain {
        return format!("{kind}.{field}");
    }
    format!("{}: {field}", target(context, leaf.target))
}

/// A stated value as it would be written.
pub(super) fn value(standard: &Standard, of: (KindId, FieldId), value: &Value) -> String {
    match value {
        Value::Quantity(of) => quantity(of),
        Value::Range(of) => limits(of),
        Value::Text(text) => format!("\"{}\"", visible(text)),
        Value::Day(day) => day.to_string(),
        Value::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Choice(index) => match &standard.field(of.0, of.1).ty {
            Type::Choice(choices) => choices.get(*index as usize).cloned().unwrap_or_default(),
            _ => String::new(),
        },
        Value::Reference(Target::Record(id)) => visible(&standard.record(*id).name).into_owned(),
        Value::Reference(Target::Thing(_)) | Value::Wrong => "another".to_owned(),
    }
}

/// A path as a plan writes it: `dryer.belt`, `screen.base.tension`, `step-4.time`.
pub(super) fn plan_path(context: &EvalContext<'_>, leaf: Leaf) -> String {
    let instance = context.run.target(context.standard, leaf.target);
    let field = &context.standard.field(instance.kind, leaf.field).name;
    let kind = &context.standard.kind(instance.kind).name;
    match context.place(leaf.target) {
        Some(place) => format!("step-{}.{field}", place + 1),
        None if instance.name.is_empty() => format!("{kind}.{field}"),
        None => format!("{kind}.{}.{field}", instance.name),
    }
}

/// A quantity without its tolerance, as a plan would state it: where a dial stands. A span stays one.
pub(super) fn quantity_alone(of: &Quantity) -> String {
    let at = |value: &Exact| {
        let text = write_exact(value, &of.unit).unwrap_or_else(|| show_exact(value, &of.unit));
        one(text, &of.unit)
    };
    if of.tolerance.is_some() || of.low == of.high {
        return at(&of.nominal);
    }
    let (low, high) = (at(&of.low), at(&of.high));
    let suffix = format!(" {}", of.unit.spelling());
    format!("{} to {high}", low.strip_suffix(&suffix).unwrap_or(&low))
}

/// A range in a unit, rounded outward; a sharp value as it is.
pub(super) fn shown(range: &Range, unit: &Unit) -> String {
    if let Some((low, high)) = &range.exact {
        if low == high {
            return one(show_exact(low, unit), unit);
        }
        return show_bounds(low.outward().0, high.outward().1, unit);
    }
    show_bounds(range.bounds.lo, range.bounds.hi, unit)
}

/// The same, empty for no range.
pub(super) fn shown_plain(range: Option<&Range>, unit: &Unit) -> String {
    range.map(|range| shown(range, unit)).unwrap_or_default()
}

/// A range of the standard in its own unit.
pub(super) fn limits(limits: &Limits) -> String {
    match (&limits.low, &limits.high) {
        (Some(low), Some(high)) if low == high => show_exact(low, &limits.unit),
        (Some(low), Some(high)) => {
            let high = show_exact(high, &limits.unit);
            let low = show_exact(low, &limits.unit);
            // `80 to 200 /in` rather than `80 /in to 200 /in`.
            let suffix = format!(" {}", limits.unit.spelling());
            let low = low.strip_suffix(&suffix).unwrap_or(&low).to_owned();
            format!("{low} to {high}")
        }
        (Some(low), None) => format!("at least {}", show_exact(low, &limits.unit)),
        (None, Some(high)) => format!("at most {}", show_exact(high, &limits.unit)),
        (None, None) => "anything".to_owned(),
    }
}

/// `4 °F` rather than `4 Δ°F`, where nothing but a difference can be meant.
pub(super) fn plain_degrees(text: String) -> String {
    text.replace('Δ', "")
}

/// `1 stroke` rather than `1 strokes`.
pub(super) fn one(text: String, unit: &Unit) -> String {
    if unit.is_noun() && text.starts_with("1 ") && text.ends_with('s') {
        return text[..text.len() - 1].to_owned();
    }
    text
}

/// Being inside a range, in words: `within 80 to 200 /in`, `at most 5 %`, `exactly 0 %`.
pub(super) fn inside(of: &Limits) -> String {
    match (&of.low, &of.high) {
        (Some(low), Some(high)) if low == high => format!("exactly {}", limits(of)),
        (Some(_), Some(_)) => format!("within {}", limits(of)),
        _ => limits(of),
    }
}

/// A tolerance as it would be written: `± 5 %`, `+3 mm -1 mm`.
pub(super) fn tolerance(of: &Tolerance) -> String {
    // Behind a temperature a tolerance is written in its degrees: `305 °F ± 10 °F`.
    plain_degrees(whole_tolerance(of))
}

/// A tolerance behind a value of this unit, as a plan states it: a difference of temperatures is one there as well.
pub(super) fn tolerance_behind(unit: &Unit, of: &Tolerance) -> String {
    if unit.dimension() == Dimension::TEMPERATURE_DIFFERENCE {
        whole_tolerance(of)
    } else {
        tolerance(of)
    }
}

fn whole_tolerance(of: &Tolerance) -> String {
    let size =
        |exact: &Exact| write_exact(exact, &of.unit).unwrap_or_else(|| show_exact(exact, &of.unit));
    let of_it = if of.of_it { " of it" } else { "" };
    if of.plus == of.minus {
        return format!("± {}{of_it}", size(&of.plus));
    }
    let mut words = Vec::new();
    if !of.plus.is_zero() {
        words.push(format!("+{}", size(&of.plus)));
    }
    if !of.minus.is_zero() {
        words.push(format!("-{}", size(&of.minus)));
    }
    words.join(" ") + of_it
}

/// A quantity as it is stated: `2.4 m/min ± 5 %`, `25 to 60 µm`.
pub(super) fn quantity(quantity: &Quantity) -> String {
    if quantity.tolerance.is_none() && quantity.low != quantity.high {
        let span = Limits {
            low: Some(quantity.low.clone()),
            high: Some(quantity.high.clone()),
            unit: quantity.unit.clone(),
            span: Span::new(FileId(0), 0, 0),
        };
        return limits(&span);
    }
    let number = show_exact(&quantity.nominal, &quantity.unit);
    match &quantity.tolerance {
        Some(of) => format!("{number} {}", tolerance(of)),
        None => one(number, &quantity.unit),
    }
}

/// Of a dial that reads wrong: where it stands, what is so then, and the line of the standard that says so.
pub(super) fn behind_dial(context: &EvalContext<'_>, leaf: Leaf) -> Option<(String, String, Span)> {
    let (run, standard) = (context.run, context.standard);
    let calibration = run.calibration(standard, leaf.target, leaf.field)?;
    let stands = context.quantity(leaf.target, leaf.field)?;
    let (low, high) = calibration.behind(&stands.low, &stands.high)?;
    let below = |point: &&CalibrationPoint| point.shown <= stands.nominal;
    let point = calibration.points.iter().rev().find(below)?;
    let found = if low == high {
        show_exact(&low, &stands.unit)
    } else {
        show_bounds(low.outward().0, high.outward().1, &stands.unit)
    };
    Some((quantity(stands), found, point.span))
}
