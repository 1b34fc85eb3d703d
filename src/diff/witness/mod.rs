//! The search for a plan text that the two editions judge differently.

pub(in crate::diff) mod bisect_setting;
pub(in crate::diff) mod branch_and_prune;
pub(in crate::diff) mod complete_draft;
pub(in crate::diff) mod decide_direction;
pub(in crate::diff) mod derived_witness;
pub(in crate::diff) mod plan_skeleton;
pub(in crate::diff) mod round_value;
pub(in crate::diff) mod synthetic_plan;
pub(in crate::diff) mod witness_query;
