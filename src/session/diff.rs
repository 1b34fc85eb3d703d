//! Two standards compared, each read where it is: on a disk, in a revision, in memory.

use crate::check::{Prepared, prepare};
use crate::diagnostic::{Comparison, Diagnostic, Severity};
use crate::diff::{DiffOptions, compare};
use crate::names::{Shelf, read_text};
use crate::source::Store;

/// One of the two standards: where its files are read, and the path of its root.
#[derive(Clone, Copy)]
pub struct DiffSide<'s> {
    /// The files: a folder on the disk, or a revision.
    pub shelf: &'s dyn Shelf,
    /// The root standard on that shelf.
    pub path: &'s str,
}

/// A comparison, or why there is none.
#[derive(Debug)]
pub struct DiffRun {
    /// All texts of both sides.
    pub store: Store,
    /// The comparison; else what is wrong with the texts.
    pub found: Result<Comparison, Vec<Diagnostic>>,
    /// The two standards, where both could be read.
    pub both: Option<Box<(Prepared, Prepared)>>,
}

/// Reads and compares two standards.
#[must_use]
pub fn diff(old: DiffSide<'_>, new: DiffSide<'_>, options: DiffOptions) -> DiffRun {
    let mut store = Store::new();
    let mut problems = Vec::new();
    let mut read = |side: DiffSide<'_>, store: &mut Store| {
        let file = match read_text(store, side.shelf, side.path, None) {
            Ok(file) => file,
            Err(problem) => {
                problems.push(*problem);
                return None;
            }
        };
        let prepared = prepare(store, side.shelf, file);
        if prepared.usable() {
            return Some(prepared);
        }
        let errors = prepared.problems.into_iter();
        problems.extend(errors.filter(|said| said.severity == Severity::Error));
        None
    };
    let before = read(old, &mut store);
    let after = read(new, &mut store);
    let (found, both) = match (before, after) {
        (Some(before), Some(after)) => (
            Ok(compare(&store, &before, &after, options)),
            Some(Box::new((before, after))),
        ),
        _ => (Err(problems), None),
    };
    DiffRun { store, found, both }
}
