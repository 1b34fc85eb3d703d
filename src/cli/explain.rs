//! `explain`.

use std::io::{self, Write};

use super::{exit, terminal};
use crate::check::vocabulary;
use crate::diagnostic::Code;
use crate::names::did_you_mean;
use crate::report;
use crate::session::all_shipped;

/// Whether the specs that ship know the name.
fn is_a_word(name: &str) -> bool {
    let read = all_shipped();
    read.is_ok_and(|read| vocabulary(&read.store, &read.prepared.standard, "", Some(name)).is_ok())
}

/// Explains a code, or lists them all.
pub(super) fn command(code: Option<&str>, out: &mut dyn Write) -> io::Result<u8> {
    let width = terminal::width();
    let Some(slug) = code else {
        out.write_all(report::list(width).as_bytes())?;
        return Ok(exit::CLEAN);
    };
    match Code::from_slug(slug) {
        Some(code) => {
            out.write_all(report::explain(code, width).as_bytes())?;
            Ok(exit::CLEAN)
        }
        None => {
            let known = Code::ALL.iter().map(|code| code.slug());
            let help = match did_you_mean(slug, known) {
                Some(help) => help,
                None if is_a_word(slug) => format!("`strikeoff words {slug}` says what it means"),
                None => "`strikeoff explain` lists all codes".to_owned(),
            };
            writeln!(
                io::stderr(),
                "strikeoff: there is no code `{}`; {help}",
                crate::source::visible(slug)
            )?;
            Ok(exit::TROUBLE)
        }
    }
}
