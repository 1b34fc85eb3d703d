//! What a stated standard deviation makes of the limits of a setting.

use crate::diagnostic::Capability;
use crate::physics::capability::capability as between;
use crate::types::{Quantity, reach};
use crate::units::Exact;

/// The capability between the lowest and the highest value that rules leave a setting, others inside their
/// tolerances; `None` where no standard deviation is stated.
///
/// Nothing is assumed of how a value scatters inside a tolerance: without `sd` there is no Cp.
pub(super) fn capability(
    quantity: &Quantity,
    low: Option<Exact>,
    high: Option<Exact>,
) -> Option<Capability> {
    let scatter = quantity.scatter.as_ref()?;
    let (mean, deviation) = (quantity.nominal.nearest(), scatter.size.nearest());
    let limit = |limit: &Option<Exact>| limit.as_ref().map(Exact::nearest);
    let rules = between(mean, deviation, limit(&low), limit(&high)).ok();
    let own = quantity.tolerance.as_ref().and_then(|tolerance| {
        let (low, high) = reach(&quantity.nominal, Some(tolerance));
        between(mean, deviation, Some(low.nearest()), Some(high.nearest())).ok()
    });
    Some(Capability {
        deviation: scatter.words.clone(),
        cp: rules.and_then(|rules| rules.cp),
        cpk: rules.map(|rules| rules.cpk),
        of_tolerance: own.and_then(|own| own.cp),
    })
}
