//! `check --apply N`: writes repairs into the plan.

mod choose;
mod together;

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::diagnostic::{Edit, Repair, Report};
use crate::names::{ReadProblem, Shelf};
use crate::session::Run;
use crate::source::{Store, visible};

use super::Disk;

pub(super) use choose::Asked;

use choose::{Chosen, choose, merged};

/// How many names are tried for the new text before it takes the plan's own.
const MOST_NAMES: u32 = 100;

/// A plan with repairs put in, not written yet.
#[derive(Debug)]
pub(super) struct Change {
    /// The plan as it was named.
    pub(super) path: String,
    /// The bytes it was read from.
    old: Vec<u8>,
    /// Those that would take their place.
    new: Vec<u8>,
    /// What is said of it, line by line.
    said: String,
}

/// The one plan of a report with the repairs that were asked for, once those do together: it was checked as it will be.
/// `check` checks the files as they would be, and looks for further repairs where that is asked for.
///
/// # Errors
/// In a clause for people, when there is no such repair, when there is not one plan, or when the repairs do not do together.
pub(super) fn change(
    report: &Report,
    store: &Store,
    asked: &Asked,
    check: impl Fn(&Change, bool) -> Run,
) -> Result<(Change, Run), String> {
    let plan = match &report.plans[..] {
        [] => return Err("no plan was read, so there is nothing to apply a repair to".to_owned()),
        [plan] => plan,
        plans => {
            return Err(format!(
                "every plan numbers its own repairs, and {} plans were named; name one with `--apply`",
                plans.len()
            ));
        }
    };
    let text = store.get(plan.file);
    let path = text.name().to_owned();
    if path == "<stdin>" {
        return Err("a plan from standard input cannot be written; name its file".to_owned());
    }
    if !plan.checked {
        return Err(format!(
            "`{path}` was not checked, so it has no repairs; `strikeoff check {path}` says why"
        ));
    }
    let Chosen { repairs, left_out } = choose(plan, &path, asked)?;
    let mut edits = repairs.iter().flat_map(|repair| &repair.edits);
    if edits.any(|edit| edit.span.file != plan.file) {
        return Err(format!("the repair changes more than `{path}`"));
    }
    let old = fs::read(&path).map_err(|error| format!("`{path}` cannot be read: {error}"))?;
    if old != text.text().as_bytes() {
        return Err(changed(&path));
    }
    let with = |repairs: &[&Repair]| {
        let edits = merged(repairs).map(|edits| fitted(text.text(), &edits));
        let put_in = edits.and_then(|edits| Some((edited(text.text(), &edits)?, edits)));
        let (after, edits) = put_in.ok_or("the repair does not fit the text")?;
        let mut said = String::new();
        for repair in repairs {
            said.push_str(&format!(
                "repair {}: {}\n",
                repair.number,
                visible(&repair.words)
            ));
        }
        said.push_str(&difference(text.text(), &edits));
        Ok::<Change, String>(Change {
            path: path.clone(),
            old: old.clone(),
            new: after.into_bytes(),
            said,
        })
    };
    let mut change = with(&repairs)?;
    for words in left_out {
        change.said.push_str(&format!("  {}\n", visible(&words)));
    }
    let checked = check(&change, true);
    if !checked.report.plans.iter().all(|plan| plan.checked) {
        return Err(
            "the plan could not be checked with the repair, so nothing was written".to_owned(),
        );
    }
    if repairs.len() > 1 {
        let mut alone = Vec::new();
        for repair in &repairs {
            alone.push(check(&with(&[repair])?, false).report);
        }
        if let Some(words) = together::worse(report, &alone, &checked.report) {
            let numbers: Vec<String> = repairs.iter().map(|one| one.number.to_string()).collect();
            return Err(format!(
                "repairs {} each do alone, but {words}; nothing was written; put in one, and look at the new report",
                numbers.join(", ")
            ));
        }
    }
    Ok((change, checked))
}

impl Change {
    /// What is changed: the repair in words, then the lines as they were and as they are.
    pub(super) fn said(&self, written: bool) -> String {
        let done = if written { "written" } else { "not written" };
        format!("{}: {done}: {}", visible(&self.path), self.said)
    }

