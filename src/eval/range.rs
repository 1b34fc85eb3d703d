//! The range of an expression, or of the difference of two, over everything the tolerances allow.

use std::borrow::Cow;
use std::collections::VecDeque;

use super::evaluator::{Evaluator, Halt};
use super::exact_span::ExactSpan;
use super::number::{Marks, Number};
use super::slope::Slope;
use super::{Binding, EvalContext, EvalError, ExactInterval, FigureCache, Leaf, inputs};
use crate::interval::Bounds;
use crate::types::Expression;
use crate::units::Exact;

/// How many boxes may be looked at when the worst case does not lie at a corner.
const MOST_BOXES: usize = 2_000;

/// How many values used more than once are looked at one by one; with more, as in the largest of a
/// thousand screens, no search would get far, and the plain interval stands.
pub(super) const MOST_REPEATED: usize = 64;

/// How far the interval may be wider than what points inside it reach.
const SLACK: f64 = 0.005;

/// What is worked out.
#[derive(Debug, Clone, Copy)]
pub struct Aim<'e> {
    /// The value.
    pub value: &'e Expression,
    /// What is taken from it.
    pub against: Against<'e>,
}

/// What is taken from a value.
#[derive(Debug, Clone, Copy)]
pub enum Against<'e> {
    /// Nothing.
    Nothing,
    /// Another value.
    Value(&'e Expression),
    /// A fixed end of a range.
    Limit(&'e Exact),
}

/// A range.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Contains every value inside the tolerances.
    pub bounds: Bounds,
    /// The exact ends, where the formula allows them; both are reached.
    pub exact: Option<(Exact, Exact)>,
    /// Whether a figure behind it was sampled, so that the bounds are not shown to hold every value.
    pub sampled: bool,
    /// Whether a figure behind it takes milliseconds to work out.
    pub costly: bool,
}

impl<'e> Aim<'e> {
    /// A value less another.
    #[must_use]
    pub fn difference(value: &'e Expression, from: &'e Expression) -> Self {
        Self {
            value,
            against: Against::Value(from),
        }
    }

    /// Just a value.
    #[must_use]
    pub fn value(value: &'e Expression) -> Self {
        Self {
            value,
            against: Against::Nothing,
        }
    }

    fn expressions(&self) -> Vec<&'e Expression> {
        match self.against {
            Against::Value(other) => vec![self.value, other],
            _ => vec![self.value],
        }
    }

    /// The stated values it rests on, with how often each is used.
    #[must_use]
    pub fn leaves(&self, context: &EvalContext<'_>, binding: Binding) -> Vec<(Leaf, u32)> {
        inputs(context, binding, &self.expressions())
    }

    pub(super) fn work_out<N: Number>(
        &self,
        evaluator: &Evaluator<'_, N>,
        binding: Binding,
    ) -> Result<N, Halt> {
        evaluator.begin();
        let value = evaluator.expression(binding, self.value)?;
        Ok(match self.against {
            Against::Nothing => value,
            Against::Value(other) => value.subtract(&evaluator.expression(binding, other)?),
            Against::Limit(limit) => {
                let (low, high) = limit.outward();
                let constant = crate::types::Constant {
                    exact: limit.clone(),
                    bounds: Bounds::new(low, high),
                    unit: crate::units::Unit::bare(),
                };
                value.subtract(&N::constant(&evaluator.context, &constant))
            }
        })
    }

    /// The plain interval: sound, not always tight.
    ///
    /// # Errors
    /// When a value is missing or cannot be worked out.
    pub(super) fn plain(
        &self,
        evaluator: &Evaluator<'_, Bounds>,
        binding: Binding,
    ) -> Result<(Bounds, Marks), EvalError> {
        evaluator.take_marks();
        let value = self.work_out(evaluator, binding).map_err(stop)?;
        Ok((value, evaluator.take_marks()))
    }
}

pub(super) fn stop(halt: Halt) -> EvalError {
    match halt {
        Halt::EvalError(stop) => stop,
        Halt::Unsupported => {
            EvalError::CannotWorkOut("it uses something that has no value here".to_owned())
        }
    }
}

