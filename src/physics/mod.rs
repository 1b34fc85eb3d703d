//! Figures of the trade: numbers in, numbers out.
//!
//! No text, no spans, no names of the language here. Every function stands in a table with its
//! parameters (dimension, range of validity, direction in which it moves the result), so that the
//! language can call it by name, check dimensions first, and work out the worst case at the corners.

pub mod capability;
pub mod detail;
mod function;
pub mod ink;
pub mod instrument;
pub mod mesh;
pub mod moisture;
pub mod off_contact;
pub mod opacity;
pub mod order;
pub mod pace;
pub mod stencil;
pub mod student;
pub mod uncertainty;
mod validity;
mod worst_case;

pub use function::{Accuracy, Direction, Function, Outside, Parameter, functions};
pub use worst_case::worst_case;
