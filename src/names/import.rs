//! Reading a standard and all it uses, each file once, inside its folder.

use std::collections::HashMap;

use super::{SHIPPED, did_you_mean, shipped};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::{FileId, Span, Store};
use crate::syntax;
use crate::syntax::tree::{Line, StatementNode};

/// The largest file that is read, in bytes. A standard of 100,000 lines has about 4 million.
pub const LARGEST_FILE: u64 = 16 * 1024 * 1024;

/// The most files one standard may be made of.
const MOST_FILES: usize = 500;

/// The only door to files. Paths have forward slashes and start at the folder being checked.
pub trait Shelf {
    /// Reads a whole file.
    ///
    /// # Errors
    /// Why it could not be read.
    fn read(&self, path: &str) -> Result<String, ReadProblem>;

    /// Names of files in the same folder, for suggestions. May be empty.
    fn neighbours(&self, path: &str) -> Vec<String> {
        let _ = path;
        Vec::new()
    }

    /// Paths of all files below a folder; `""` is the folder that paths start at. Empty where folders are not known.
    fn files(&self, folder: &str) -> Vec<String> {
        let _ = folder;
        Vec::new()
    }
}

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadProblem {
    /// It is not there.
    Missing,
    /// It is a folder.
    Folder,
    /// It is not UTF-8; the offset of the first wrong byte.
    NotUtf8(usize),
    /// It is larger than [`LARGEST_FILE`]; its size in bytes.
    TooLarge(u64),
    /// The path leads out of the folder.
    Leaves,
    /// What the system says.
    Other(String),
}

/// The files of a standard.
#[derive(Debug, Default)]
pub struct Loaded {
    /// Root first, then in the order met.
    pub files: Vec<FileId>,
    /// What went wrong.
    pub problems: Vec<Diagnostic>,
}

/// Joins a relative path to the folder of `base`, both with forward slashes.
///
/// What climbs above the folder that paths start at keeps its leading `..`: whether that may be read is for
/// the [`Shelf`]. `None` when it is absolute, names no file, or is written in another system's way.
#[must_use]
pub fn join(base: &str, relative: &str) -> Option<String> {
    let foreign = relative.contains(['\\', '\0']) || relative.contains(':');
    if relative.is_empty() || relative.starts_with('/') || foreign {
        return None;
    }
    let mut parts: Vec<&str> = base.split('/').collect();
    parts.pop();
    for part in relative.split('/') {
        match part {
            "" | "." => {}
            ".." => match parts.last() {
                None | Some(&"..") => parts.push(".."),
                Some(&".") => {
                    parts.pop();
                    parts.push("..");
                }
                // There is nothing above the top of the disk.
                Some(&"") => return None,
                Some(_) => {
                    parts.pop();
                }
            },
            _ => parts.push(part),
        }
    }
    (!parts.is_empty()).then(|| parts.join("/"))
}

