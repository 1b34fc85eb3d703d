//! The worst case of a figure over a box of inputs.
//!
//! Where a figure only rises or only falls with an input, the box's own corner is the worst case, exactly. Where it goes
//! either way, both ends are tried with every combination of the other such inputs, then points between; that is a sample,
//! and it says so. A direction that holds only while the film warms and stays cooler than what heats it is checked in every
//! run, and at the points of the box most likely to break it; where it breaks the input is sampled like the others. The
//! result is widened by the figure's own accuracy last.

mod search;

use super::function::{Function, Outside, Parameter};
use super::passes::{Passes, Reading};
use search::{Search, Stop, heat};

/// What the bounds rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Every input moves the figure one way: the bounds are those of the corners.
    Exact,
    /// All combinations of ends, and points between, of the inputs that go either way.
    Sampled,
    /// Too many inputs go either way for all combinations (this many): each was set to the end the figure leans to, then
    /// one after the other followed to its worst until nothing changed. That may miss some, so the bounds are wider by a
    /// share of what was found.
    Thinned(usize),
}

/// The bounds of a figure over a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Worst {
    /// Lower bound, already widened by the figure's accuracy.
    pub low: f64,
    /// Upper bound, likewise; infinite where the event may never happen.
    pub high: f64,
    /// The inputs that gave the lower bound.
    pub low_at: Vec<f64>,
    /// The inputs that gave the upper bound.
    pub high_at: Vec<f64>,
    /// What the bounds rest on.
    pub basis: Basis,
    /// Why the upper bound is infinite, where it is.
    pub never: Option<&'static str>,
    /// Points at which the figure was worked out.
    pub points: usize,
}

/// The figure at one point, out of the runs kept.
///
/// # Errors
/// As the function's own `evaluate`.
pub fn figure(function: &Function, x: &[f64], passes: &mut Passes) -> Result<f64, Outside> {
    reading(function, x, passes)?.known()
}

/// The figure at one point, with the inputs whose conditional direction holds there.
///
/// # Errors
/// As the function's own `evaluate`.
pub fn reading(function: &Function, x: &[f64], passes: &mut Passes) -> Result<Reading, Outside> {
    super::function::inside(function.parameters, x)?;
    match heat(function) {
        Some(heat) => (heat.evaluate)(passes, x),
        None => Ok(Reading::new((function.evaluate)(x)?, u64::MAX)),
    }
}

/// The bounds of `function` over a box of inputs, one (low, high) for each parameter.
///
/// An event that never happens at some points of the box has an infinite upper bound; `never` says why.
///
/// # Errors
/// [`Outside::Parameter`] for an interval that is turned round, not finite, or leaves the input's range;
/// [`Outside::Never`] where the event happens nowhere that was tried; else whatever the figure says at a corner.
pub fn worst(
    function: &Function,
    inputs: &[(f64, f64)],
    passes: &mut Passes,
) -> Result<Worst, Outside> {
    let inputs = &checked(function, inputs)?;
    // An input whose conditional direction does not hold is sampled, and the search begins again.
    let mut broken = 0_u64;
    loop {
        let mut search = Search::new(function, inputs, broken, passes);
        match search.bounds() {
            Ok((low, high)) => return search.finish(&low, &high),
            Err(Stop::Outside(why)) => return Err(why),
            Err(Stop::Broken(bits)) => broken |= bits,
        }
    }
}

/// The same where every input moves the figure one way over all of the box; `None`, soon, where one does not.
///
/// # Errors
/// As [`worst`].
pub fn exact(
    function: &Function,
    inputs: &[(f64, f64)],
    passes: &mut Passes,
) -> Result<Option<Worst>, Outside> {
    let inputs = &checked(function, inputs)?;
    let mut search = Search::new(function, inputs, 0, passes);
    if search.samples() {
        return Ok(None);
    }
    match search.bounds() {
        Ok((low, high)) => search.finish(&low, &high).map(Some),
        Err(Stop::Outside(why)) => Err(why),
        Err(Stop::Broken(_)) => Ok(None),
    }
}

/// Whether the figure is valid for all of these inputs.
#[must_use]
pub fn is_valid(function: &Function, inputs: &[(f64, f64)]) -> bool {
    checked(function, inputs).is_ok()
}

/// The inputs of a search, inside their ranges and the right way round.
fn checked(function: &Function, inputs: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, Outside> {
    let mut inputs = inputs.to_vec();
    for ((low, high), parameter) in inputs.iter_mut().zip(function.parameters) {
        (*low, *high) = (to_limit(*low, parameter), to_limit(*high, parameter));
    }
    let lows: Vec<f64> = inputs.iter().map(|i| i.0).collect();
    let highs: Vec<f64> = inputs.iter().map(|i| i.1).collect();
    super::function::inside(function.parameters, &lows)?;
    super::function::inside(function.parameters, &highs)?;
    if let Some(turned) = inputs.iter().position(|i| i.0 > i.1) {
        return Err(Outside::Parameter(turned));
    }
    if let Some(heat) = heat(function) {
        (heat.settle)(&mut inputs);
    }
    Ok(told_apart(function, &inputs))
}

/// An end that only rounding keeps outside what a figure is valid for lies on the limit: 0.1 % has no exact binary form,
/// and is rounded outward before it is put in. What that may be off lies within what the figure is widened by.
fn to_limit(end: f64, parameter: &Parameter) -> f64 {
    let near = |limit: f64| (end - limit).abs() <= 4.0 * f64::EPSILON * limit.abs();
    if end < parameter.low && near(parameter.low) {
        parameter.low
    } else if end > parameter.high && near(parameter.high) {
        parameter.high
    } else {
        end
    }
}

/// The inputs, where what only rounding keeps apart is one value: 0.55 mm has no exact binary form, and a time worked out
/// of two stated values has some roundings more. The figure's own accuracy is wider by far.
fn told_apart(function: &Function, inputs: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let rounds = heat(function).is_some() && !search::is_exact(function);
    let one_value =
        |low: f64, high: f64| high - low <= 16.0 * f64::EPSILON * low.abs().max(high.abs());
    inputs
        .iter()
        .map(|&(low, high)| match low + (high - low) * 0.5 {
            middle if rounds && one_value(low, high) => (middle, middle),
            _ => (low, high),
        })
        .collect()
}
