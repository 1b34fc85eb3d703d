//! Whether the difference of two values keeps to one side of zero, without finding its range.
//!
//! A comparison needs less than a range: a box that lies on one side is done, however wide it is, and
//! one point on either side is enough to know that it is in doubt.

use std::collections::VecDeque;

use super::evaluator::Evaluator;
use super::range::{Aim, Cell, MOST_REPEATED, Search, range, repeated};
use super::{Binding, EvalContext, EvalError, FigureCache};
use crate::interval::Bounds;
use crate::types::Compare;
use crate::units::Exact;

/// What a comparison of a difference with zero comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sign {
    /// True at every point, or at none; `None` when neither can be shown.
    pub(super) known: Option<bool>,
    /// Whether it rests on bounds that were sampled.
    pub(super) sampled: bool,
}

/// Compares the difference that `aim` is with zero.
///
/// # Errors
/// When a value is missing or cannot be worked out somewhere inside the tolerances.
pub(super) fn sign(
    context: &EvalContext<'_>,
    binding: Binding,
    aim: Aim<'_>,
    compare: Compare,
) -> Result<Sign, EvalError> {
    let own = FigureCache::default();
    let context = &context.remembering(context.cache.unwrap_or(&own));
    // What cannot be worked out over the whole box may be so over each half: the range asks that.
    let plain = aim.plain(&Evaluator::new(*context), binding);
    let boxes = match &plain {
        Ok((_, marks)) if !marks.costly => repeated(context, binding, aim),
        _ => Cell::new(),
    };
    if boxes.is_empty() || boxes.len() > MOST_REPEATED {
        let found = range(context, binding, aim)?;
        let known = match &found.exact {
            Some((low, high)) => exactly(compare, low, high),
            None => decided(compare, found.bounds, Bounds::point(0.0)),
        };
        return Ok(Sign {
            known,
            sampled: found.sampled,
        });
    }
    let mut sampled = false;
    let known = over(
        &Search::new(context, binding, aim),
        boxes,
        compare,
        &mut sampled,
    );
    Ok(Sign { known, sampled })
}

/// Cuts a box until every piece lies on the same side; `None` as soon as two do not.
fn over(search: &Search<'_>, start: Cell, compare: Compare, sampled: &mut bool) -> Option<bool> {
    let zero = Bounds::point(0.0);
    let mut boxes = VecDeque::from([start]);
    let mut common: Option<bool> = None;
    let mut looked = 0;
    while let Some(cell) = boxes.pop_front() {
        looked += 1;
        search.count_box(&cell);
        let pinned = search.pin(&cell);
        let (low, one) = search.bounds(&pinned.low).ok()?;
        let (high, other) = search.bounds(&pinned.high).ok()?;
        *sampled |= one.sampled || other.sampled;
        let found = Bounds::new(low.lo, high.hi);
        let mut side = decided(compare, found, zero);
        if side.is_none() && pinned.mixed.is_none() {
            // Both ends are reached: either the exact ones decide, or there is a point on each side.
            let (low, high) = search.exact_ends(&pinned)?;
            side = Some(exactly(compare, &low, &high)?);
        }
        let whole = side.is_some();
        // One point tells which side the box must lie on, if it lies on one.
        if !whole && let Some(point) = search.middle(&cell) {
            side = decided(compare, point, zero);
        }
        if let Some(side) = side {
            if common.is_some_and(|known| known != side) {
                return None;
            }
            common = Some(side);
        }
        if whole {
            continue;
        }
        if !search.may_go_on(looked) || !search.split(&cell, pinned.mixed, &mut boxes) {
            return None;
        }
    }
    common
}

/// What two intervals decide.
#[must_use]
pub fn decided(compare: Compare, left: Bounds, right: Bounds) -> Option<bool> {
    compare.holds_between((&left.lo, &left.hi), (&right.lo, &right.hi))
}

/// What the exact range of a difference decides.
fn exactly(compare: Compare, low: &Exact, high: &Exact) -> Option<bool> {
    let (low, high) = (low.signum(), high.signum());
    compare.holds_between((&low, &high), (&0, &0))
}
