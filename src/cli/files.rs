//! The disk: the only reader of files.

use std::fs;
use std::io::{ErrorKind, Read as _};
use std::path::{Path, PathBuf};

use super::collect::files;
use crate::names::{LARGEST_FILE, ReadProblem, Shelf};

/// Files below one folder, or below some.
#[derive(Debug, Clone)]
pub struct Disk {
    roots: Vec<PathBuf>,
}

impl Disk {
    /// Files below `root`.
    ///
    /// # Errors
    /// When there is no such folder.
    pub fn below(root: &Path) -> std::io::Result<Self> {
        Ok(Self {
            roots: vec![fs::canonicalize(root)?],
        })
    }

    /// Also the files below the folder of this one, which the person named by hand.
    #[must_use]
    pub fn and_around(mut self, named: &Path) -> Self {
        let folder = if named.is_dir() {
            Some(named)
        } else {
            named.parent()
        };
        let folder = match folder {
            Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
            Some(folder) => folder,
            None => return self,
        };
        if !self.holds(folder)
            && let Ok(folder) = fs::canonicalize(folder)
        {
            self.roots.push(folder);
        }
        self
    }

    /// Whether a path, links followed, lies below the folder.
    #[must_use]
    pub fn holds(&self, path: &Path) -> bool {
        fs::canonicalize(path).is_ok_and(|path| self.below_a_root(&path))
    }

    fn below_a_root(&self, real: &Path) -> bool {
        self.roots.iter().any(|root| real.starts_with(root))
    }

    /// Whether a file that is not there would lie outside: then nothing is said about what is there.
    fn would_leave(&self, path: &Path) -> bool {
        let here = |path: &Path| match path.as_os_str().is_empty() {
            true => PathBuf::from("."),
            false => path.to_owned(),
        };
        let real = path.ancestors().skip(1).map(here);
        let mut real = real.filter_map(|folder| fs::canonicalize(folder).ok());
        real.next()
            .is_some_and(|folder| !self.below_a_root(&folder))
    }
}

impl Shelf for Disk {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let path = Path::new(path);
        let real = fs::canonicalize(path).map_err(|error| match problem(&error) {
            ReadProblem::Missing if self.would_leave(path) => ReadProblem::Leaves,
            problem => problem,
        })?;
        if !self.below_a_root(&real) {
            return Err(ReadProblem::Leaves);
        }
        let about = fs::metadata(&real).map_err(|error| problem(&error))?;
        if about.is_dir() {
            return Err(ReadProblem::Folder);
        }
        if !about.is_file() {
            return Err(ReadProblem::Other("it is not a plain file".to_owned()));
        }
        if about.len() > LARGEST_FILE {
            return Err(ReadProblem::TooLarge(about.len()));
        }
        let bytes = fs::read(&real).map_err(|error| problem(&error))?;
        text(bytes)
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        let folder = match Path::new(path).parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        if !self.holds(folder) {
            return Vec::new();
        }
        let Ok(entries) = fs::read_dir(folder) else {
            return Vec::new();
        };
        let mut names: Vec<String> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| name.ends_with(".std") || name.ends_with(".plan"))
            .collect();
        names.sort_unstable();
        names
    }

    fn files(&self, folder: &str) -> Vec<String> {
        let folder = Path::new(if folder.is_empty() { "." } else { folder });
        if self.holds(folder) {
            files(folder)
        } else {
            Vec::new()
        }
    }
}

/// Reads standard input, no further than the largest file.
pub(super) fn stdin() -> Result<String, ReadProblem> {
    let mut bytes = Vec::new();
    std::io::stdin()
        .lock()
        .take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| problem(&error))?;
    let size = bytes.len() as u64;
    if size > LARGEST_FILE {
        return Err(ReadProblem::TooLarge(size));
    }
    text(bytes)
}

fn text(bytes: Vec<u8>) -> Result<String, ReadProblem> {
    String::from_utf8(bytes).map_err(|error| ReadProblem::NotUtf8(error.utf8_error().valid_up_to()))
}

fn problem(error: &std::io::Error) -> ReadProblem {
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => ReadProblem::Missing,
        ErrorKind::IsADirectory => ReadProblem::Folder,
        _ => ReadProblem::Other(error.to_string()),
    }
}
