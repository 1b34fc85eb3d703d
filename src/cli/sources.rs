//! `sources`.

use std::io::{self, Write};

use super::args::{SourcesArguments, WorkingForm};
use super::{exit, standard, terminal};
use crate::check::limits;
use crate::report::{self, Style};

/// Runs `sources`.
pub(super) fn command(arguments: &SourcesArguments, out: &mut dyn Write) -> io::Result<u8> {
    let read = match standard::named(&arguments.standard, arguments.root.as_deref())? {
        Ok(read) => read,
        Err(code) => return Ok(code),
    };
    let limits = limits(&read.store, &read.prepared.standard);
    match arguments.form {
        WorkingForm::People => {
            let style = Style {
                colour: terminal::colour(arguments.colour),
                width: terminal::width(),
                ..Style::default()
            };
            report::sources(&limits, &read.store, &style, out)?;
        }
        WorkingForm::Json => report::sources_json(&limits, &read.store, out)?,
    }
    Ok(exit::CLEAN)
}
