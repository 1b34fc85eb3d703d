//! `print`.

use std::io::{self, Write};

use super::args::{PrintArguments, PrintForm};
use super::check::{date, usage};
use super::{exit, standard};
use crate::check::{deviation_chapter, outline};
use crate::report::{PageForm, readable};

/// Runs `print`.
pub(super) fn command(arguments: &PrintArguments, out: &mut dyn Write) -> io::Result<u8> {
    let read = match standard::named(&arguments.standard, arguments.root.as_deref())? {
        Ok(read) => read,
        Err(code) => return Ok(code),
    };
    let day = match date(arguments.on.as_deref()) {
        Ok(day) => day,
        Err(words) => return usage(&words),
    };
    let form = match arguments.form {
        PrintForm::Markdown => PageForm::Markdown,
        PrintForm::Html => PageForm::Html,
    };
    let mut laid_out = outline(&read.store, &read.prepared.standard);
    let deviations = deviation_chapter(&read.store, &read.prepared, &day);
    laid_out.chapters.extend(deviations);
    readable(&laid_out, &read.store, form, out)?;
    Ok(exit::CLEAN)
}
