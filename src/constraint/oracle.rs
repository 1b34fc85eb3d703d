//! What the solver asks of those who know what the variables are.

use super::domain::Domain;
use super::formula::{Atom, Variable};
use super::region::Region;

/// What an atom comes to over a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// True at every point.
    Always,
    /// True at none: false, or missing.
    Never,
    /// True at some, or it cannot be told of a region so wide.
    Mixed,
    /// Not known here: it is sampled, or cannot be worked out somewhere in the region.
    NotKnown,
}

impl Verdict {
    /// Of what is not so.
    pub(super) fn negated(self) -> Self {
        match self {
            Self::Always => Self::Never,
            Self::Never => Self::Always,
            other => other,
        }
    }
}

/// A variable that is worked out from others.
#[derive(Debug, Clone)]
pub(crate) struct Definition {
    /// The variable.
    pub(crate) variable: Variable,
    /// What it is worked out from.
    pub(crate) inputs: Vec<Variable>,
}

/// Knows the variables, and decides atoms over regions.
///
/// Nothing that was only sampled may count: `Always` and `Never` must be so at every point of the
/// region, its ends and *not stated* included. Of a variable without end, a region counts as far as
/// [`Oracle::verdicts`] took it; the solver proves nothing by it.
pub(crate) trait Oracle {
    /// What it decides.
    type Atom: Atom;

    /// What a variable may be at all.
    fn domain(&self, variable: Variable) -> &Domain;

    /// Whether only whole numbers are possible.
    fn is_whole(&self, variable: Variable) -> bool;

    /// What atoms come to all over a region, in their order.
    fn verdicts(&self, atoms: &[&Self::Atom], region: &Region) -> Vec<Verdict>;

    /// What it takes to decide these over one region, in units of the budget.
    fn price(&self, atoms: &[&Self::Atom]) -> u64 {
        let each = 8_u64;
        each.saturating_mul(u64::try_from(atoms.len()).unwrap_or(u64::MAX))
    }

    /// All that was done so far beyond those prices, in units of the budget: what has to be searched for.
    fn work(&self) -> u64 {
        0
    }

    /// Variables that are worked out from others that formulas speak of too.
    fn definitions(&self) -> &[Definition] {
        &[]
    }

    /// All that a worked-out variable can be in a region; `None` where that is not shown.
    fn enclosure(&self, _definition: &Definition, _region: &Region) -> Option<Domain> {
        None
    }
}
