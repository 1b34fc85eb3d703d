//! Settings that nobody dials: worked out, or taken from a record. A plan states them outright where nothing else does.

use crate::eval::{EvalContext, Leaf};
use crate::types::{Expression, ExpressionNode, FieldId, Hop, InstanceId, Origin, Root, Target};

use super::plan_edits::{Edits, left_out};

/// Whether a plan would state this itself: it is neither worked out nor taken from a record.
pub(super) fn is_set(context: &EvalContext<'_>, leaf: Leaf) -> bool {
    let Target::Thing(id) = leaf.target else {
        return true;
    };
    let instance = context.run.instance(id);
    let own = instance.values.get(leaf.field.0 as usize);
    if own.is_some_and(|own| own.as_ref().is_some_and(|own| own.origin == Origin::Plan)) {
        return true;
    }
    let worked_out = context
        .standard
        .field(instance.kind, leaf.field)
        .formula
        .is_some();
    !worked_out && context.stated(leaf.target, leaf.field).is_none()
}

/// Takes out what a setting is worked out from, so that the plan does not contradict what it states outright.
pub(super) fn without_inputs(context: &EvalContext<'_>, text: &str, leaf: Leaf) -> Option<Edits> {
    let Target::Thing(id) = leaf.target else {
        return None;
    };
    let instance = context.run.instance(id);
    let formula = context
        .standard
        .field(instance.kind, leaf.field)
        .formula
        .as_ref()?;
    let mut inputs = Vec::new();
    own_settings(formula, &mut inputs);
    // One input that is missing is enough.
    if let Some(edits) = inputs
        .iter()
        .find_map(|field| left_out(context, text, id, *field))
    {
        return Some(edits);
    }
    let inherited = |field: &FieldId| context.stated(leaf.target, *field).is_some();
    inputs
        .iter()
        .any(inherited)
        .then(|| without_parent(context, text, id))?
}

/// The settings of the same thing that a formula starts from.
fn own_settings(of: &Expression, found: &mut Vec<FieldId>) {
    match &of.node {
        ExpressionNode::Path(path) | ExpressionNode::RangeEnd { path, .. } => {
            if let (Root::Own, Some(Hop::Field(_, field))) = (path.root, path.hops.first()) {
                found.push(*field);
            }
        }
        ExpressionNode::Over { .. } => {}
        _ => {
            for part in of.children() {
                own_settings(part, found);
            }
        }
    }
}

/// A thing that is no record any more.
fn without_parent(context: &EvalContext<'_>, text: &str, id: InstanceId) -> Option<Edits> {
    let header = context.run.instance(id).header?;
    let written = text.get(header.range())?;
    let at = header.start as usize + written.rfind(" is ")?;
    Some(vec![(at..header.end as usize, String::new())])
}
