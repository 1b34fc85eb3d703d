//! Settings that cannot all be true: a stated value that the others contradict, a worked-out value that cannot be.

use crate::diagnostic::{Code, Diagnostic};
use crate::eval::{
    Aim, Binding, EvalContext, ExactInterval, Leaf, Range, inputs, is_costly_value, range,
};
use crate::types::{
    Expression, Field, FieldId, KindId, Limits, Origin, Quantity, Stated, Type, Value,
};
use crate::units::Exact;

use super::readings::bound;
use super::wording;

/// A stated value of something that can also be worked out.
struct Double<'a> {
    leaf: Leaf,
    stated: &'a Stated,
    quantity: &'a Quantity,
    formula: &'a Expression,
}

fn doubles<'a>(context: &EvalContext<'a>) -> Vec<Double<'a>> {
    let mut found = Vec::new();
    for (target, number, field) in context.run.leaves(context.standard) {
        let Some(formula) = &field.formula else {
            continue;
        };
        let leaf = Leaf {
            target,
            field: number,
        };
        // Also what is set aside: it counts for nothing, and is compared.
        let Some(stated) = context.run.stated(context.standard, target, leaf.field) else {
            continue;
        };
        if let Value::Quantity(quantity) = &stated.value {
            found.push(Double {
                leaf,
                stated,
                quantity,
                formula,
            });
        }
    }
    found
}

/// What the formula of a stated value comes to, and whether that contradicts it.
///
/// A stated value counts as written: it agrees when the worked-out interval comes within half a
/// unit of its last written digit.
fn compared(context: &EvalContext<'_>, double: &Double<'_>) -> Option<(Range, bool)> {
    let binding = Binding {
        own: Some(double.leaf.target),
        ..Binding::default()
    };
    let worked_out = range(context, binding, Aim::value(double.formula)).ok()?;
    let quantity = double.quantity;
    let (low, high) = match context.narrowed(double.leaf) {
        Some(ExactInterval { low, high, .. }) => (low, high),
        None => (&quantity.low, &quantity.high),
    };
    let (low, high) = (
        low.sub(&quantity.resolution),
        high.add(&quantity.resolution),
    );
    let apart = apart(&low, &high, &worked_out);
    Some((worked_out, apart))
}

fn contradiction(context: &EvalContext<'_>, double: &Double<'_>) -> bool {
    compared(context, double).is_some_and(|(_, apart)| apart)
}

/// Everything a run states that is worked out as well: contradictions, and what counts where there is none.
pub(super) fn disagreements(context: &EvalContext<'_>) -> Vec<Diagnostic> {
    let said = |double: Double<'_>| {
        let (worked_out, apart) = compared(context, &double)?;
        let quantity = double.quantity;
        let name = wording::setting(context, double.leaf);
        let shown = wording::shown(&worked_out, &quantity.unit);
        let aside = context
            .run
            .set_aside
            .contains(&(double.leaf.target, double.leaf.field));
        if !apart {
            if double.stated.origin != Origin::Plan {
                return None;
            }
            let written =
                bound(context, double.leaf).unwrap_or_else(|| wording::quantity(quantity));
            let (counts, here) = if aside {
                (", which counts", "stated here, and compared")
            } else {
                ("; the stated value counts", "stated here, and used")
            };
            let said = Diagnostic::new(
                Code::StatedBeside,
                double.stated.span,
                format!(
                    "`{name}` is stated as {written}, and the other settings give {shown}{counts}"
                ),
                here,
            )
            .related(double.formula.span, "worked out by this formula");
            return Some(if aside {
                said.help(
                    "a bare value says nothing of how far it may be off; where it was measured, write that behind it with `±`",
                )
            } else {
                said
            });
        }
        let written = bound(context, double.leaf)
            .unwrap_or_else(|| crate::units::show_exact(&quantity.nominal, &quantity.unit));
        Some(
            Diagnostic::new(
                Code::Disagrees,
                double.stated.span,
                format!("`{name}` is stated as {written}, but the other settings give {shown}"),
                if aside {
                    "stated here, and not used"
                } else {
                    "stated here, and used"
                },
            )
            .related(double.formula.span, "worked out by this formula")
            .help("measure again: either this value or one of the settings behind it is wrong"),
        )
    };
    doubles(context).into_iter().filter_map(said).collect()
}

/// How many stated values the other settings contradict, and how many worked-out ones cannot be; of figures that take
/// milliseconds the latter is not asked.
pub(super) fn contradicted(context: &EvalContext<'_>) -> usize {
    let stated = doubles(context).into_iter();
    let stated = stated.filter(|double| contradiction(context, double));
    let worked_out = worked_out(context, &|_, _| false).into_iter();
    let worked_out = worked_out.filter(|value| value.outside(context).is_some());
    stated.count() + worked_out.count()
}

/// A worked-out value with the range that is possible for it.
struct WorkedOut<'a> {
    leaf: Leaf,
    field: &'a Field,
    formula: &'a Expression,
    possible: &'a Limits,
}

