//! What a requirement comes to: its `when`, its condition and its permissions together.

use std::collections::VecDeque;

use super::condition::{Conditions, Truth};
use super::evaluator::Evaluator;
use super::range::{Aim, stretch};
use super::{Binding, EvalContext, ExactInterval, FigureCache, Leaf, MissingValue, inputs};
use crate::types::{Condition, ConditionNode, Expression, Requirement, Rule};
use crate::units::Exact;

/// How many boxes are looked at when parts of a condition are each in doubt.
const MOST_BOXES: usize = 256;

/// With more uncertain values than this, that many boxes would settle nothing.
const MOST_LEAVES: usize = 64;

/// A requirement with what surrounds it.
#[derive(Debug, Clone, Copy)]
pub struct Goal<'e> {
    /// It applies when all of these are true.
    pub when: &'e [Condition],
    /// And these: those of the requirement itself.
    pub own: &'e [Condition],
    /// What is required.
    pub requirement: &'e Condition,
    /// What is permitted instead.
    pub permissions: &'e [Condition],
}

impl<'e> Goal<'e> {
    /// That of a requirement of a rule.
    #[must_use]
    pub fn of(rule: &'e Rule, requirement: &'e Requirement) -> Self {
        Self {
            when: &rule.when,
            own: &requirement.when,
            requirement: &requirement.condition,
            permissions: &rule.permissions,
        }
    }

    /// All under which it applies: those of its rule, then its own.
    pub fn conditions(&self) -> impl Iterator<Item = &'e Condition> + use<'e> {
        self.when.iter().chain(self.own)
    }
}

/// What a requirement comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Holds at every point; by this permission when the requirement itself does not.
    Holds(Option<usize>),
    /// Breaks at every point.
    Breaks,
    /// Holds at some, breaks at some, or cannot be shown. `true`: whether it applies is in doubt too.
    AtRisk(bool),
    /// Something is missing.
    NotStated(Box<MissingValue>),
    /// Something cannot be worked out; a clause in plain words.
    CannotWorkOut(String),
    /// This one of [`Goal::conditions`] is false.
    DoesNotApply(usize),
}

/// Decides a requirement. `conditions` must be for `context`.
#[must_use]
pub fn decide(
    conditions: &Conditions<'_>,
    context: &EvalContext<'_>,
    binding: Binding,
    goal: Goal<'_>,
) -> Verdict {
    let verdict = once(conditions, binding, goal);
    let Verdict::AtRisk(_) = verdict else {
        return verdict;
    };
    // One comparison with a certain `when` is already as sharp as it gets.
    if is_simple(goal.requirement)
        && goal.permissions.is_empty()
        && verdict == Verdict::AtRisk(false)
    {
        return verdict;
    }
    let own = FigureCache::default();
    let context = &context.remembering(context.cache.unwrap_or(&own));
    by_splitting(context, binding, goal).unwrap_or(verdict)
}

pub(crate) fn once(conditions: &Conditions<'_>, binding: Binding, goal: Goal<'_>) -> Verdict {
    let mut applies = Truth::True;
    for (index, when) in goal.conditions().enumerate() {
        let truth = conditions.truth_of_when(binding, when);
        if truth == Truth::False {
            return Verdict::DoesNotApply(index);
        }
        applies = applies.and(truth);
    }
    let in_doubt = match applies {
        Truth::Missing(gap) => return Verdict::NotStated(gap),
        Truth::CannotWorkOut(words) => return Verdict::CannotWorkOut(words),
        Truth::Unknown => true,
        Truth::True | Truth::False => false,
    };
    let required = conditions.truth(binding, goal.requirement);
    match required {
        Truth::True => return Verdict::Holds(None),
        Truth::Missing(gap) => return Verdict::NotStated(gap),
        Truth::CannotWorkOut(words) => return Verdict::CannotWorkOut(words),
        Truth::False | Truth::Unknown => {}
    }
    let mut permitted = Truth::False;
    for (index, permission) in goal.permissions.iter().enumerate() {
        let truth = conditions.truth(binding, permission);
        if truth == Truth::True {
            return Verdict::Holds(Some(index));
        }
        permitted = permitted.or(truth);
    }
    match permitted {
        Truth::Missing(gap) => Verdict::NotStated(gap),
        Truth::CannotWorkOut(words) => Verdict::CannotWorkOut(words),
        Truth::False if required == Truth::False && !in_doubt => Verdict::Breaks,
        _ => Verdict::AtRisk(in_doubt),
    }
}

/// Whether a condition is a single comparison, or several of one value with fixed ends.
fn is_simple(condition: &Condition) -> bool {
    match &condition.node {
        ConditionNode::Or(_) | ConditionNode::Not(_) => false,
        _ => condition.children().iter().all(is_simple),
    }
}

