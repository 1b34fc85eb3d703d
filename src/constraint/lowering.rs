//! Conditions as formulas: exact limits on variables where they are plain, atoms where they are not.
//!
//! Three-valued as evaluation is. A condition has a set where it is true and a set where it is
//! false; what is missing, or only known inside a tolerance of a record, may be in neither.

use std::collections::BTreeSet;

use super::affine::Affine;
use super::domain::Domain;
use super::formula::{Formula, Variable};
use super::resolver::{Combination, Resolved, Resolver};
use super::segment::End;
use crate::types::{
    Compare, Condition, ConditionNode, Expression, ExpressionNode, Path, Stating, Value,
};
use crate::units::{Exact, Unit};

/// Which set of a condition is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Wanted {
    /// Where it is true, or where it is false.
    pub(crate) truth: bool,
    /// Where it is so at every point inside the tolerances of records, rather than at some.
    pub(crate) sure: bool,
}

impl Wanted {
    /// Where it is true at some point inside the tolerances of records.
    pub(crate) const TRUE: Self = Self {
        truth: true,
        sure: false,
    };

    /// Where it is false at some point inside them.
    pub(crate) const FALSE: Self = Self {
        truth: false,
        sure: false,
    };

    /// At every point inside them.
    pub(crate) fn surely(self) -> Self {
        Self { sure: true, ..self }
    }

    fn opposite(self) -> Self {
        Self {
            truth: !self.truth,
            ..self
        }
    }
}

/// Where a condition is true, or false.
pub(crate) fn lower<'s, R: Resolver<'s>>(
    resolver: &mut R,
    condition: &'s Condition,
    wanted: Wanted,
) -> Formula<R::Atom> {
    match &condition.node {
        ConditionNode::Not(inner) => lower(resolver, inner, wanted.opposite()),
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            let parts: Vec<_> = list
                .iter()
                .map(|part| lower(resolver, part, wanted))
                .collect();
            if matches!(condition.node, ConditionNode::And(_)) == wanted.truth {
                Formula::all(parts)
            } else {
                Formula::any(parts)
            }
        }
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => compared(resolver, condition, *compare, (left, right), wanted),
        ConditionNode::Within { subject, range } => {
            within(resolver, condition, (subject, range), wanted)
        }
        ConditionNode::Is { path, values, .. } => is(resolver, condition, path, values, wanted),
        ConditionNode::Stated {
            path,
            how: Stating::Anyhow,
        } => stated(resolver, condition, path, wanted),
        ConditionNode::RangeWithin { .. }
        | ConditionNode::Same { .. }
        // How a value was read off, and how old it is, is for those who ask to say.
        | ConditionNode::Stated { .. }
        | ConditionNode::NotOlder { .. }
        | ConditionNode::IsStep { .. } => resolver.other(condition, wanted),
        ConditionNode::Wrong => Formula::UNKNOWN,
    }
}

/// What an expression comes to.
enum Number {
    Affine(Affine),
    Missing,
    Other,
}

fn number<'s, R: Resolver<'s>>(resolver: &mut R, of: &'s Expression) -> Number {
    match taken(resolver.known(of)) {
        Number::Other => {}
        known => return known,
    }
    let parts = match &of.node {
        ExpressionNode::Constant(constant) => {
            return Number::Affine(Affine::constant(constant.exact.clone()));
        }
        ExpressionNode::Path(path) => return taken(resolver.path(path)),
        ExpressionNode::RangeEnd { path, high } => match resolver.path(path) {
            Resolved::Range(limits) => {
                let end = if *high { limits.high } else { limits.low };
                return end.map_or(Number::Missing, |end| Number::Affine(Affine::constant(end)));
            }
            Resolved::Missing => return Number::Missing,
            _ => Number::Other,
        },
        ExpressionNode::Negative(inner) => match number(resolver, inner) {
            Number::Affine(inner) => Number::Affine(inner.times(&Exact::from_int(-1))),
            other => other,
        },
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => match (number(resolver, left), number(resolver, right)) {
            // What cannot be worked out stays so whatever else is missing; a missing part is said first.
            (Number::Missing, _) | (_, Number::Missing) => Number::Missing,
            (Number::Affine(left), Number::Affine(right)) => left
                .joined(*operator, right)
                .map_or(Number::Other, Number::Affine),
            _ => Number::Other,
        },
        ExpressionNode::Power(..) | ExpressionNode::Call(..) | ExpressionNode::Over { .. } => {
            Number::Other
        }
    };
    match parts {
        Number::Other => taken(resolver.whole(of)),
        parts => parts,
    }
}

fn taken(resolved: Resolved) -> Number {
    match resolved {
        Resolved::Number(affine) => Number::Affine(affine),
        Resolved::Variable(variable) => Number::Affine(Affine::variable(variable)),
        Resolved::Missing => Number::Missing,
        Resolved::Range(_) | Resolved::Other => Number::Other,
    }
}

