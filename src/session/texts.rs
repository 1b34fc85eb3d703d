//! A room in memory.

use std::collections::BTreeMap;

use crate::names::{ReadProblem, Shelf};

/// Texts by path: what a page or a test has instead of a disk.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Texts(BTreeMap<String, String>);

impl Texts {
    /// No text yet.
    #[must_use]
    pub const fn new() -> Self {
        Self(BTreeMap::new())
    }

    /// The same with a text at a path with forward slashes; one that was there is replaced.
    #[must_use]
    pub fn with(mut self, path: &str, text: &str) -> Self {
        self.0.insert(path.to_owned(), text.to_owned());
        self
    }
}

impl Shelf for Texts {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        if path.starts_with("../") {
            return Err(ReadProblem::Leaves);
        }
        if let Some(text) = self.0.get(path) {
            return Ok(text.clone());
        }
        let below = format!("{path}/");
        let folder = self.0.keys().any(|known| known.starts_with(&below));
        Err(if folder {
            ReadProblem::Folder
        } else {
            ReadProblem::Missing
        })
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        let split = |path: &str| {
            let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
            (folder.to_owned(), name.to_owned())
        };
        let (folder, _) = split(path);
        let known = self.0.keys().map(|known| split(known));
        let beside = known.filter(|(other, _)| *other == folder);
        beside.map(|(_, name)| name).collect()
    }

    fn files(&self, folder: &str) -> Vec<String> {
        let below = format!("{}/", folder.trim_end_matches('/'));
        let inside = |path: &&String| below == "/" || path.starts_with(&below);
        self.0.keys().filter(inside).cloned().collect()
    }
}
