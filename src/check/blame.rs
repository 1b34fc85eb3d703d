//! Which setting is to blame, and where the plan's text says so.

use crate::eval::{Binding, EvalContext, Found, Leaf};
use crate::source::Span;
use crate::types::{Hop, Origin, Path, Root, Rule, Target, Type, Value};

use super::deciding_comparison::DecidingComparison;

/// The setting to blame and its place in the plan.
#[derive(Debug, Clone)]
pub(super) struct Blame {
    /// The setting, when there is one.
    pub(super) leaf: Option<Leaf>,
    /// Where the plan states it, or the header of the thing it belongs to.
    pub(super) span: Span,
}

/// Finds the setting to blame: the one whose tolerance decides, then those the rule says to adjust,
/// then those the comparison rests on, dials first.
pub(super) fn blame(
    context: &EvalContext<'_>,
    binding: Binding,
    rule: &Rule,
    comparison: &DecidingComparison<'_>,
    decider: Option<Leaf>,
) -> Blame {
    let rests_on = comparison.leaves(context, binding);
    let stated_in_plan = |leaf: &Leaf| {
        context
            .stated(leaf.target, leaf.field)
            .filter(|stated| stated.origin == Origin::Plan)
            .map(|stated| stated.span)
    };
    if let Some(leaf) = decider
        && let Some(span) = stated_in_plan(&leaf)
    {
        return Blame {
            leaf: Some(leaf),
            span,
        };
    }
    for leaf in adjustable(context, binding, rule) {
        if rests_on.contains(&leaf)
            && let Some(span) = stated_in_plan(&leaf)
        {
            return Blame {
                leaf: Some(leaf),
                span,
            };
        }
    }
    let kind = |leaf: &Leaf| context.run.target(context.standard, leaf.target).kind;
    let dial = |leaf: &&Leaf| {
        let field = context.standard.field(kind(leaf), leaf.field);
        !field.steps.is_empty()
    };
    let dials = rests_on.iter().filter(dial);
    for leaf in dials.chain(&rests_on) {
        if let Some(span) = stated_in_plan(leaf) {
            return Blame {
                leaf: Some(*leaf),
                span,
            };
        }
    }
    for leaf in &rests_on {
        if let Some((reference, span)) = referrer(context, binding, *leaf) {
            return Blame {
                leaf: Some(reference),
                span,
            };
        }
    }
    for path in comparison.paths() {
        if let Some((leaf, span)) = last_in_plan(context, binding, path) {
            return Blame { leaf, span };
        }
    }
    Blame {
        leaf: None,
        span: subject(context, binding),
    }
}

/// The plan's setting that brings in the record a value comes from: `cloth stock-230`.
fn referrer(context: &EvalContext<'_>, binding: Binding, leaf: Leaf) -> Option<(Leaf, Span)> {
    let Target::Record(record) = leaf.target else {
        return None;
    };
    let first = binding.each.into_iter();
    let others = context.run.numbered_instances().map(|(id, _)| id);
    for id in first.chain(others) {
        for (field, stated) in context.run.instance(id).own_values() {
            if stated.origin == Origin::Plan
                && let Value::Reference(Target::Record(found)) = stated.value
                && context.standard.descends(found, record)
            {
                let leaf = Leaf {
                    target: Target::Thing(id),
                    field,
                };
                return Some((leaf, stated.span));
            }
        }
    }
    None
}

/// The settings a rule says to adjust, as they stand in this run.
pub(super) fn adjustable(context: &EvalContext<'_>, binding: Binding, rule: &Rule) -> Vec<Leaf> {
    let mut found = Vec::new();
    for adjust in &rule.adjust {
        let bindings: Vec<Binding> = match adjust.path.root {
            Root::Member(kind) => context.run.many[kind.0 as usize]
                .iter()
                .map(|member| Binding {
                    member: Some(*member),
                    ..binding
                })
                .collect(),
            _ => vec![binding],
        };
        for binding in bindings {
            if let Ok(Found::Setting(target, _, field)) = context.locate(binding, &adjust.path) {
                found.push(Leaf { target, field });
            }
        }
    }
    found
}

/// Where the plan says what a path leads to.
pub(super) fn path_place(context: &EvalContext<'_>, binding: Binding, path: &Path) -> Span {
    last_in_plan(context, binding, path).map_or_else(|| subject(context, binding), |(_, span)| span)
}

/// The last setting on a path that the plan states, or the header of the thing the path starts from.
fn last_in_plan(
    context: &EvalContext<'_>,
    binding: Binding,
    path: &Path,
) -> Option<(Option<Leaf>, Span)> {
    let mut at = match path.root {
        Root::Own => binding.own?,
        Root::Single(kind) => Target::Thing(context.run.singles.get(kind.0 as usize).copied()??),
        Root::Each(_) => Target::Thing(binding.each?),
        Root::Member(_) => Target::Thing(binding.member?),
    };
    let mut last = header(context, at).map(|span| (None, span));
    for (index, hop) in path.hops.iter().enumerate() {
        let part = Path {
            root: path.root,
            hops: path.hops[..=index].to_vec(),
            text: path.text.clone(),
            span: path.span,
        };
        match hop {
            Hop::Field(kind, field) => {
                if let Some(stated) = context.stated(at, *field)
                    && stated.origin == Origin::Plan
                {
                    let leaf = Leaf {
                        target: at,
                        field: *field,
                    };
                    last = Some((Some(leaf), stated.span));
                }
                if let Type::Reference(_) = context.standard.field(*kind, *field).ty {
                    let Ok(next) = context.refer(at, *kind, *field, &part, 0) else {
                        break;
                    };
                    at = next;
                }
            }
            _ => match context.locate(binding, &part) {
                Ok(Found::Thing(next)) => {
                    at = next;
                    if let Some(span) = header(context, at) {
                        last = Some((None, span));
                    }
                }
                _ => break,
            },
        }
    }
    last
}

fn header(context: &EvalContext<'_>, target: Target) -> Option<Span> {
    match target {
        Target::Thing(id) => context.run.instance(id).header,
        Target::Record(_) => None,
    }
}

/// The place of the thing a rule stands on, else of the run.
pub(super) fn subject(context: &EvalContext<'_>, binding: Binding) -> Span {
    binding
        .each
        .and_then(|id| context.run.instance(id).header)
        .unwrap_or(context.run.span)
}

/// The ranges of the standard that a comparison reads, with their places.
pub(super) fn limit_places(
    context: &EvalContext<'_>,
    binding: Binding,
    comparison: &DecidingComparison<'_>,
) -> Vec<(Span, String)> {
    let mut found = Vec::new();
    for path in comparison.paths() {
        let Ok(Found::Setting(target, _, field)) = context.locate(binding, path) else {
            continue;
        };
        let Some(stated) = context.stated(target, field) else {
            continue;
        };
        if let (Value::Range(limits), Origin::Standard) = (&stated.value, stated.origin) {
            let owner = super::wording::target(context, target);
            found.push((
                stated.span,
                format!("{owner}: {}", super::wording::limits(limits)),
            ));
        }
    }
    found
}
