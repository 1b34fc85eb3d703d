//! `test --write-plans`: the plans and examples that close holes, written as files.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Component, Path, PathBuf};

use crate::diagnostic::{Closing, ExamplesReport};
use crate::names::{join, plan_scope};
use crate::source::{FileId, Store};
use crate::syntax;

/// The file that the examples go into.
const EXAMPLES: &str = "examples.std";

/// What was written, in words.
pub(super) fn write(
    report: &ExamplesReport,
    store: &Store,
    folder: &Path,
) -> Result<String, String> {
    let root = store.get(report.standard.file).name();
    let closings = &report.pins.closings;
    let shown = folder.to_string_lossy().replace('\\', "/");
    if closings.is_empty() {
        return Ok("nothing was written: there is no plan to write that closes a hole".to_owned());
    }
    let below = below(root, folder)?;
    let texts = texts(closings, root, below.len());
    put_all(folder, &texts)?;
    let plans = texts.len() - 1;
    let plans = match plans {
        0 => "no new plan".to_owned(),
        1 => "1 plan".to_owned(),
        _ => format!("{plans} plans"),
    };
    let examples = match closings.len() {
        1 => "1 example".to_owned(),
        count => format!("{count} examples"),
    };
    Ok(format!(
        "written to `{shown}`: `{EXAMPLES}` with {examples}, and {plans}\n\
         to take them in, write `use \"{}\"` into `{root}`",
        path_below(&below, EXAMPLES)
    ))
}

/// A folder as seen from that of the standard, which must hold it: an example names its plan from there.
fn below(root: &str, folder: &Path) -> Result<Vec<String>, String> {
    let outside = || {
        format!(
            "`{}` does not lie in the folder of `{root}`; the plans of examples lie in the folder of their standard or below it",
            folder.display()
        )
    };
    let top = match Path::new(root).parent() {
        Some(top) if !top.as_os_str().is_empty() => top,
        _ => Path::new("."),
    };
    let top = fs::canonicalize(top)
        .map_err(|error| format!("the folder of `{root}` cannot be read: {error}"))?;
    let whole = real(folder).ok_or_else(outside)?;
    let rest = whole.strip_prefix(&top).map_err(|_| outside())?;
    let names = rest.components().map(|part| match part {
        Component::Normal(name) => name.to_str().map(str::to_owned),
        _ => None,
    });
    names.collect::<Option<Vec<String>>>().ok_or_else(outside)
}

/// Where a folder that need not be there would lie, links of those that are there followed.
fn real(folder: &Path) -> Option<PathBuf> {
    let folder = std::path::absolute(folder).ok()?;
    let mut rest = Vec::new();
    let mut there = folder.as_path();
    loop {
        if let Ok(mut found) = fs::canonicalize(there) {
            found.extend(rest.iter().rev());
            return Some(found);
        }
        rest.push(there.file_name()?);
        there = there.parent()?;
    }
}

fn path_below(below: &[String], name: &str) -> String {
    let mut parts: Vec<&str> = below.iter().map(String::as_str).collect();
    parts.push(name);
    parts.join("/")
}

/// The files, by name: the plans, and the examples last.
fn texts(closings: &[Closing], root: &str, depth: usize) -> Vec<(String, String)> {
    let mut texts = Vec::new();
    let mut examples = format!(
        "# {EXAMPLES}: examples at the limits of {root}, as `strikeoff test` wrote them to close holes.\n"
    );
    let up = "../".repeat(depth);
    for closing in closings {
        let new = closing.plan.as_ref().zip(closing.path.as_ref());
        let file = format!("{}.plan", closing.name);
        examples.push('\n');
        // The block names its plan from the folder of the standard; a path is read from the file it stands in.
        for (number, line) in closing.block.lines().enumerate() {
            let line = match (number, new) {
                (1, Some(_)) => format!("  run        {}", quoted(&file)),
                (1, None) => line.replacen('"', &format!("\"{up}"), 1),
                _ => line.to_owned(),
            };
            examples.push_str(&line);
            examples.push('\n');
        }
        if let Some((plan, path)) = new {
            texts.push((file, moved(plan, path, root, depth)));
        }
    }
    texts.push((EXAMPLES.to_owned(), examples));
    texts
}

/// A plan that names its standard from so many folders below that of `root`, instead of from `path`.
fn moved(plan: &str, path: &str, root: &str, depth: usize) -> String {
    let parsed = syntax::parse(FileId(0), plan);
    let (scope, _) = plan_scope(&parsed.tree);
    let Some((_, against, _)) = scope.run else {
        return plan.to_owned();
    };
    let top = root.rsplit_once('/').map_or("", |(top, _)| top);
    let target = join(path, &against.value()).unwrap_or_else(|| root.to_owned());
    let target = match top {
        "" => target,
        _ => match target.strip_prefix(top) {
            Some(rest) => rest.trim_start_matches('/').to_owned(),
            None => return plan.to_owned(),
        },
    };
    let mut moved = plan.to_owned();
    let from_there = format!("{}{target}", "../".repeat(depth));
    moved.replace_range(against.span.range(), &quoted(&from_there));
    moved
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// Writes all files or none, and never over one that is there.
fn put_all(folder: &Path, texts: &[(String, String)]) -> Result<(), String> {
    let there = texts
        .iter()
        .map(|(name, _)| folder.join(name))
        .find(|path| fs::symlink_metadata(path).is_ok());
    if let Some(path) = there {
        return Err(format!(
            "`{}` is there already, so nothing was written; name another folder",
            path.display()
        ));
    }
    fs::create_dir_all(folder)
        .map_err(|error| format!("`{}` cannot be made: {error}", folder.display()))?;
    let mut written = Vec::new();
    for (name, text) in texts {
        let path = folder.join(name);
        if let Err(error) = put(&path, text) {
            // What this call made is taken back: half of them would be neither the old state nor the new.
            let left: Vec<String> = written
                .iter()
                .filter(|path| fs::remove_file(path).is_err())
                .map(|path: &PathBuf| path.display().to_string())
                .collect();
            let left = match left.is_empty() {
                true => String::new(),
                false => format!("; still there: {}", left.join(", ")),
            };
            return Err(format!(
                "`{}` cannot be written: {error}{left}",
                path.display()
            ));
        }
        written.push(path);
    }
    Ok(())
}

fn put(path: &Path, text: &str) -> io::Result<()> {
    // Between the look before and here a file may have come: it is not overwritten either.
    let mut file = fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)?;
    let written = file.write_all(text.as_bytes());
    if written.is_err() {
        let _ = fs::remove_file(path);
    }
    written
}
