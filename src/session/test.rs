//! The examples of a standard, run.

use crate::check::{TestOptions, prepare, read_examples, run_examples};
use crate::diagnostic::{Diagnostic, ExamplesReport, Severity};
use crate::names::{Shelf, read_text};
use crate::source::Store;

/// The examples of a standard, run.
#[derive(Debug)]
pub struct TestRun {
    /// All texts.
    pub store: Store,
    /// What came out, or what is wrong with the texts.
    pub found: Result<ExamplesReport, Vec<Diagnostic>>,
}

/// Runs the examples of the standard at `path`.
#[must_use]
pub fn test(path: &str, how: TestOptions, shelf: &dyn Shelf) -> TestRun {
    let mut store = Store::new();
    let root = match read_text(&mut store, shelf, path, None) {
        Ok(root) => root,
        Err(problem) => {
            return TestRun {
                store,
                found: Err(vec![*problem]),
            };
        }
    };
    let mut prepared = prepare(&mut store, shelf, root);
    read_examples(&mut store, shelf, &mut prepared);
    let whole = prepared
        .problems
        .iter()
        .all(|problem| problem.severity != Severity::Error);
    let found = if prepared.usable() && whole {
        run_examples(&store, &prepared, how)
    } else {
        let mut problems = prepared.problems;
        problems.retain(|problem| problem.severity == Severity::Error);
        Err(problems)
    };
    TestRun { store, found }
}
