//! The numbers behind a picture: a call at its nominal inputs, and at the corners of its worst cases.

use crate::eval::{Aim, Frame, Leaf, Scene, Stretch, leaves, range};
use crate::physics::history::{Curves, curves, cycles, exit};
use crate::physics::{Function, Passes, over};
use crate::types::Expression;
use crate::units::{Exact, Unit};

use super::nominal;

/// Steps of time in a picture of a pass.
const STEPS: usize = 240;
/// Share of the time to the exit for which the cooling is shown.
const COOLING: f64 = 0.3;
/// Most pieces that are worked out one by one.
const MOST_POINTS: u32 = 240;

/// A call at three points of its box.
pub(super) struct Corners {
    function: &'static Function,
    /// Inputs at the nominal values, where the figure is lowest, and where it is highest.
    nominal: Vec<f64>,
    low: Vec<f64>,
    high: Vec<f64>,
}

/// The corners of a call; `None` when something is missing, or the figure has no number somewhere.
pub(super) fn corners(
    scene: &Scene<'_>,
    frame: Frame,
    function: &'static Function,
    arguments: &[Expression],
) -> Option<Corners> {
    let mut ends = Vec::with_capacity(arguments.len());
    let mut middle = Vec::with_capacity(arguments.len());
    for argument in arguments {
        let found = range(scene, frame, Aim::value(argument)).ok()?.bounds;
        ends.push((found.lo, found.hi));
        middle.push(nominal(scene, frame, argument)?.clamp(found.lo, found.hi));
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
pub(super) struct Climb {
    /// The stated count of pieces the cycles come from; `None` when the axis counts cycles.
    pub(super) pieces: bool,
    /// Count, nominal, lowest, highest, K.
    pub(super) points: Vec<(f64, f64, f64, f64)>,
    /// Where it ends up if the run never ends: nominal, lowest, highest, K.
    pub(super) steady: (f64, f64, f64),
}

/// The climb behind a call whose input `counter` counts the cycles.
pub(super) fn climb(
    scene: &Scene<'_>,
    frame: Frame,
    of: &Corners,
    arguments: &[Expression],
    counter: usize,
) -> Option<Climb> {
    let argument = arguments.get(counter)?;
    let pieces = leaves(scene, frame, &[argument])
        .into_iter()
        .find(|(leaf, _)| {
            let quantity = scene.quantity(leaf.target, leaf.field);
            quantity.is_some_and(|quantity| {
                quantity.unit.dimension() == crate::units::Dimension::PIECES
            })
        });
    let last = match pieces {
        Some((leaf, _)) => scene.quantity(leaf.target, leaf.field)?.nominal.nearest(),
        None => *of.nominal.get(counter)?,
    };
    if !(last.is_finite() && last >= 1.0) {
        return None;
    }
    let runs = [&of.nominal, &of.low, &of.high];
    let mut recursions = Vec::with_capacity(runs.len());
    for run in runs {
        recursions.push(cycles(of.function, run).ok()?);
    }
    let mut points = Vec::new();
    for count in counts(last) {
        let cycle = match pieces {
            Some((leaf, _)) => at_count(scene, frame, argument, leaf, count)?,
            None => count,
        };
        let after: Vec<f64> = recursions
            .iter()
            .map(|(recursion, start)| recursion.after(*start, cycle))
            .collect();
        let lowest = after.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = after.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        points.push((count, after[0], lowest, highest));
    }
    let steady = |index: usize| recursions[index].0.steady();
    Some(Climb {
        pieces: pieces.is_some(),
        points,
        steady: (steady(0), steady(1), steady(2)),
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
    scene: &Scene<'_>,
    frame: Frame,
    argument: &Expression,
    leaf: Leaf,
    count: f64,
) -> Option<f64> {
    let count = Exact::from_f64(count)?;
    let mut narrowed = super::shares::all_nominal(scene, frame, &[argument]);
    narrowed.retain(|(known, _)| *known != leaf);
    narrowed.push((leaf, Stretch::new(count.clone(), count)));
    let scene = Scene {
        narrowed: &narrowed,
        ..*scene
    };
    let found = range(&scene, frame, Aim::value(argument)).ok()?;
    Some(found.bounds.mid().max(0.0)).filter(|cycle| cycle.is_finite())
}

/// A base value in a unit, for drawing.
pub(super) fn shown(base: f64, unit: &Unit) -> f64 {
    Exact::from_f64(base).map_or(f64::NAN, |base| super::levels::in_unit(&base, unit))
}
