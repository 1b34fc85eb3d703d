//! Figures that were worked out before, so that no pass through the tunnel is made twice.

use std::cell::RefCell;
use std::collections::HashMap;

use crate::physics::{Function, Outside, Passes, over};

/// Passes kept before all are forgotten; each holds a few kilobytes.
const MOST_PASSES: usize = 4_000;

/// Bounds kept before all are forgotten.
const MOST_BOUNDS: usize = 100_000;

type Key = (&'static str, Vec<(u64, u64)>);
/// Bounds, and whether they were sampled rather than shown.
type Ends = Result<(f64, f64, bool), Outside>;

/// What a check remembers of figures: bounds by inputs, and passes by inputs.
#[derive(Debug, Default)]
pub struct Memory {
    bounds: RefCell<HashMap<Key, Ends>>,
    passes: RefCell<Passes>,
}

/// Whether the bounds of a figure over a box of inputs are sampled, not exact.
#[must_use]
pub fn is_sampled(
    memory: Option<&Memory>,
    figure: &'static Function,
    inputs: &[(f64, f64)],
) -> bool {
    worst(memory, figure, inputs).is_ok_and(|(.., sampled)| sampled)
}

/// The bounds of a figure over a box of inputs.
pub(super) fn worst(
    memory: Option<&Memory>,
    figure: &'static Function,
    inputs: &[(f64, f64)],
) -> Ends {
    let Some(memory) = memory else {
        return work_out(figure, inputs, &mut Passes::default());
    };
    let bits: Vec<(u64, u64)> = inputs
        .iter()
        .map(|(low, high)| (low.to_bits(), high.to_bits()))
        .collect();
    let key = (figure.name, bits);
    if let Some(known) = memory.bounds.borrow().get(&key) {
        return known.clone();
    }
    let mut passes = memory.passes.borrow_mut();
    if passes.made() > MOST_PASSES {
        *passes = Passes::default();
    }
    let found = work_out(figure, inputs, &mut passes);
    let mut bounds = memory.bounds.borrow_mut();
    if bounds.len() > MOST_BOUNDS {
        bounds.clear();
    }
    bounds.insert(key, found.clone());
    found
}

fn work_out(figure: &'static Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Ends {
    let worst = over::worst(figure, inputs, passes)?;
    Ok((worst.low, worst.high, worst.basis != over::Basis::Exact))
}
