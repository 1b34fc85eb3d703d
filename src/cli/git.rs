//! Texts as a revision holds them, handed over by the installed git.
//!
//! Only plumbing is called, with object names that git itself resolved: nothing in a repository can
//! name a program to run or an option to set.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::names::{LARGEST_FILE, ReadProblem, Shelf, join};

/// What a revision has at a path.
#[derive(Debug, Clone)]
struct Entry {
    /// `100644` and the like; `120000` is a link.
    mode: String,
    object: String,
    /// In bytes; unknown for what is no file.
    size: Option<u64>,
}

/// The files of one revision below one folder.
#[derive(Debug)]
pub struct Revision {
    here: PathBuf,
    commit: String,
    /// Where the current folder stands in the repository: empty, or `rooms/harbour/`.
    prefix: String,
    /// The folder, from the top of the repository; empty for all of it.
    top: String,
    /// By path from the top of the repository, below the folder only.
    entries: BTreeMap<String, Entry>,
}

/// Two ends of a range of revisions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ends {
    /// The older side, a commit.
    pub old: String,
    /// The newer side, a commit; `None` is the working folder.
    pub new: Option<String>,
}

/// Reads `OLD..NEW`, `OLD...NEW` (from where the two parted) or `OLD` (to the working folder); a side left
/// out is `HEAD`.
///
/// # Errors
/// Words for the user: there is no git, no repository, or no such revision.
pub fn ends(here: &Path, words: &str) -> Result<Ends, String> {
    let side = |text: &str| commit(here, if text.is_empty() { "HEAD" } else { text });
    if let Some((old, new)) = words.split_once("...") {
        let (old, new) = (side(old)?, side(new)?);
        let base = run(here, &["merge-base", &old, &new])?;
        if !base.status.success() {
            return Err(format!(
                "the two sides of `{words}` have no commit in common; write `..` to compare them as they are"
            ));
        }
        return Ok(Ends {
            old: line(&base),
            new: Some(new),
        });
    }
    match words.split_once("..") {
        Some((old, new)) => Ok(Ends {
            old: side(old)?,
            new: Some(side(new)?),
        }),
        None => Ok(Ends {
            old: side(words)?,
            new: None,
        }),
    }
}

/// The commit that a revision names.
fn commit(here: &Path, revision: &str) -> Result<String, String> {
    let name = format!("{revision}^{{commit}}");
    let found = run(
        here,
        &[
            "rev-parse",
            "--verify",
            "--quiet",
            "--end-of-options",
            &name,
        ],
    )?;
    if found.status.success() {
        return Ok(line(&found));
    }
    // Not being in a repository at all wants other words than a revision that is not there.
    let top = run(here, &["rev-parse", "--show-prefix"])?;
    if top.status.success() {
        return Err(format!(
            "git knows no revision `{revision}`; a shallow copy may need `git fetch` first"
        ));
    }
    Err(format!("git says: {}", said(&top)))
}

fn run(here: &Path, arguments: &[&str]) -> Result<Output, String> {
    Command::new("git")
        .arg("--no-replace-objects")
        .args(arguments)
        .current_dir(here)
        .env("GIT_OPTIONAL_LOCKS", "0")
        .env("LC_ALL", "C")
        .stdin(Stdio::null())
        .output()
        .map_err(|error| match error.kind() {
            ErrorKind::NotFound => {
                "revisions are read with git, and there is no `git` on the path; name two files or folders instead"
                    .to_owned()
            }
            _ => format!("git cannot be run: {error}"),
        })
}

fn line(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout)
        .trim_end()
        .to_owned()
}

fn said(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stderr);
    text.lines().next().unwrap_or("it failed").trim().to_owned()
}

impl Revision {
    /// The files of `commit` below `folder`, which is written from `here` with forward slashes; empty for `here`
    /// itself.
    ///
    /// # Errors
    /// Words for the user.
    pub fn below(here: &Path, commit: &str, folder: &str) -> Result<Self, String> {
        let prefix = run(here, &["rev-parse", "--show-prefix"])?;
        if !prefix.status.success() {
            return Err(format!("git says: {}", said(&prefix)));
        }
        let prefix = line(&prefix);
        let Some(top) = place(&prefix, folder) else {
            return Err(format!("`{folder}` leads out of the repository"));
        };
        let mut arguments = vec!["ls-tree", "-r", "-l", "-z", "--full-tree", commit];
        if !top.is_empty() {
            arguments.extend(["--", &top]);
        }
        let listed = run(here, &arguments)?;
        if !listed.status.success() {
            return Err(format!("git says: {}", said(&listed)));
        }
        Ok(Self {
            here: here.to_path_buf(),
            commit: commit.to_owned(),
            entries: entries(&listed.stdout),
            prefix,
            top,
        })
    }

