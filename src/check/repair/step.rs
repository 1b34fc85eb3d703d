//! The repair that puts a step into the sequence, where a rule says to adjust a step of another kind.
//!
//! A rule on a flash with `adjust cool.stations` may stand on a flash that no `cool` follows: then
//! there is nothing to turn, and what helps is a step more. It is put next to the step the rule
//! stands on, the whole run is checked with it, and the fewest things that do are offered.

use crate::diagnostic::{Edit, Repair};
use crate::eval::{Conditions, EvalContext, ExactInterval};
use crate::source::Span;
use crate::types::{
    FieldId, Hop, InstanceId, KindId, Origin, PlaceInRun, Quantity, Reading, Root, Run, Stated,
    Target, Type, Value,
};
use crate::units::{Exact, Unit};

use super::super::impact::Before;
use super::super::outcome::{RuleResult, again, results};
use super::super::wording;
use super::Offer;
use super::candidate::badness;
use super::repair_report::Rank;

/// The most things that one step is tried with: more stations than a press has are of no use.
const MOST: i64 = 8;

/// A step that a rule says to adjust, with the setting it counts by.
struct Kind {
    kind: KindId,
    field: FieldId,
    noun: Option<String>,
}

/// The step that mends a result and makes nothing worse; every rule was run with it.
pub(super) fn step_repair(
    context: &EvalContext<'_>,
    all: &Before<'_>,
    result: &RuleResult,
) -> Option<Offer> {
    let each = result.each?;
    let place = context.place(Target::Thing(each))? as usize;
    for step in steps_to_adjust(context, all, result) {
        // A reading that goes by such steps was taken without this one, and no line of a plan can say so.
        if context.run.readings.iter().any(|of| of.goes_by(step.kind)) {
            continue;
        }
        // Behind the step the rule stands on, else before it.
        for at in [place + 1, place] {
            if beside(context.run, at, step.kind) {
                continue;
            }
            for size in 1..=MOST {
                let Some(header) = header(context.run, at) else {
                    break;
                };
                let quantity = things(size, &step);
                if !possible(context, &step, &quantity.nominal) {
                    break;
                }
                let mut values = vec![None; context.standard.kind(step.kind).fields.len()];
                if let Some(slot) = values.get_mut(step.field.0 as usize) {
                    *slot = Some(Stated {
                        value: Value::Quantity(Box::new(quantity)),
                        span: header.before(),
                        origin: Origin::Plan,
                        per: None,
                        loosened: None,
                        taken: None,
                    });
                }
                let Some(run) = context.run.with_step(at, step.kind, values) else {
                    break;
                };
                if let Some(mends_all) = mends(context, &run, context.run.steps[at], all, result) {
                    return Some(Offer {
                        parts: Vec::new(),
                        rank: Rank::of_a_step(),
                        repair: offer(context, &step, size, at, header),
                        mends_all: Some(mends_all),
                    });
                }
            }
        }
    }
    None
}

/// Steps in the `adjust` of the rule that are counted by a setting, of another kind than its own.
fn steps_to_adjust(context: &EvalContext<'_>, all: &Before<'_>, result: &RuleResult) -> Vec<Kind> {
    let rule = &context.standard.rules[result.rule];
    let counted = |path: &crate::types::Path| {
        let (Root::Member(kind), [Hop::Field(_, field)]) = (path.root, &path.hops[..]) else {
            return None;
        };
        if context.standard.kind(kind).place != PlaceInRun::Step {
            return None;
        }
        let Type::Quantity(measure) = &context.standard.field(kind, *field).ty else {
            return None;
        };
        let Reading::Count(noun) = &measure.reading else {
            return None;
        };
        if all.not_set(kind, *field).is_some() {
            return None;
        }
        Some(Kind {
            kind,
            field: *field,
            noun: noun.clone(),
        })
    };
    let adjust = rule.adjust.iter();
    adjust.filter_map(|adjust| counted(&adjust.path)).collect()
}

fn header(run: &Run, at: usize) -> Option<Span> {
    let step = run.steps.get(at)?;
    run.instance(*step).header
}

