//! Strikeoff checks a proposed garment screen-print run against the shop's own standard, written as
//! plain text, and points at the setting that breaks a limit.
//!
//! Open a room of texts and ask. Texts come from memory, or from anywhere through a [`Shelf`]:
//!
//! ```
//! use strikeoff::{ReadProblem, Session, Shelf, Texts, Verdict};
//!
//! let texts = Texts::new()
//!     .with("room.std", "standard \"A small room\" edition \"1\"\n\nuse trade\nuse inks\nuse fabrics\n
//! rule slow-heat \"prints are heated slowly\" {
//!   shall      dryer.dwell at least 65 s
//!   per        practice
//! }\n")
//!     .with("order.plan", "run \"order\" against \"room.std\"\n
//! dryer {
//!   chamber    2.44 m
//!   belt       2.4 m/min
//! }\n");
//! let checked = Session::open(&texts).check(&["order.plan"]);
//! println!("{}", checked.verdict().word());
//! assert_eq!(checked.verdict(), Verdict::Fails); // 2.44 m at 2.4 m/min are 61 s
//!
//! /// The same from a folder.
//! struct Folder;
//! impl Shelf for Folder {
//!     fn read(&self, path: &str) -> Result<String, ReadProblem> {
//!         let text = std::fs::read_to_string(std::path::Path::new("demo-data").join(path));
//!         text.map_err(|error| ReadProblem::Other(error.to_string()))
//!     }
//! }
//! let checked = Session::open(&Folder).check(&["plans/cotton-two-colours.plan"]);
//! assert_eq!(checked.verdict(), Verdict::Passes);
//! ```
//!
//! What is named here is the library's surface; the modules below are open to our own tests and to whoever wants to
//! read them, and may change with every version. No promise on versions is made yet.

// What pest generates without its `std` names `alloc`; with `std` it would ask for the stack left at every rule,
// and brackets cannot nest deeply here anyhow (`syntax/mask.rs`).
extern crate alloc;

#[doc(hidden)]
pub mod check;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
mod constraint;
#[doc(hidden)]
pub mod diagnostic;
#[doc(hidden)]
pub mod diff;
#[doc(hidden)]
pub mod eval;
#[doc(hidden)]
pub mod interval;
#[doc(hidden)]
pub mod names;
#[doc(hidden)]
pub mod physics;
#[doc(hidden)]
pub mod report;
#[doc(hidden)]
pub mod review;
#[doc(hidden)]
pub mod session;
#[doc(hidden)]
pub mod source;
#[doc(hidden)]
pub mod syntax;
#[doc(hidden)]
pub mod types;
#[doc(hidden)]
pub mod units;
#[doc(hidden)]
pub mod window;

pub use check::Options;
pub use diagnostic::{Diagnostic, Report, Verdict};
pub use names::{ReadProblem, Shelf};
pub use report::{Format, Style};
pub use session::{DiffRun, DiffSide, ReviewRun, Run, Session, Texts};
pub use types::Date;
