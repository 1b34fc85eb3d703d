//! The search for the worst points of a box.

use super::{Basis, Worst};
use crate::physics::function::{Accuracy, Direction, Function, Outside};
use crate::physics::passes::{Heat, Passes, Reading};

/// Inputs that go either way for which all combinations of ends are tried (2⁶ corners).
const MOST_FREE: usize = 6;
/// Shares of an input's span tried one by one.
const BETWEEN: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// Rounds in which every free input is followed to its worst.
const MOST_ROUNDS: usize = 4;

pub(super) fn heat(function: &Function) -> Option<&'static Heat> {
    [
        crate::physics::thermal::HEAT,
        crate::physics::flash::HEAT,
        crate::physics::pallet::HEAT,
    ]
    .into_iter()
    .flatten()
    .find(|h| h.name == function.name)
}

/// Why a search ended early.
pub(super) enum Stop {
    /// The figure has no number at a point of the box.
    Outside(Outside),
    /// These inputs are not monotone after all.
    Broken(u64),
}

/// The worst found so far, and where; each point is a share of every input's span.
#[derive(Clone)]
pub(super) struct Found {
    value: f64,
    shares: Vec<f64>,
}

/// One search of a box.
pub(super) struct Search<'a> {
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
    pub(super) fn new(
        function: &'a Function,
        inputs: &'a [(f64, f64)],
        broken: u64,
        passes: &'a mut Passes,
    ) -> Self {
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
                // What only rounding keeps apart is one value; the figure's own accuracy is wider.
                _ if heat.is_some() && !exact(function) && is_one_value(*input) => {}
                _ => free.push(index),
            }
            if held
                && matches!(
                    parameter.direction,
                    Direction::RisesWhileHeating | Direction::FallsWhileHeating
                )
            {
                conditional |= bit;
            }
        }
        // Two inputs that enter only as a ratio are one: the second runs against the first.
        for &(over, under) in heat.map_or(&[][..], |h| h.ratios) {
            if free.contains(&over) && free.contains(&under) {
                free.retain(|&i| i != under);
            }
        }
        Self {
            function,
            inputs,
            passes,
            heat,
            rises,
            free,
            conditional,
            never: None,
            points: 0,
        }
    }

    pub(super) fn bounds(&mut self) -> Result<(Found, Found), Stop> {
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
        let shares: Vec<f64> = self
            .rises
            .iter()
            .map(|r| r.map_or(0.5, |rises| f64::from(u8::from(rises == up))))
            .collect();
        Ok(Found {
            value: self.value(&shares)?,
            shares,
        })
    }

    /// Follows each free input in turn to its worst, until a round changes nothing.
    fn follow(&mut self, found: &mut Found, up: bool) -> Result<(), Stop> {
        for round in 0..MOST_ROUNDS {
            let before = found.value;
            // The first round need not repeat the ends where all their combinations were tried.
            let ends = round > 0 || self.free.len() > MOST_FREE;
            let tried = if ends {
                &BETWEEN[..]
            } else {
                &BETWEEN[1..BETWEEN.len() - 1]
            };
            for input in self.free.clone() {
                for &share in tried {
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
        let mut point: Vec<f64> = self
            .inputs
            .iter()
            .zip(shares)
            .map(|(&i, &share)| between(i, share))
            .collect();
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
            None => (self.function.evaluate)(point).map(|value| Reading {
                value,
                holds: u64::MAX,
            }),
        };
        match reading {
            Ok(Reading { value, holds }) => {
                let broken = self.conditional & !holds;
                if broken != 0 {
                    Err(Stop::Broken(broken))
                } else if value.is_nan() {
                    Err(Stop::Outside(Outside::Together(
                        "the figure does not come to a number",
                    )))
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

    /// The bound with the figure's own error: its stated accuracy, and what the solver's error in temperature does to it.
    fn widened(&mut self, found: &Found, up: bool) -> Result<f64, Outside> {
        let accuracy = self.function.accuracy;
        let wide = |value: f64| {
            if up {
                value + slack(value, accuracy)
            } else {
                value - slack(value, accuracy)
            }
        };
        let Some(shift) = self.heat.and_then(|h| h.shift) else {
            return Ok(wide(found.value));
        };
        let rises = self
            .function
            .parameters
            .get(shift.input)
            .is_some_and(|p| p.direction == Direction::Rises);
        let mut point = self.point(&found.shares);
        if let Some(input) = point.get_mut(shift.input) {
            *input += if rises == up { shift.by } else { -shift.by };
        }
        self.conditional = 0;
        let shifted = match self.at(&point) {
            Ok(value) => value,
            Err(Stop::Outside(why)) => return Err(why),
            Err(Stop::Broken(_)) => found.value,
        };
        Ok(match (shift.on_top, up) {
            (true, _) => wide(shifted),
            (false, true) => wide(found.value).max(shifted),
            (false, false) => wide(found.value).min(shifted),
        })
    }

    pub(super) fn finish(mut self, low: &Found, high: &Found) -> Result<Worst, Outside> {
        let (lowest, highest) = (self.widened(low, false)?, self.widened(high, true)?);
        if lowest == f64::INFINITY {
            return Err(Outside::Never(
                self.never.unwrap_or("the event does not happen"),
            ));
        }
        let basis = match self.free.len() {
            0 => Basis::Exact,
            count if count <= MOST_FREE => Basis::Sampled,
            count => Basis::Thinned(count),
        };
        Ok(Worst {
            low: lowest,
            high: highest,
            low_at: self.point(&low.shares),
            high_at: self.point(&high.shares),
            basis,
            never: self.never.filter(|_| highest == f64::INFINITY),
            points: self.points,
        })
    }
}

/// Whether the figure itself adds no slack, so that even rounding may tip it.
fn exact(function: &Function) -> bool {
    matches!(function.accuracy, Accuracy::Rounding) || function.accuracy == Accuracy::Absolute(0.0)
}

/// Whether two ends are the bounds of one decimal: 0.55 mm has no exact binary form.
fn is_one_value((low, high): (f64, f64)) -> bool {
    high - low <= 4.0 * f64::EPSILON * low.abs().max(high.abs())
}

/// A point of a span; the ends are hit exactly.
fn between((low, high): (f64, f64), share: f64) -> f64 {
    if share >= 1.0 {
        high
    } else {
        (low + (high - low) * share).clamp(low, high)
    }
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
