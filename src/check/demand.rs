//! What a run must keep to, taken apart into demands that can each be asked in a changed context.
//!
//! A `shall` of several limits is one demand for each, so that each of them only gets better or worse with a setting. A
//! deviation that is in force widens the limit that it departs from. That a stated value agrees with what the other
//! settings give is a demand as well: a check fails without it.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::diagnostic::{Caution, Verb};
use crate::eval::{
    Aim, Binding, Conditions, EvalContext, Goal, Leaf, Trend, Truth, Verdict, decide, inputs,
    range, rests_on, trends,
};
use crate::interval::Bounds;
use crate::source::Span;
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Date, Expression, ExpressionNode, FieldId, Hop,
    KindId, Path, Root, Rule, Standard, Target, Tolerance, Type, Value, overruled, source_words,
};
use crate::units::{Dimension, Exact, Unit, show_exact, write_exact};

use super::blame::blame;
use super::deciding_comparison::decisive;
use super::deviation::{might_pass, standing, widening};
use super::outcome::{Applied, RuleResult, again, binding as binding_of, goal as goal_of, results};
use super::table::limit_place;
use super::wording;

/// What a demand comes to in a context.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Kept at every point inside the tolerances.
    Holds,
    /// Kept at some, broken at some, or it cannot be shown.
    AtRisk,
    /// The same, because figures behind it were sampled: these never show that anything holds.
    NotShown,
    /// Broken at some point; whether at every one was only sampled.
    Fails,
    /// Broken at every point.
    Breaks,
    /// A value is missing; which, in words.
    NotStated(String),
    /// It cannot be worked out; why, in words.
    CannotWorkOut(String),
}

/// One thing a run must keep to.
#[derive(Debug, Clone)]
pub struct Demand<'a> {
    what: What<'a>,
    binding: Binding,
    /// The deviation that widens its limits.
    pub deviation: Option<usize>,
}

#[derive(Debug, Clone)]
enum What<'a> {
    /// A limit of a requirement, or all of it.
    Part {
        result: RuleResult,
        rule: &'a Rule,
        condition: Condition,
    },
    /// A requirement that is asked as a check asks it: its cell, or whether a deviation is in force, hangs on the run.
    Whole { result: RuleResult, rule: &'a Rule },
    /// One side of the agreement of a stated value with its formula.
    Agrees { leaf: Leaf, condition: Condition },
    /// One end of what is possible for a value that is worked out.
    Possible { leaf: Leaf, condition: Condition },
    /// A given value that the plan states otherwise than its record: nothing that is set mends that.
    Overruled { leaf: Leaf, condition: Condition },
}

/// A demand in words, with its places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemandWords {
    /// The rule; the setting where a stated value must agree with its formula.
    pub rule: String,
    /// Which requirement of it, from 1.
    pub clause: u32,
    /// The thing of `for each`.
    pub subject: Option<String>,
    /// `dryer.dwell` at least 60 s
    pub wants: String,
    /// What it comes to here: `46.4 to 51.4 s`.
    pub value: Option<String>,
    /// The line of the plan that is to blame.
    pub plan: Span,
    /// The line of the standard that says so.
    pub standard: Span,
    /// What the limit rests on.
    pub source: Option<String>,
}

/// How far a demand is kept: at or above zero it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Slack {
    /// Lowest and highest inside the tolerances.
    pub bounds: Bounds,
    /// The same exactly, where its formula allows.
    pub exact: Option<(Exact, Exact)>,
    /// Whether the bounds were sampled, not shown.
    pub sampled: bool,
}

/// Everything a run must keep to: `context` is one point of what will be looked at, `all` stands for all of it.
#[must_use]
pub fn demands<'a>(
    standard: &'a Standard,
    context: &EvalContext<'_>,
    all: &EvalContext<'_>,
    on: Option<Date>,
) -> Vec<Demand<'a>> {
    let mut found = Vec::new();
    for result in results(context) {
        of_result(standard, (context, all), on, &result, &mut found);
    }
    agreements(context, &mut found);
    possibilities(context, &mut found);
    overrulings(context, &mut found);
    found
}

/// What a plan states otherwise than the record of its thing, where that is given: it breaks whatever is set.
fn overrulings(context: &EvalContext<'_>, found: &mut Vec<Demand<'_>>) {
    for (id, field, _, above) in overruled(context.standard, context.run) {
        let leaf = Leaf {
            target: Target::Thing(id),
            field,
        };
        let none = Expression {
            dimension: Dimension::NUMBER,
            node: ExpressionNode::Constant(Constant {
                exact: Exact::ZERO,
                bounds: Bounds::point(0.0),
                unit: Unit::bare(),
            }),
            span: above.span,
        };
        let never = one_sided(
            Compare::AtLeast,
            &none,
            &Exact::ONE,
            &Unit::bare(),
            above.span,
        );
        found.push(Demand {
            what: What::Overruled {
                leaf,
                condition: never,
            },
            binding: Binding::default(),
            deviation: None,
        });
    }
}

