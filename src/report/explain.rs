//! The text behind a code, and the list of codes.

use super::fold::fold;
use crate::diagnostic::{Code, Severity};

/// The word for a severity.
pub(super) fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// What a code means, why it matters and what to do, wrapped to `width`.
#[must_use]
pub fn explain(code: Code, width: usize) -> String {
    let explanation = code.explanation();
    let mut text = format!("{} ({})\n\n", code.slug(), severity_word(code.severity()));
    text.push_str(&fold(explanation.summary, width, "  ", "  "));
    // The long text has a sentence a line; an empty line starts a new paragraph.
    for paragraph in explanation.text.split("\n\n") {
        if paragraph.trim().is_empty() {
            continue;
        }
        text.push('\n');
        text.push_str(&fold(paragraph, width, "  ", "  "));
    }
    text
}

/// All codes with their one-line summaries, wrapped to `width`.
#[must_use]
pub fn list(width: usize) -> String {
    let longest = Code::ALL
        .iter()
        .map(|code| code.slug().len())
        .max()
        .unwrap_or(0);
    let rest = " ".repeat(longest + 2);
    let mut text = String::new();
    for code in Code::ALL {
        let first = format!("{:longest$}  ", code.slug());
        text.push_str(&fold(code.explanation().summary, width, &first, &rest));
    }
    text
}
