//! Two standards compared, each read where it is: on a disk, in a revision, in memory.

use crate::check::{Prepared, prepare};
use crate::diagnostic::{Comparison, Diagnostic, Severity};
use crate::diff::{DiffOptions, compare};
use crate::names::{Shelf, read_text};
use crate::source::{Store, visible};

/// One of the two standards: where its files are read, and the path of its root.
#[derive(Clone, Copy)]
pub struct DiffSide<'s> {
    /// The files: a folder on the disk, or a revision.
    pub shelf: &'s dyn Shelf,
    /// The root standard on that shelf.
    pub path: &'s str,
    /// The revision the files are read in; `None` for the disk.
    pub revision: Option<&'s str>,
}

/// A comparison, or why there is none.
#[derive(Debug)]
pub struct DiffRun {
    /// All texts of both sides.
    pub store: Store,
    /// The comparison; else what is wrong with the texts.
    pub found: Result<Comparison, Vec<Diagnostic>>,
    /// The sides that cannot be read, in words.
    pub unread: Vec<String>,
    /// The two standards, where both could be read.
    pub both: Option<Box<(Prepared, Prepared)>>,
}

/// Reads and compares two standards.
#[must_use]
pub fn diff(old: DiffSide<'_>, new: DiffSide<'_>, options: DiffOptions) -> DiffRun {
    let mut store = Store::new();
    let mut problems = Vec::new();
    let mut unread = Vec::new();
    let mut read = |word: &str, side: DiffSide<'_>, store: &mut Store| {
        let found = read_side(side, store, &mut problems);
        if found.is_none() {
            let place = side
                .revision
                .map_or_else(String::new, |of| format!(" in {of}"));
            unread.push(format!(
                "the {word} standard, `{}`{place},",
                visible(side.path)
            ));
        }
        found
    };
    let before = read("old", old, &mut store);
    let after = read("new", new, &mut store);
    let (found, both) = match (before, after) {
        (Some(before), Some(after)) => {
            let mut comparison = compare(&store, &before, &after, options);
            comparison.old.revision = old.revision.map(str::to_owned);
            comparison.new.revision = new.revision.map(str::to_owned);
            (Ok(comparison), Some(Box::new((before, after))))
        }
        _ => (Err(problems), None),
    };
    DiffRun {
        store,
        found,
        unread,
        both,
    }
}

/// Reads one side; what is wrong with it is added to the problems.
fn read_side(
    side: DiffSide<'_>,
    store: &mut Store,
    problems: &mut Vec<Diagnostic>,
) -> Option<Prepared> {
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
}
