//! One plan with its standard, or one standard by itself, read for a question about it.

use super::check::unreadable;
use super::reading::{Reading, stdin_problem};
use crate::check::{Prepared, prepare};
use crate::diagnostic::{Diagnostic, Report, Severity};
use crate::names::{ReadProblem, Shelf, read_text};
use crate::source::{FileId, Store};

/// One plan and its standard, read but not checked.
pub(super) struct ReadPlan {
    pub(super) store: Store,
    pub(super) prepared: Option<Prepared>,
    /// `None` when its file could not be read.
    pub(super) plan: Option<FileId>,
    /// Trouble with files and with the standard's texts.
    pub(super) problems: Vec<Diagnostic>,
}

/// Reads one plan with the standard it names, or with `standard`.
pub(super) fn read(
    path: Option<&str>,
    stdin: Option<Result<String, ReadProblem>>,
    standard: Option<&str>,
    shelf: &dyn Shelf,
) -> ReadPlan {
    let mut reading = Reading::new(shelf, Report::default());
    let file = match (path, stdin) {
        (Some(path), _) => match read_text(&mut reading.store, shelf, path, None) {
            Ok(file) => Some(file),
            Err(problem) => {
                reading.report.diagnostics.push(*problem);
                None
            }
        },
        (None, Some(Ok(text))) => Some(reading.store.add("<stdin>", text)),
        (None, Some(Err(problem))) => {
            reading.report.diagnostics.push(stdin_problem(&problem));
            None
        }
        (None, None) => None,
    };
    let plan = file.map(|file| reading.plan(file, standard));
    let mut problems = reading.report.diagnostics;
    let index = plan.as_ref().and_then(|plan| plan.standard);
    let prepared = index.and_then(|index| reading.prepared.into_iter().nth(index));
    match (&prepared, &plan) {
        (Some(prepared), _) => problems.extend(prepared.problems.iter().cloned()),
        (None, Some(plan)) => problems.extend(unreadable(&reading.store, plan).diagnostics),
        (None, None) => {}
    }
    ReadPlan {
        store: reading.store,
        prepared,
        plan: file,
        problems,
    }
}

/// A standard that was read.
#[derive(Debug)]
pub struct ReadStandard {
    /// All texts.
    pub store: Store,
    /// The standard; without errors, though there may be warnings.
    pub prepared: Prepared,
}

/// Reads one standard with the files it uses.
///
/// # Errors
/// All texts and what is wrong with them, when the file cannot be read or the standard has an error.
pub fn read_standard(
    path: &str,
    shelf: &dyn Shelf,
) -> Result<ReadStandard, Box<(Store, Vec<Diagnostic>)>> {
    let mut store = Store::new();
    let file = match read_text(&mut store, shelf, path, None) {
        Ok(file) => file,
        Err(problem) => return Err(Box::new((store, vec![*problem]))),
    };
    let prepared = prepare(&mut store, shelf, file);
    if prepared.usable() {
        return Ok(ReadStandard { store, prepared });
    }
    let errors = prepared.problems.into_iter();
    let errors = errors.filter(|problem| problem.severity == Severity::Error);
    Err(Box::new((store, errors.collect())))
}
