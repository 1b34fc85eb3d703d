//! One standard reviewed by itself.

use crate::check::prepare;
use crate::diagnostic::{Diagnostic, Review};
use crate::names::{Shelf, read_text};
use crate::source::Store;

/// A reviewed standard, or why it could not be reviewed.
#[derive(Debug)]
pub struct ReviewRun {
    /// All texts.
    pub store: Store,
    /// The review; else what is wrong with the texts.
    pub found: Result<Review, Vec<Diagnostic>>,
}

/// Reads and reviews one standard.
#[must_use]
pub fn review(path: &str, shelf: &dyn Shelf) -> ReviewRun {
    let mut store = Store::new();
    let file = match read_text(&mut store, shelf, path, None) {
        Ok(file) => file,
        Err(problem) => {
            return ReviewRun {
                store,
                found: Err(vec![*problem]),
            };
        }
    };
    let prepared = prepare(&mut store, shelf, file);
    let found = if prepared.usable() {
        Ok(crate::review::review(&store, &prepared))
    } else {
        Err(prepared.problems)
    };
    ReviewRun { store, found }
}
