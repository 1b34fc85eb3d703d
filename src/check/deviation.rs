//! Whether a deviation lets a requirement pass that does not hold by itself.
//!
//! A deviation is asked only about results of its own rule, and only where these break or are at
//! risk: what is missing or cannot be worked out never passes by one. In doubt it lets nothing pass.

use crate::diagnostic::{Code, Diagnostic, Excuse, Finding, Needed, Outcome};
use crate::eval::{
    Aim, Binding, Conditions, EvalContext, Goal, Leaf, Truth, Verdict, decide, range,
};
use crate::source::Span;
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Date, Deviation, Expression, ExpressionNode,
    Limits, Move, Pieces, Quantity, Rule, Target, limits, replaced, source_words,
};
use crate::units::{Exact, show_exact};

use super::blame::blame;
use super::deciding_comparison::decisive;
use super::demand::surely;
use super::outcome::{Applied, RuleResult, binding as binding_of, goal as goal_of};
use super::wording;

/// What deviations make of a result.
#[derive(Debug, Default)]
pub(super) struct Standing {
    /// The deviation that lets it pass, and how much of it was needed.
    pub(super) passes: Option<(usize, Vec<Needed>)>,
    /// Why others do not: a note and the place of the deviation.
    pub(super) refused: Vec<(String, Span)>,
}

/// Looks at all deviations from the rule of a result. `conditions` must be for `context`.
pub(super) fn standing(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    on: Option<Date>,
    result: &RuleResult,
) -> Standing {
    let mut found = Standing::default();
    if !matches!(
        result.applied,
        Applied::To(Verdict::Breaks | Verdict::AtRisk(_))
    ) {
        return found;
    }
    for (number, deviation) in context.standard.deviations.iter().enumerate() {
        if deviation.rule != Some(result.rule) {
            continue;
        }
        let about = deviation.run.as_ref();
        if about.is_some_and(|(name, _)| *name != context.run.name) {
            continue;
        }
        match lets_pass(conditions, context, on, deviation, result) {
            Ok(needed) => {
                found.passes = Some((number, needed));
                found.refused.clear();
                break;
            }
            Err(Some(words)) => found.refused.push((words, deviation.span)),
            // It is plainly about something else.
            Err(None) => {}
        }
    }
    found
}

fn lets_pass(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    on: Option<Date>,
    deviation: &Deviation,
    result: &RuleResult,
) -> Result<Vec<Needed>, Option<String>> {
    let refuse = |words: String| Err(Some(words));
    if deviation.malformed {
        return refuse(
            "the deviation from this rule is malformed, so it lets nothing pass".to_owned(),
        );
    }
    let (Some(on), Some(until)) = (on, deviation.until) else {
        return refuse("without a date no deviation is in force".to_owned());
    };
    if on > until {
        return refuse(format!("the deviation from this rule ended on {until}"));
    }
    let binding = binding_of(result.each);
    for when in &deviation.when {
        match conditions.truth_of_when(binding, when) {
            Truth::True => {}
            Truth::False => return Err(None),
            Truth::Unknown => {
                return refuse(
                    "the deviation from this rule is not in force: its `when` does not hold everywhere inside the tolerances"
                        .to_owned(),
                );
            }
            Truth::Missing(gap) => {
                return refuse(format!(
                    "the deviation from this rule is not in force: `{}` in its `when` is not stated",
                    gap.path
                ));
            }
            Truth::CannotWorkOut(_) => {
                return refuse(
                    "the deviation from this rule is not in force: its `when` cannot be worked out"
                        .to_owned(),
                );
            }
        }
    }
    if let Some(words) = too_many(context, deviation) {
        return refuse(words);
    }
    let rule = &context.standard.rules[result.rule];
    if deviation.moves.is_empty() {
        return Ok(Vec::new());
    }
    let mut needed = Vec::new();
    let requirement = &rule.requirements[result.requirement].condition;
    let relaxed = relaxed(context, conditions, binding, deviation, result, &mut needed);
    let goal = Goal {
        requirement: &relaxed,
        ..goal_of(rule, result.requirement)
    };
    match decide(conditions, context, binding, goal) {
        Verdict::Holds(_) => Ok(needed),
        _ if limits(requirement).is_empty() => {
            refuse("the deviation from this rule moves another of its requirements".to_owned())
        }
        _ => refuse(format!(
            "the deviation from this rule permits {}, and this is not within that everywhere",
            up_to(deviation)
        )),
    }
}

