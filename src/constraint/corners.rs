//! The points of a region at which a witness is looked for: its middle, and the corners at which
//! all values are low or high, where what is lost on a limit itself lies.

use std::collections::BTreeMap;

use super::formula::Variable;
use super::oracle::Oracle;
use super::region::Region;
use super::segment::End;
use crate::units::Exact;

/// Where in a region a point is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Corner {
    Middle,
    Low,
    High,
}

/// In the order tried.
pub(super) const CORNERS: [Corner; 3] = [Corner::Middle, Corner::Low, Corner::High];

/// A value of each of these variables that is a number.
pub(super) fn point<O: Oracle>(
    oracle: &O,
    region: &Region,
    variables: impl Iterator<Item = Variable>,
    corner: Corner,
) -> BTreeMap<Variable, Exact> {
    let value = |variable: Variable| {
        let domain = region.of(oracle, variable);
        let at = |end: Option<&End>| Some(end.filter(|end| !end.open)?.value.clone());
        let (low, high) = domain.ends();
        let corner = match corner {
            Corner::Middle => None,
            Corner::Low => at(low),
            Corner::High => at(high),
        };
        let value = corner.or_else(|| domain.pick())?;
        let whole = oracle.is_whole(variable);
        let value = if whole { value.floor() } else { value };
        domain.holds(&value).then_some((variable, value))
    };
    variables.filter_map(value).collect()
}