/// The range of an aim, as tight as the guarantee of this module says.
///
/// # Errors
/// When a value is missing or cannot be worked out somewhere inside the tolerances.
pub fn range(
    context: &EvalContext<'_>,
    binding: Binding,
    aim: Aim<'_>,
) -> Result<Range, EvalError> {
    let own = FigureCache::default();
    let context = &context.remembering(context.cache.unwrap_or(&own));
    let evaluator = Evaluator::new(*context);
    let plain = aim.plain(&evaluator, binding);
    if let Err(EvalError::Missing(gap)) = plain {
        return Err(EvalError::Missing(gap));
    }
    let repeated = repeated(context, binding, aim);
    // A figure that takes milliseconds is not worked out for thousands of boxes: its own worst case
    // over the whole box is sound, if wider where an input is used twice.
    let costly = match &plain {
        Ok((_, marks)) => marks.costly,
        Err(_) => evaluator.take_marks().costly,
    };
    let many = repeated.len() > MOST_REPEATED;
    if repeated.is_empty() || costly || many {
        let (bounds, marks) = plain?;
        // The exact ends of a plain interval are reached only where no value is used twice.
        let exact =
            (!many).then(|| exact(context, binding, aim, context.narrowed, context.narrowed));
        return Ok(Range {
            bounds,
            exact: exact.flatten(),
            sampled: marks.sampled,
            costly,
        });
    }
    Search::new(context, binding, aim).run(repeated)
}

/// The uncertain values that are used more than once.
pub(super) fn repeated(context: &EvalContext<'_>, binding: Binding, aim: Aim<'_>) -> Cell {
    aim.leaves(context, binding)
        .into_iter()
        .filter(|(_, uses)| *uses > 1)
        .filter_map(|(leaf, _)| Some((leaf, stretch(context, leaf)?)))
        .filter(|(_, stretch)| stretch.low < stretch.high)
        .collect()
}

/// The stretch of a stated quantity.
pub(super) fn stretch(context: &EvalContext<'_>, leaf: Leaf) -> Option<ExactInterval> {
    if let Some(narrowed) = context.narrowed(leaf) {
        return Some(narrowed.clone());
    }
    let quantity = context.quantity(leaf.target, leaf.field)?;
    Some(ExactInterval {
        low: quantity.low.clone(),
        high: quantity.high.clone(),
        bounds: quantity.bounds,
    })
}

pub(super) type Cell = Vec<(Leaf, ExactInterval)>;

/// The exact ends of an aim: the low one over one box, the high one over another.
fn exact(
    context: &EvalContext<'_>,
    binding: Binding,
    aim: Aim<'_>,
    low: &[(Leaf, ExactInterval)],
    high: &[(Leaf, ExactInterval)],
) -> Option<(Exact, Exact)> {
    let over = |narrowed| {
        let context = EvalContext {
            narrowed,
            ..*context
        };
        aim.work_out(&Evaluator::<ExactSpan>::new(context), binding)
            .ok()?
            .ends()
    };
    let both = over(low)?;
    if std::ptr::eq(low, high) {
        return Some(both);
    }
    Some((both.0, over(high)?.1))
}

/// A search for the lowest and the highest value over a box.
pub(super) struct Search<'a> {
    context: &'a EvalContext<'a>,
    binding: Binding,
    aim: Aim<'a>,
    others: &'a [(Leaf, ExactInterval)],
    /// Work when it began.
    since: u64,
}

/// A box pinned at the ends where the aim is lowest and highest.
pub(super) struct Pinned {
    pub(super) low: Cell,
    pub(super) high: Cell,
    /// Index of the widest stretch in which the aim is not monotone.
    pub(super) mixed: Option<usize>,
}

impl Drop for Search<'_> {
    fn drop(&mut self) {
        if let Some(cache) = self.context.cache {
            cache.budget().count_search(self.since);
        }
    }
}

