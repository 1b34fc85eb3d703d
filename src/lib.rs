//! Strikeoff.
pub mod check;
pub mod diagnostic;
pub mod eval;
pub mod interval;
pub mod names;
pub mod physics;
pub mod report;
pub mod source;
pub mod syntax;
pub mod types;
pub mod units;
