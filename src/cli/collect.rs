//! Which plans and standards the named paths mean.

use std::fs;
use std::path::{Path, PathBuf};

use crate::diagnostic::{Code, Diagnostic};
use crate::session::{Named, nothing_in};

/// How deep folders are searched.
const DEEPEST: u32 = 32;

/// A path as reports show it, with forward slashes.
pub(super) fn shown(path: &Path) -> Option<String> {
    let text = path.to_str()?.replace('\\', "/");
    Some(
        text.strip_prefix("./")
            .map_or_else(|| text.clone(), str::to_owned),
    )
}

/// All plans and standards below a folder of the disk.
pub(super) fn files(below: &Path) -> Vec<String> {
    let mut named = Named::default();
    folder(below, 0, &mut named);
    named.plans.into_iter().chain(named.parts).collect()
}

/// Finds what the paths name.
pub(super) fn collect(paths: &[PathBuf]) -> Named {
    let mut named = Named::default();
    for path in paths {
        if path.as_os_str() == "-" {
            named.stdin = true;
            continue;
        }
        let Some(text) = shown(path) else {
            named.problems.push(Diagnostic::without_place(
                Code::FileUnreadable,
                format!("the path `{}` is not UTF-8", path.display()),
            ));
            continue;
        };
        if path.is_dir() {
            let before = named.plans.len() + named.parts.len();
            folder(path, 0, &mut named);
            if named.plans.len() + named.parts.len() == before {
                named.problems.push(nothing_in(&text));
            }
        } else if text.ends_with(".std") {
            named.standards.push(text);
        } else if text.ends_with(".plan") {
            named.plans.push(text);
        } else {
            let (code, words) = if path.exists() {
                (
                    Code::NothingToCheck,
                    format!("`{text}` is neither a plan nor a standard"),
                )
            } else {
                (
                    Code::FileMissing,
                    format!("there is no file or folder `{text}`"),
                )
            };
            named.problems.push(
                Diagnostic::without_place(code, words)
                    .help("plans end in `.plan`, standards in `.std`"),
            );
        }
    }
    let mut seen = std::collections::HashSet::new();
    named.plans.retain(|path| seen.insert(path.clone()));
    named.standards.retain(|path| seen.insert(path.clone()));
    named.parts.retain(|path| seen.insert(path.clone()));
    named
}

fn folder(path: &Path, depth: u32, named: &mut Named) {
    let entries = match fs::read_dir(path) {
        Ok(entries) => entries,
        Err(error) => {
            named.problems.push(Diagnostic::without_place(
                Code::FileUnreadable,
                format!("the folder `{}` cannot be read: {error}", path.display()),
            ));
            return;
        }
    };
    let mut entries: Vec<fs::DirEntry> = entries.filter_map(Result::ok).collect();
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let hidden = entry
            .file_name()
            .to_str()
            .is_none_or(|name| name.starts_with('.'));
        let Ok(kind) = entry.file_type() else {
            continue;
        };
        if hidden {
            continue;
        }
        // Links to folders are not followed, so that a circle of links cannot trap us.
        if kind.is_dir() {
            if depth < DEEPEST {
                folder(&entry.path(), depth + 1, named);
            }
            continue;
        }
        let Some(text) = shown(&entry.path()) else {
            continue;
        };
        if text.ends_with(".plan") {
            named.plans.push(text);
        } else if text.ends_with(".std") {
            named.parts.push(text);
        }
    }
}
