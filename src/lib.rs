//! Strikeoff.
pub mod diagnostic;
pub mod physics;
pub mod source;
pub mod syntax;
