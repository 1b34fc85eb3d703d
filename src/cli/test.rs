//! `test`.

use std::io::{self, Write};

use super::args::{TestArguments, TestForm};
use super::check::{root, usage};
use super::{Disk, exit, terminal};
use crate::check::{Struckwise, prepare, read_strike_offs, strike};
use crate::diagnostic::{Diagnostic, Severity, StrikeReport};
use crate::names::{Shelf, read_text};
use crate::report::{self, Style};
use crate::source::Store;

/// The strike-offs of a standard, run.
#[derive(Debug)]
pub struct TestRun {
    /// All texts.
    pub store: Store,
    /// What came out, or what is wrong with the texts.
    pub found: Result<StrikeReport, Vec<Diagnostic>>,
}

/// Runs the strike-offs of the standard at `path`.
#[must_use]
pub fn test(path: &str, how: Struckwise, shelf: &dyn Shelf) -> TestRun {
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
    read_strike_offs(&mut store, shelf, &mut prepared);
    let whole = prepared
        .problems
        .iter()
        .all(|problem| problem.severity != Severity::Error);
    let found = if prepared.usable() && whole {
        strike(&store, &prepared, how)
    } else {
        let mut problems = prepared.problems;
        problems.retain(|problem| problem.severity == Severity::Error);
        Err(problems)
    };
    TestRun { store, found }
}

/// Runs `test`.
pub(super) fn command(arguments: &TestArguments, out: &mut dyn Write) -> io::Result<u8> {
    let path = &arguments.standard;
    let root = arguments
        .root
        .clone()
        .unwrap_or_else(|| root(std::slice::from_ref(path)));
    let disk = match Disk::below(&root) {
        Ok(disk) => disk,
        Err(error) => {
            return usage(&format!(
                "the folder `{}` cannot be read: {error}",
                root.display()
            ));
        }
    };
    let path = path.to_string_lossy().replace('\\', "/");
    if path.ends_with(".plan") {
        return usage(&format!(
            "`{path}` is a plan; name the standard whose strike-offs are to be run"
        ));
    }
    let how = Struckwise {
        shipped: arguments.shipped,
        close: true,
        unpinned: false,
    };
    let run = test(path.strip_prefix("./").unwrap_or(&path), how, &disk);
    let found = match run.found {
        Ok(found) => found,
        Err(problems) => {
            report::lines(&problems, &run.store, false, &mut io::stderr())?;
            return usage("nothing was tested; `strikeoff check` shows the lines that are wrong");
        }
    };
    if found.strike_offs.is_empty() {
        return usage(&format!(
            "`{path}` has no strike-off, so nothing was tested; write `strike-off NAME {{` with `run \"…\"` and `expect RULE breaks`"
        ));
    }
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    match arguments.form {
        TestForm::People => report::strike(&found, &run.store, &style, out)?,
        TestForm::Log => report::strike_log(&found, &run.store, out)?,
        TestForm::Json => report::strike_json(&found, &run.store, out)?,
        TestForm::Junit => report::strike_junit(&found, &run.store, out)?,
    }
    let open = arguments.pinned && !found.pins.holes.is_empty();
    if found.failed() > 0 || open {
        Ok(exit::FINDINGS)
    } else {
        Ok(exit::CLEAN)
    }
}
