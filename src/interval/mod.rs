//! Bounds that are proved: arithmetic rounded outward, and truth that may be unknown.
//!
//! A result of these operations holds every result the operands allow. Numbers in, numbers out;
//! no units, no text.

mod bounds;
mod directed;
mod verdict;

pub use bounds::Bounds;
pub use verdict::{Truth, above, at_least, at_most, below, equal};
