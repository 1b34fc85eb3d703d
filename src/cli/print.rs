//! `print`.

use std::io::{self, Write};

use super::args::{PrintArguments, PrintForm};
use super::{exit, standard};
use crate::check::outline;
use crate::report::{PageForm, readable};

/// Runs `print`.
pub(super) fn command(arguments: &PrintArguments, out: &mut dyn Write) -> io::Result<u8> {
    let read = match standard::named(&arguments.standard, arguments.root.as_deref())? {
        Ok(read) => read,
        Err(code) => return Ok(code),
    };
    let form = match arguments.form {
        PrintForm::Markdown => PageForm::Markdown,
        PrintForm::Html => PageForm::Html,
    };
    let laid_out = outline(&read.store, &read.prepared.standard);
    readable(&laid_out, &read.store, form, out)?;
    Ok(exit::CLEAN)
}