    /// The files as they would be.
    pub(super) fn over<'a>(&'a self, disk: &'a Disk) -> Over<'a> {
        Over { disk, change: self }
    }

    /// Puts the new text in the place of the old, all of it or nothing.
    ///
    /// # Errors
    /// In a clause for people; the plan is then as it was.
    pub(super) fn write(&self, disk: &Disk) -> Result<(), String> {
        let path = &self.path;
        if !disk.holds(Path::new(path)) {
            return Err(format!(
                "`{path}` leads out of the folder, so nothing was written"
            ));
        }
        self.put()
    }

    fn put(&self) -> Result<(), String> {
        let path = &self.path;
        let failed = |error: io::Error| format!("`{path}` cannot be written: {error}");
        // A link stays a link: what it leads to is written.
        let real = fs::canonicalize(path).map_err(failed)?;
        let rights = fs::metadata(&real).map_err(failed)?.permissions();
        if rights.readonly() {
            return Err(format!("`{path}` is read-only, so nothing was written"));
        }
        let Some((beside, mut file)) = new_file(&real).map_err(failed)? else {
            return Err(format!(
                "`{path}` cannot be written: {MOST_NAMES} files of older tries lie beside it, with names that begin \
                 with a dot and end with `.new`; delete them"
            ));
        };
        let put = || -> io::Result<bool> {
            file.write_all(&self.new)?;
            fs::set_permissions(&beside, rights)?;
            file.sync_all()?;
            drop(file);
            // Somebody else may have written it since: that must not be lost.
            if fs::read(&real)? != self.old {
                return Ok(false);
            }
            fs::rename(&beside, &real)?;
            Ok(true)
        };
        let put = put();
        if !matches!(put, Ok(true)) {
            let _ = fs::remove_file(&beside);
        }
        match put {
            Ok(true) => Ok(()),
            Ok(false) => Err(changed(path)),
            Err(error) => Err(failed(error)),
        }
    }
}

fn changed(path: &str) -> String {
    format!("`{path}` has changed since it was read, so nothing was written; check it again")
}