impl<'a> Search<'a> {
    pub(super) fn new(context: &'a EvalContext<'a>, binding: Binding, aim: Aim<'a>) -> Self {
        Self {
            context,
            binding,
            aim,
            others: context.narrowed,
            since: context.cache.map_or(0, |cache| cache.budget().work()),
        }
    }

    /// Whether another box may be cut.
    pub(super) fn may_go_on(&self, looked: usize) -> bool {
        looked < MOST_BOXES
            && self
                .context
                .cache
                .is_none_or(|cache| cache.budget().may_search(self.since))
    }

    /// Counts the copies made for a box.
    pub(super) fn count_box(&self, cell: &[(Leaf, ExactInterval)]) {
        if let Some(cache) = self.context.cache {
            cache
                .budget()
                .count(20 + 20 * (cell.len() + self.others.len()) as u64);
        }
    }

    /// The exact ends over a box pinned in every direction.
    pub(super) fn exact_ends(&self, pinned: &Pinned) -> Option<(Exact, Exact)> {
        let (low, high) = (
            self.with_others(&pinned.low),
            self.with_others(&pinned.high),
        );
        exact(self.context, self.binding, self.aim, &low, &high)
    }

    fn run(&self, start: Cell) -> Result<Range, EvalError> {
        // The largest are cut first, so that what is left when the budget ends is small everywhere.
        let mut boxes = VecDeque::from([start]);
        let mut done: Option<Bounds> = None;
        let mut corners: Option<Pinned> = None;
        let mut sampled = false;
        let mut looked = 0;
        // What points are known to reach: the result need not be narrower than this.
        let mut reached: Option<Bounds> = None;
        while let Some(cell) = boxes.pop_front() {
            looked += 1;
            self.count_box(&cell);
            let pinned = self.pin(&cell);
            let low = self.bounds(&pinned.low);
            let high = self.bounds(&pinned.high);
            let (low, high, tried) = match (low, high) {
                (Ok((low, one)), Ok((high, other))) => {
                    (low.lo, high.hi, one.sampled || other.sampled)
                }
                (Err(problem), _) | (_, Err(problem)) => {
                    // A smaller box may not hold the zero that this one divides by.
                    if self.may_go_on(looked) && self.split(&cell, widest(&cell), &mut boxes) {
                        continue;
                    }
                    return Err(problem);
                }
            };
            let found = Bounds::new(low, high);
            if let Some(point) = self.middle(&cell) {
                reached = Some(reached.map_or(point, |known| known.hull(point)));
            }
            let monotone = pinned.mixed.is_none();
            let fine = monotone || self.fine(found, done, reached) || !self.may_go_on(looked);
            if !fine && self.split(&cell, pinned.mixed, &mut boxes) {
                continue;
            }
            if monotone && looked == 1 {
                corners = Some(pinned);
            }
            if monotone {
                // Both ends of a pinned box are reached.
                reached = Some(reached.map_or(found, |known| known.hull(found)));
            }
            done = Some(done.map_or(found, |known| known.hull(found)));
            sampled |= tried;
        }
        let bounds = done.unwrap_or(Bounds::ENTIRE);
        let exact = corners.and_then(|pinned| self.exact_ends(&pinned));
        Ok(Range {
            bounds,
            exact,
            sampled,
            costly: false,
        })
    }