/// Both ends of what is possible for every value that is worked out and that something found so far rests on: what is
/// not possible is no ground to hold on.
fn possibilities(context: &EvalContext<'_>, found: &mut Vec<Demand<'_>>) {
    let standard = context.standard;
    let mut read: BTreeSet<(KindId, FieldId)> = BTreeSet::new();
    let mut open: Vec<(KindId, FieldId)> = Vec::new();
    for demand in &*found {
        let goal = demand.goal();
        let conditions = goal.when.iter().chain(goal.own).chain(goal.permissions);
        for condition in conditions.chain([goal.requirement]) {
            open.extend(condition.paths().into_iter().flat_map(Path::settings));
        }
    }
    while let Some((kind, field)) = open.pop() {
        if read.insert((kind, field))
            && let Some(formula) = &standard.field(kind, field).formula
        {
            open.extend(formula.paths().into_iter().flat_map(Path::settings));
        }
    }
    for (id, instance) in context.run.numbered_instances() {
        let target = Target::Thing(id);
        for (field_id, field) in standard.kind(instance.kind).numbered_fields() {
            let leaf = Leaf {
                target,
                field: field_id,
            };
            let (Some(formula), Some(possible), Type::Quantity(_)) =
                (&field.formula, &field.possible, &field.ty)
            else {
                continue;
            };
            let stated = context.stated(target, field_id).is_some();
            if stated || !read.contains(&(instance.kind, field_id)) {
                continue;
            }
            for (compare, end) in [
                (Compare::AtLeast, &possible.low),
                (Compare::AtMost, &possible.high),
            ] {
                let Some(end) = end else { continue };
                found.push(Demand {
                    what: What::Possible {
                        leaf,
                        condition: one_sided(compare, formula, end, &possible.unit, field.span),
                    },
                    binding: Binding {
                        own: Some(target),
                        ..Binding::default()
                    },
                    deviation: None,
                });
            }
        }
    }
}

fn of_result<'a>(
    standard: &'a Standard,
    (context, all): (&EvalContext<'_>, &EvalContext<'_>),
    on: Option<Date>,
    result: &RuleResult,
    found: &mut Vec<Demand<'a>>,
) {
    let rule = &standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    if requirement.verb != Verb::Shall || !matches!(result.applied, Applied::To(_)) {
        return;
    }
    let binding = binding_of(result.each);
    let whole = |deviation| Demand {
        what: What::Whole {
            result: result.clone(),
            rule,
        },
        binding,
        deviation,
    };
    // A cell that is not found may be another one when a `when` comes out otherwise.
    if rule.table.is_some() && !matches!(&result.applied, Applied::To(verdict) if is_plain(verdict))
    {
        found.push(whole(None));
        return;
    }
    let widened = match widening(all, on, result) {
        Ok(widened) => widened,
        // Whether it lets anything pass is asked wherever the run is looked at.
        Err(number) => {
            found.push(whole(Some(number)));
            return;
        }
    };
    let (condition, deviation) = match widened {
        Some((_, None)) => return,
        Some((number, Some(condition))) => (Cow::Owned(condition), Some(number)),
        None => (Cow::Borrowed(&requirement.condition), None),
    };
    let mut parts = Vec::new();
    if rule.permissions.is_empty() {
        take_apart(context, binding, &condition, &mut parts);
    } else {
        parts.push(condition.into_owned());
    }
    for condition in parts {
        found.push(Demand {
            what: What::Part {
                result: result.clone(),
                rule,
                condition,
            },
            binding,
            deviation,
        });
    }
}

fn is_plain(verdict: &Verdict) -> bool {
    matches!(
        verdict,
        Verdict::Holds(_) | Verdict::Breaks | Verdict::AtRisk(false)
    )
}

/// The limits of which a condition wants all.
fn take_apart(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &Condition,
    parts: &mut Vec<Condition>,
) {
    for condition in condition.conjuncts() {
        let ConditionNode::Within {
            subject,
            range: path,
        } = &condition.node
        else {
            parts.push(condition.clone());
            continue;
        };
        match Conditions::new(*context).limits(binding, path) {
            Ok(limits) => {
                for (compare, end) in [
                    (Compare::AtLeast, &limits.low),
                    (Compare::AtMost, &limits.high),
                ] {
                    let Some(end) = end else { continue };
                    parts.push(one_sided(
                        compare,
                        subject,
                        end,
                        &limits.unit,
                        condition.span,
                    ));
                }
            }
            Err(_) => parts.push(condition.clone()),
        }
    }
}