/// The unit that a number was written in.
fn unit_of(of: &Expression) -> Option<&Unit> {
    match &of.node {
        ExpressionNode::Constant(constant) => Some(&constant.unit),
        ExpressionNode::Binary { left, right, .. } => unit_of(left).or_else(|| unit_of(right)),
        _ => None,
    }
}

fn compared<'s, R: Resolver<'s>>(
    resolver: &mut R,
    condition: &'s Condition,
    compare: Compare,
    (left, right): (&'s Expression, &'s Expression),
    wanted: Wanted,
) -> Formula<R::Atom> {
    let unit = unit_of(right).or_else(|| unit_of(left));
    match (number(resolver, left), number(resolver, right)) {
        // What is missing is neither true nor false.
        (Number::Missing, _) | (_, Number::Missing) => Formula::FALSE,
        (Number::Affine(left), Number::Affine(right)) => {
            let formula = affine(resolver, compare, (left, right), unit, wanted);
            formula.unwrap_or_else(|| resolver.other(condition, wanted))
        }
        _ => resolver.other(condition, wanted),
    }
}

fn within<'s, R: Resolver<'s>>(
    resolver: &mut R,
    condition: &'s Condition,
    (subject, range): (&'s Expression, &'s Path),
    wanted: Wanted,
) -> Formula<R::Atom> {
    let (ends, unit) = match resolver.path(range) {
        Resolved::Range(limits) => (
            [
                (Compare::AtLeast, limits.low),
                (Compare::AtMost, limits.high),
            ],
            limits.unit,
        ),
        Resolved::Missing => return Formula::FALSE,
        _ => return resolver.other(condition, wanted),
    };
    let subject = match number(resolver, subject) {
        Number::Affine(subject) => subject,
        Number::Missing => return Formula::FALSE,
        Number::Other => return resolver.other(condition, wanted),
    };
    let mut parts = Vec::new();
    for (compare, end) in ends {
        let Some(end) = end else { continue };
        let pair = (subject.clone(), Affine::constant(end));
        match affine(resolver, compare, pair, Some(&unit), wanted) {
            Some(part) => parts.push(part),
            None => return resolver.other(condition, wanted),
        }
    }
    if wanted.truth {
        Formula::all(parts)
    } else {
        Formula::any(parts)
    }
}

/// Two affine numbers compared; `None` where no limit on one variable says it.
fn affine<'s, R: Resolver<'s>>(
    resolver: &mut R,
    compare: Compare,
    (left, right): (Affine, Affine),
    unit: Option<&Unit>,
    wanted: Wanted,
) -> Option<Formula<R::Atom>> {
    let needs = &left.needs | &right.needs;
    let two = match (&left.term, &right.term) {
        (Some(one), Some(other)) if one.0 != other.0 => Some((one.clone(), other.clone())),
        _ => None,
    };
    let formula = match two {
        Some((one, other)) => {
            let plain = |of: &Affine| of.low == of.high && of.reached;
            if !plain(&left) || !plain(&right) {
                return None;
            }
            let plus = right.low.sub(&left.low);
            pair(resolver, compare, (one, other), plus, wanted)?
        }
        None => {
            // All is brought to one side: factor * variable + (low to high)  compare  0.
            let line = left.minus(right)?;
            single(resolver, compare, line, unit, wanted)?
        }
    };
    Some(with_needs(resolver, formula, &needs))
}

/// A limit, where all that it needs is stated too.
fn with_needs<'s, R: Resolver<'s>>(
    resolver: &R,
    formula: Formula<R::Atom>,
    needs: &BTreeSet<Variable>,
) -> Formula<R::Atom> {
    let mut all = needs.clone();
    for variable in needs {
        all.extend(resolver.needs(*variable));
    }
    let stated = |variable: Variable| {
        if resolver.domain(variable).may_be_missing() {
            Formula::variable_in(variable, Domain::stated())
        } else {
            Formula::TRUE
        }
    };
    let stated: Vec<_> = all.into_iter().map(stated).collect();
    Formula::all(std::iter::once(formula).chain(stated))
}

fn single<'s, R: Resolver<'s>>(
    resolver: &mut R,
    compare: Compare,
    line: Affine,
    unit: Option<&Unit>,
    wanted: Wanted,
) -> Option<Formula<R::Atom>> {
    let wanted = Wanted {
        // An end that is only rounded outward: what may lie beyond it is let through.
        sure: wanted.sure && line.reached,
        ..wanted
    };
    let Some((variable, factor)) = line.term else {
        let zero = (Exact::ZERO, Exact::ZERO);
        return Some(Formula::known(constants(
            compare,
            &(line.low, line.high),
            &zero,
            wanted,
        )));
    };
    // variable  compare  -(low to high) / factor.
    let (one, other) = (line.low.neg().div(&factor)?, line.high.neg().div(&factor)?);
    let ends = if one <= other {
        (one, other)
    } else {
        (other, one)
    };
    let compare = turned(compare, &factor);
    if let Some(unit) = unit {
        resolver.spoken_in(variable, unit);
    }
    Some(limit(resolver, variable, limits(compare, &ends, wanted)))
}

