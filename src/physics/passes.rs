//! Runs kept, so that six figures of one pass through the tunnel cost one run.

use super::cycle::Recursion;
use super::function::Outside;
use super::thermal::{Pass, Settings};
use std::collections::BTreeMap;

/// Runs kept before the store is emptied; a run takes about 20 kB.
const MOST_KEPT: usize = 1024;
/// What a run counts that came to nothing.
const FAILED_WORK: u64 = 2_000;
/// Why a temperature is only known from below.
pub(super) const TOO_HOT: &str = "the film would pass 350 °C, where the model ends";
/// What the two cycles of a pallet count.
const RECURSION_WORK: u64 = 4_000;

/// The runs made so far, by the bits of their inputs. Pass one along for a whole check.
#[derive(Debug, Clone)]
pub struct Passes {
    settings: Settings,
    known: BTreeMap<Vec<u64>, Result<Pass, Outside>>,
    recursions: BTreeMap<Vec<u64>, Result<Recursion, Outside>>,
    made: usize,
    work: u64,
}

impl Default for Passes {
    fn default() -> Self {
        Self::new(Settings::CHECK)
    }
}

impl Passes {
    /// An empty store; every run in it uses these settings ([`Settings::CHECK`], [`Settings::FINE`]).
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            known: BTreeMap::new(),
            recursions: BTreeMap::new(),
            made: 0,
            work: 0,
        }
    }

    /// Number of runs made so far.
    #[must_use]
    pub fn made(&self) -> usize {
        self.made
    }

    /// Work of all of them: a unit is one solver step of one temperature, about a tenth of a microsecond.
    #[must_use]
    pub fn work(&self) -> u64 {
        self.work
    }

    /// The run with these inputs, made now if it is new. `kind` tells apart runs that read the same numbers differently.
    pub(super) fn pass(
        &mut self,
        kind: u64,
        inputs: &[f64],
        make: impl FnOnce(Settings) -> Result<Pass, Outside>,
    ) -> Result<&Pass, Outside> {
        let mut key = Vec::with_capacity(inputs.len() + 1);
        key.push(kind);
        key.extend(inputs.iter().map(|x| x.to_bits()));
        if self.known.len() >= MOST_KEPT && !self.known.contains_key(&key) {
            self.known.clear();
        }
        let (settings, made, work) = (self.settings, &mut self.made, &mut self.work);
        let known = self.known.entry(key).or_insert_with(|| {
            *made += 1;
            let run = make(settings);
            *work += run.as_ref().map_or(FAILED_WORK, Pass::work);
            run
        });
        known.as_ref().map_err(Clone::clone)
    }

    /// How a pallet goes from cycle to cycle with these inputs, from two runs made now if they are new.
    pub(super) fn recursion(
        &mut self,
        inputs: &[f64],
        make: impl FnOnce(Settings) -> Result<Recursion, Outside>,
    ) -> Result<Recursion, Outside> {
        let key: Vec<u64> = inputs.iter().map(|x| x.to_bits()).collect();
        if let Some(known) = self.recursions.get(&key) {
            return known.clone();
        }
        if self.recursions.len() >= MOST_KEPT {
            self.recursions.clear();
        }
        self.made += 2;
        self.work += RECURSION_WORK;
        let found = make(self.settings);
        self.recursions.insert(key, found.clone());
        found
    }
}

/// A figure at one point, and for which inputs the direction held that the table makes conditional.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The figure, SI base units.
    pub value: f64,
    /// Bit i is set where input i may be taken as monotone in this run.
    pub(super) holds: u64,
    /// Where the model ends before the figure is reached (the value is then infinite): what it is at least.
    pub(super) at_least: Option<f64>,
}

impl Reading {
    /// The figure at a point, where the model reaches it.
    pub(super) fn known(self) -> Result<f64, Outside> {
        match self.at_least {
            None => Ok(self.value),
            Some(_) => Err(Outside::Together(TOO_HOT)),
        }
    }

    /// A figure that the model reaches.
    pub(super) fn new(value: f64, holds: u64) -> Self {
        Self {
            value,
            holds,
            at_least: None,
        }
    }

    /// Whether the conditional direction of this input (counted from 0) holds in this run.
    #[must_use]
    pub fn holds(&self, input: usize) -> bool {
        input < 64 && self.holds >> input & 1 == 1
    }
}

/// Picks points out of a box.
pub(super) type Checks = fn(&[(f64, f64)]) -> Vec<Vec<f64>>;

/// Every input of a figure makes a difference.
pub(super) fn all_count(_: &mut [(f64, f64)]) {}

/// A bound of a figure between two corners of a box.
pub(super) type Bound = fn(&mut Passes, &[f64], &[f64]) -> Result<Reading, Outside>;

/// What the worst case needs to know of a figure beyond its row in the table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heat {
    pub(super) name: &'static str,
    /// The figure, with the runs kept.
    pub(super) evaluate: fn(&mut Passes, &[f64]) -> Result<Reading, Outside>,
    /// The same at a corner of a box, with the corner across from it: a bound of the figure over all between, even where heat
    /// leaves what was heated. `None` where there is no such bound.
    pub(super) bound: Option<Bound>,
    /// Pairs of inputs that enter only as the ratio of the first to the second (a conductivity and a thickness).
    pub(super) ratios: &'static [(usize, usize)],
    /// Further points of a box at which a conditional direction must hold.
    pub(super) checks: Checks,
    /// Gives inputs that make no difference in a box one value each.
    pub(super) settle: fn(&mut [(f64, f64)]),
    /// Inputs of which the middle is not tried, but these values between the ends: such as turn the figure there, or are whole.
    pub(super) scan: &'static [(usize, &'static [f64])],
    /// Pairs of inputs that are one thing where they have one span: the second goes with the first.
    pub(super) pairs: &'static [(usize, usize)],
    /// How the solver's error in temperature comes into a figure that is not a temperature.
    pub(super) shift: Option<Shift>,
}

/// An input that is a temperature, moved by the solver's error to see what that error does to the figure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shift {
    /// The input.
    pub(super) input: usize,
    /// By how much, K.
    pub(super) by: f64,
    /// Whether the stated accuracy comes on top (a time: near a level that is only just reached a small error in
    /// temperature is a large one in time), or the larger of the two counts (a dose: the higher the energy, the more a
    /// kelvin is worth).
    pub(super) on_top: bool,
}
