//! What the settings of one plan may be set to.

use super::read::read;
use crate::check::NoWorking;
use crate::diagnostic::Window;
use crate::names::{ReadProblem, Shelf};
use crate::source::Store;
use crate::window::Asked;

/// The window of a plan, or why there is none.
#[derive(Debug)]
pub struct WindowRun {
    /// All texts.
    pub store: Store,
    /// The window.
    pub found: Result<Window, NoWorking>,
}

/// Looks at the window of one plan: from `path`, else from `stdin`.
#[must_use]
pub fn window(
    path: Option<&str>,
    stdin: Option<Result<String, ReadProblem>>,
    standard: Option<&str>,
    asked: Asked<'_>,
    shelf: &dyn Shelf,
) -> WindowRun {
    let read = read(path, stdin, standard, shelf);
    let mut store = read.store;
    let found = match (&read.prepared, read.plan) {
        (Some(prepared), Some(plan)) => {
            let found = crate::window::window(&mut store, prepared, plan, asked);
            found.map_err(|none| none.after(read.problems))
        }
        _ => Err(NoWorking::Text(read.problems)),
    };
    WindowRun { store, found }
}
