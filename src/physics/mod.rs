//! Figures of the trade: numbers in, numbers out.
//!
//! No text, no spans, no names of the language here. Every function stands in a table with its
//! parameters (dimension, range of validity, direction in which it moves the result), so that the
//! language can call it by name, check dimensions first, and work out the worst case at the corners.

pub mod agreement;
pub mod capability;
pub mod cycle;
pub mod detail;
pub mod dose;
pub mod dye;
pub mod flash;
mod function;
pub mod history;
pub mod ink;
pub mod instrument;
pub mod least_squares;
pub mod load;
pub mod mesh;
pub mod moisture;
pub mod monte_carlo;
pub mod off_contact;
pub mod opacity;
pub mod order;
pub mod over;
pub mod pace;
pub mod pallet;
pub mod panel;
mod passes;
pub mod plies;
pub mod probe;
pub mod props;
mod rational;
pub mod stencil;
pub mod student;
pub mod thermal;
pub mod uncertainty;
mod validity;

pub use function::{Accuracy, Direction, Function, Outside, Parameter, functions};
pub use passes::{Passes, Reading};
pub use rational::{Rational, names as rational_names, rational};
pub(crate) use thermal::keeps_what_was_reached;
