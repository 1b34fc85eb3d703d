//! `deviations`.

use std::io::{self, Write};
use std::path::PathBuf;

use super::args::DeviationsArguments;
use super::check::{date, disk, usage};
use super::collect::collect;
use super::{exit, terminal};
use crate::check::Options;
use crate::report::{self, Style};
use crate::session::{Request, check};

/// Runs `deviations`.
pub(super) fn command(arguments: &DeviationsArguments, out: &mut dyn Write) -> io::Result<u8> {
    let date = match date(arguments.on.as_deref()) {
        Ok(date) => date,
        Err(words) => return usage(&words),
    };
    let mut paths = arguments.paths.clone();
    let ending = match ending(&arguments.ending, &mut paths) {
        Ok(ending) => ending,
        Err(words) => return usage(&words),
    };
    if paths.is_empty() {
        paths.push(PathBuf::from("."));
    }
    let disk = match disk(arguments.root.as_deref(), &paths) {
        Ok(disk) => disk,
        Err(words) => return usage(&words),
    };
    let run = check(
        Request {
            named: collect(&paths),
            stdin: None,
            standard: None,
            date,
            options: Options {
                explain: false,
                repairs: false,
                allow_risk: true,
                ..Options::default()
            },
        },
        &disk,
    );
    let style = Style {
        width: terminal::width(),
        ..Style::default()
    };
    report::deviations(&run.report, &run.store, ending, &style, out)?;
    let error =
        |said: &&crate::diagnostic::Diagnostic| said.severity == crate::diagnostic::Severity::Error;
    let trouble: Vec<_> = run
        .report
        .diagnostics
        .iter()
        .filter(error)
        .cloned()
        .collect();
    if trouble.is_empty() {
        return Ok(exit::CLEAN);
    }
    report::lines(&trouble, &run.store, false, &mut io::stderr())?;
    Ok(exit::TROUBLE)
}

/// The days of `--ending 30 days`. The word may be left out; what follows then is a path.
fn ending(words: &[String], paths: &mut Vec<PathBuf>) -> Result<Option<i64>, String> {
    let Some(first) = words.first() else {
        return Ok(None);
    };
    let (number, word) = first.split_once(' ').unwrap_or((first, "days"));
    let days: Option<u32> = number.parse().ok();
    let (Some(days), "day" | "days") = (days, word.trim()) else {
        return Err(format!(
            "`{first}` is no number of days; write `--ending 30 days`"
        ));
    };
    if let Some(word) = words.get(1)
        && !matches!(word.as_str(), "day" | "days")
    {
        paths.insert(0, PathBuf::from(word));
    }
    Ok(Some(i64::from(days)))
}