    /// The commit, in the short form that people know.
    #[must_use]
    pub fn short(&self) -> &str {
        self.commit.get(..10).unwrap_or(&self.commit)
    }

    /// The same from the current folder.
    fn shown(&self, path: &str) -> Option<String> {
        if let Some(rest) = path.strip_prefix(self.prefix.as_str()) {
            return Some(rest.to_owned());
        }
        let mut common = self.prefix.as_str();
        let mut up = String::new();
        while !path.starts_with(common) {
            common = common
                .trim_end_matches('/')
                .rsplit_once('/')
                .map_or("", |(head, _)| common.get(..=head.len()).unwrap_or(""));
            up.push_str("../");
        }
        Some(format!("{up}{}", path.get(common.len()..)?))
    }
}

/// A path from the top of the repository, empty for the top itself; `None` when it leads out.
fn place(prefix: &str, path: &str) -> Option<String> {
    // The top gets a name that no path has, so that a path cannot leave and come back by it.
    let path = if path.is_empty() { "." } else { path };
    let joined = join(&format!("\0/{prefix}"), path)?;
    let rest = joined.strip_prefix('\0')?;
    Some(rest.strip_prefix('/').unwrap_or(rest).to_owned())
}

/// Whether a path lies below a folder.
fn is_below(path: &str, folder: &str) -> bool {
    match path.strip_prefix(folder) {
        Some(rest) => folder.is_empty() || rest.starts_with('/'),
        None => false,
    }
}

/// Reads `MODE TYPE OBJECT SIZE<tab>PATH<nul>`; a path that is not UTF-8 cannot be named in a text.
fn entries(listed: &[u8]) -> BTreeMap<String, Entry> {
    let mut entries = BTreeMap::new();
    for row in listed.split(|byte| *byte == 0) {
        let Ok(row) = std::str::from_utf8(row) else {
            continue;
        };
        let Some((about, path)) = row.split_once('\t') else {
            continue;
        };
        let mut words = about.split_ascii_whitespace();
        if let (Some(mode), Some(_), Some(object)) = (words.next(), words.next(), words.next()) {
            entries.insert(
                path.to_owned(),
                Entry {
                    mode: mode.to_owned(),
                    object: object.to_owned(),
                    size: words.next().and_then(|size| size.parse().ok()),
                },
            );
        }
    }
    entries
}

impl Shelf for Revision {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let place = place(&self.prefix, path).ok_or(ReadProblem::Leaves)?;
        if place != self.top && !is_below(&place, &self.top) {
            return Err(ReadProblem::Leaves);
        }
        let Some(entry) = self.entries.get(&place) else {
            let folder = format!("{place}/");
            let next = self.entries.range(folder.clone()..).next();
            return Err(match next {
                Some((path, _)) if path.starts_with(&folder) => ReadProblem::Folder,
                _ => ReadProblem::Missing,
            });
        };
        let (true, Some(size)) = (entry.mode.starts_with("100"), entry.size) else {
            return Err(ReadProblem::Other("it is not a plain file".to_owned()));
        };
        if size > LARGEST_FILE {
            return Err(ReadProblem::TooLarge(size));
        }
        let found =
            run(&self.here, &["cat-file", "blob", &entry.object]).map_err(ReadProblem::Other)?;
        if !found.status.success() {
            return Err(ReadProblem::Other(format!("git says: {}", said(&found))));
        }
        String::from_utf8(found.stdout)
            .map_err(|error| ReadProblem::NotUtf8(error.utf8_error().valid_up_to()))
    }

    fn files(&self, folder: &str) -> Vec<String> {
        let Some(top) = place(&self.prefix, folder) else {
            return Vec::new();
        };
        let files = self.entries.keys().filter(|path| is_below(path, &top));
        files.filter_map(|path| self.shown(path)).collect()
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        let Some(place) = place(&self.prefix, path) else {
            return Vec::new();
        };
        let folder = place.rsplit_once('/').map_or("", |(folder, _)| folder);
        let names = self.entries.keys().filter_map(|path| {
            let rest = if folder.is_empty() {
                path.as_str()
            } else {
                path.strip_prefix(folder)?.strip_prefix('/')?
            };
            (!rest.contains('/')).then(|| rest.to_owned())
        });
        names
            .filter(|name| name.ends_with(".std") || name.ends_with(".plan"))
            .collect()
    }
}