/// Says why a file could not be read; `at` is the place that asked for it.
fn read_diagnostic(
    shelf: &dyn Shelf,
    path: &str,
    problem: &ReadProblem,
    at: Option<Span>,
) -> Diagnostic {
    let (code, headline, help) = match problem {
        ReadProblem::Missing => {
            let known = shelf.neighbours(path);
            let name = path.rsplit('/').next().unwrap_or(path);
            let near = super::nearest(name, known.iter().map(String::as_str));
            (
                Code::FileMissing,
                format!("there is no file `{path}`"),
                near.map(|near| format!("did you mean `{near}`?"))
                    .or_else(|| {
                        let named = at.is_some();
                        named.then(|| "paths are relative to the file that names them".to_owned())
                    }),
            )
        }
        ReadProblem::Folder => (
            Code::FileIsFolder,
            format!("`{path}` is a folder"),
            Some("name a file".to_owned()),
        ),
        ReadProblem::NotUtf8(offset) => (
            Code::NotUtf8,
            format!("`{path}` is not UTF-8 text: byte {offset} is the first that cannot be read"),
            Some("save the file as UTF-8".to_owned()),
        ),
        ReadProblem::TooLarge(bytes) => (
            Code::FileTooLarge,
            format!(
                "`{path}` has {bytes} bytes; files above {} MiB are not read",
                LARGEST_FILE / 1024 / 1024
            ),
            Some("split it into several files".to_owned()),
        ),
        ReadProblem::Leaves => (
            Code::PathLeaves,
            format!("`{path}` leads out of the folder that is checked"),
            Some(
                "keep standards and plans below one folder, and start there or name it with `--root`"
                    .to_owned(),
            ),
        ),
        ReadProblem::Other(words) => (
            Code::FileUnreadable,
            format!("`{path}` cannot be read: {words}"),
            None,
        ),
    };
    let mut diagnostic = match at {
        Some(span) => Diagnostic::new(code, span, headline, "asked for here"),
        None => Diagnostic::without_place(code, headline),
    };
    if let Some(help) = help {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}

/// Reads a file into the store.
///
/// # Errors
/// A diagnostic that says why it could not be read, at the place that asked for it.
pub fn read_text(
    store: &mut Store,
    shelf: &dyn Shelf,
    path: &str,
    at: Option<Span>,
) -> Result<FileId, Box<Diagnostic>> {
    match shelf.read(path) {
        Ok(text) => Ok(store.add(path, text)),
        Err(problem) => Err(Box::new(read_diagnostic(shelf, path, &problem, at))),
    }
}

/// What a `use` line asks for.
enum Wanted {
    Spec(String),
    File(String),
}

/// The `use` lines of a file. Only lines that start with the word are parsed.
fn uses(store: &Store, file: FileId) -> Vec<(Wanted, Span)> {
    let text = store.get(file).text();
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let offset = start;
        start += line.len();
        let body = line.trim_start_matches('\u{feff}');
        let Some(rest) = body.strip_prefix("use") else {
            continue;
        };
        if !rest.starts_with([' ', '\t']) {
            continue;
        }
        let shift = offset + line.len() - body.len();
        let moved =
            |span: Span| Span::new(file, shift + span.start as usize, shift + span.end as usize);
        for item in syntax::parse(file, body).tree.items {
            let Line::Good(statement, _) = item else {
                continue;
            };
            match statement.node {
                StatementNode::UseSpec(word) => {
                    found.push((Wanted::Spec(word.text.to_owned()), moved(word.span)));
                }
                StatementNode::UseFile(quote) => {
                    found.push((Wanted::File(quote.value()), moved(quote.span)));
                }
                _ => {}
            }
        }
    }
    found
}

/// A file being read, with what led to it.
struct Pending {
    file: FileId,
    /// Path on the shelf; `None` for a shipped spec.
    path: Option<String>,
    /// Names from the root down to this file, to find cycles.
    chain: Vec<String>,
}

/// Reads a standard's root file and everything it uses. The root is already in the store.
#[must_use]
pub fn load_standard(store: &mut Store, shelf: &dyn Shelf, root: FileId) -> Loaded {
    let mut loaded = Loaded {
        files: vec![root],
        problems: Vec::new(),
    };
    let root_path = store.get(root).name().to_owned();
    let top = root_path.rsplit_once('/').map_or("", |(folder, _)| folder);
    let top = top.to_owned();
    let mut known: HashMap<String, FileId> = HashMap::from([(root_path.clone(), root)]);
    let mut pending = vec![Pending {
        file: root,
        path: Some(root_path.clone()),
        chain: vec![root_path],
    }];
    while let Some(at) = pending.pop() {
        let mut next = Vec::new();
        for (wanted, span) in uses(store, at.file) {
            let target = match wanted {
                Wanted::Spec(name) => spec_target(&name, span),
                Wanted::File(written) => file_target(&at, &top, &written, span),
            };
            let (name, path) = match target {
                Ok(target) => target,
                Err(problem) => {
                    loaded.problems.push(*problem);
                    continue;
                }
            };
            if at.chain.contains(&name) {
                loaded.problems.push(cycle(&at.chain, &name, span));
                continue;
            }
            if known.contains_key(&name) {
                continue;
            }
            if known.len() >= MOST_FILES {
                let words = format!("a standard may be made of at most {MOST_FILES} files");
                loaded
                    .problems
                    .push(Diagnostic::new(Code::TooManyFiles, span, words, "not read"));
                return loaded;
            }
            let read = match &path {
                Some(path) => read_text(store, shelf, path, Some(span)),
                None => {
                    let spec = name.trim_start_matches('<').trim_end_matches('>');
                    Ok(store.add(name.clone(), shipped(spec).unwrap_or("")))
                }
            };
            match read {
                Ok(file) => {
                    known.insert(name.clone(), file);
                    loaded.files.push(file);
                    let mut chain = at.chain.clone();
                    chain.push(name);
                    next.push(Pending { file, path, chain });
                }
                Err(problem) => loaded.problems.push(*problem),
            }
        }
        pending.extend(next.into_iter().rev());
    }
    loaded
}

