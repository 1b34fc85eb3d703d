//! `test`.

use std::io::{self, Write};

use super::args::{TestArguments, TestForm};
use super::check::{root, usage};
use super::{Disk, exit, terminal, write_plans};
use crate::check::TestOptions;
use crate::report::{self, Show, Style};
use crate::session::test;
use crate::source::visible;

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
            "`{path}` is a plan; name the standard whose examples are to be run"
        ));
    }
    let how = TestOptions {
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
    if found.examples.is_empty() {
        return usage(&format!(
            "`{path}` has no example, so nothing was tested; write `example NAME {{` with `run \"…\"` and `expect RULE breaks`"
        ));
    }
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        show: Show {
            passed: arguments.all,
        },
        ..Style::default()
    };
    match arguments.form {
        TestForm::People => report::examples(&found, &run.store, &style, out)?,
        TestForm::Log => report::examples_log(&found, &run.store, out)?,
        TestForm::Json => report::examples_json(&found, &run.store, out)?,
        TestForm::Junit => report::examples_junit(&found, &run.store, out)?,
    }
    if let Some(folder) = &arguments.write_plans {
        let said = match write_plans::write(&found, &run.store, folder) {
            Ok(said) => said,
            Err(words) => return usage(&words),
        };
        for line in said.lines() {
            match arguments.form {
                TestForm::People => writeln!(out, "{}", visible(line))?,
                _ => writeln!(io::stderr(), "{}", visible(line))?,
            }
        }
    }
    let open = arguments.pinned && !found.pins.holes.is_empty();
    if found.failed() > 0 || open {
        Ok(exit::FINDINGS)
    } else {
        Ok(exit::CLEAN)
    }
}
