//! Which rule, requirement, kind, setting and record of the old standard is which of the new one.

pub(in crate::diff) mod clauses;
pub(in crate::diff) mod rename_matching;