/// The requirement of a result with the limits that a deviation in force moves; without a condition where it lets all of
/// it pass. `None` where no deviation is in force whatever is set.
///
/// # Errors
/// The deviation of which that cannot be said for all of the context.
#[allow(clippy::type_complexity)]
pub(super) fn widening(
    context: &EvalContext<'_>,
    on: Option<Date>,
    result: &RuleResult,
) -> Result<Option<(usize, Option<Condition>)>, usize> {
    let binding = binding_of(result.each);
    let conditions = Conditions::new(*context);
    let mut found = None;
    for (number, deviation) in context.standard.deviations.iter().enumerate() {
        let about = deviation.run.as_ref();
        let other = about.is_some_and(|(name, _)| *name != context.run.name);
        let (Some(on), Some(until)) = (on, deviation.until) else {
            continue;
        };
        if deviation.rule != Some(result.rule) || other || deviation.malformed || on > until {
            continue;
        }
        match surely(context, binding, &deviation.when) {
            Some(true) => {}
            Some(false) => continue,
            None => return Err(number),
        }
        if let Some(pieces) = &deviation.pieces {
            let (kind, field) = pieces.counted_by;
            let of_kind =
                |leaf: &Leaf| context.run.target(context.standard, leaf.target).kind == kind;
            let mut set = context.narrowed.iter().map(|(leaf, _)| leaf);
            if set.any(|leaf| leaf.field == field && of_kind(leaf)) {
                return Err(number);
            }
            if too_many(context, deviation).is_some() {
                continue;
            }
        }
        // Two do not add up: which of them lets a run pass hangs on the run.
        if found.is_some() {
            return Err(number);
        }
        let moved = |of: &Deviation| {
            let mut sites = of.moves.iter().flat_map(|moved| &moved.sites);
            sites.any(|site| site.requirement == result.requirement)
        };
        found = if deviation.moves.is_empty() {
            Some((number, None))
        } else if moved(deviation) {
            let relaxed = relaxed(
                context,
                &conditions,
                binding,
                deviation,
                result,
                &mut Vec::new(),
            );
            Some((number, Some(relaxed)))
        } else {
            None
        };
    }
    Ok(found)
}

/// Why a run has too many pieces for a deviation.
fn too_many(context: &EvalContext<'_>, deviation: &Deviation) -> Option<String> {
    let pieces = deviation.pieces.as_ref()?;
    let (kind, field) = pieces.counted_by;
    let setting = format!(
        "{}.{}",
        context.standard.kind(kind).name,
        context.standard.field(kind, field).name
    );
    let most = show_exact(&pieces.most, &pieces.unit);
    let quantity = counted(context, pieces);
    if let Some((leaf, _)) = quantity
        && let Some(set) = context.narrowed(leaf)
    {
        // Another number than the plan's is being looked at, or all of several.
        return (set.high > pieces.most).then(|| {
            format!("the deviation from this rule is for at most {most}, and `{setting}` is more")
        });
    }
    match quantity.map(|(_, quantity)| quantity) {
        None => Some(format!(
            "the deviation from this rule is for at most {most}, and `{setting}` is not stated"
        )),
        Some(quantity) if quantity.high > pieces.most => Some(format!(
            "the deviation from this rule is for at most {most}, and `{setting}` is {}",
            show_exact(&quantity.high, &quantity.unit)
        )),
        Some(_) => None,
    }
}

/// The setting that counts the pieces of a run, and what the plan states for it.
fn counted<'a>(context: &EvalContext<'a>, pieces: &Pieces) -> Option<(Leaf, &'a Quantity)> {
    let (kind, field) = pieces.counted_by;
    let id = context.run.singles.get(kind.index()).copied().flatten()?;
    let target = Target::Thing(id);
    Some((Leaf { target, field }, context.quantity(target, field)?))
}

