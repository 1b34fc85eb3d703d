//! The strike-offs as JUnit XML: a strike-off is a test case. Holes are told in the output; only `--pinned` makes them matter.

use std::io::{self, Write};

use quick_junit::{NonSuccessKind, Report as Document, TestCase, TestCaseStatus, TestSuite};

use super::junit::clean;
use super::strike::{pinned, place, totals};
use crate::diagnostic::{StrikeReport, Struck};
use crate::source::Store;

/// Writes the report as JUnit XML.
///
/// # Errors
/// Whatever `out` fails with.
pub fn strike_junit(report: &StrikeReport, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    let mut document = Document::new("strikeoff");
    let file = clean(store.get(report.standard.file).name());
    let mut suite = TestSuite::new(file.as_str());
    suite.add_property(("totals", totals(report).as_str()));
    suite.add_property(("pins", pinned(&report.pins).as_str()));
    for struck in &report.strike_offs {
        suite.add_test_case(case(struck, store, &file));
    }
    let holes: Vec<String> = report
        .pins
        .holes
        .iter()
        .map(|hole| {
            let at = place(store, hole.span);
            clean(&format!("{at}: not pinned: {}: {}", hole.owner, hole.words))
        })
        .collect();
    if !holes.is_empty() {
        suite.set_system_out(holes.join("\n"));
    }
    document.add_test_suite(suite);
    document.serialize(out).map_err(io::Error::other)
}

fn case(struck: &Struck, store: &Store, file: &str) -> TestCase {
    let mut status = TestCaseStatus::success();
    if let Some(first) = struck.failed.first() {
        status = TestCaseStatus::non_success(NonSuccessKind::Failure);
        status.set_type("not as expected");
        status.set_message(clean(&format!(
            "expected {}; {}",
            first.expected, first.instead
        )));
        let lines: Vec<String> = struck
            .failed
            .iter()
            .map(|missed| {
                let at = place(store, missed.span);
                clean(&format!(
                    "{at}: expected {}; {}",
                    missed.expected, missed.instead
                ))
            })
            .collect();
        status.set_description(lines.join("\n"));
    }
    let mut case = TestCase::new(clean(&struck.name), status);
    case.set_classname(file);
    case
}