/// Cuts the box of tolerances until every piece agrees, or the budget ends.
fn by_splitting(context: &EvalContext<'_>, binding: Binding, goal: Goal<'_>) -> Option<Verdict> {
    let mut expressions = Vec::new();
    for condition in goal
        .conditions()
        .chain([goal.requirement])
        .chain(goal.permissions)
    {
        condition_expressions(condition, &mut expressions);
    }
    // Figures that take milliseconds are not worked out for hundreds of boxes.
    if any_costly(context, binding, &expressions) {
        return None;
    }
    let start: Vec<(Leaf, ExactInterval)> = inputs(context, binding, &expressions)
        .into_iter()
        .filter_map(|(leaf, _)| Some((leaf, stretch(context, leaf)?)))
        .filter(|(_, stretch)| stretch.low < stretch.high)
        .collect();
    if start.is_empty() || start.len() > MOST_LEAVES {
        return None;
    }
    // What was narrowed to a point, or changed, stays as it is.
    let others: Vec<(Leaf, ExactInterval)> = context
        .narrowed
        .iter()
        .filter(|(leaf, _)| !start.iter().any(|(known, _)| known == leaf))
        .cloned()
        .collect();
    let at = |cell: &[(Leaf, ExactInterval)]| {
        let narrowed = [cell, &others].concat();
        let context = EvalContext {
            narrowed: &narrowed,
            ..*context
        };
        once(&Conditions::new(context), binding, goal)
    };
    let since = context.cache.map_or(0, |cache| cache.budget().work());
    let mut boxes = VecDeque::from([start]);
    let mut looked = 0;
    let mut common: Option<bool> = None;
    while let Some(cell) = boxes.pop_front() {
        looked += 1;
        let tired = context
            .cache
            .is_some_and(|cache| !cache.budget().may_search(since));
        if looked > MOST_BOXES || tired {
            return None;
        }
        let good = match at(&cell) {
            Verdict::Holds(_) | Verdict::DoesNotApply(_) => true,
            Verdict::Breaks => false,
            Verdict::AtRisk(_) => {
                // One point tells what the box must come to, if it comes to one thing.
                let point = match at(&middle(&cell)?) {
                    Verdict::Holds(_) | Verdict::DoesNotApply(_) => Some(true),
                    Verdict::Breaks => Some(false),
                    _ => None,
                };
                if point.is_some() && common.is_some() && point != common {
                    return None;
                }
                common = common.or(point);
                let index = widest(&cell)?;
                let stretch = &cell[index].1;
                let middle = Exact::from_f64(stretch.bounds.mid())?;
                if middle <= stretch.low || middle >= stretch.high {
                    return None;
                }
                let mut below = cell.clone();
                let mut above = cell.clone();
                below[index].1 = ExactInterval::new(stretch.low.clone(), middle.clone());
                above[index].1 = ExactInterval::new(middle, stretch.high.clone());
                boxes.extend([below, above]);
                continue;
            }
            Verdict::NotStated(_) | Verdict::CannotWorkOut(_) => return None,
        };
        // Boxes that touch share a point, of which not both can be true: where two disagree, some box between them will
        // never be decided. So this changes no answer, it only gives up at once what the budget would end.
        match common {
            None => common = Some(good),
            Some(known) if known != good => return None,
            Some(_) => {}
        }
    }
    match common? {
        true => Some(Verdict::Holds(None)),
        false => Some(Verdict::Breaks),
    }
}

/// The point in the middle of a box.
fn middle(cell: &[(Leaf, ExactInterval)]) -> Option<Vec<(Leaf, ExactInterval)>> {
    let point = |(leaf, stretch): &(Leaf, ExactInterval)| {
        let middle = Exact::from_f64(stretch.bounds.mid())?;
        let middle = Exact::min(&Exact::max(&middle, &stretch.low), &stretch.high);
        Some((*leaf, ExactInterval::new(middle.clone(), middle)))
    };
    cell.iter().map(point).collect()
}

fn any_costly(context: &EvalContext<'_>, binding: Binding, expressions: &[&Expression]) -> bool {
    expressions.iter().any(|expression| {
        let evaluator = Evaluator::new(*context);
        match Aim::value(expression).plain(&evaluator, binding) {
            Ok((_, marks)) => marks.costly,
            Err(_) => evaluator.take_marks().costly,
        }
    })
}

/// Whether a figure that takes milliseconds stands behind a requirement, so that it is tried sparingly.
#[must_use]
pub fn is_costly(context: &EvalContext<'_>, binding: Binding, goal: Goal<'_>) -> bool {
    let mut expressions = Vec::new();
    condition_expressions(goal.requirement, &mut expressions);
    any_costly(context, binding, &expressions)
}

/// Whether a figure that takes milliseconds stands behind a value.
#[must_use]
pub fn is_costly_value(
    context: &EvalContext<'_>,
    binding: Binding,
    expression: &Expression,
) -> bool {
    any_costly(context, binding, &[expression])
}

fn widest(cell: &[(Leaf, ExactInterval)]) -> Option<usize> {
    let width = |stretch: &ExactInterval| {
        let size = stretch
            .bounds
            .lo
            .abs()
            .max(stretch.bounds.hi.abs())
            .max(f64::MIN_POSITIVE);
        stretch.bounds.width() / size
    };
    let mut best: Option<(f64, usize)> = None;
    for (index, (_, stretch)) in cell.iter().enumerate() {
        if best.is_none_or(|(known, _)| width(stretch) > known) {
            best = Some((width(stretch), index));
        }
    }
    best.map(|(_, index)| index)
}

/// All expressions a condition compares.
pub(super) fn condition_expressions<'e>(condition: &'e Condition, found: &mut Vec<&'e Expression>) {
    condition.visit(&mut |part| found.extend(part.expressions()));
}

/// The stated quantities that a condition rests on, in order of first use.
#[must_use]
pub fn condition_inputs(
    context: &EvalContext<'_>,
    binding: Binding,
    conditions: &[&Condition],
) -> Vec<Leaf> {
    let mut expressions = Vec::new();
    for condition in conditions {
        condition_expressions(condition, &mut expressions);
    }
    inputs(context, binding, &expressions)
        .into_iter()
        .map(|(leaf, _)| leaf)
        .collect()
}
