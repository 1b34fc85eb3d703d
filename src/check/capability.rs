//! What a stated standard deviation makes of the limits of a setting.

use crate::diagnostic::Capability;
use crate::types::Quantity;
use crate::units::Exact;

/// The capability between the limits that rules set; `None` where no standard deviation is stated.
pub(super) fn capability(
    _quantity: &Quantity,
    _low: Option<Exact>,
    _high: Option<Exact>,
) -> Option<Capability> {
    None
}
