//! Figures that were worked out before, so that no pass through the tunnel is made twice.

use std::cell::{Cell, RefCell};
use std::collections::{HashMap, HashSet};

use super::budget::{MOST_HELPS, WorkBudget};
use crate::physics::{Accuracy, Function, Outside, Passes, over};

/// Why a value has none, where all the work there is was done.
pub(super) const TOO_MUCH: &str = "it takes too much work to work out";

/// Passes kept before all are forgotten; each holds a few kilobytes.
const MOST_PASSES: usize = 4_000;

/// Bounds kept before all are forgotten.
const MOST_BOUNDS: usize = 100_000;

type Key = (&'static str, Vec<(u64, u64)>);
/// Bounds, and whether they were sampled rather than shown.
type Ends = Result<(f64, f64, bool), Outside>;

/// What a check remembers of figures: bounds by inputs, and passes by inputs. It carries the budget of the check.
#[derive(Debug)]
pub struct FigureCache {
    bounds: RefCell<HashMap<Key, Ends>>,
    passes: RefCell<Passes>,
    budget: WorkBudget,
    /// Whether only what is shown counts, as when a change is tried.
    proving: Cell<bool>,
    /// Boxes over which a figure was found to be sampled, without working out its bounds.
    unproven: RefCell<HashSet<Key>>,
}

impl Default for FigureCache {
    fn default() -> Self {
        Self::allowing(MOST_HELPS)
    }
}

impl FigureCache {
    /// Nothing remembered yet; so much work may go into saying what would help.
    #[must_use]
    pub fn allowing(help: u64) -> Self {
        Self {
            bounds: RefCell::default(),
            passes: RefCell::default(),
            budget: WorkBudget::allowing(help),
            proving: Cell::default(),
            unproven: RefCell::default(),
        }
    }

    /// What its work is counted against.
    #[must_use]
    pub const fn budget(&self) -> &WorkBudget {
        &self.budget
    }

    /// Works something out of which only what *holds* counts.
    ///
    /// Bounds that are sampled are never the ground on which anything holds, so their search is left off as soon as it
    /// is clear that they would be.
    pub fn proving<T>(of: Option<&Self>, work_out: impl FnOnce() -> T) -> T {
        let Some(cache) = of else {
            return work_out();
        };
        let before = cache.proving.replace(true);
        let result = work_out();
        cache.proving.set(before);
        result
    }
}

/// The bounds of a figure over a box of inputs.
pub(super) fn worst(
    cache: Option<&FigureCache>,
    figure: &'static Function,
    inputs: &[(f64, f64)],
) -> Ends {
    let Some(cache) = cache else {
        return work_out(figure, inputs, &mut Passes::default());
    };
    let bits: Vec<(u64, u64)> = inputs
        .iter()
        .map(|(low, high)| (low.to_bits(), high.to_bits()))
        .collect();
    let key = (figure.name, bits);
    if let Some(known) = cache.bounds.borrow().get(&key) {
        return known.clone();
    }
    let proving = cache.proving.get();
    if proving && cache.unproven.borrow().contains(&key) {
        return UNPROVEN;
    }
    let mut passes = cache.passes.borrow_mut();
    if passes.made() > MOST_PASSES {
        *passes = Passes::default();
    }
    if cache.budget.figures_ended() && figure.accuracy != Accuracy::Rounding {
        return Err(Outside::Together(TOO_MUCH));
    }
    let before = passes.work();
    let found = if proving {
        shown(figure, inputs, &mut passes)
    } else {
        work_out(figure, inputs, &mut passes)
    };
    let took = passes.work().saturating_sub(before);
    cache.budget.count_figures(took);
    if proving && found == UNPROVEN {
        cache.unproven.borrow_mut().insert(key);
        return found;
    }
    let mut bounds = cache.bounds.borrow_mut();
    if bounds.len() > MOST_BOUNDS {
        bounds.clear();
    }
    bounds.insert(key, found.clone());
    found
}

/// Bounds of which nothing is shown.
const UNPROVEN: Ends = Ok((f64::NEG_INFINITY, f64::INFINITY, true));

/// The bounds where every input moves the figure one way.
fn shown(figure: &'static Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Ends {
    over::exact(figure, inputs, passes)?
        .map_or(UNPROVEN, |worst| Ok((worst.low, worst.high, false)))
}

fn work_out(figure: &'static Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Ends {
    let worst = over::worst(figure, inputs, passes)?;
    Ok((worst.low, worst.high, worst.basis != over::Basis::Exact))
}
