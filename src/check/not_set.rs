//! Which settings are no dials: what is read off with an instrument, and what a law speaks of.
//!
//! No repair and no window moves one of these. A reading speaks for the settings it was taken at, so where one of
//! those is moved it has to be taken again.

use super::impact::Reach;
use super::wording;
use crate::eval::{Binding, EvalContext, Leaf, inputs};
use crate::source::visible;
use crate::types::{FieldId, InstanceId, KindId, Origin, Standard, Target, Type};

/// Why a setting is not one to set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotSet {
    /// It is read off; by what.
    Measured(String),
    /// This rule of law reads it.
    Law(String),
}

impl NotSet {
    /// The reason as a clause: ``is read off (a probe in the wet print)``.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Measured(by) => format!("is read off, not set ({by})"),
            Self::Law(rule) => format!("is limited by law (`{rule}`), not set"),
        }
    }
}

/// Why a setting of a kind is not one to set; `None` where it is.
pub(super) fn not_set(
    standard: &Standard,
    reach: &Reach,
    kind: KindId,
    field: FieldId,
) -> Option<NotSet> {
    if let Some(by) = &standard.field(kind, field).measured {
        return Some(NotSet::Measured(visible(by).into_owned()));
    }
    let reads = |(number, rule): (usize, &crate::types::Rule)| {
        let clauses = 0..rule.requirements.len();
        let reads = rule.is_of_law()
            && clauses
                .into_iter()
                .any(|clause| reach.reads(number, clause, kind, field));
        reads.then(|| NotSet::Law(rule.name.clone()))
    };
    standard.rules.iter().enumerate().find_map(reads)
}

/// The readings stated in the plan that rest on a setting by their own formula, by the names reports give them:
/// where it is moved, they speak of it no longer.
#[must_use]
pub fn readings_on(context: &EvalContext<'_>, moved: &[Leaf]) -> Vec<String> {
    let mut found = Vec::new();
    for (index, instance) in context.run.instances.iter().enumerate() {
        let target = Target::Thing(InstanceId(u32::try_from(index).unwrap_or(u32::MAX)));
        for (number, field) in context
            .standard
            .kind(instance.kind)
            .fields
            .iter()
            .enumerate()
        {
            let (Some(formula), Some(_), Type::Quantity(_)) =
                (&field.formula, &field.measured, &field.ty)
            else {
                continue;
            };
            let leaf = Leaf {
                target,
                field: FieldId(u32::try_from(number).unwrap_or(u32::MAX)),
            };
            let stated = context.stated(target, leaf.field);
            if stated.is_none_or(|stated| stated.origin != Origin::Plan) {
                continue;
            }
            let binding = Binding {
                own: Some(target),
                ..Binding::default()
            };
            let behind = inputs(context, binding, &[formula]);
            if behind.iter().any(|(known, _)| moved.contains(known)) {
                found.push(wording::setting(context, leaf));
            }
        }
    }
    found
}

/// ``\`film.peak\` was stated; measure it again after any change``; `None` where there is none.
#[must_use]
pub fn measure_again(names: &[String]) -> Option<String> {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.as_slice() {
        [] => None,
        [one] => Some(format!(
            "{one} was stated; measure it again after any change"
        )),
        [most @ .., last] => Some(format!(
            "{} and {last} were stated; measure them again after any change",
            most.join(", ")
        )),
    }
}
