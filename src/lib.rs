//! Strikeoff.
pub mod diagnostic;
pub mod source;
pub mod syntax;
