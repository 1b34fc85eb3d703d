//! Exact numbers, dimensions and units: how a written quantity becomes a value, and a value text again.
//!
//! Literals and unit factors are exact rationals, so 0.1 + 0.2 is 0.3 and 320 °F is 160 °C.
//! A temperature is a point; a temperature difference is another dimension.
//! This module knows nothing of files, spans or messages: text in, values out.

mod catalog;
mod decimal;
mod dimension;
mod exact;
mod number;
mod rounding;
mod show;
mod slip;
mod spelling;
mod system;
mod unit;

pub use catalog::{Row, catalog};
pub use dimension::Dimension;
pub use exact::Exact;
pub use number::NumberProblem;
pub use show::{show_bounds, show_down, show_exact, show_up, write_exact};
pub use spelling::UnitProblem;
pub use system::System;
pub use unit::Unit;
