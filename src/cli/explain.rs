//! `explain`.

use std::io::{self, Write};

use super::{exit, terminal};
use crate::diagnostic::Code;
use crate::names::did_you_mean;
use crate::report;

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
            let help = did_you_mean(slug, known)
                .unwrap_or_else(|| "`strikeoff explain` lists all codes".to_owned());
            writeln!(
                io::stderr(),
                "strikeoff: there is no code `{}`; {help}",
                crate::source::visible(slug)
            )?;
            Ok(exit::TROUBLE)
        }
    }
}
