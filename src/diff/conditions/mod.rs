//! Conditions of a clause as formulas, for a choice of records and what a plan states instead of them.

mod cases;
pub(in crate::diff) mod dependencies;
pub(in crate::diff) mod extremes;
pub(in crate::diff) mod lower_condition;
pub(in crate::diff) mod overrides;
pub(in crate::diff) mod paths;
mod powers;
pub(in crate::diff) mod record_choices;
pub(in crate::diff) mod record_monotonicity;
pub(in crate::diff) mod resolve_path;
pub(in crate::diff) mod satisfaction;
pub(in crate::diff) mod term;
pub(in crate::diff) mod variables;
