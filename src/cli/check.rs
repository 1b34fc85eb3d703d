//! `check`.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::apply::{self, Change};
use super::args::{CheckArguments, Form, ShowWhat};
use super::collect::collect;
use super::{Disk, exit, files, terminal};
use crate::check::Options;
use crate::report::{Format, Show, Style, render};
use crate::session::{Named, Request, check};
use crate::source::visible;
use crate::types::Date;

/// Runs `check`.
pub(super) fn command(arguments: &CheckArguments, out: &mut dyn Write) -> io::Result<u8> {
    let date = match date(arguments.on.as_deref()) {
        Ok(date) => date,
        Err(words) => return usage(&words),
    };
    let disk = match disk(arguments.root.as_deref(), &arguments.paths) {
        Ok(disk) => disk,
        Err(words) => return usage(&words),
    };
    let disk = match &arguments.standard {
        Some(standard) => disk.and_around(standard),
        None => disk,
    };
    let passed = arguments.show.contains(&ShowWhat::Passed);
    let machine = matches!(arguments.form, Form::Json | Form::Sarif | Form::Junit);
    let named = collect(&arguments.paths);
    let stdin = named.stdin.then(files::stdin);
    let request = |named: Named, stdin| Request {
        named,
        stdin,
        standard: arguments
            .standard
            .as_ref()
            .map(|path| path.to_string_lossy().replace('\\', "/")),
        date: date.clone(),
        options: Options {
            explain: passed || machine,
            repairs: true,
            allow_risk: arguments.allow_risk,
            on: None,
            budget: arguments.budget,
            margins: arguments.show.contains(&ShowWhat::Margins),
        },
    };
    let mut run = check(request(named, stdin), &disk);
    if let Some(asked) = &arguments.apply {
        // It is checked as it will be before a byte is written.
        let again = |change: &Change, repairs: bool| {
            let mut request = request(collect(&arguments.paths), None);
            request.options.repairs = repairs;
            check(request, &change.over(&disk))
        };
        let (change, with) = match apply::change(&run.report, &run.store, asked, again) {
            Ok(changed) => changed,
            Err(words) => return usage(&words),
        };
        if !arguments.dry_run
            && let Err(words) = change.write(&disk)
        {
            return usage(&words);
        }
        run = with;
        let said = change.said(!arguments.dry_run);
        if arguments.form == Form::People {
            writeln!(out, "{said}")?;
        } else {
            write!(io::stderr(), "{said}")?;
        }
    }
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        unicode: true,
        plain: arguments.plain,
        show: Show { passed },
        full: arguments.full,
        open: arguments.open,
    };
    let format = match arguments.form {
        Form::People => Format::People,
        Form::Log => Format::Log,
        Form::Json => Format::Json,
        Form::Sarif => Format::Sarif,
        Form::Junit => Format::Junit,
    };
    render(&run.report, &run.store, format, &style, out)?;
    let code = exit::of_report(&run.report);
    // The process ends here: giving memory back piece by piece would only take time.
    std::mem::forget(run);
    Ok(code)
}

/// Says what is wrong with the arguments, which are no more to be trusted than a file.
pub(super) fn usage(words: &str) -> io::Result<u8> {
    writeln!(io::stderr(), "strikeoff: {}", visible(words))?;
    Ok(exit::TROUBLE)
}

/// The date to check for.
pub(super) fn date(on: Option<&str>) -> Result<String, String> {
    if let Some(text) = on {
        let date = Date::parse(text);
        let date = date.ok_or_else(|| format!("`{text}` is not a date; write it as 2026-11-25"))?;
        return Ok(date.to_string());
    }
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    let days = since.map_or(0, |since| since.as_secs() / (24 * 60 * 60));
    let today = Date::since_1970(days);
    let today = today.ok_or("the clock of this machine is wrong; state the day with `--on`")?;
    Ok(today.to_string())
}

/// The folder that texts may name files in: the current one when it holds all paths, else theirs.
pub(super) fn root(paths: &[PathBuf]) -> PathBuf {
    let here = PathBuf::from(".");
    let Ok(disk) = Disk::below(&here) else {
        return here;
    };
    let outside = |path: &&PathBuf| path.as_os_str() != "-" && path.exists() && !disk.holds(path);
    let Some(first) = paths.iter().find(outside) else {
        return here;
    };
    if first.is_dir() {
        return first.clone();
    }
    first
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .map_or(here, Path::to_path_buf)
}

/// The files that texts may name: those below `root`; without one, below the current folder and around
/// every path that was named.
pub(super) fn disk(root: Option<&Path>, paths: &[PathBuf]) -> Result<Disk, String> {
    let folder = root.unwrap_or_else(|| Path::new("."));
    let disk = Disk::below(folder)
        .map_err(|error| format!("the folder `{}` cannot be read: {error}", folder.display()))?;
    let outside = |path: &&PathBuf| root.is_none() && path.as_os_str() != "-" && path.exists();
    let named = paths.iter().filter(outside);
    Ok(named.fold(disk, |disk, path| disk.and_around(path)))
}
