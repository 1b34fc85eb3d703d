//! The worst case of a figure over a box of inputs.
//!
//! Where a figure only rises or only falls with an input, the box's own corner is the worst case, exactly. Where it goes
//! either way, both ends are tried with every combination of the other such inputs, then points between; that is a sample,
//! and it says so. A direction that holds only while the film warms and stays cooler than what heats it is checked in every
//! run, and at the points of the box most likely to break it; where it breaks the input is sampled like the others. The
//! result is widened by the figure's own accuracy last.

use super::function::{Accuracy, Direction, Function, Outside};
use super::passes::{Heat, Passes, Reading};

/// What the bounds rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Every input moves the figure one way: the bounds are those of the corners.
    Exact,
    /// All combinations of ends, and points between, of the inputs that go either way.
    Sampled,
    /// Too many inputs go either way for all combinations (this many): one after the other was followed to its worst.
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

/// Inputs that go either way for which all combinations of ends are tried (2⁶ corners).
const MOST_FREE: usize = 6;
/// Shares of an input's span tried one by one.
const BETWEEN: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// Error in temperature by which a level is moved, K.
const LEVEL_ERROR: f64 = 0.3;
/// Rounds in which every free input is followed to its worst.
const MOST_ROUNDS: usize = 4;

/// The figure at one point, out of the runs kept.
///
/// # Errors
/// As the function's own `evaluate`.
pub fn figure(function: &Function, x: &[f64], passes: &mut Passes) -> Result<f64, Outside> {
    Ok(reading(function, x, passes)?.value)
}

/// The figure at one point, with the inputs whose conditional direction holds there.
///
/// # Errors
/// As the function's own `evaluate`.
pub fn reading(function: &Function, x: &[f64], passes: &mut Passes) -> Result<Reading, Outside> {
    super::function::inside(function.parameters, x)?;
    match heat(function) {
        Some(heat) => (heat.evaluate)(passes, x),
        None => Ok(Reading { value: (function.evaluate)(x)?, holds: u64::MAX }),
    }
}

/// The bounds of `function` over a box of inputs, one (low, high) for each parameter.
///
/// An event that never happens at some points of the box has an infinite upper bound; `never` says why.
///
/// # Errors
/// [`Outside::Parameter`] for an interval that is turned round, not finite, or leaves the input's range;
/// [`Outside::Never`] where the event happens nowhere that was tried; else whatever the figure says at a corner.
pub fn worst(function: &Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Result<Worst, Outside> {
    let lows: Vec<f64> = inputs.iter().map(|i| i.0).collect();
    let highs: Vec<f64> = inputs.iter().map(|i| i.1).collect();
    super::function::inside(function.parameters, &lows)?;
    super::function::inside(function.parameters, &highs)?;
    if let Some(turned) = inputs.iter().position(|i| i.0 > i.1) {
        return Err(Outside::Parameter(turned));
    }
    // An input whose conditional direction does not hold is sampled, and the search begins again.
    let mut broken = 0_u64;
    loop {
        let mut search = Search::new(function, inputs, broken, passes);
        match search.bounds() {
            Ok((low, high)) => return search.finish(low, high, function.accuracy),
            Err(Stop::Outside(why)) => return Err(why),
            Err(Stop::Broken(bits)) => broken |= bits,
        }
    }
}

fn heat(function: &Function) -> Option<&'static Heat> {
    [super::thermal::HEAT, super::flash::HEAT, super::pallet::HEAT].into_iter().flatten().find(|h| h.name == function.name)
}

enum Stop {
    Outside(Outside),
    /// These inputs are not monotone after all.
    Broken(u64),
}

/// The worst found so far, and where; each point is a share of every input's span.
#[derive(Clone)]
struct Found {
    value: f64,
    shares: Vec<f64>,
}

struct Search<'a> {
    function: &'a Function,
    inputs: &'a [(f64, f64)],
    passes: &'a mut Passes,
    heat: Option<&'static Heat>,
    /// Which way each input moves the figure; `None` where it is sampled or has no span.
    rises: Vec<Option<bool>>,
    free: Vec<usize>,
    /// Inputs whose direction must hold in every run.
    conditional: u64,
    never: Option<&'static str>,
    points: usize,
}

impl<'a> Search<'a> {
    fn new(function: &'a Function, inputs: &'a [(f64, f64)], broken: u64, passes: &'a mut Passes) -> Self {
        let heat = heat(function);
        let (mut rises, mut free, mut conditional) = (vec![None; inputs.len()], Vec::new(), 0_u64);
        for (index, (input, parameter)) in inputs.iter().zip(function.parameters).enumerate() {
            if input.0 == input.1 {
                continue;
            }
            let bit = 1_u64.checked_shl(index as u32).unwrap_or(0);
            let held = heat.is_some() && broken & bit == 0 && bit != 0;
            match parameter.direction {
                Direction::Rises => rises[index] = Some(true),
                Direction::Falls => rises[index] = Some(false),
                Direction::RisesWhileHeating if held => rises[index] = Some(true),
                Direction::FallsWhileHeating if held => rises[index] = Some(false),
                _ => free.push(index),
            }
            if held && matches!(parameter.direction, Direction::RisesWhileHeating | Direction::FallsWhileHeating) {
                conditional |= bit;
            }
        }
        // Two inputs that enter only as a ratio are one: the second runs against the first.
        for &(over, under) in heat.map_or(&[][..], |h| h.ratios) {
            if free.contains(&over) && free.contains(&under) {
                free.retain(|&i| i != under);
            }
        }
        Self { function, inputs, passes, heat, rises, free, conditional, never: None, points: 0 }
    }

