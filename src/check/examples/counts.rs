//! More things of a kind, where a condition counts them.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::eval::EvalContext;
use crate::types::{Aggregate, Condition, ExpressionNode, InstanceId, KindId, PlaceInRun};

use super::plan_edits::Edits;

/// The most copies that are put in at once.
const MOST_COPIES: usize = 12;

/// Plans with one copy more of a thing that a condition counts, two more, and so on.
pub(super) fn count_moves(
    context: &EvalContext<'_>,
    text: &str,
    condition: &Condition,
) -> Vec<Edits> {
    let mut kinds = BTreeSet::new();
    counted(condition, &mut kinds);
    let mut found = Vec::new();
    for kind in kinds {
        let things = context.run.many.get(kind.0 as usize);
        let Some(last) = things.and_then(|things| things.last()) else {
            continue;
        };
        found.extend((1..=MOST_COPIES).map_while(|count| copies(context, text, *last, count)));
    }
    found
}

/// The kinds of named things that a condition counts.
fn counted(condition: &Condition, found: &mut BTreeSet<KindId>) {
    condition.visit_expressions(&mut |part| {
        if let ExpressionNode::Over {
            aggregate: Aggregate::Count,
            kind,
            ..
        } = &part.node
        {
            found.insert(*kind);
        }
    });
}

/// So many copies of a named thing's block, each under a name of its own.
fn copies(context: &EvalContext<'_>, text: &str, id: InstanceId, count: usize) -> Option<Edits> {
    let instance = context.run.instance(id);
    let kind = context.standard.kind(instance.kind);
    if kind.place != PlaceInRun::Many || instance.name.is_empty() {
        return None;
    }
    let header = instance.header?.range();
    // The block ends on the line after its last clause; a thing without one is a line.
    let from = instance.insert.map_or(header.end, |at| at.start as usize);
    let tail = text.get(from..)?;
    let close = from + tail.find('\n').map_or(tail.len(), |at| at + 1);
    let head = text.get(header.clone())?.strip_prefix(kind.name.as_str())?;
    let rest = head.trim_start().strip_prefix(instance.name.as_str())?;
    let body = text.get(header.end..close)?;
    let things = context.run.many.get(instance.kind.0 as usize)?;
    let taken: BTreeSet<&str> = things
        .iter()
        .map(|other| context.run.instance(*other).name.as_str())
        .collect();
    let names = (2..).map(|number| format!("{}-{number}", instance.name));
    let names = names.filter(|name| !taken.contains(name.as_str()));
    let mut blocks = String::new();
    for name in names.take(count) {
        let _ = write!(blocks, "\n{} {name}{rest}{body}", kind.name);
    }
    Some(vec![(close..close, blocks)])
}
