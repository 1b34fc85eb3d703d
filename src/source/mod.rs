//! Texts, and places in them.
//!
//! Everything above this module speaks of places as byte offsets in a numbered file.
//! Lines and columns are worked out only when a report is written.

mod span;
mod store;
mod text;
mod visible;

pub use span::{FileId, Span};
pub use store::Store;
pub use text::{Place, Text};
pub use visible::visible;
