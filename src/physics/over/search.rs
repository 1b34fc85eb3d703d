//! The search for the worst points of a box.

use super::{Basis, Worst};
use crate::physics::function::{Accuracy, Direction, Function, Outside};
use crate::physics::passes::{Heat, Passes, Reading};

/// Inputs that go either way for which all combinations of ends are tried (2³ corners, each way).
const MOST_FREE: usize = 3;
/// Shares of an input's span tried one by one.
const ENDS_AND_MIDDLE: [f64; 3] = [0.0, 0.5, 1.0];
/// Shares tried where those between the ends are worse.
const QUARTERS: [f64; 2] = [0.25, 0.75];
/// How far apart all of these are.
const STEP: f64 = 0.25;
/// Golden sections that narrow half a span to a hundred-millionth, at which a turning point is exact to rounding.
const SECTIONS: usize = 38;
/// A share near enough to an end to tell which way a figure goes from there.
const NUDGE: f64 = 1.0e-4;
const GOLDEN: f64 = 0.618_033_988_749_894_9;
/// How much of the spread found is added at either end where the free inputs were followed one at a time. Of 577,000 random
/// points in 14,400 boxes so searched one left what was found, by a twentieth of its width.
const MISSED: f64 = 0.15;
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
    /// Where the model ends first: what the figure is at least, wherever that was met.
    at_least: Option<f64>,
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
        // Two that have one span are one thing.
        for &(first, second) in heat.map_or(&[][..], |h| h.pairs) {
            let both = free.contains(&first) && free.contains(&second);
            if both && inputs[first] == inputs[second] {
                free.retain(|&i| i != second);
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
            at_least: None,
            points: 0,
        }
    }

    /// Whether an input goes either way, and not all that it may be is tried.
    pub(super) fn samples(&self) -> bool {
        self.sampled() > 0
    }

    /// How many inputs are sampled. Of those that are whole and are tried at both ends, with every combination of the
    /// others', nothing is left out.
    fn sampled(&self) -> usize {
        if self.free.len() > MOST_FREE {
            return self.free.len();
        }
        let whole = |input: &usize| {
            let (low, high) = self.inputs[*input];
            let mut all = self.heat.map_or(&[][..], |h| h.scan).iter();
            high - low <= 1.0 && all.any(|(scanned, values)| scanned == input && values.is_empty())
        };
        self.free.iter().filter(|input| !whole(input)).count()
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
        } else {
            self.lean(&mut low, false)?;
            self.lean(&mut high, true)?;
        }
        for (found, up) in [(&mut low, false), (&mut high, true)] {
            self.follow(found, up)?;
            if self.heat.is_none() {
                self.refine(found, up)?;
            }
        }
        Ok((low, high))
    }

    /// The corner of the inputs that move the figure one way, the others in the middle of their span or at a value that is
    /// tried.
    fn start(&mut self, up: bool) -> Result<Found, Stop> {
        let shares: Vec<f64> = self
            .rises
            .iter()
            .enumerate()
            .map(|(input, rises)| match rises {
                Some(rises) => f64::from(u8::from(*rises == up)),
                // Of what is tried at some values only the middle need not be one.
                None if self.scanned(input).is_some() => 1.0,
                None => 0.5,
            })
            .collect();
        Ok(Found {
            value: self.value(&shares)?,
            shares,
        })
    }

    /// Sets every free input to the end towards which the figure leans from the middle, the others in the middle.
    fn lean(&mut self, found: &mut Found, up: bool) -> Result<(), Stop> {
        let mut shares = found.shares.clone();
        for input in self.free.clone() {
            let mut moved = found.shares.clone();
            moved[input] = 1.0;
            let worse = (self.value(&moved)? > found.value) == up;
            shares[input] = f64::from(u8::from(worse));
        }
        self.better(found, shares, up)
    }

    /// Follows each free input in turn to its worst, until a round changes nothing.
    ///
    /// Where all combinations of ends were tried, the first round looks in the middle of each span only, and at the
    /// quarters where the middle is worse than the ends: between them a figure rarely turns twice.
    fn follow(&mut self, found: &mut Found, up: bool) -> Result<(), Stop> {
        for round in 0..MOST_ROUNDS {
            let before = found.value;
            let ends_tried = round == 0 && self.free.len() <= MOST_FREE;
            for input in self.free.clone() {
                if let Some(shares) = self.scanned(input) {
                    self.look(found, input, &shares, up)?;
                    continue;
                }
                self.look(
                    found,
                    input,
                    if ends_tried { &[0.5] } else { &ENDS_AND_MIDDLE },
                    up,
                )?;
                if found.shares[input] == 0.5 {
                    self.look(found, input, &QUARTERS, up)?;
                }
            }
            if found.value == before {
                break;
            }
        }
        Ok(())
    }

    /// The ends of an input, and the values between them that are tried of it, where the figure says which.
    fn scanned(&self, input: usize) -> Option<Vec<f64>> {
        let mut all = self.heat?.scan.iter();
        let (_, values) = all.find(|(scanned, _)| *scanned == input)?;
        let (low, high) = self.inputs[input];
        let between = values
            .iter()
            .filter(|value| low < **value && **value < high);
        let shares = between.map(|value| (value - low) / (high - low));
        Some([0.0, 1.0].into_iter().chain(shares).collect())
    }

    /// Tries these shares of one input's span.
    fn look(
        &mut self,
        found: &mut Found,
        input: usize,
        shares: &[f64],
        up: bool,
    ) -> Result<(), Stop> {
        for &share in shares {
            let mut shares = found.shares.clone();
            if shares[input] != share {
                shares[input] = share;
                self.better(found, shares, up)?;
            }
        }
        Ok(())
    }

    /// Closes in on a smooth turning point between the points tried, by golden section: a closed form costs next to
    /// nothing, and may turn anywhere (a mesh strains least with the blade in the middle).
    fn refine(&mut self, found: &mut Found, up: bool) -> Result<(), Stop> {
        for _ in 0..MOST_ROUNDS {
            let before = found.value;
            for input in self.free.clone() {
                let from = found.shares[input];
                let (mut low, mut high) = ((from - STEP).max(0.0), (from + STEP).min(1.0));
                let tried = |search: &mut Self, found: &mut Found, share: f64| {
                    let mut shares = found.shares.clone();
                    shares[input] = share;
                    let value = search.value(&shares)?;
                    if (up && value > found.value) || (!up && value < found.value) {
                        *found = Found { value, shares };
                    }
                    Ok(if up { -value } else { value })
                };
                // A step inwards from an end that makes it worse says that the end is the worst there.
                let inwards = match from {
                    0.0 => Some(NUDGE),
                    1.0 => Some(1.0 - NUDGE),
                    _ => None,
                };
                if let Some(share) = inwards {
                    let at_end = if up { -found.value } else { found.value };
                    if tried(self, found, share)? >= at_end {
                        continue;
                    }
                }
                for _ in 0..SECTIONS {
                    let width = GOLDEN * (high - low);
                    if tried(self, found, high - width)? <= tried(self, found, low + width)? {
                        high = low + width;
                    } else {
                        low = high - width;
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
        let across = self.across(&point);
        self.between_corners(&point, &across)
    }

    /// The corner across, as far as directions are conditional.
    fn across(&self, point: &[f64]) -> Vec<f64> {
        let ends = self.inputs.iter().zip(point).enumerate();
        ends.map(
            |(index, (&(low, high), &at))| match self.conditional.checked_shr(index as u32) {
                Some(bits) if bits & 1 == 1 => {
                    if at == low {
                        high
                    } else {
                        low
                    }
                }
                _ => at,
            },
        )
        .collect()
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
        for &(first, second) in self.heat.map_or(&[][..], |h| h.pairs) {
            let both = self.free.contains(&first) && !self.free.contains(&second);
            if both && self.rises[second].is_none() && self.inputs[first] == self.inputs[second] {
                point[second] = between(self.inputs[second], shares[first]);
            }
        }
        point
    }

    fn at(&mut self, point: &[f64]) -> Result<f64, Stop> {
        self.between_corners(point, point)
    }

    fn between_corners(&mut self, point: &[f64], across: &[f64]) -> Result<f64, Stop> {
        self.points += 1;
        let reading = match self.heat {
            Some(Heat {
                bound: Some(bound), ..
            }) => bound(self.passes, point, across),
            Some(heat) => (heat.evaluate)(self.passes, point),
            None => (self.function.evaluate)(point).map(|value| Reading::new(value, u64::MAX)),
        };
        match reading {
            Ok(Reading {
                value,
                holds,
                at_least,
            }) => {
                let broken = self.conditional & !holds;
                if broken != 0 {
                    Err(Stop::Broken(broken))
                } else if let Some(least) = at_least {
                    // Over the whole box it is at least what it is where it is least.
                    self.at_least = Some(self.at_least.map_or(least, |known| known.min(least)));
                    Ok(f64::INFINITY)
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
        let mut across = self.across(&point);
        if let Some(input) = point.get_mut(shift.input) {
            *input += if rises == up { shift.by } else { -shift.by };
            across[shift.input] = *input;
        }
        // Shifted, it need not be shown again which way each input goes.
        let conditional = std::mem::take(&mut self.conditional);
        let shifted = self.between_corners(&point, &across);
        self.conditional = conditional;
        let shifted = match shifted {
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
        let (mut lowest, mut highest) = (self.widened(low, false)?, self.widened(high, true)?);
        if let (true, Some(least)) = (lowest == f64::INFINITY, self.at_least) {
            lowest = least - slack(least, self.function.accuracy);
        }
        if lowest == f64::INFINITY {
            return Err(Outside::Never(
                self.never.unwrap_or("the event does not happen"),
            ));
        }
        let basis = match self.sampled() {
            0 => Basis::Exact,
            _ if self.free.len() <= MOST_FREE => Basis::Sampled,
            count => Basis::Thinned(count),
        };
        if let Basis::Thinned(_) = basis {
            let spread = high.value - low.value;
            let missed = if spread.is_finite() {
                MISSED * spread
            } else if low.value.is_finite() {
                MISSED * low.value.abs()
            } else {
                // Where the model ends all over the box, of what was reached there.
                MISSED * lowest.abs()
            };
            lowest -= missed;
            highest += missed;
        }
        let mut bottom = lowest;
        if self.heat.is_some() {
            // No time, mass, index or absolute temperature lies below zero, whatever the solver's error.
            bottom = bottom.max(0.0);
        }
        Ok(Worst {
            low: bottom,
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
pub(super) fn is_exact(function: &Function) -> bool {
    matches!(function.accuracy, Accuracy::Rounding) || function.accuracy == Accuracy::Absolute(0.0)
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