fn one_sided(
    compare: Compare,
    subject: &Expression,
    end: &Exact,
    unit: &crate::units::Unit,
    span: Span,
) -> Condition {
    let (low, high) = end.outward();
    let right = Expression {
        node: ExpressionNode::Constant(Constant {
            exact: end.clone(),
            bounds: Bounds::new(low, high),
            unit: unit.clone(),
        }),
        dimension: subject.dimension,
        span,
    };
    Condition {
        node: ConditionNode::Compare {
            compare,
            left: subject.clone(),
            right,
        },
        span,
    }
}

/// Both sides of every stated value that has a formula.
fn agreements(context: &EvalContext<'_>, found: &mut Vec<Demand<'_>>) {
    for (target, number, field) in context.run.leaves(context.standard) {
        let leaf = Leaf {
            target,
            field: number,
        };
        let (Some(formula), Type::Quantity(_)) = (&field.formula, &field.ty) else {
            continue;
        };
        // Also one that counts for nothing beside its formula: it is compared.
        let stated = context.run.stated(context.standard, target, leaf.field);
        let Some(Value::Quantity(stated)) = stated.map(|found| &found.value) else {
            continue;
        };
        let (low, high) = (
            stated.low.sub(&stated.resolution),
            stated.high.add(&stated.resolution),
        );
        for (compare, end) in [(Compare::AtLeast, &low), (Compare::AtMost, &high)] {
            let mut condition = one_sided(compare, formula, end, &stated.unit, field.span);
            if let (Some(_), ConditionNode::Compare { right, .. }) =
                (context.narrowed(leaf), &mut condition.node)
            {
                // What is itself set is compared as it is set.
                right.node = ExpressionNode::Path(Path {
                    root: Root::Own,
                    hops: vec![Hop::Field(
                        context.run.target(context.standard, target).kind,
                        leaf.field,
                    )],
                    text: field.name.clone(),
                    span: field.span,
                });
            }
            found.push(Demand {
                what: What::Agrees { leaf, condition },
                binding: Binding {
                    own: Some(target),
                    ..Binding::default()
                },
                deviation: None,
            });
        }
    }
}

