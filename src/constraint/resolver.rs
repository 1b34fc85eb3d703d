//! What paths and expressions mean to those who ask.

use super::affine::Affine;
use super::domain::Domain;
use super::formula::{Atom, Formula, Variable};
use super::lowering::Wanted;
use crate::types::{Condition, Expression, Limits, Path, Value};
use crate::units::{Exact, Unit};

/// What a path or an expression leads to.
#[derive(Debug, Clone)]
pub(crate) enum Resolved {
    /// A number that is known, or a multiple of a variable.
    Number(Affine),
    /// A setting that may be any of its domain.
    Variable(Variable),
    /// A range that is known.
    Range(Limits),
    /// Something that is not there, whatever a plan states.
    Missing,
    /// Something else, which no number or range stands for.
    Other,
}

/// Two variables as one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Combination {
    /// `over / under`, where `under` is above zero.
    Ratio {
        /// Above.
        over: Variable,
        /// Below.
        under: Variable,
    },
    /// `one - times * other`.
    Difference {
        /// What is lessened.
        one: Variable,
        /// By how many of the other.
        times: Exact,
        /// By what.
        other: Variable,
    },
}

/// Says what paths and expressions mean: in a run whose settings are free, in a run of either of two
/// standards, or in a run as it stands.
pub(crate) trait Resolver<'s> {
    /// What cannot be lowered to limits.
    type Atom: Atom;

    /// What a variable may be at all.
    fn domain(&self, variable: Variable) -> &Domain;

    /// Whether only whole numbers are possible.
    fn is_whole(&self, variable: Variable) -> bool;

    /// Where a path leads.
    fn path(&mut self, path: &'s Path) -> Resolved;

    /// An expression that is known as a whole, before its parts are looked at: [`Resolved::Other`]
    /// where it is not.
    fn known(&mut self, _expression: &'s Expression) -> Resolved {
        Resolved::Other
    }

    /// An expression that is not affine, as a variable of its own where it can be one.
    fn whole(&mut self, _expression: &'s Expression) -> Resolved {
        Resolved::Other
    }

    /// Two variables as one, where they can be.
    fn combination(&mut self, _of: Combination) -> Option<Variable> {
        None
    }

    /// Which of two variables is named first, whatever the order in which they are met.
    fn precedes(&self, one: Variable, other: Variable) -> bool {
        one < other
    }

    /// The words of a variable that are among some values; `None` where it has no words.
    fn words(&mut self, variable: Variable, path: &'s Path, values: &'s [Value]) -> Option<Domain>;

    /// What must be stated for a variable to have a value, itself aside.
    fn needs(&self, _variable: Variable) -> Vec<Variable> {
        Vec::new()
    }

    /// A variable is compared with a number in this unit.
    fn spoken_in(&mut self, _variable: Variable, _unit: &Unit) {}

    /// A condition that no limit stands for: on things, records and places, or on a figure.
    fn other(&mut self, condition: &'s Condition, wanted: Wanted) -> Formula<Self::Atom>;
}
