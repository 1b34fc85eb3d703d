//! Strikeoff.
pub mod diagnostic;
pub mod interval;
pub mod physics;
pub mod source;
pub mod syntax;
pub mod units;