    /// A box with what was narrowed before; what the box says counts.
    fn with_others<'c>(
        &self,
        cell: &'c [(Leaf, ExactInterval)],
    ) -> Cow<'c, [(Leaf, ExactInterval)]> {
        let mut all = Cow::Borrowed(cell);
        for (leaf, stretch) in self.others {
            if !cell.iter().any(|(known, _)| known == leaf) {
                all.to_mut().push((*leaf, stretch.clone()));
            }
        }
        all
    }

    pub(super) fn bounds(
        &self,
        cell: &[(Leaf, ExactInterval)],
    ) -> Result<(Bounds, Marks), EvalError> {
        let narrowed = self.with_others(cell);
        let context = EvalContext {
            narrowed: &narrowed,
            ..*self.context
        };
        self.aim.plain(&Evaluator::new(context), self.binding)
    }

    /// What the aim comes to in the middle of a box.
    pub(super) fn middle(&self, cell: &[(Leaf, ExactInterval)]) -> Option<Bounds> {
        let middle: Cell = cell
            .iter()
            .filter_map(|(leaf, stretch)| {
                let middle = Exact::from_f64(stretch.bounds.mid())?;
                let middle = Exact::min(&Exact::max(&middle, &stretch.low), &stretch.high);
                Some((*leaf, ExactInterval::new(middle.clone(), middle)))
            })
            .collect();
        Some(self.bounds(&middle).ok()?.0)
    }

    /// Whether a box cannot widen the result by more than the slack.
    fn fine(&self, found: Bounds, done: Option<Bounds>, reached: Option<Bounds>) -> bool {
        let Some(reached) = reached else { return false };
        let known = done.map_or(reached, |done| done.hull(reached));
        let allowed = (reached.hi - reached.lo) * SLACK;
        found.lo >= known.lo - allowed && found.hi <= known.hi + allowed
    }

    /// Pins every value at the end where the aim is lowest, and at the one where it is highest.
    pub(super) fn pin(&self, cell: &[(Leaf, ExactInterval)]) -> Pinned {
        let mut pinned = Pinned {
            low: cell.to_vec(),
            high: cell.to_vec(),
            mixed: widest(cell),
        };
        let narrowed = self.with_others(cell);
        let context = EvalContext {
            narrowed: &narrowed,
            ..*self.context
        };
        let Ok(slope) = self
            .aim
            .work_out(&Evaluator::<Slope>::new(context), self.binding)
        else {
            return pinned;
        };
        pinned.mixed = None;
        let mut width = 0.0;
        for (index, (_, stretch)) in cell.iter().enumerate() {
            let towards = slope
                .slopes
                .get(index)
                .copied()
                .unwrap_or(Bounds::point(0.0));
            let at = |end: &Exact| ExactInterval::new(end.clone(), end.clone());
            let (low, high) = if towards.lo >= 0.0 {
                (at(&stretch.low), at(&stretch.high))
            } else if towards.hi <= 0.0 {
                (at(&stretch.high), at(&stretch.low))
            } else {
                let reach =
                    relative_width(stretch) * towards.lo.abs().max(towards.hi.abs()).min(1e300);
                if pinned.mixed.is_none() || reach > width {
                    width = reach;
                    pinned.mixed = Some(index);
                }
                continue;
            };
            pinned.low[index].1 = low;
            pinned.high[index].1 = high;
        }
        pinned
    }

    /// Halves a box; `false` when it cannot be halved any more.
    pub(super) fn split(
        &self,
        cell: &[(Leaf, ExactInterval)],
        at: Option<usize>,
        boxes: &mut VecDeque<Cell>,
    ) -> bool {
        let Some(index) = at else { return false };
        let stretch = &cell[index].1;
        let Some(middle) = Exact::from_f64(stretch.bounds.mid()) else {
            return false;
        };
        if middle <= stretch.low || middle >= stretch.high {
            return false;
        }
        let mut below = cell.to_vec();
        let mut above = cell.to_vec();
        below[index].1 = ExactInterval::new(stretch.low.clone(), middle.clone());
        above[index].1 = ExactInterval::new(middle, stretch.high.clone());
        boxes.extend([below, above]);
        true
    }
}

/// Index of the widest stretch, relative to its size.
fn widest(cell: &[(Leaf, ExactInterval)]) -> Option<usize> {
    let mut best: Option<(f64, usize)> = None;
    for (index, (_, stretch)) in cell.iter().enumerate() {
        let width = relative_width(stretch);
        if best.is_none_or(|(known, _)| width > known) {
            best = Some((width, index));
        }
    }
    best.map(|(_, index)| index)
}

fn relative_width(stretch: &ExactInterval) -> f64 {
    let size = stretch.bounds.lo.abs().max(stretch.bounds.hi.abs());
    if size > 0.0 {
        stretch.bounds.width() / size
    } else {
        0.0
    }
}
