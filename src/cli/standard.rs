//! One standard by itself: read for the commands that show it, `sources` and `print`.

use std::io;
use std::path::Path;

use super::check::{root, usage};
use super::{Disk, exit};
use crate::report;
use crate::session::{ReadStandard, read_standard};

/// Reads the standard that a command names, or says why not and gives the exit code.
pub(super) fn named(path: &Path, below: Option<&Path>) -> io::Result<Result<ReadStandard, u8>> {
    let shown = path.to_string_lossy().replace('\\', "/");
    if shown.ends_with(".plan") {
        usage(&format!(
            "`{shown}` is a plan; name the standard it is run against"
        ))?;
        return Ok(Err(exit::TROUBLE));
    }
    let root = match below {
        Some(below) => below.to_owned(),
        None => root(&[path.to_owned()]),
    };
    let disk = match Disk::below(&root) {
        Ok(disk) => disk,
        Err(error) => {
            usage(&format!(
                "the folder `{}` cannot be read: {error}",
                root.display()
            ))?;
            return Ok(Err(exit::TROUBLE));
        }
    };
    match read_standard(shown.strip_prefix("./").unwrap_or(&shown), &disk) {
        Ok(read) => Ok(Ok(read)),
        Err(trouble) => {
            let (store, problems) = *trouble;
            report::lines(&problems, &store, false, &mut io::stderr())?;
            usage("nothing is shown; `strikeoff check` shows the lines that are wrong")?;
            Ok(Err(exit::TROUBLE))
        }
    }
}