    fn bounds(&mut self) -> Result<(Found, Found), Stop> {
        if self.conditional != 0
            && let Some(heat) = self.heat
        {
            for point in (heat.checks)(self.inputs) {
                self.at(&point)?;
            }
        }
        let (mut low, mut high) = (self.start(false)?, self.start(true)?);
        if self.free.len() <= MOST_FREE {
            for mask in 0..1_usize << self.free.len() {
                for (found, up) in [(&mut low, false), (&mut high, true)] {
                    let mut shares = found.shares.clone();
                    for (bit, &input) in self.free.iter().enumerate() {
                        shares[input] = f64::from(u8::from(mask >> bit & 1 == 1));
                    }
                    self.better(found, shares, up)?;
                }
            }
        }
        self.follow(&mut low, false)?;
        self.follow(&mut high, true)?;
        Ok((low, high))
    }

    /// The corner of the inputs that move the figure one way, the others in the middle of their span.
    fn start(&mut self, up: bool) -> Result<Found, Stop> {
        let shares: Vec<f64> =
            self.rises.iter().map(|r| r.map_or(0.5, |rises| f64::from(u8::from(rises == up)))).collect();
        Ok(Found { value: self.value(&shares)?, shares })
    }

    /// Follows each free input in turn to its worst, until a round changes nothing.
    fn follow(&mut self, found: &mut Found, up: bool) -> Result<(), Stop> {
        for _ in 0..MOST_ROUNDS {
            let before = found.value;
            for input in self.free.clone() {
                for share in BETWEEN {
                    let mut shares = found.shares.clone();
                    if shares[input] != share {
                        shares[input] = share;
                        self.better(found, shares, up)?;
                    }
                }
            }
            if found.value == before {
                break;
            }
        }
        Ok(())
    }

    fn better(&mut self, found: &mut Found, shares: Vec<f64>, up: bool) -> Result<(), Stop> {
        let value = self.value(&shares)?;
        if (up && value > found.value) || (!up && value < found.value) {
            *found = Found { value, shares };
        }
        Ok(())
    }

    fn value(&mut self, shares: &[f64]) -> Result<f64, Stop> {
        let point = self.point(shares);
        self.at(&point)
    }

    fn point(&self, shares: &[f64]) -> Vec<f64> {
        let mut point: Vec<f64> = self.inputs.iter().zip(shares).map(|(&i, &share)| between(i, share)).collect();
        for &(over, under) in self.heat.map_or(&[][..], |h| h.ratios) {
            if self.free.contains(&over) && !self.free.contains(&under) {
                point[under] = between(self.inputs[under], 1.0 - shares[over]);
            }
        }
        point
    }

    fn at(&mut self, point: &[f64]) -> Result<f64, Stop> {
        self.points += 1;
        let reading = match self.heat {
            Some(heat) => (heat.evaluate)(self.passes, point),
            None => (self.function.evaluate)(point).map(|value| Reading { value, holds: u64::MAX }),
        };
        match reading {
            Ok(Reading { value, holds }) => {
                let broken = self.conditional & !holds;
                if broken != 0 {
                    Err(Stop::Broken(broken))
                } else if value.is_nan() {
                    Err(Stop::Outside(Outside::Together("the figure does not come to a number")))
                } else {
                    Ok(value)
                }
            }
            Err(Outside::Never(why)) => {
                self.never = Some(why);
                Ok(f64::INFINITY)
            }
            Err(other) => Err(Stop::Outside(other)),
        }
    }

    /// Moves a temperature level by the solver's error in temperature, the way that makes the bound worse.
    fn shift_level(&mut self, found: &mut Found, up: bool) -> Result<(), Outside> {
        let Some(level) = self.heat.and_then(|h| h.level) else { return Ok(()) };
        let rises = self.function.parameters.get(level).is_some_and(|p| p.direction == Direction::Rises);
        let mut point = self.point(&found.shares);
        if let Some(level) = point.get_mut(level) {
            *level += if rises == up { LEVEL_ERROR } else { -LEVEL_ERROR };
        }
        self.conditional = 0;
        match self.at(&point) {
            Ok(value) => found.value = value,
            Err(Stop::Outside(why)) => return Err(why),
            Err(Stop::Broken(_)) => {}
        }
        Ok(())
    }

    fn finish(mut self, mut low: Found, mut high: Found, accuracy: Accuracy) -> Result<Worst, Outside> {
        self.shift_level(&mut low, false)?;
        self.shift_level(&mut high, true)?;
        if low.value == f64::INFINITY {
            return Err(Outside::Never(self.never.unwrap_or("the event does not happen")));
        }
        let basis = match self.free.len() {
            0 => Basis::Exact,
            count if count <= MOST_FREE => Basis::Sampled,
            count => Basis::Thinned(count),
        };
        Ok(Worst {
            low: low.value - slack(low.value, accuracy),
            high: high.value + slack(high.value, accuracy),
            low_at: self.point(&low.shares),
            high_at: self.point(&high.shares),
            basis,
            never: self.never.filter(|_| high.value == f64::INFINITY),
            points: self.points,
        })
    }
}

/// A point of a span; the ends are hit exactly.
fn between((low, high): (f64, f64), share: f64) -> f64 {
    if share >= 1.0 { high } else { (low + (high - low) * share).clamp(low, high) }
}

/// How far a value may be from the true one, with the rounding of the addition itself.
fn slack(value: f64, accuracy: Accuracy) -> f64 {
    if !value.is_finite() {
        return 0.0;
    }
    match accuracy {
        Accuracy::Rounding => value.abs() * 4.0e-15 + f64::MIN_POSITIVE,
        Accuracy::Absolute(error) => error,
        Accuracy::Relative(share) => value.abs() * share,
    }
}
