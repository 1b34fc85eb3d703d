//! Strikeoff checks a proposed garment screen-print run against the shop's own standard, written as
//! plain text, and points at the setting that breaks a limit.
//!
//! Text goes in, a [`diagnostic::Report`] comes out. The modules in reading order:

pub mod source;
pub mod units;
pub mod interval;
pub mod physics;
pub mod diagnostic;
pub mod syntax;
pub mod names;
pub mod types;
pub mod eval;
pub mod check;
pub mod report;
#[cfg(feature = "cli")]
pub mod cli;