impl<'a> Demand<'a> {
    fn goal(&self) -> Goal<'_> {
        match &self.what {
            What::Part {
                result,
                rule,
                condition,
            } => Goal {
                requirement: condition,
                ..goal_of(rule, result.requirement)
            },
            What::Whole { result, rule } => goal_of(rule, result.requirement),
            What::Agrees { condition, .. }
            | What::Possible { condition, .. }
            | What::Overruled { condition, .. } => Goal {
                when: &[],
                own: &[],
                requirement: condition,
                permissions: &[],
            },
        }
    }

    /// Whether it asks that what is worked out is possible at all. A check asks it of the run, not of a rule.
    #[must_use]
    pub fn is_possible(&self) -> bool {
        matches!(self.what, What::Possible { .. })
    }

    /// What it comes to in a context.
    ///
    /// `over` says that the context stands for many runs at once: then *holds* and *breaks* are true of all of them.
    #[must_use]
    pub fn standing(&self, context: &EvalContext<'_>, on: Option<Date>, over: bool) -> Standing {
        let conditions = Conditions::new(*context);
        let verdict = match &self.what {
            What::Whole { result, .. } => {
                let result = again(&conditions, context, result);
                if standing(&conditions, context, on, &result).passes.is_some() {
                    return Standing::Holds;
                }
                // What breaks at all points of a region by the rule may pass by a deviation at some.
                if over
                    && result.applied == Applied::To(Verdict::Breaks)
                    && might_pass(&conditions, context, on, &result)
                {
                    return Standing::AtRisk;
                }
                match result.applied {
                    Applied::To(verdict) => verdict,
                    _ => return Standing::Holds,
                }
            }
            _ => decide(&conditions, context, self.binding, self.goal()),
        };
        let agrees = matches!(self.what, What::Agrees { .. });
        match verdict {
            Verdict::Holds(_) | Verdict::DoesNotApply(_) => Standing::Holds,
            Verdict::Breaks => Standing::Breaks,
            // A stated value disagrees, and a worked-out one cannot be, only where it lies wholly outside.
            Verdict::AtRisk(_) if (agrees || self.is_possible()) && !over => Standing::Holds,
            Verdict::AtRisk(_) => Standing::AtRisk,
            // What it is then is for those that rest on it to say.
            Verdict::NotStated(_) | Verdict::CannotWorkOut(_) if agrees || self.is_possible() => {
                Standing::Holds
            }
            Verdict::NotStated(gap) => {
                Standing::NotStated(super::working::gap_words(context, &gap))
            }
            Verdict::CannotWorkOut(words) => Standing::CannotWorkOut(words),
        }
    }

    /// How far it is kept, lowest and highest inside the tolerances: at or above zero it is. `None` where it is no single
    /// comparison, or has no number.
    #[must_use]
    pub fn slack(&self, context: &EvalContext<'_>) -> Option<Slack> {
        let goal = self.goal();
        if !goal.permissions.is_empty() || matches!(self.what, What::Whole { .. }) {
            return None;
        }
        let ConditionNode::Compare {
            compare,
            left,
            right,
        } = &goal.requirement.node
        else {
            return None;
        };
        kept(context, self.binding, *compare, left, right)
    }

    /// How far each comparison that a narrowed value can move is kept, lowest and highest inside the tolerances, exactly:
    /// above zero it is true, below it is false, and where one end is zero it is about to change. `None` where that is
    /// not all that can change what the demand comes to, or a number is not known exactly.
    #[must_use]
    pub fn exact_slacks(&self, context: &EvalContext<'_>) -> Option<Vec<(Exact, Exact)>> {
        if let What::Whole { .. } = self.what {
            return None;
        }
        let goal = self.goal();
        let conditions = goal.when.iter().chain(goal.own).chain(goal.permissions);
        let mut found = Vec::new();
        for condition in conditions.chain([goal.requirement]) {
            let mut tests: Vec<&Condition> = Vec::new();
            condition.visit(&mut |part| {
                if part.children().is_empty() {
                    tests.push(part);
                }
            });
            for test in tests {
                let alone = Goal {
                    when: &[],
                    own: &[],
                    requirement: test,
                    permissions: &[],
                };
                let moves = |(leaf, _): &(Leaf, _)| rests_on(context, self.binding, alone, *leaf);
                if !context.narrowed.iter().any(moves) {
                    continue;
                }
                let ConditionNode::Compare {
                    compare,
                    left,
                    right,
                } = &test.node
                else {
                    return None;
                };
                let slack = kept(context, self.binding, *compare, left, right)?;
                found.push(slack.exact?);
            }
        }
        Some(found)
    }

    /// What raising each narrowed value does to it, shown for all that these are narrowed to in `all`; `context` is one point
    /// of that.
    #[must_use]
    pub fn trends(&self, context: &EvalContext<'_>, all: &EvalContext<'_>) -> Vec<Trend> {
        // A deviation may read what the rule does not.
        if let What::Whole { .. } = self.what {
            return vec![Trend::Unknown; all.narrowed.len()];
        }
        let reads: Vec<bool> = all
            .narrowed
            .iter()
            .map(|(leaf, _)| rests_on(context, self.binding, self.goal(), *leaf))
            .collect();
        if reads.iter().all(|reads| !reads) {
            return vec![Trend::Flat; reads.len()];
        }
        let shown = trends(all, self.binding, self.goal());
        let pairs = shown.into_iter().zip(reads);
        pairs
            .map(|(trend, reads)| match (trend, reads) {
                (_, false) => Trend::Flat,
                // What it reads may be what makes it workable.
                (Trend::Flat, true) => Trend::Workable,
                (trend, true) => trend,
            })
            .collect()
    }

    /// Whether figures that take milliseconds stand behind it.
    #[must_use]
    pub fn is_costly(&self, context: &EvalContext<'_>) -> bool {
        crate::eval::is_costly(context, self.binding, self.goal())
    }

    /// In words, with what it comes to in a context.
    #[must_use]
    pub fn words(&self, context: &EvalContext<'_>) -> DemandWords {
        match &self.what {
            What::Part { result, rule, .. } | What::Whole { result, rule } => {
                let requirement = &rule.requirements[result.requirement];
                let comparison = decisive(context, self.binding, self.goal().requirement);
                let told = comparison.told(context, self.binding);
                let place = blame(context, self.binding, rule, &comparison, None);
                let own = limit_place(context, result);
                let quantity = told.quantity.unwrap_or_default();
                let limit = told.limit.unwrap_or_default();
                DemandWords {
                    rule: rule.name.clone(),
                    clause: u32::try_from(result.requirement + 1).unwrap_or(u32::MAX),
                    subject: result.each.map(|id| wording::thing(context, id)),
                    wants: format!("`{quantity}` {limit}").trim_end().to_owned(),
                    value: told.value,
                    plan: place.span,
                    standard: own,
                    source: requirement
                        .per
                        .as_ref()
                        .or(rule.per.as_ref())
                        .map(source_words),
                }
            }
            What::Overruled { leaf, condition } => {
                let stated = context.stated(leaf.target, leaf.field);
                DemandWords {
                    rule: wording::setting(context, *leaf),
                    clause: 1,
                    subject: None,
                    wants: format!(
                        "`{}` as its record has it",
                        wording::setting(context, *leaf)
                    ),
                    value: None,
                    plan: stated.map_or(context.run.span, |stated| stated.span),
                    standard: condition.span,
                    source: None,
                }
            }
            What::Agrees { leaf, condition } | What::Possible { leaf, condition } => {
                let name = wording::setting(context, *leaf);
                let told = decisive(context, self.binding, condition).told(context, self.binding);
                let stated = context.stated(leaf.target, leaf.field);
                let place = stated.map_or(context.run.span, |stated| stated.span);
                DemandWords {
                    rule: name.clone(),
                    clause: 1,
                    subject: None,
                    wants: {
                        let limit = told.limit.unwrap_or_default();
                        if self.is_possible() {
                            format!("`{name}` {limit}, as is possible")
                        } else {
                            format!("`{name}` as stated, {limit}")
                        }
                    },
                    value: told.value,
                    plan: place,
                    standard: condition.span,
                    source: None,
                }
            }
        }
    }
}

