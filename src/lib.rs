//! Strikeoff checks a proposed garment screen-print run against the shop's own standard, written as
//! plain text, and points at the setting that breaks a limit.
//!
//! Text goes in, a [`diagnostic::Report`] comes out. The modules in reading order:

// What pest generates without its `std` names `alloc`; with `std` it would ask for the stack left at every rule,
// and brackets cannot nest deeply here anyhow (`syntax/mask.rs`).
extern crate alloc;

pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
mod constraint;
pub mod diagnostic;
pub mod diff;
pub mod eval;
pub mod interval;
pub mod names;
pub mod physics;
pub mod report;
pub mod review;
pub mod source;
pub mod syntax;
pub mod types;
pub mod units;
pub mod window;
