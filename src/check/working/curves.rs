//! The numbers behind a picture: a call at its nominal inputs, and at the corners of its worst cases.

use crate::eval::{Aim, Binding, EvalContext, ExactInterval, Leaf, inputs, range};
use crate::physics::cycle::Recursion;
use crate::physics::history::{Curves, curves, cycles, exit};
use crate::physics::{Function, Passes, over};
use crate::types::Expression;
use crate::units::{Dimension, Exact, Unit};

use super::nominal;

/// Steps of time in a picture of a pass.
const STEPS: usize = 240;
/// Share of the time to the exit for which the cooling is shown.
const COOLING: f64 = 0.3;
/// Most pieces that are worked out one by one.
const MOST_POINTS: u32 = 240;

/// A call at three points of its box.
pub(super) struct Corners {
    pub(super) function: &'static Function,
    /// Inputs at the nominal values, where the figure is lowest, and where it is highest.
    pub(super) nominal: Vec<f64>,
    low: Vec<f64>,
    high: Vec<f64>,
}

/// The corners of a call; `None` when something is missing, or the figure has no number somewhere.
pub(super) fn corners(
    context: &EvalContext<'_>,
    binding: Binding,
    function: &'static Function,
    arguments: &[Expression],
) -> Option<Corners> {
    let mut ends = Vec::with_capacity(arguments.len());
    let mut middle = Vec::with_capacity(arguments.len());
    for argument in arguments {
        let found = range(context, binding, Aim::value(argument)).ok()?.bounds;
        ends.push((found.lo, found.hi));
        middle.push(nominal(context, binding, argument)?.clamp(found.lo, found.hi));
    }
    let worst = over::worst(function, &ends, &mut Passes::default()).ok()?;
    Some(Corners {
        function,
        nominal: middle,
        low: worst.low_at,
        high: worst.high_at,
    })
}

/// The film's way through a tunnel at the three points.
pub(super) struct Passage {
    /// When the picture ends, s.
    pub(super) end: f64,
    pub(super) nominal: Curves,
    /// Lowest and highest temperature where ink meets fabric at each step, K.
    pub(super) band: Vec<(f64, f64)>,
    /// Earliest and latest exit, s.
    pub(super) exit: (f64, f64),
}

/// The passes behind a call.
pub(super) fn passage(of: &Corners) -> Option<Passage> {
    let points = [&of.nominal, &of.low, &of.high];
    let exits: Vec<f64> = points
        .iter()
        .filter_map(|point| exit(of.function, point))
        .collect();
    let last = exits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let first = exits.iter().copied().fold(f64::INFINITY, f64::min);
    let end = last * (1.0 + COOLING);
    let pass = |point: &[f64]| curves(of.function, point, end, STEPS).ok();
    let (nominal, low, high) = (pass(&of.nominal)?, pass(&of.low)?, pass(&of.high)?);
    let band = (0..=STEPS)
        .map(|step| {
            let all = [
                nominal.boundary[step],
                low.boundary[step],
                high.boundary[step],
            ];
            let lowest = all.iter().copied().fold(f64::INFINITY, f64::min);
            (
                lowest,
                all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            )
        })
        .collect();
    Some(Passage {
        end,
        nominal,
        band,
        exit: (first, last),
    })
}

/// A pallet's temperature along a count.
pub(super) struct Climb<'a> {
    context: &'a EvalContext<'a>,
    binding: Binding,
    counter: &'a Expression,
    /// The stated number of pieces the cycles come from; `None` when the count is one of cycles.
    pub(super) pieces: Option<Leaf>,
    /// The last count.
    pub(super) last: f64,
    /// Nominal, lowest, highest: the recursion and its start, K.
    runs: [(Recursion, f64); 3],
}

