//! The figures of one plan, worked out.

use super::read::read;
use crate::check::{NoWorking, Wanted};
use crate::diagnostic::{Picture, Working};
use crate::names::{ReadProblem, Shelf};
use crate::source::Store;

/// What was worked out, or why not.
#[derive(Debug)]
pub struct WorkingRun {
    /// All texts.
    pub store: Store,
    /// The working, and the picture if one was wanted.
    pub found: Result<(Working, Option<Picture>), NoWorking>,
}

/// Works out the figures of one plan: from `path`, else from `stdin`.
#[must_use]
pub fn working(
    path: Option<&str>,
    stdin: Option<Result<String, ReadProblem>>,
    standard: Option<&str>,
    wanted: Wanted<'_>,
    shelf: &dyn Shelf,
) -> WorkingRun {
    let read = read(path, stdin, standard, shelf);
    let found = match (&read.prepared, read.plan) {
        (Some(prepared), Some(plan)) => {
            let found = crate::check::working(&read.store, prepared, plan, wanted);
            found.map_err(|none| none.after(read.problems))
        }
        _ => Err(NoWorking::Text(read.problems)),
    };
    WorkingRun {
        store: read.store,
        found,
    }
}