/// Whether a step of this kind stands at this place or just before it already: then that one is to be turned.
fn beside(run: &Run, at: usize, kind: KindId) -> bool {
    let near = [at.checked_sub(1), Some(at)];
    near.into_iter()
        .flatten()
        .filter_map(|place| run.steps.get(place))
        .any(|step| run.instance(*step).kind == kind)
}

fn things(size: i64, step: &Kind) -> Quantity {
    let nominal = Exact::from_int(size);
    Quantity {
        low: nominal.clone(),
        high: nominal.clone(),
        bounds: ExactInterval::new(nominal.clone(), nominal.clone()).bounds,
        unit: step.noun.as_deref().map_or_else(Unit::bare, Unit::noun),
        tolerance: None,
        resolution: Exact::ZERO,
        scatter: None,
        nominal,
    }
}

fn possible(context: &EvalContext<'_>, step: &Kind, value: &Exact) -> bool {
    let field = context.standard.field(step.kind, step.field);
    field.possible.as_ref().is_none_or(|limits| {
        limits.low.as_ref().is_none_or(|low| value >= low)
            && limits.high.as_ref().is_none_or(|high| value <= high)
    })
}

/// Whether the run with the step keeps to the result, and nothing is worse than without it; then, whether all
/// of it holds.
fn mends(
    context: &EvalContext<'_>,
    run: &Run,
    at: InstanceId,
    all: &Before<'_>,
    result: &RuleResult,
) -> Option<bool> {
    // What is remembered of figures goes by their inputs, and holds for any run.
    let changed = EvalContext {
        run,
        narrowed: &[],
        ..*context
    };
    let moved = |result: &RuleResult| RuleResult {
        each: result.each.map(|id| Run::moved(id, at)),
        ..result.clone()
    };
    let own = again(&Conditions::new(changed), &changed, &moved(result));
    if badness(own.outcome()) > 0 {
        return None;
    }
    let same = |one: &RuleResult, other: &RuleResult| {
        (one.rule, one.requirement, one.each) == (other.rule, other.requirement, other.each)
    };
    let before: Vec<RuleResult> = all.results.iter().map(moved).collect();
    let after_all = results(&changed);
    let kept = after_all.iter().all(|after| {
        let Some(place) = before.iter().position(|known| same(known, after)) else {
            return badness(after.outcome()) == 0;
        };
        badness(after.outcome()) <= badness(before[place].outcome())
            && all.still_passes(&changed, place, after)
    });
    let good = |after: &RuleResult| {
        let place = before.iter().position(|known| same(known, after));
        badness(after.outcome()) == 0 || place.is_some_and(|place| all.passes(place))
    };
    kept.then(|| after_all.iter().all(good))
}

fn offer(context: &EvalContext<'_>, step: &Kind, size: i64, at: usize, header: Span) -> Repair {
    let kind = &context.standard.kind(step.kind).name;
    let value = match &step.noun {
        Some(noun) => wording::one(format!("{size} {noun}"), &Unit::noun(noun)),
        None => {
            let field = &context.standard.field(step.kind, step.field).name;
            format!("{field} {size}")
        }
    };
    // Settings stand under those of the step that comes after.
    let next = context.run.instance(context.run.steps[at]);
    let first = next.values.iter().flatten().map(|stated| stated.span.start);
    let column = first
        .min()
        .map_or(0, |start| start.saturating_sub(header.start));
    let width = (column as usize).clamp(kind.len() + 1, 40) - 1;
    let beside = match at.checked_sub(1) {
        Some(before) => format!(
            "after `{}`",
            wording::thing(context, context.run.steps[before])
        ),
        None => format!(
            "before `{}`",
            wording::thing(context, context.run.steps[at])
        ),
    };
    Repair {
        words: format!("put `{kind} {value}` {beside}"),
        edits: vec![Edit {
            span: header.before(),
            text: format!("{kind:<width$} {value}\n  "),
        }],
        ..Repair::default()
    }
}
