//! The entries of a diff: what changed, in the words of the texts, joined with what it comes to.

pub(in crate::diff) mod deviations;
pub(in crate::diff) mod effect_report;
pub(in crate::diff) mod kinds;
pub(in crate::diff) mod records;
pub(in crate::diff) mod rules;
pub(in crate::diff) mod unit_slip;