/// How far a comparison is kept; `None` for one that is no side of a limit, or where a number is missing.
fn kept(
    context: &EvalContext<'_>,
    binding: Binding,
    compare: Compare,
    left: &Expression,
    right: &Expression,
) -> Option<Slack> {
    let aim = Aim::difference(left, right);
    let found = range(context, binding, aim).ok()?;
    let (bounds, exact) = match compare {
        Compare::AtLeast | Compare::Above => (found.bounds, found.exact),
        Compare::AtMost | Compare::Below => (
            found.bounds.neg(),
            found.exact.map(|(low, high)| (high.neg(), low.neg())),
        ),
        Compare::Is => return None,
    };
    Some(Slack {
        bounds,
        exact,
        sampled: found.sampled,
    })
}

/// Whether a condition is plainly true, for a deviation that is in force whatever is set.
pub(super) fn surely(
    context: &EvalContext<'_>,
    binding: Binding,
    conditions: &[Condition],
) -> Option<bool> {
    let all = Conditions::new(*context);
    let mut known = true;
    for condition in conditions {
        match all.truth_of_when(binding, condition) {
            Truth::True => {}
            Truth::False => return Some(false),
            _ => known = false,
        }
    }
    known.then_some(true)
}

/// The cautions that fit a run, each once.
#[must_use]
pub fn cautions(context: &EvalContext<'_>) -> Vec<Caution> {
    super::plan::cautions(context)
}

/// All quantities of a run's things that a plan can state, in the order of the kinds, with the names reports give them.
#[must_use]
pub fn settings(context: &EvalContext<'_>) -> Vec<(Leaf, String)> {
    let mut found = Vec::new();
    for (target, number, field) in context.run.leaves(context.standard) {
        if matches!(field.ty, Type::Quantity(_)) {
            let leaf = Leaf {
                target,
                field: number,
            };
            found.push((leaf, wording::setting(context, leaf)));
        }
    }
    found
}

/// The stated settings that a worked-out one rests on, by the names reports give them.
#[must_use]
pub fn behind(context: &EvalContext<'_>, leaf: Leaf) -> Vec<String> {
    let kind = context.run.target(context.standard, leaf.target).kind;
    let Some(formula) = &context.standard.field(kind, leaf.field).formula else {
        return Vec::new();
    };
    let binding = Binding {
        own: Some(leaf.target),
        ..Binding::default()
    };
    inputs(context, binding, &[formula])
        .into_iter()
        .filter(|(leaf, _)| matches!(leaf.target, Target::Thing(_)))
        .map(|(leaf, _)| wording::setting(context, leaf))
        .collect()
}

/// A value as it would be written: `2.3 m/min ± 5 %`. It is rounded only where no decimal is it.
#[must_use]
pub fn value_words(at: &Exact, unit: &Unit, tolerance: Option<&Tolerance>) -> String {
    let text = write_exact(at, unit).unwrap_or_else(|| show_exact(at, unit));
    let number = wording::one(text, unit);
    match tolerance {
        Some(tolerance) => format!("{number} {}", wording::tolerance_behind(unit, tolerance)),
        None => number,
    }
}
