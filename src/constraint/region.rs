//! What is left of each variable.

use std::collections::BTreeMap;

use super::answer::Proof;
use super::domain::Domain;
use super::formula::Variable;
use super::oracle::Oracle;
use crate::units::Exact;

/// What is left of each variable that something was said of; the others may be all they can.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Region(BTreeMap<Variable, Domain>);

impl Region {
    /// The same, where some variables have one value.
    pub(crate) fn at(&self, values: &BTreeMap<Variable, Exact>) -> Self {
        let mut at = self.clone();
        let one =
            |(variable, value): (&Variable, &Exact)| (*variable, Domain::point(value.clone()));
        at.0.extend(values.iter().map(one));
        at
    }

    /// What was said of a variable.
    pub(crate) fn get(&self, variable: Variable) -> Option<&Domain> {
        self.0.get(&variable)
    }

    /// The variables something was said of, and what is left of them.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (Variable, &Domain)> {
        self.0.iter().map(|(variable, domain)| (*variable, domain))
    }

    /// Whether nothing was said of any variable.
    pub(crate) fn is_anywhere(&self) -> bool {
        self.0.is_empty()
    }

    /// What a variable may be here.
    pub(crate) fn of<'r, O: Oracle>(&'r self, oracle: &'r O, variable: Variable) -> &'r Domain {
        let known = self.0.get(&variable);
        known.unwrap_or_else(|| oracle.domain(variable))
    }

    /// Narrows a variable; whether that changed anything.
    ///
    /// # Errors
    /// With the proof, when nothing is left.
    pub(crate) fn narrow<O: Oracle>(
        &mut self,
        oracle: &O,
        variable: Variable,
        to: &Domain,
    ) -> Result<bool, Proof> {
        let known = self.of(oracle, variable);
        if known.lies_in(to) {
            return Ok(false);
        }
        let mut met = known.meet(to);
        if oracle.is_whole(variable) {
            met = met.whole();
        }
        if let Some(proof) = Proof::of_no_value(&met) {
            return Err(proof);
        }
        self.0.insert(variable, met);
        Ok(true)
    }
}