impl WorkedOut<'_> {
    fn binding(&self) -> Binding {
        Binding {
            own: Some(self.leaf.target),
            ..Binding::default()
        }
    }

    /// What it comes to, where all of that lies outside what is possible. What was only sampled shows nothing.
    fn outside(&self, context: &EvalContext<'_>) -> Option<Range> {
        let found = range(context, self.binding(), Aim::value(self.formula)).ok()?;
        if found.sampled {
            return None;
        }
        let below = |end: &Exact| match &found.exact {
            Some((_, high)) => high < end,
            None => found.bounds.hi < end.outward().0,
        };
        let above = |end: &Exact| match &found.exact {
            Some((low, _)) => low > end,
            None => found.bounds.lo > end.outward().1,
        };
        let (low, high) = (&self.possible.low, &self.possible.high);
        let outside = low.as_ref().is_some_and(below) || high.as_ref().is_some_and(above);
        outside.then_some(found)
    }
}

/// The worked-out values of a run that say what is possible. One that takes milliseconds is looked at only where a
/// rule reads it, as it is worked out there anyhow.
fn worked_out<'a>(
    context: &EvalContext<'a>,
    read: &dyn Fn(KindId, FieldId) -> bool,
) -> Vec<WorkedOut<'a>> {
    let mut found = Vec::new();
    for (target, number, field) in context.run.leaves(context.standard) {
        let (Some(formula), Some(possible), Type::Quantity(_)) =
            (&field.formula, &field.possible, &field.ty)
        else {
            continue;
        };
        let leaf = Leaf {
            target,
            field: number,
        };
        if context.stated(target, number).is_some() {
            continue;
        }
        let value = WorkedOut {
            leaf,
            field,
            formula,
            possible,
        };
        let kind = context.run.target(context.standard, target).kind;
        if read(kind, number) || !is_costly_value(context, value.binding(), formula) {
            found.push(value);
        }
    }
    found
}

/// Worked-out values that cannot be, with the settings that make them so.
pub(super) fn impossible(
    context: &EvalContext<'_>,
    read: &dyn Fn(KindId, FieldId) -> bool,
) -> Vec<Diagnostic> {
    let said = |value: WorkedOut<'_>| {
        let found = value.outside(context)?;
        let name = wording::setting(context, value.leaf);
        let unit = &value.possible.unit;
        let behind: Vec<_> = inputs(context, value.binding(), &[value.formula])
            .into_iter()
            .filter_map(|(leaf, _)| {
                let stated = context.stated(leaf.target, leaf.field)?;
                Some((wording::setting(context, leaf), stated))
            })
            .collect();
        // The total over no prints at all is nothing that a setting made so.
        if behind.is_empty() {
            return None;
        }
        let of_plan = |stated: &&Stated| stated.origin == Origin::Plan;
        let mut stated = behind.iter().map(|(_, stated)| *stated);
        let at = stated.clone().find(of_plan).or_else(|| stated.next());
        let at = at.map_or(context.run.span, |stated| stated.span);
        let mut said = Diagnostic::new(
            Code::NotPossibleTogether,
            at,
            format!(
                "`{name}` comes to {}, which cannot be: possible is {}",
                wording::shown(&found, unit),
                wording::limits(value.possible)
            ),
            "it rests on this",
        );
        let others = behind.iter().filter(|(_, stated)| stated.span != at);
        for (setting, stated) in others.take(4) {
            said = said.related(stated.span, format!("and on `{setting}`"));
        }
        said = said.related(value.field.span, "worked out by this formula");
        let names: Vec<String> = behind.iter().map(|(name, _)| format!("`{name}`")).collect();
        Some(said.help(match names.as_slice() {
            [one] => format!("look at {one}"),
            names => format!("one of these is wrong: {}", names.join(", ")),
        }))
    };
    worked_out(context, read)
        .into_iter()
        .filter_map(said)
        .collect()
}

/// Whether a run has anything that a change may make contradict the rest.
pub(super) fn has_doubles(
    context: &EvalContext<'_>,
    read: &dyn Fn(KindId, FieldId) -> bool,
) -> bool {
    !doubles(context).is_empty() || !worked_out(context, read).is_empty()
}

/// Whether with a change the plan contradicts itself where it did not.
pub(super) fn contradicts(
    context: &EvalContext<'_>,
    parts: &[(Leaf, ExactInterval)],
    read: &dyn Fn(KindId, FieldId) -> bool,
) -> bool {
    let changed = EvalContext {
        narrowed: parts,
        ..*context
    };
    let stated = doubles(context)
        .iter()
        .any(|double| contradiction(&changed, double) && !contradiction(context, double));
    stated
        || worked_out(context, read)
            .iter()
            .any(|value| value.outside(&changed).is_some() && value.outside(context).is_none())
}

/// Whether a stated value lies wholly outside what was worked out.
pub(super) fn apart(low: &Exact, high: &Exact, worked_out: &Range) -> bool {
    match &worked_out.exact {
        Some((least, most)) => high < least || low > most,
        None => {
            let (low, high) = (low.outward().0, high.outward().1);
            high < worked_out.bounds.lo || low > worked_out.bounds.hi
        }
    }
}
