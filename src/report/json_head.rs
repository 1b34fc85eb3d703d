//! What every JSON form starts with: the tool, the plan, the standard.

use std::io::{self, Write};

use schemars::JsonSchema;
use serde::Serialize;

use super::json_text;

/// The program that wrote it.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "tool", deny_unknown_fields)]
pub(super) struct V1Tool {
    /// Its name.
    name: &'static str,
    /// Its version.
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
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "plan", deny_unknown_fields)]
pub(super) struct V1Plan<'r> {
    /// Its file.
    pub(super) file: &'r str,
    /// The run's name.
    pub(super) name: &'r str,
}

/// The standard that was looked at.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "standard", deny_unknown_fields)]
pub(super) struct V1Standard<'r> {
    /// Its root file.
    pub(super) file: &'r str,
    /// Its name.
    pub(super) name: &'r str,
    /// Its edition.
    pub(super) edition: Option<&'r str>,
    /// Digest of its meaning, in lower-case hex.
    #[schemars(extend("pattern" = "^[0-9a-f]{64}$"))]
    pub(super) digest: &'r str,
}

/// Writes a form through a buffer.
pub(super) fn write(form: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    json_text::write(form, &mut out)?;
    out.flush()
}
