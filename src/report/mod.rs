//! Views of a [`Report`]: for people, for logs, and for machines.
//!
//! Every view reads the same value and adds nothing to it. The same report gives the same bytes:
//! no clock, no random number, no hash order. Text from files is untrusted: every view shows
//! control characters and bidirectional overrides escaped.
//!
//! The views for people, logs and JUnit need the packages of the `cli` feature; JSON and SARIF
//! are always there.

use std::io::{self, Write};

use crate::diagnostic::Report;
use crate::source::Store;

#[cfg(feature = "cli")]
mod deviations;
mod diff;
mod diff_json;
mod diff_markdown;
mod diff_sarif;
mod diff_words;
mod document;
mod examples;
mod examples_json;
#[cfg(feature = "cli")]
mod excerpt;
mod explain;
mod fold;
mod identity;
mod json;
mod json_deviation;
mod json_head;
mod json_repair;
mod json_text;
#[cfg(feature = "cli")]
mod junit;
#[cfg(feature = "cli")]
mod junit_document;
#[cfg(feature = "cli")]
mod lacking;
#[cfg(feature = "cli")]
mod log;
#[cfg(feature = "cli")]
mod margins;
#[cfg(feature = "cli")]
mod person;
mod phrase;
mod picture;
mod plan_moves;
mod plan_moves_json;
mod plan_moves_markdown;
mod readable;
mod review;
mod review_json;
#[cfg(feature = "cli")]
mod review_log;
mod sarif;
mod sarif_model;
mod schema;
mod sources;
mod sources_json;
mod trace;
#[cfg(feature = "cli")]
mod vocabulary;
mod window;
mod window_json;
mod window_page;
mod working;
mod working_json;

pub use crate::diagnostic::Verdict;
#[cfg(feature = "cli")]
pub use deviations::deviations;
pub use diff::diff;
pub use diff_json::{diff_json, diff_schema};
pub use diff_markdown::diff_markdown;
pub use diff_sarif::diff_sarif;
pub use examples::{examples, examples_log};
pub use examples_json::{examples_json, examples_schema};
pub use explain::{explain, list};
pub use identity::{Identities, identity};
pub use json::json_schema;
#[cfg(feature = "cli")]
pub use junit::examples_junit;
#[cfg(feature = "cli")]
pub use log::lines;
pub use picture::{picture, window_picture};
pub use plan_moves::plan_moves;
pub use readable::{PageForm, readable};
pub use review::{ReviewShow, review};
pub use review_json::{review_json, review_schema};
#[cfg(feature = "cli")]
pub use review_log::review_log;
pub use sources::sources;
pub use sources_json::{sources_json, sources_schema};
#[cfg(feature = "cli")]
pub use vocabulary::vocabulary;
pub use window::window;
pub use window_json::{window_json, window_schema};
pub use window_page::window_page;
pub use working::working;
pub use working_json::{working_json, working_schema};

/// Who the report is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Format {
    /// Blocks with the lines of the plan and of the standard.
    #[cfg(feature = "cli")]
    People,
    /// One line each.
    #[cfg(feature = "cli")]
    Log,
    /// Everything, in our own versioned form; see [`json_schema`].
    Json,
    /// SARIF 2.1.0 (OASIS), for code hosts and viewers.
    Sarif,
    /// JUnit XML, for build servers.
    #[cfg(feature = "cli")]
    Junit,
}

/// What is shown beyond the findings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Show {
    /// Every check with its reason, also those that hold or do not apply.
    pub passed: bool,
}

/// How a report looks. It never changes what is said, only how much and in which dress.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Style {
    /// ANSI colours. Meaning never hangs on them.
    pub colour: bool,
    /// Columns of the terminal.
    pub width: usize,
    /// Box-drawing characters rather than ASCII.
    pub unicode: bool,
    /// Narrated for screen readers: no drawing.
    pub plain: bool,
    /// Extra tables.
    pub show: Show,
    /// How many findings are shown in full, the rest getting a line each; `None` for as many as there is room for.
    pub full: Option<usize>,
    /// SARIF only: `at risk` and `not stated` become results of kind `open` rather than `fail`.
    /// Faithful to the standard's words, but code hosts hide them.
    pub open: bool,
}

impl Default for Style {
    fn default() -> Self {
        Self {
            colour: false,
            width: 100,
            unicode: true,
            plain: false,
            show: Show::default(),
            full: None,
            open: false,
        }
    }
}

/// Writes one view of a report.
///
/// # Errors
/// Whatever `out` fails with.
pub fn render(
    report: &Report,
    store: &Store,
    format: Format,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    // The renderers write in small pieces.
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    match format {
        #[cfg(feature = "cli")]
        Format::People => person::write(report, store, style, &mut out)?,
        #[cfg(feature = "cli")]
        Format::Log => log::write(report, store, style, &mut out)?,
        Format::Json => json::write(report, store, &mut out)?,
        Format::Sarif => sarif::write(report, store, style, &mut out)?,
        #[cfg(feature = "cli")]
        Format::Junit => junit::write(report, store, &mut out)?,
    }
    out.flush()
}
