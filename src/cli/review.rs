//! `review`.

use std::io::{self, Write};

use super::args::{ReviewArguments, ReviewForm};
use super::check::{root, usage};
use super::{Disk, exit, terminal};
use crate::diagnostic::Severity;
use crate::report::{self, ReviewShow, Style};
use crate::session::review;

/// Runs `review`.
pub(super) fn command(arguments: &ReviewArguments, out: &mut dyn Write) -> io::Result<u8> {
    let standard = &arguments.standard;
    let root = arguments
        .root
        .clone()
        .unwrap_or_else(|| root(std::slice::from_ref(standard)));
    let disk = match Disk::below(&root) {
        Ok(disk) => disk,
        Err(error) => {
            return usage(&format!(
                "the folder `{}` cannot be read: {error}",
                root.display()
            ));
        }
    };
    let path = standard.to_string_lossy().replace('\\', "/");
    if path.ends_with(".plan") {
        return usage(&format!(
            "`{path}` is a plan; name the standard that is to be reviewed"
        ));
    }
    let run = review(path.strip_prefix("./").unwrap_or(&path), &disk);
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    let review = match &run.found {
        Ok(review) => review,
        Err(problems) => {
            report::lines(problems, &run.store, false, &mut io::stderr())?;
            return usage("nothing was reviewed; `strikeoff check` shows the lines that are wrong");
        }
    };
    let show = ReviewShow {
        full: arguments.full,
        witnesses: arguments.witness,
    };
    match arguments.form {
        ReviewForm::People => report::review(review, &run.store, show, &style, out)?,
        ReviewForm::Log => report::review_log(review, &run.store, show, &style, out)?,
        ReviewForm::Json => report::review_json(review, &run.store, out)?,
    }
    let worse = review.count(Severity::Error) + review.count(Severity::Warning) > 0;
    Ok(if worse { exit::FINDINGS } else { exit::CLEAN })
}