/// Whether a deviation may let a result pass at some points of a context, though not at all of them.
pub(super) fn might_pass(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    on: Option<Date>,
    result: &RuleResult,
) -> bool {
    let binding = binding_of(result.each);
    context.standard.deviations.iter().any(|deviation| {
        let about = deviation.run.as_ref();
        let (Some(on), Some(until)) = (on, deviation.until) else {
            return false;
        };
        let in_force = deviation.rule == Some(result.rule)
            && about.is_none_or(|(name, _)| *name == context.run.name)
            && !deviation.malformed
            && on <= until;
        if !in_force || surely(context, binding, &deviation.when) == Some(false) {
            return false;
        }
        if let Some(pieces) = &deviation.pieces {
            let few = counted(context, pieces).is_some_and(|(leaf, quantity)| {
                let low = context.narrowed(leaf).map_or(&quantity.low, |set| &set.low);
                *low <= pieces.most
            });
            if !few {
                return false;
            }
        }
        if deviation.moves.is_empty() {
            return true;
        }
        let rule = &context.standard.rules[result.rule];
        let mut needed = Vec::new();
        let relaxed = relaxed(context, conditions, binding, deviation, result, &mut needed);
        let goal = Goal {
            requirement: &relaxed,
            ..goal_of(rule, result.requirement)
        };
        decide(conditions, context, binding, goal) != Verdict::Breaks
    })
}

/// The requirement with its limits moved, and how far the run goes beyond the rule's own.
fn relaxed(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    binding: Binding,
    deviation: &Deviation,
    result: &RuleResult,
    needed: &mut Vec<Needed>,
) -> Condition {
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement].condition;
    let all = limits(requirement);
    replaced(requirement, &mut |number, condition| {
        let moved = deviation.moves.iter().enumerate().find_map(|(at, moved)| {
            let mut sites = moved.sites.iter();
            let site = sites
                .find(|site| site.requirement == result.requirement && site.number == number)?;
            Some((at, moved, site.on_right))
        });
        let (at, moved, on_right) = moved?;
        let limit = all.iter().find(|limit| limit.number == number)?;
        match &condition.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let (figure, old) = if on_right {
                    (right, left)
                } else {
                    (left, right)
                };
                if let (Some(up), Ok(old)) = (
                    limit.loosens_up(on_right),
                    range(context, binding, Aim::value(old)),
                ) {
                    let from = old.bounds.mid();
                    needed.extend(need(context, binding, at, moved, figure, from, up));
                }
                let new = constant(moved);
                let (left, right) = if on_right {
                    (new, right.clone())
                } else {
                    (left.clone(), new)
                };
                Some(ConditionNode::Compare {
                    compare: *compare,
                    left,
                    right,
                })
            }
            ConditionNode::Within {
                subject,
                range: path,
            } => {
                let own = conditions.limits(binding, path).ok()?;
                let (node, from, up) = widened(subject, own, moved, condition)?;
                needed.extend(need(context, binding, at, moved, subject, from, up));
                Some(node)
            }
            _ => None,
        }
    })
}

/// A range with the end moved that the deviation lies beyond; `None` when it lies inside.
fn widened(
    subject: &Expression,
    own: &Limits,
    moved: &Move,
    condition: &Condition,
) -> Option<(ConditionNode, f64, bool)> {
    let new = &moved.limit.exact;
    let above = own.high.as_ref().filter(|high| new > *high);
    let below = own.low.as_ref().filter(|low| new < *low);
    let (from, up) = match (above, below) {
        (Some(high), _) => (high.nearest(), true),
        (None, Some(low)) => (low.nearest(), false),
        (None, None) => return None,
    };
    let low = if up { own.low.as_ref() } else { Some(new) };
    let high = if up { Some(new) } else { own.high.as_ref() };
    let mut parts = Vec::new();
    for (compare, end) in [(Compare::AtLeast, low), (Compare::AtMost, high)] {
        let Some(end) = end else { continue };
        let mut limit = constant(moved);
        limit.node = ExpressionNode::Constant(Constant {
            bounds: crate::interval::Bounds::new(end.outward().0, end.outward().1),
            exact: end.clone(),
            unit: own.unit.clone(),
        });
        parts.push(Condition {
            node: ConditionNode::Compare {
                compare,
                left: subject.clone(),
                right: limit,
            },
            span: condition.span,
        });
    }
    Some((ConditionNode::And(parts), from, up))
}

fn constant(moved: &Move) -> Expression {
    Expression {
        node: ExpressionNode::Constant(moved.limit.clone()),
        dimension: moved.dimension,
        span: moved.span,
    }
}

