//! Two editions of a standard side by side.

mod plans;

pub use plans::{Edition, PlanOptions, plan_moves};
