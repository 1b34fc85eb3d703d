//! `diff`.

use std::io::{self, Write};
use std::path::Path;

use super::args::{DiffArguments, DiffForm, FailOn};
use super::check::{date, root, usage};
use super::collect::collect;
use super::{Disk, exit, terminal};
use crate::check::prepare;
use crate::compare::{CompareOptions, USUAL_BUDGET, compare};
use crate::diagnostic::{Answer, Comparison, Diagnostic, Meaning, Severity};
use crate::names::{Shelf, read_text};
use crate::report::{self, Style};
use crate::source::Store;
use crate::types::Date;

/// One of the two standards: where its files are read, and the path of its root.
#[derive(Clone, Copy)]
pub struct DiffSide<'s> {
    /// The files: a folder on the disk, or a revision.
    pub shelf: &'s dyn Shelf,
    /// The root standard on that shelf.
    pub path: &'s str,
}

/// A comparison, or why there is none.
#[derive(Debug)]
pub struct DiffRun {
    /// All texts of both sides.
    pub store: Store,
    /// The comparison; else what is wrong with the texts.
    pub found: Result<Comparison, Vec<Diagnostic>>,
}

/// Reads and compares two standards.
#[must_use]
pub fn diff(old: DiffSide<'_>, new: DiffSide<'_>, options: CompareOptions) -> DiffRun {
    let mut store = Store::new();
    let mut problems = Vec::new();
    let mut read = |side: DiffSide<'_>, store: &mut Store| {
        let file = match read_text(store, side.shelf, side.path, None) {
            Ok(file) => file,
            Err(problem) => {
                problems.push(*problem);
                return None;
            }
        };
        let prepared = prepare(store, side.shelf, file);
        if prepared.usable() {
            return Some(prepared);
        }
        let errors = prepared.problems.into_iter();
        problems.extend(errors.filter(|said| said.severity == Severity::Error));
        None
    };
    let before = read(old, &mut store);
    let after = read(new, &mut store);
    let found = match (before, after) {
        (Some(before), Some(after)) => Ok(compare(&store, &before, &after, options)),
        _ => Err(problems),
    };
    DiffRun { store, found }
}

/// The root standard that a path means: itself, or the one in a folder that no other file there uses.
fn standard(path: &Path) -> Result<String, String> {
    let shown = |path: &Path| {
        let text = path.to_string_lossy().replace('\\', "/");
        text.strip_prefix("./").unwrap_or(&text).to_owned()
    };
    if !path.is_dir() {
        let text = shown(path);
        if text.ends_with(".plan") {
            return Err(format!(
                "`{text}` is a plan; name a standard, or a folder with one"
            ));
        }
        return Ok(text);
    }
    let named = collect(&[path.to_owned()]);
    let roots: Vec<&String> = named
        .parts
        .iter()
        .filter(|part| is_root(Path::new(part)))
        .collect();
    match roots.as_slice() {
        [one] => Ok((*one).clone()),
        [] => Err(format!(
            "there is no standard in `{}`: no `.std` file starts with `standard`",
            shown(path)
        )),
        [first, ..] => Err(format!(
            "there are {} standards in `{}`; name one of them, such as `{first}`",
            roots.len(),
            shown(path)
        )),
    }
}

/// Whether a file is a root standard: its first statement says so.
fn is_root(path: &Path) -> bool {
    std::fs::read_to_string(path).is_ok_and(|text| {
        let lines = text
            .lines()
            .map(|line| line.trim_start_matches('\u{feff}').trim());
        let mut lines = lines.filter(|line| !line.is_empty() && !line.starts_with('#'));
        lines
            .next()
            .is_some_and(|line| line.starts_with("standard "))
    })
}

/// Runs `diff`.
pub(super) fn command(arguments: &DiffArguments, out: &mut dyn Write) -> io::Result<u8> {
    let on = match arguments.on.as_deref().map(|on| date(Some(on))).transpose() {
        Ok(on) => on.and_then(|on| Date::parse(&on)),
        Err(words) => return usage(&words),
    };
    let mut sides = Vec::new();
    for path in [&arguments.old, &arguments.new] {
        let file = match standard(path) {
            Ok(file) => file,
            Err(words) => return usage(&words),
        };
        let below = arguments
            .root
            .clone()
            .unwrap_or_else(|| root(std::slice::from_ref(path)));
        match Disk::below(&below) {
            Ok(disk) => sides.push((disk, file)),
            Err(error) => {
                return usage(&format!(
                    "the folder `{}` cannot be read: {error}",
                    below.display()
                ));
            }
        }
    }
    let [(old_disk, old_path), (new_disk, new_path)] = sides.as_slice() else {
        return Ok(exit::INTERNAL);
    };
    let run = diff(
        DiffSide {
            shelf: old_disk,
            path: old_path,
        },
        DiffSide {
            shelf: new_disk,
            path: new_path,
        },
        CompareOptions {
            budget: arguments.budget.unwrap_or(USUAL_BUDGET),
            on,
        },
    );
    show(&run, arguments, out)
}

/// Writes a comparison in the form asked for, and gives the exit code.
pub(super) fn show(
    run: &DiffRun,
    arguments: &DiffArguments,
    out: &mut dyn Write,
) -> io::Result<u8> {
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    let comparison = match &run.found {
        Ok(comparison) => comparison,
        Err(problems) => {
            report::lines(problems, &run.store, false, &mut io::stderr())?;
            return usage("nothing was compared; `strikeoff check` shows the lines that are wrong");
        }
    };
    match arguments.format {
        DiffForm::Text => report::diff(comparison, &run.store, arguments.full, &style, out)?,
        DiffForm::Json => report::diff_json(comparison, &run.store, out)?,
        DiffForm::Markdown => report::diff_markdown(comparison, &run.store, out)?,
        DiffForm::Sarif => report::diff_sarif(comparison, &run.store, out)?,
    }
    Ok(if fails(comparison, arguments.fail_on) {
        exit::FINDINGS
    } else {
        exit::CLEAN
    })
}

/// Whether a comparison fails what was asked for. What is not decided may be loosened.
fn fails(comparison: &Comparison, on: Option<FailOn>) -> bool {
    match on {
        None => false,
        Some(FailOn::Changed) => comparison.meaning != Meaning::Same,
        Some(FailOn::Loosened) => comparison
            .changes
            .iter()
            .any(|change| change.direction.looser != Answer::No),
    }
}
