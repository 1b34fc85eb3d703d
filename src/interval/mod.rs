//! Bounds that are proved: arithmetic rounded outward.
//!
//! A result of these operations holds every result the operands allow. Numbers in, numbers out;
//! no units, no text.

mod bounds;
mod directed;

pub use bounds::Bounds;
