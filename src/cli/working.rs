//! `working`.

use std::fs;
use std::io::{self, Write};

use super::args::{WorkingArguments, WorkingForm};
use super::check::{disk, usage};
use super::{exit, files, terminal};
use crate::check::{NoWorking, Wanted};
use crate::diagnostic::Diagnostic;
use crate::report::{self, Style};
use crate::session::working;
use crate::source::{Store, visible};

/// Runs `working`.
pub(super) fn command(arguments: &WorkingArguments, out: &mut dyn Write) -> io::Result<u8> {
    let plan = &arguments.plan;
    let stdin = plan.as_os_str() == "-";
    let disk = match disk(arguments.root.as_deref(), std::slice::from_ref(plan)) {
        Ok(disk) => disk,
        Err(words) => return usage(&words),
    };
    let disk = match &arguments.standard {
        Some(standard) => disk.and_around(standard),
        None => disk,
    };
    let slashes = |path: &std::path::Path| path.to_string_lossy().replace('\\', "/");
    let path = slashes(plan);
    if path.ends_with(".std") {
        return usage(&format!(
            "`{path}` is a standard; name a plan, whose figures can be worked out"
        ));
    }
    let standard = arguments.standard.as_deref().map(slashes);
    let wanted = Wanted {
        fields: &arguments.fields,
        picture: arguments.picture.is_some(),
    };
    let run = working(
        (!stdin).then(|| path.strip_prefix("./").unwrap_or(&path)),
        stdin.then(files::stdin),
        standard.as_deref(),
        wanted,
        &disk,
    );
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    let (working, picture) = match run.found {
        Ok(found) => found,
        Err(NoWorking::Names(words)) => {
            for words in words {
                usage(&words)?;
            }
            return Ok(exit::TROUBLE);
        }
        Err(NoWorking::Text(problems)) => {
            return trouble(&problems, &run.store);
        }
    };
    match arguments.form {
        WorkingForm::People => report::working(&working, &run.store, &style, out)?,
        WorkingForm::Json => report::working_json(&working, &run.store, out)?,
    }
    match (&arguments.picture, picture) {
        (Some(path), Some(picture)) => {
            if picture.panels.is_empty() {
                return usage(
                    "there is nothing to draw: no figure shown here is a pass through a tunnel or a pallet over many pieces that can be worked out",
                );
            }
            if let Err(error) = fs::write(path, report::picture(&picture)) {
                let name = path.to_string_lossy();
                return usage(&format!("`{}` cannot be written: {error}", visible(&name)));
            }
            Ok(exit::CLEAN)
        }
        _ => Ok(exit::CLEAN),
    }
}

/// Says what is wrong with the texts, a line each, on the error stream.
fn trouble(problems: &[Diagnostic], store: &Store) -> io::Result<u8> {
    report::lines(problems, store, false, &mut io::stderr())?;
    usage("nothing was worked out; `strikeoff check` shows the lines that are wrong")
}
