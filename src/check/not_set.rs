//! Which settings are no dials: all but those that the standard says are set.
//!
//! No repair and no window moves one of these. A reading speaks for the settings it was taken at, so where one of
//! those is moved it has to be taken again.

use super::wording;
use crate::eval::{Binding, EvalContext, Leaf, inputs};
use crate::source::visible;
use crate::types::{Field, FieldId, InstanceId, Origin, Sort, Target, Type};

/// Why a setting is not one to set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotSet {
    /// It is brought along.
    Given,
    /// It is read off; by what.
    Measured(String),
    /// It is worked out.
    WorkedOut,
}

impl NotSet {
    /// Why a setting is not one to set; `None` where it is.
    #[must_use]
    pub fn of(field: &Field) -> Option<Self> {
        match &field.sort {
            Sort::Set => None,
            Sort::Given { .. } => Some(Self::Given),
            Sort::Measured(by) => Some(Self::Measured(visible(by).into_owned())),
            Sort::WorkedOut => Some(Self::WorkedOut),
        }
    }

    /// The reason as a clause: ``is read off, not set (a probe in the wet print)``.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Given => "is given, not set".to_owned(),
            Self::Measured(by) => format!("is read off, not set ({by})"),
            Self::WorkedOut => "is worked out, not set".to_owned(),
        }
    }
}

/// The readings stated in the plan that rest on a setting by their own formula, by the names reports give them:
/// where it is moved, they speak of it no longer.
#[must_use]
pub fn readings_on(context: &EvalContext<'_>, moved: &[Leaf]) -> Vec<String> {
    let mut moved = moved.to_vec();
    let mut found = Vec::new();
    loop {
        // A reading that is taken again may come to another value, and others rest on it.
        let more = readings_once(context, &moved);
        let known = found.len();
        for (leaf, name) in more {
            if !moved.contains(&leaf) {
                moved.push(leaf);
                found.push(name);
            }
        }
        if found.len() == known {
            return found;
        }
    }
}

fn readings_once(context: &EvalContext<'_>, moved: &[Leaf]) -> Vec<(Leaf, String)> {
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
                (&field.formula, field.measured(), &field.ty)
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
                found.push((leaf, wording::setting(context, leaf)));
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
