//! Points at which a requirement is likely worst, for requirements whose figures take long.
//!
//! To see that something holds inside all tolerances takes dozens of runs of a model; to see that a change does not make
//! it hold takes one, at a point where it still does not, or has no value. Such points are looked for once, near what is stated, and tried
//! on every change. They refute, and never prove.

use std::cell::{Cell, OnceCell};

use super::condition::Conditions;
use super::decide::{Goal, Verdict, condition_expressions, once};
use super::evaluator::Evaluator;
use super::range::{Aim, stretch};
use super::{Binding, EvalContext, ExactInterval, FigureCache, Leaf, inputs, is_costly};
use crate::types::{Condition, ConditionNode};
use crate::units::Exact;

/// How many comparisons of a requirement are followed to their corners.
const MOST_AIMS: usize = 3;

/// How many uncertain values are looked at one by one.
const MOST_LEAVES: usize = 48;

/// Where in its stretch a value is put.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    Low,
    Middle,
    High,
}

type Point = Vec<(Leaf, At)>;

/// Looks for a point that shows at once that a change is not enough.
pub struct Counterexamples<'a> {
    context: EvalContext<'a>,
    binding: Binding,
    goal: Goal<'a>,
    points: OnceCell<Vec<Point>>,
    /// The one that refuted last: it is tried first.
    first: Cell<usize>,
    /// The same for requirements whose figures take no time, which `refute` leaves alone.
    cheap: OnceCell<Vec<Point>>,
}

impl<'a> Counterexamples<'a> {
    /// For a requirement that does not hold in a context.
    #[must_use]
    pub fn new(context: &EvalContext<'a>, binding: Binding, goal: Goal<'a>) -> Self {
        Self {
            context: *context,
            binding,
            goal,
            points: OnceCell::new(),
            first: Cell::new(0),
            cheap: OnceCell::new(),
        }
    }

    /// Whether the requirement breaks wherever in these stretches the changed values lie: at one of the
    /// points for the other values it is shown to break over the whole of them. `false` says nothing.
    #[must_use]
    pub fn hopeless(&self, changed: &[(Leaf, ExactInterval)]) -> bool {
        let found = self.points.get_or_init(|| self.find());
        let points = if found.is_empty() {
            self.cheap.get_or_init(|| self.corners_of_all())
        } else {
            found
        };
        FigureCache::proving(self.context.cache, || {
            (0..points.len()).any(|offset| {
                let index = (self.first.get() + offset) % points.len();
                let fails = self.breaks_over(&points[index], changed);
                if fails {
                    self.first.set(index);
                }
                fails
            })
        })
    }

    fn breaks_over(&self, point: &[(Leaf, At)], changed: &[(Leaf, ExactInterval)]) -> bool {
        let others: Point = point
            .iter()
            .filter(|(leaf, _)| !changed.iter().any(|(known, _)| known == leaf))
            .copied()
            .collect();
        let Some(narrowed) = self.put(&others, changed) else {
            return false;
        };
        let context = EvalContext {
            narrowed: &narrowed,
            ..self.context
        };
        once(&Conditions::new(context), self.binding, self.goal) == Verdict::Breaks
    }

    /// Whether the requirement plainly does not hold with these values changed. `false` says nothing.
    #[must_use]
    pub fn refute(&self, changed: &[(Leaf, ExactInterval)]) -> bool {
        let points = self.points.get_or_init(|| self.find());
        (0..points.len()).any(|offset| {
            let index = (self.first.get() + offset) % points.len();
            let refuted = self.fails_at(&points[index], changed);
            if refuted {
                self.first.set(index);
            }
            refuted
        })
    }

    fn fails_at(&self, point: &[(Leaf, At)], changed: &[(Leaf, ExactInterval)]) -> bool {
        let Some(narrowed) = self.put(point, changed) else {
            return false;
        };
        let context = EvalContext {
            narrowed: &narrowed,
            ..self.context
        };
        matches!(
            once(&Conditions::new(context), self.binding, self.goal),
            Verdict::Breaks | Verdict::AtRisk(_) | Verdict::CannotWorkOut(_)
        )
    }

    /// A point of the box that the changes leave.
    fn put(
        &self,
        point: &[(Leaf, At)],
        changed: &[(Leaf, ExactInterval)],
    ) -> Option<Vec<(Leaf, ExactInterval)>> {
        let inside = EvalContext {
            narrowed: changed,
            ..self.context
        };
        let mut narrowed: Vec<(Leaf, ExactInterval)> = changed
            .iter()
            .filter(|(leaf, _)| !point.iter().any(|(known, _)| known == leaf))
            .cloned()
            .collect();
        for &(leaf, at) in point {
            let whole = stretch(&inside, leaf)?;
            let value = match at {
                At::Low => whole.low,
                At::High => whole.high,
                At::Middle => {
                    let middle = Exact::from_f64(whole.bounds.mid())?;
                    Exact::min(&Exact::max(&middle, &whole.low), &whole.high)
                }
            };
            narrowed.push((leaf, ExactInterval::new(value.clone(), value)));
        }
        Some(narrowed)
    }

    /// The middle of the box, and for each comparison the corners towards which it leans from there.
    fn find(&self) -> Vec<Point> {
        if !is_costly(&self.context, self.binding, self.goal) {
            return Vec::new();
        }
        self.corners_of_all()
    }

    fn corners_of_all(&self) -> Vec<Point> {
        let mut expressions = Vec::new();
        condition_expressions(self.goal.requirement, &mut expressions);
        let middle: Point = inputs(&self.context, self.binding, &expressions)
            .into_iter()
            .filter(|(leaf, _)| {
                stretch(&self.context, *leaf).is_some_and(|stretch| stretch.low < stretch.high)
            })
            .map(|(leaf, _)| (leaf, At::Middle))
            .collect();
        let mut points = Vec::new();
        let mut aims = Vec::new();
        comparisons(self.goal.requirement, &mut aims);
        if middle.len() <= MOST_LEAVES {
            for aim in aims.iter().take(MOST_AIMS) {
                points.extend(self.corners(&middle, *aim).into_iter().flatten());
            }
        }
        points.push(middle);
        points
    }

    /// The corners at which a comparison's difference is likely lowest and highest.
    fn corners(&self, middle: &Point, aim: Aim<'_>) -> Option<[Point; 2]> {
        let value = |point: &[(Leaf, At)]| {
            let narrowed = self.put(point, self.context.narrowed)?;
            let context = EvalContext {
                narrowed: &narrowed,
                ..self.context
            };
            let (bounds, _) = aim.plain(&Evaluator::new(context), self.binding).ok()?;
            Some(bounds)
        };
        let here = value(middle)?;
        let [mut lowest, mut highest] = [middle.clone(), middle.clone()];
        for index in 0..middle.len() {
            let mut moved = middle.clone();
            moved[index].1 = At::High;
            let Some(there) = value(&moved) else { continue };
            let (down, up) = if there.lo > here.lo || there.hi > here.hi {
                (At::Low, At::High)
            } else if there.lo < here.lo || there.hi < here.hi {
                (At::High, At::Low)
            } else {
                continue;
            };
            lowest[index].1 = down;
            highest[index].1 = up;
        }
        Some([lowest, highest])
    }
}

/// What a condition compares, as differences.
fn comparisons<'e>(condition: &'e Condition, found: &mut Vec<Aim<'e>>) {
    condition.visit(&mut |part| match &part.node {
        ConditionNode::Compare { left, right, .. } => found.push(Aim::difference(left, right)),
        ConditionNode::Within { subject, .. } => found.push(Aim::value(subject)),
        _ => {}
    });
}