type Found = Result<(String, Option<String>), Box<Diagnostic>>;

fn spec_target(name: &str, span: Span) -> Found {
    if shipped(name).is_some() {
        return Ok((format!("<{name}>"), None));
    }
    let mut problem = Diagnostic::new(
        Code::UnknownSpec,
        span,
        format!("no spec `{name}` ships with strikeoff"),
        "not known",
    );
    if let Some(help) = did_you_mean(name, SHIPPED.iter().map(|(name, _)| *name)) {
        problem = problem.help(help);
    }
    Err(Box::new(problem))
}

/// Reads the plan that an example names, from the folder of the root standard or below it.
///
/// # Errors
/// A diagnostic at the place that names it.
pub fn read_named_plan(
    store: &mut Store,
    shelf: &dyn Shelf,
    root: FileId,
    written: &str,
    at: Span,
) -> Result<FileId, Box<Diagnostic>> {
    let name = |file| store.get(file).name().to_owned();
    let (root, base) = (name(root), name(at.file));
    let top = root.rsplit_once('/').map_or("", |(folder, _)| folder);
    let base = (!base.starts_with('<')).then_some(base);
    let (path, _) = inside(base.as_deref(), top, written, at)?;
    if let Some((known, _)) = store.files().find(|(_, text)| text.name() == path) {
        return Ok(known);
    }
    read_text(store, shelf, &path, Some(at))
}

fn file_target(at: &Pending, top: &str, written: &str, span: Span) -> Found {
    inside(at.path.as_deref(), top, written, span)
}

/// The path that a file of the standard names, if it stays in the folder of the root.
fn inside(base: Option<&str>, top: &str, written: &str, span: Span) -> Found {
    let leaves = || {
        Box::new(
            Diagnostic::new(
                Code::PathLeaves,
                span,
                match written.trim_matches(['.', '/', ' ']) {
                    "" => "no file is named here".to_owned(),
                    _ => format!("`{written}` leads out of the folder of the standard"),
                },
                "not read",
            )
            .help("write a path with forward slashes, relative to this file, inside the folder of the root standard"),
        )
    };
    let base = base.ok_or_else(leaves)?;
    let path = join(base, written).ok_or_else(leaves)?;
    let inside = match top {
        "" => path != ".." && !path.starts_with("../"),
        top => path
            .strip_prefix(top)
            .is_some_and(|rest| rest.starts_with('/') && !rest.starts_with("/../")),
    };
    if !inside {
        return Err(leaves());
    }
    Ok((path.clone(), Some(path)))
}

fn cycle(chain: &[String], name: &str, span: Span) -> Diagnostic {
    let start = chain.iter().position(|known| known == name).unwrap_or(0);
    let mut round: Vec<String> = chain[start..]
        .iter()
        .map(|file| format!("`{file}`"))
        .collect();
    round.push(format!("`{name}`"));
    Diagnostic::new(
        Code::ImportCycle,
        span,
        format!("files use each other in a circle: {}", round.join(" uses ")),
        "closes the circle",
    )
    .help("take one of these `use` lines out; move what both need into a third file")
}

#[cfg(test)]
mod tests {
    use super::join;

    #[test]
    fn paths_are_joined_as_they_are_written() {
        assert_eq!(
            join("plans/a.plan", "../room.std").as_deref(),
            Some("room.std")
        );
        assert_eq!(
            join("room.std", "parts/./inks.std").as_deref(),
            Some("parts/inks.std")
        );
        let join = |base, relative| join(base, relative).unwrap_or_default();
        assert_eq!(join("plans/a.plan", "../../room.std"), "../room.std");
        assert_eq!(join("../plans/a.plan", "../../room.std"), "../../room.std");
        assert_eq!(join("../../a.plan", "../room.std"), "../../../room.std");
        assert_eq!(join("./plans/a.plan", "../../room.std"), "../room.std");
        assert_eq!(join("/rooms/a.plan", "../room.std"), "/room.std");
        assert_eq!(join("/rooms/a.plan", "../../room.std"), "");
        assert_eq!(join("room.std", "/etc/passwd"), "");
        assert_eq!(join("room.std", "c:\\x.std"), "");
    }
}
