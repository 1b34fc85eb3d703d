//! What every JSON form starts with: the tool, the plan, the standard.

use std::io::{self, Write};

use serde::Serialize;

use super::json_text;

/// The program that wrote it.
#[derive(Serialize)]
pub(super) struct V1Tool {
    name: &'static str,
    version: &'static str,
}

impl V1Tool {
    /// This program.
    pub(super) fn this() -> Self {
        Self {
            name: "strikeoff",
            version: env!("CARGO_PKG_VERSION"),
        }
    }
}

/// The plan that was looked at.
#[derive(Serialize)]
pub(super) struct V1Plan<'r> {
    pub(super) file: &'r str,
    pub(super) name: &'r str,
}

/// The standard that was looked at.
#[derive(Serialize)]
pub(super) struct V1Standard<'r> {
    pub(super) file: &'r str,
    pub(super) name: &'r str,
    pub(super) edition: Option<&'r str>,
    pub(super) digest: &'r str,
}

/// Writes a form through a buffer.
pub(super) fn write(form: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    json_text::write(form, &mut out)?;
    out.flush()
}
