//! What the settings of one plan may be set to.

use super::read::read;
use crate::diagnostic::Window;
use crate::names::{ReadProblem, Shelf};
use crate::source::Store;
use crate::window::{Asked, NoWindow};

/// The window of a plan, or why there is none.
#[derive(Debug)]
pub struct WindowRun {
    /// All texts.
    pub store: Store,
    /// The window.
    pub found: Result<Window, NoWindow>,
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
            found.map_err(|none| match none {
                NoWindow::Text(problems) => {
                    NoWindow::Text(read.problems.into_iter().chain(problems).collect())
                }
                names @ NoWindow::Names(_) => names,
            })
        }
        _ => Err(NoWindow::Text(read.problems)),
    };
    WindowRun { store, found }
}
