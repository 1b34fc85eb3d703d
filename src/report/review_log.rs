//! A review as lines for logs, and for editors that jump to `file:line:column`.

use std::collections::BTreeSet;
use std::io::{self, Write};

use super::log::Lines;
use super::{ReviewShow, Style};
use crate::diagnostic::{Code, Diagnostic, Review, ReviewFinding, Severity};
use crate::source::{Store, visible};

/// Writes a review as lines for logs; notes are counted unless all is wanted.
///
/// # Errors
/// Whatever `out` fails with.
pub fn review_log(
    review: &Review,
    store: &Store,
    show: ReviewShow,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let lines = Lines::new(store, style.colour);
    let told = |said: &Diagnostic| show.full || said.severity != Severity::Note;
    for finding in &review.findings {
        if told(&finding.said) {
            lines.write(&finding.said, &mut out)?;
        }
    }
    let codes: BTreeSet<Code> = review
        .findings
        .iter()
        .filter(|finding| !told(&finding.said))
        .map(|finding| finding.said.code)
        .collect();
    for code in codes {
        let same = |finding: &&ReviewFinding| finding.said.code == code && !told(&finding.said);
        let count = review.findings.iter().filter(same).count();
        writeln!(out, "note[{}]: {count}", code.slug())?;
    }
    writeln!(
        out,
        "strikeoff: {} errors, {} warnings, {} notes; {}",
        review.count(Severity::Error),
        review.count(Severity::Warning),
        review.count(Severity::Note),
        visible(&review.name)
    )?;
    out.flush()
}
