//! Strikeoff.
pub mod diagnostic;
pub mod physics;
pub mod report;
pub mod source;
pub mod syntax;
