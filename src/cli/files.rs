//! The disk: the only reader of files.

use std::fs;
use std::io::{ErrorKind, Read as _};
use std::path::{Path, PathBuf};

use crate::names::{LARGEST_FILE, ReadProblem, Shelf};

/// Files below one folder.
#[derive(Debug, Clone)]
pub struct Disk {
    root: PathBuf,
}

impl Disk {
    /// Files below `root`.
    ///
    /// # Errors
    /// When there is no such folder.
    pub fn below(root: &Path) -> std::io::Result<Self> {
        Ok(Self {
            root: fs::canonicalize(root)?,
        })
    }

    /// Whether a path, links followed, lies below the folder.
    #[must_use]
    pub fn holds(&self, path: &Path) -> bool {
        fs::canonicalize(path).is_ok_and(|path| path.starts_with(&self.root))
    }
}

impl Shelf for Disk {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let path = Path::new(path);
        let real = fs::canonicalize(path).map_err(|error| problem(&error))?;
        if !real.starts_with(&self.root) {
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