/// Temperatures, K, at a count: nominal, lowest, highest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spread {
    pub(super) nominal: f64,
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Spread {
    fn of(values: [f64; 3]) -> Self {
        Self {
            nominal: values[0],
            low: values.iter().copied().fold(f64::INFINITY, f64::min),
            high: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }
}

impl Climb<'_> {
    /// Where it stands at a count.
    pub(super) fn at(&self, count: f64) -> Option<Spread> {
        let cycle = match self.pieces {
            Some(leaf) => at_count(self.context, self.binding, self.counter, leaf, count)?,
            None => count,
        };
        Some(Spread::of(
            self.runs.map(|(run, start)| run.after(start, cycle)),
        ))
    }

    /// Where it ends up if the run never ends.
    pub(super) fn steady(&self) -> Spread {
        Spread::of(self.runs.map(|(run, _)| run.steady()))
    }

    /// The counts at which it is read: one by one, or evenly spread whole numbers.
    pub(super) fn counts(&self) -> Vec<f64> {
        counts(self.last)
    }

    /// The first count at which something is so, when it stays so from then on.
    pub(super) fn first(&self, so: impl Fn(Spread) -> bool) -> Option<f64> {
        let is_so = |count: f64| self.at(count).is_some_and(&so);
        if is_so(1.0) {
            return Some(1.0);
        }
        let (mut before, mut after) = (1.0, self.last.floor());
        if !is_so(after) {
            return None;
        }
        while after - before > 1.0 {
            let middle = f64::midpoint(before, after).floor();
            if is_so(middle) {
                after = middle;
            } else {
                before = middle;
            }
        }
        Some(after)
    }
}

/// The stated number of pieces behind a count of cycles.
pub(super) fn pieces(
    context: &EvalContext<'_>,
    binding: Binding,
    counter: &Expression,
) -> Option<Leaf> {
    let found = inputs(context, binding, &[counter])
        .into_iter()
        .find(|(leaf, _)| {
            let quantity = context.quantity(leaf.target, leaf.field);
            quantity.is_some_and(|quantity| quantity.unit.dimension() == Dimension::PIECES)
        });
    found.map(|(leaf, _)| leaf)
}

/// The climb behind a call whose input `counter` counts the cycles.
pub(super) fn climb<'a>(
    context: &'a EvalContext<'a>,
    binding: Binding,
    of: &Corners,
    arguments: &'a [Expression],
    counter: usize,
) -> Option<Climb<'a>> {
    let argument = arguments.get(counter)?;
    let pieces = pieces(context, binding, argument);
    let last = match pieces {
        Some(leaf) => context.quantity(leaf.target, leaf.field)?.nominal.nearest(),
        None => *of.nominal.get(counter)?,
    };
    if !(last.is_finite() && last >= 1.0) {
        return None;
    }
    let run = |inputs: &[f64]| cycles(of.function, inputs).ok();
    Some(Climb {
        context,
        binding,
        counter: argument,
        pieces,
        last,
        runs: [run(&of.nominal)?, run(&of.low)?, run(&of.high)?],
    })
}

/// The counts at which the climb is read: one by one, or evenly spread whole numbers.
fn counts(last: f64) -> Vec<f64> {
    let steps = last.min(f64::from(MOST_POINTS)).floor();
    let mut found: Vec<f64> = Vec::new();
    let mut step = 0.0;
    while step < steps {
        step += 1.0;
        let count = (1.0 + (last - 1.0) * (step - 1.0) / (steps - 1.0).max(1.0)).round();
        if found.last() != Some(&count) {
            found.push(count);
        }
    }
    found
}

/// The cycles when so many pieces are printed, the other values at their nominal.
fn at_count(
    context: &EvalContext<'_>,
    binding: Binding,
    argument: &Expression,
    leaf: Leaf,
    count: f64,
) -> Option<f64> {
    let count = Exact::from_f64(count)?;
    let mut narrowed = super::shares::all_nominal(context, binding, &[argument]);
    narrowed.retain(|(known, _)| *known != leaf);
    narrowed.push((leaf, ExactInterval::new(count.clone(), count)));
    let context = EvalContext {
        narrowed: &narrowed,
        ..*context
    };
    let found = range(&context, binding, Aim::value(argument)).ok()?;
    Some(found.bounds.mid().max(0.0)).filter(|cycle| cycle.is_finite())
}

/// A base value in a unit, for drawing.
pub(super) fn shown(base: f64, unit: &Unit) -> f64 {
    Exact::from_f64(base).map_or(f64::NAN, |base| super::levels::in_unit(&base, unit))
}