/// A limit on a variable; true where all that it may be fits.
pub(crate) fn limit<'s, R: Resolver<'s>>(
    resolver: &R,
    variable: Variable,
    domain: Domain,
) -> Formula<R::Atom> {
    let domain = if resolver.is_whole(variable) {
        domain.whole()
    } else {
        domain
    };
    if resolver.domain(variable).lies_in(&domain) {
        Formula::TRUE
    } else {
        Formula::variable_in(variable, domain)
    }
}

/// Whether two numbers that lie between ends compare so.
fn constants(
    compare: Compare,
    one: &(Exact, Exact),
    other: &(Exact, Exact),
    wanted: Wanted,
) -> bool {
    let left = limits(compare, other, wanted);
    if wanted.sure {
        let all = Domain::between(
            Some(End::closed(one.0.clone())),
            Some(End::closed(one.1.clone())),
        );
        all.lies_in(&left)
    } else {
        let some = Domain::between(
            Some(End::closed(one.0.clone())),
            Some(End::closed(one.1.clone())),
        );
        some.overlaps(&left)
    }
}

/// Two variables: what one is over a multiple of the other, told by their names in order.
fn pair<'s, R: Resolver<'s>>(
    resolver: &mut R,
    compare: Compare,
    (mut one, mut other): ((Variable, Exact), (Variable, Exact)),
    mut plus: Exact,
    wanted: Wanted,
) -> Option<Formula<R::Atom>> {
    let mut compare = compare;
    if resolver.precedes(other.0, one.0) {
        std::mem::swap(&mut one, &mut other);
        plus = plus.neg();
        compare = compare.mirrored();
    }
    // one.1 * one - other.1 * other  compare  plus, divided by one.1.
    let compare = turned(compare, &one.1);
    let (ratio, bound) = (other.1.div(&one.1)?, plus.div(&one.1)?);
    let above_zero = |variable: Variable| {
        let low = resolver.domain(variable).ends().0;
        low.is_some_and(|end| end.value.signum() > 0)
    };
    let (combination, compare, bound) = if bound.is_zero() && above_zero(other.0) {
        let over = Combination::Ratio {
            over: one.0,
            under: other.0,
        };
        (over, compare, ratio)
    } else if bound.is_zero() && above_zero(one.0) && ratio.signum() > 0 {
        // Read from the other side.
        let over = Combination::Ratio {
            over: other.0,
            under: one.0,
        };
        (over, compare.mirrored(), Exact::ONE.div(&ratio)?)
    } else {
        let difference = Combination::Difference {
            one: one.0,
            times: ratio,
            other: other.0,
        };
        (difference, compare, bound)
    };
    let variable = resolver.combination(combination)?;
    let domain = limits(compare, &(bound.clone(), bound), wanted);
    Some(limit(resolver, variable, domain))
}

/// The comparison, read after both sides were divided by a factor.
fn turned(compare: Compare, factor: &Exact) -> Compare {
    if factor.signum() < 0 {
        compare.mirrored()
    } else {
        compare
    }
}

/// The numbers that compare so, or not so, with something between two ends.
fn limits(compare: Compare, ends: &(Exact, Exact), wanted: Wanted) -> Domain {
    let (low, high) = ends;
    let truth = |limit: &Exact| {
        let holds = Domain::compared(compare, limit);
        if wanted.truth {
            holds
        } else {
            holds.complement().meet(&Domain::numbers())
        }
    };
    if compare == Compare::Is {
        let between = Domain::between(
            Some(End::closed(low.clone())),
            Some(End::closed(high.clone())),
        );
        return match (wanted.truth, wanted.sure) {
            (true, true) => truth(low).meet(&truth(high)),
            (true, false) => between,
            // Apart from all of them, or from one of them.
            (false, true) => between.complement().meet(&Domain::numbers()),
            (false, false) => truth(low).union(&truth(high)),
        };
    }
    // One of the two ends is the harder one, whichever way it goes.
    let (one, other) = (truth(low), truth(high));
    if wanted.sure {
        one.meet(&other)
    } else {
        one.union(&other)
    }
}

fn is<'s, R: Resolver<'s>>(
    resolver: &mut R,
    condition: &'s Condition,
    path: &'s Path,
    values: &'s [Value],
    wanted: Wanted,
) -> Formula<R::Atom> {
    let Resolved::Variable(variable) = resolver.path(path) else {
        return resolver.other(condition, wanted);
    };
    let Some(words) = resolver.words(variable, path, values) else {
        return resolver.other(condition, wanted);
    };
    let domain = if wanted.truth {
        words
    } else {
        words.complement().and_stated()
    };
    limit(resolver, variable, domain)
}

fn stated<'s, R: Resolver<'s>>(
    resolver: &mut R,
    condition: &'s Condition,
    path: &'s Path,
    wanted: Wanted,
) -> Formula<R::Atom> {
    match resolver.path(path) {
        Resolved::Variable(variable) if resolver.domain(variable).may_be_missing() => {
            let domain = if wanted.truth {
                Domain::stated()
            } else {
                Domain::NOT_STATED
            };
            limit(resolver, variable, domain)
        }
        _ => resolver.other(condition, wanted),
    }
}