/// How far a figure goes beyond the rule's limit; `None` when it does not.
fn need(
    context: &EvalContext<'_>,
    binding: Binding,
    at: usize,
    moved: &Move,
    figure: &Expression,
    from: f64,
    up: bool,
) -> Option<Needed> {
    let found = range(context, binding, Aim::value(figure)).ok()?;
    let value = match (&found.exact, up) {
        (Some((_, high)), true) => high.clone(),
        (Some((low, _)), false) => low.clone(),
        (None, true) => Exact::from_f64(found.bounds.hi)?,
        (None, false) => Exact::from_f64(found.bounds.lo)?,
    };
    let way = (value.nearest() - from) / (moved.limit.exact.nearest() - from);
    if way.is_nan() || way <= 0.0 {
        return None;
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let thousandths = (way * 1000.0).ceil().min(1e6) as u32;
    Some(Needed {
        up_to: at,
        value,
        thousandths,
        above: up,
    })
}

/// `up to 58 s`, with the figures where there are several.
fn up_to(deviation: &Deviation) -> String {
    let several = deviation.moves.len() > 1;
    let one = |moved: &Move| {
        let limit = show_exact(&moved.limit.exact, &moved.limit.unit);
        if several {
            format!("`{}` up to {limit}", moved.figure)
        } else {
            format!("up to {limit}")
        }
    };
    let all: Vec<String> = deviation.moves.iter().map(one).collect();
    all.join(" and ")
}

/// Says by which deviation a requirement passes that does not hold by itself.
pub(super) fn passing(
    context: &EvalContext<'_>,
    result: &RuleResult,
    number: usize,
    needed: Vec<Needed>,
) -> Option<Diagnostic> {
    let deviation = context.standard.deviations.get(number)?;
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    let binding = binding_of(result.each);
    let comparison = decisive(context, binding, &requirement.condition);
    let told = comparison.told(context, binding);
    let until = deviation
        .until
        .map(|date| date.to_string())
        .unwrap_or_default();
    let figure = match (&told.quantity, &told.value) {
        (Some(quantity), Some(value)) => format!(": `{quantity}` is {value}"),
        _ => String::new(),
    };
    let limit = told.limit.as_ref().map(|limit| format!(", wanted {limit}"));
    let up_to = (!deviation.moves.is_empty()).then(|| up_to(deviation));
    let permitted = up_to.as_ref().map(|words| format!(", permitted {words}"));
    let place = blame(context, binding, rule, &comparison, None);
    let headline = format!(
        "`{}` holds by a deviation only, until {until}{figure}{}{}",
        rule.name,
        limit.unwrap_or_default(),
        permitted.unwrap_or_default(),
    );
    let mut said = Diagnostic::new(
        Code::ByDeviation,
        place.span,
        headline,
        "passes by deviation",
    )
    .related(deviation.span, "this deviation lets it through")
    .related(requirement.span, "this would not hold by itself");
    said.finding = Some(Box::new(Finding {
        outcome: Outcome::Holds,
        verb: requirement.verb,
        rule: rule.name.clone(),
        clause: u32::try_from(result.requirement + 1).unwrap_or(u32::MAX),
        title: rule.title.clone(),
        subject: result.each.map(|id| wording::thing(context, id)),
        quantity: told.quantity,
        value: told.value,
        limit: told.limit,
        margin: told.margin,
        decided_by: None,
        culprit: place.leaf.map(|leaf| wording::setting(context, leaf)),
        because: rule.because.clone(),
        when_out: rule.when_out.clone(),
        source: requirement
            .per
            .as_ref()
            .or(rule.per.as_ref())
            .map(source_words),
        deviation: Some(Excuse {
            number,
            without: result.outcome(),
            up_to,
            until,
            because: deviation.because.clone().unwrap_or_default(),
            approved: deviation.approved.clone().unwrap_or_default(),
            span: deviation.span,
            needed,
        }),
    }));
    Some(said)
}

/// Why a result counts as holding, for lists of all checks.
pub(super) fn why(said: &Diagnostic, rule: &Rule) -> String {
    let start = format!("`{}` holds by a deviation only, ", rule.name);
    let words = said.headline.strip_prefix(&start);
    format!("by a deviation only, {}", words.unwrap_or(&said.headline))
}