/// A new file in the folder of another one, which nobody else can read yet; `None` where all names are taken.
fn new_file(beside: &Path) -> io::Result<Option<(PathBuf, fs::File)>> {
    let name = beside
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    for number in 0..MOST_NAMES {
        let path = beside.with_file_name(format!(".{name}.{number}.new"));
        match options.open(&path) {
            Ok(file) => return Ok(Some((path, file))),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Ok(None)
}

/// The edits with the line ends of the text, in its order.
fn fitted(text: &str, edits: &[Edit]) -> Vec<Edit> {
    let other_ends = text.contains("\r\n");
    let mut edits: Vec<Edit> = edits.to_vec();
    for edit in &mut edits {
        if other_ends {
            edit.text = edit.text.replace('\n', "\r\n");
        }
    }
    edits
}

/// The text with edits put in; `None` when they overlap or lie outside it.
fn edited(text: &str, edits: &[Edit]) -> Option<String> {
    let mut after = String::with_capacity(text.len() + 64);
    let mut from = 0_usize;
    for edit in edits {
        let (start, end) = (edit.span.start as usize, edit.span.end as usize);
        after.push_str(text.get(from..start)?);
        after.push_str(&edit.text);
        from = end;
        text.get(start..end)?;
    }
    after.push_str(text.get(from..)?);
    Some(after)
}

/// The lines that are changed, with their numbers: `-` as they were, `+` as they are.
fn difference(text: &str, edits: &[Edit]) -> String {
    let mut said = String::new();
    let mut start = 0;
    for (index, line) in text.split_inclusive('\n').enumerate() {
        let end = start + line.len();
        let shift = u32::try_from(start).unwrap_or(u32::MAX);
        let here: Vec<Edit> = edits
            .iter()
            .filter(|edit| (start..end).contains(&(edit.span.start as usize)))
            .map(|edit| Edit {
                span: crate::source::Span {
                    start: edit.span.start.saturating_sub(shift),
                    end: edit.span.end.saturating_sub(shift),
                    ..edit.span
                },
                text: edit.text.clone(),
            })
            .collect();
        start = end;
        if here.is_empty() {
            continue;
        }
        let Some(after) = edited(line, &here) else {
            continue;
        };
        let old = line.trim_end_matches(['\n', '\r']);
        let mut new: Vec<&str> = after.lines().collect();
        // Lines that are put in behind another, or before it, leave that as it is.
        let mut first = index + 1;
        if new.len() > 1 && new.first() == Some(&old) {
            new.remove(0);
            first += 1;
        } else if new.len() > 1 && new.last() == Some(&old) {
            new.pop();
        } else {
            said.push_str(&format!("  {:>4} - {}\n", index + 1, visible(old)));
        }
        for (offset, line) in new.iter().enumerate() {
            said.push_str(&format!("  {:>4} + {}\n", first + offset, visible(line)));
        }
    }
    said
}

/// The disk with one text as it would be.
pub(super) struct Over<'a> {
    disk: &'a Disk,
    change: &'a Change,
}

impl Shelf for Over<'_> {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let text = self.disk.read(path)?;
        let same = |path: &str| fs::canonicalize(path).ok();
        if path == self.change.path || same(path) == same(&self.change.path) {
            return String::from_utf8(self.change.new.clone())
                .map_err(|error| ReadProblem::NotUtf8(error.utf8_error().valid_up_to()));
        }
        Ok(text)
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        self.disk.neighbours(path)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;

    /// A folder of its own with a plan in it, gone when the test is over.
    struct Place(PathBuf);

    impl Place {
        fn new(name: &str) -> Self {
            let folder =
                std::env::temp_dir().join(format!("strikeoff-{name}-{}", std::process::id()));
            fs::create_dir_all(&folder).unwrap();
            fs::write(folder.join("a.plan"), "as read").unwrap();
            Self(folder)
        }

        fn change(&self) -> Change {
            Change {
                path: self.0.join("a.plan").to_str().unwrap().to_owned(),
                old: b"as read".to_vec(),
                new: b"repaired".to_vec(),
                said: String::new(),
            }
        }

        fn plan(&self) -> String {
            fs::read_to_string(self.0.join("a.plan")).unwrap()
        }

        fn files(&self) -> usize {
            fs::read_dir(&self.0).unwrap().count()
        }
    }

    impl Drop for Place {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn a_plan_that_is_as_it_was_read_is_written() {
        let place = Place::new("written");
        place.change().put().unwrap();
        assert_eq!((place.plan().as_str(), place.files()), ("repaired", 1));
    }

    #[test]
    fn what_somebody_else_has_written_since_is_not_overwritten() {
        let place = Place::new("changed");
        let change = place.change();
        fs::write(place.0.join("a.plan"), "by another").unwrap();
        let said = change.put().unwrap_err();
        assert!(said.contains("has changed since it was read"), "{said}");
        // Nothing of the try is left beside it.
        assert_eq!((place.plan().as_str(), place.files()), ("by another", 1));
    }

    #[test]
    fn files_of_older_tries_are_passed_over_and_where_there_are_too_many_it_is_said() {
        let place = Place::new("left");
        let left = |number: u32| place.0.join(format!(".a.plan.{number}.new"));
        fs::write(left(0), "left").unwrap();
        place.change().put().unwrap();
        assert_eq!(place.plan(), "repaired");
        assert_eq!(fs::read_to_string(left(0)).unwrap(), "left");
        fs::write(place.0.join("a.plan"), "as read").unwrap();
        (0..MOST_NAMES).for_each(|number| fs::write(left(number), "left").unwrap());
        let said = place.change().put().unwrap_err();
        assert!(said.contains("100 files of older tries"), "{said}");
        assert_eq!(place.plan(), "as read");
    }

    #[cfg(unix)]
    #[test]
    fn the_rights_of_the_plan_stay_and_nobody_else_reads_the_new_text_before() {
        use std::os::unix::fs::PermissionsExt;
        let place = Place::new("rights");
        let path = place.0.join("a.plan");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        let (beside, _) = new_file(&path).unwrap().unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&beside), 0o600);
        place.change().put().unwrap();
        assert_eq!(mode(&path), 0o640);
    }
}
