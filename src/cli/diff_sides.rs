//! The two sides of `diff`: files, folders with one standard each, or revisions of the same path.

use std::path::{Path, PathBuf};

use super::Disk;
use super::check::root;
use super::collect::{collect, shown};
use super::git::{Revision, ends};
use crate::names::{ReadProblem, Shelf};
use crate::session::{DiffSide, has_header};

/// Where the texts of one side are read.
#[derive(Debug)]
enum Place {
    Disk(Disk),
    Revision(Revision),
}

impl Shelf for Place {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        match self {
            Self::Disk(disk) => disk.read(path),
            Self::Revision(revision) => revision.read(path),
        }
    }

    fn files(&self, folder: &str) -> Vec<String> {
        match self {
            Self::Disk(disk) => disk.files(folder),
            Self::Revision(revision) => revision.files(folder),
        }
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        match self {
            Self::Disk(disk) => disk.neighbours(path),
            Self::Revision(revision) => revision.neighbours(path),
        }
    }
}

/// One side, found.
#[derive(Debug)]
pub(super) struct Found {
    place: Place,
    path: String,
}

impl Found {
    pub(super) fn side(&self) -> DiffSide<'_> {
        DiffSide {
            shelf: &self.place,
            path: &self.path,
            revision: match &self.place {
                Place::Disk(_) => None,
                Place::Revision(revision) => Some(revision.short()),
            },
        }
    }

    pub(super) fn shelf(&self) -> &dyn Shelf {
        &self.place
    }

    /// The plans in a folder, as this side has it.
    pub(super) fn plans(&self, folder: &Path) -> Result<Vec<String>, String> {
        let text = text(folder)?;
        let plans = match &self.place {
            Place::Disk(_) => collect(&[folder.to_owned()]).plans,
            Place::Revision(revision) => {
                let mut files = revision.files(&text);
                files.retain(|path| path.ends_with(".plan"));
                files
            }
        };
        if plans.is_empty() {
            return Err(format!("there is no `.plan` file in `{text}`"));
        }
        Ok(plans)
    }
}

/// What the command names.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked<'a> {
    /// A path, or with `paths` a revision or a range of them.
    pub(super) old: &'a Path,
    /// The other path or revision.
    pub(super) new: Option<&'a Path>,
    /// What stands behind `--`: a standard, or a folder with one, in the revisions.
    pub(super) path: Option<&'a Path>,
    /// A folder of plans, which must be readable too.
    pub(super) plans: Option<&'a Path>,
    /// The folder that texts may name files in.
    pub(super) root: Option<&'a Path>,
}

/// Finds the old side and the new one.
///
/// # Errors
/// Words for the user.
pub(super) fn sides(asked: Asked<'_>) -> Result<(Found, Found), String> {
    match (asked.path, asked.new) {
        (Some(path), _) => revisions(asked, path),
        (None, Some(new)) => Ok((on_disk(asked, asked.old)?, on_disk(asked, new)?)),
        (None, None) => Err(
            "name two standards, as in `strikeoff diff old.std new.std`, or revisions and a standard, \
             as in `strikeoff diff main..HEAD -- room.std`"
                .to_owned(),
        ),
    }
}

fn text(path: &Path) -> Result<String, String> {
    shown(path).ok_or_else(|| format!("the path `{}` is not UTF-8", path.display()))
}

fn on_disk(asked: Asked<'_>, path: &Path) -> Result<Found, String> {
    let below = match asked.root {
        Some(below) => below.to_owned(),
        None => {
            let mut paths = vec![path.to_owned()];
            paths.extend(asked.plans.map(Path::to_owned));
            root(&paths)
        }
    };
    let disk = Disk::below(&below)
        .map_err(|error| format!("the folder `{}` cannot be read: {error}", below.display()))?;
    let path = if path.is_dir() {
        let parts = collect(&[path.to_owned()]).parts;
        one_root(&disk, parts, &text(path)?)?
    } else {
        standard(text(path)?)?
    };
    Ok(Found {
        place: Place::Disk(disk),
        path,
    })
}

fn revisions(asked: Asked<'_>, path: &Path) -> Result<(Found, Found), String> {
    let here = PathBuf::from(".");
    let words = text(asked.old)?;
    let (old, new) = match asked.new {
        None => {
            let ends = ends(&here, &words)?;
            (ends.old, ends.new)
        }
        Some(new) => {
            let one = |words: &str| {
                if words.contains("..") {
                    return Err(format!(
                        "`{words}` is a range; name one range or two revisions"
                    ));
                }
                Ok(ends(&here, words)?.old)
            };
            (one(&words)?, Some(one(&text(new)?)?))
        }
    };
    let in_revision = |commit: &str| -> Result<Found, String> {
        let path = text(path)?;
        let below = match asked.root {
            Some(root) => text(root)?,
            None => folder_of(&path),
        };
        let revision = Revision::below(&here, commit, &below)?;
        let file = if path.ends_with(".std") {
            path
        } else {
            let mut parts = revision.files(&path);
            parts.retain(|part| part.ends_with(".std"));
            if parts.is_empty() {
                return Err(format!(
                    "revision {} has no `.std` file in `{path}`",
                    revision.short()
                ));
            }
            one_root(&revision, parts, &path)?
        };
        Ok(Found {
            place: Place::Revision(revision),
            path: file,
        })
    };
    let old = in_revision(&old)?;
    let new = match new {
        Some(commit) => in_revision(&commit)?,
        None => on_disk(asked, path)?,
    };
    Ok((old, new))
}

/// The folder that a path may name files in: the current one when it lies below it, else its own.
fn folder_of(path: &str) -> String {
    if !path.starts_with("../") {
        return String::new();
    }
    match path.rsplit_once('/') {
        Some((folder, file)) if file.ends_with(".std") => folder.to_owned(),
        _ => path.to_owned(),
    }
}

fn standard(path: String) -> Result<String, String> {
    if path.ends_with(".plan") {
        return Err(format!(
            "`{path}` is a plan; name a standard, or a folder with one"
        ));
    }
    Ok(path)
}

/// The one root standard among the files of a folder.
fn one_root(shelf: &dyn Shelf, parts: Vec<String>, folder: &str) -> Result<String, String> {
    let mut roots = parts.into_iter().filter(|part| {
        let text = shelf.read(part);
        text.is_ok_and(|text| has_header(&text))
    });
    let Some(first) = roots.next() else {
        return Err(format!(
            "there is no standard in `{folder}`: no `.std` file starts with `standard`"
        ));
    };
    match roots.count() {
        0 => Ok(first),
        more => Err(format!(
            "there are {} standards in `{folder}`; name one of them, such as `{first}`",
            more + 1
        )),
    }
}
