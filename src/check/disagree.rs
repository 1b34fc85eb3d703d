//! Stated values that the other settings contradict.

use crate::diagnostic::{Code, Diagnostic};
use crate::eval::{Aim, Binding, EvalContext, ExactInterval, Leaf, Range, range};
use crate::types::{Expression, Quantity, Stated, Value};
use crate::units::Exact;

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
        let Some(stated) = context.stated(target, leaf.field) else {
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

/// What the formula of a stated value comes to, where that contradicts it.
///
/// A stated value counts as written: it agrees when the worked-out interval comes within half a
/// unit of its last written digit.
fn contradiction(context: &EvalContext<'_>, double: &Double<'_>) -> Option<Range> {
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
    apart(&low, &high, &worked_out).then_some(worked_out)
}

/// All contradictions of a run.
pub(super) fn disagreements(context: &EvalContext<'_>) -> Vec<Diagnostic> {
    let said = |double: Double<'_>| {
        let worked_out = contradiction(context, &double)?;
        let quantity = double.quantity;
        let name = wording::setting(context, double.leaf);
        let shown = wording::shown(&worked_out, &quantity.unit);
        let written = crate::units::show_exact(&quantity.nominal, &quantity.unit);
        Some(
            Diagnostic::new(
                Code::Disagrees,
                double.stated.span,
                format!("`{name}` is stated as {written}, but the other settings give {shown}"),
                "stated here, and used",
            )
            .related(double.formula.span, "worked out by this formula")
            .help("measure again: either this value or one of the settings behind it is wrong"),
        )
    };
    doubles(context).into_iter().filter_map(said).collect()
}

/// Whether a run states anything that can be worked out as well.
pub(super) fn has_doubles(context: &EvalContext<'_>) -> bool {
    !doubles(context).is_empty()
}

/// Whether with a change the plan contradicts itself where it did not.
pub(super) fn contradicts(context: &EvalContext<'_>, parts: &[(Leaf, ExactInterval)]) -> bool {
    let changed = EvalContext {
        narrowed: parts,
        ..*context
    };
    doubles(context).iter().any(|double| {
        contradiction(&changed, double).is_some() && contradiction(context, double).is_none()
    })
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
