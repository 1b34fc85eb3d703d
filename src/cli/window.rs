//! `window`.

use std::fs;
use std::io::{self, Write};

use super::args::{WindowArguments, WorkingForm};
use super::check::{date, root, usage};
use super::{Disk, exit, files, terminal};
use crate::check::NoWorking;
use crate::diagnostic::{Code, Diagnostic};
use crate::report::{self, Style};
use crate::session::window;
use crate::source::{Store, visible};
use crate::types::Date;
use crate::window::Asked;

/// Runs `window`.
pub(super) fn command(arguments: &WindowArguments, out: &mut dyn Write) -> io::Result<u8> {
    let on = match date(arguments.on.as_deref()) {
        Ok(date) => Date::parse(&date),
        Err(words) => return usage(&words),
    };
    if let Some(words) = arguments.picture.as_deref().and_then(not_a_picture) {
        return usage(&words);
    }
    let plan = &arguments.plan;
    let stdin = plan.as_os_str() == "-";
    let root = arguments
        .root
        .clone()
        .unwrap_or_else(|| root(std::slice::from_ref(plan)));
    let disk = match Disk::below(&root) {
        Ok(disk) => disk,
        Err(error) => {
            return usage(&format!(
                "the folder `{}` cannot be read: {error}",
                root.display()
            ));
        }
    };
    let slashes = |path: &std::path::Path| path.to_string_lossy().replace('\\', "/");
    let path = slashes(plan);
    if path.ends_with(".std") {
        return usage(&format!(
            "`{path}` is a standard; name a plan, whose settings can be freed"
        ));
    }
    let standard = arguments.standard.as_deref().map(slashes);
    let asked = Asked {
        free: &arguments.free,
        budget: arguments.budget,
        on,
    };
    let run = window(
        (!stdin).then(|| path.strip_prefix("./").unwrap_or(&path)),
        stdin.then(files::stdin),
        standard.as_deref(),
        asked,
        &disk,
    );
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    let window = match run.found {
        Ok(window) => window,
        Err(NoWorking::Names(words)) => {
            for words in words {
                usage(&words)?;
            }
            return Ok(exit::TROUBLE);
        }
        Err(NoWorking::Text(problems)) => return trouble(&problems, &run.store),
    };
    match arguments.form {
        WorkingForm::People => report::window(&window, &run.store, &style, out)?,
        WorkingForm::Json => report::window_json(&window, &run.store, out)?,
    }
    if let Some(path) = &arguments.picture {
        let page = matches!(
            path.extension().and_then(std::ffi::OsStr::to_str),
            Some("html" | "htm")
        );
        let picture = if page {
            report::window_page(&window, &run.store)
        } else {
            report::window_picture(&window)
        };
        if let Err(error) = fs::write(path, picture) {
            let name = path.to_string_lossy();
            return usage(&format!("`{}` cannot be written: {error}", visible(&name)));
        }
    }
    Ok(if window.best.is_some() && window.standstill.is_empty() {
        exit::CLEAN
    } else {
        exit::FINDINGS
    })
}

/// Says what is wrong with the texts, a line each, on the error stream.
fn trouble(problems: &[Diagnostic], store: &Store) -> io::Result<u8> {
    // What was asked for stands in no file.
    let asked = |said: &Diagnostic| {
        let place = said.primary();
        place.is_some_and(|label| store.get(label.span.file).name() == "--free")
    };
    let (asked, texts): (Vec<Diagnostic>, Vec<Diagnostic>) =
        problems.iter().cloned().partition(asked);
    for said in &asked {
        usage(&format!("`--free`: {}", said.headline))?;
    }
    if texts.is_empty() {
        return Ok(exit::TROUBLE);
    }
    report::lines(&texts, store, false, &mut io::stderr())?;
    let missing = |said: &Diagnostic| matches!(said.code, Code::FileMissing | Code::FileIsFolder);
    usage(if texts.iter().any(missing) {
        "nothing was looked at"
    } else {
        "nothing was looked at; `strikeoff check` shows the lines of a plan that are wrong"
    })
}

/// Why a picture cannot be written under this name.
fn not_a_picture(path: &std::path::Path) -> Option<String> {
    let ending = path.extension()?.to_str()?.to_ascii_lowercase();
    if matches!(&*ending, "svg" | "html" | "htm") {
        return None;
    }
    let name = path.to_string_lossy();
    Some(format!(
        "`{}`: the picture is an `.svg` or a page, `.html`; name one of these",
        visible(&name)
    ))
}
