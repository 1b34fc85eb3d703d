//! Given is given: a plan that states another value than the record of its thing, and a thing of which the plan does not
//! say which of the records it is.

use crate::diagnostic::{Code, Diagnostic};
use crate::eval::{EvalContext, Leaf};
use crate::source::visible;
use crate::types::{KindId, PlaceInRun, Standard, Target, overruled};

use super::wording;

/// How many records are named.
const MOST_NAMED: usize = 8;

/// Given settings that the plan states otherwise than their records: the plan's line, the standard's, both values.
pub(super) fn overrules(context: &EvalContext<'_>) -> Vec<Diagnostic> {
    let said = |(id, field, stated, above): (
        _,
        _,
        &crate::types::Stated,
        &crate::types::Stated,
    )| {
        let target = Target::Thing(id);
        let name = wording::setting(context, Leaf { target, field });
        let record = context
            .run
            .instance(id)
            .parent
            .map(|parent| context.standard.record(parent).name.clone())
            .unwrap_or_default();
        let kind = context.run.instance(id).kind;
        let words =
            |of: &crate::types::Stated| wording::value(context.standard, (kind, field), &of.value);
        Diagnostic::new(
            Code::Overruled,
            stated.span,
            format!(
                "`{name}` is given: `{}` has {}, and the plan states {}",
                visible(&record),
                words(above),
                words(stated)
            ),
            "stated here, and used",
        )
        .related(above.span, "the standard states this")
        .help(format!(
            "take the line out of the plan; where the standard is out of date, change it there, and where a plan may say \
             otherwise, write `given unless the plan states it` behind `{}`",
            context.standard.field(kind, field).name
        ))
    };
    overruled(context.standard, context.run)
        .into_iter()
        .map(said)
        .collect()
}

/// Things of which the standard has records, and the plan says neither which of them it is nor that it is none.
pub(super) fn unnamed(context: &EvalContext<'_>) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    for instance in &context.run.instances {
        let (None, Some(header)) = (instance.parent, instance.header) else {
            continue;
        };
        if instance.not_listed || context.standard.kind(instance.kind).place != PlaceInRun::One {
            continue;
        }
        let Some(which) = which(context.standard, instance.kind) else {
            continue;
        };
        let kind = &context.standard.kind(instance.kind).name;
        said.push(
            Diagnostic::new(
                Code::WhichRecord,
                header,
                format!("the plan does not say which `{kind}` of the standard this is"),
                "no `is` here",
            )
            .help(format!(
                "write {which}; where it is none of them, write `{kind} is not listed`"
            )),
        );
    }
    said
}

/// The ways to say which of the records of a kind a thing is: ``\`dryer is north\` or \`dryer is south\```. `None` where
/// the standard has no record of it.
pub(super) fn which(standard: &Standard, kind: KindId) -> Option<String> {
    let name = &standard.kind(kind).name;
    let mut records = standard
        .records_of(kind)
        .map(|(_, record)| format!("`{name} is {}`", visible(&record.name)));
    let named: Vec<String> = records.by_ref().take(MOST_NAMED).collect();
    let more = records.count();
    let (last, others) = named.split_last()?;
    Some(match (others, more) {
        ([], 0) => last.clone(),
        (others, 0) => format!("{} or {last}", others.join(", ")),
        (_, more) => format!("{}, or one of {more} more", named.join(", ")),
    })
}
