//! The views of a report, over one set of fixtures.

mod fixture;
mod json;
mod junit;
mod log;
mod missing;
mod person;
mod same;
mod sarif;
mod schemas;

use strikeoff::report::{Format, Style, render};

/// One view of one case as text.
fn shown(case: &fixture::Case, format: Format, style: &Style) -> String {
    let mut out = Vec::new();
    render(&case.report, &case.store, format, style, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// A style for narrow, repeatable snapshots.
fn style() -> Style {
    Style {
        width: 88,
        ..Style::default()
    }
}

/// A text with the version of the package taken out, so that a release changes no snapshot.
fn unversioned(text: &str) -> String {
    let version = format!("ersion\": \"{}\"", env!("CARGO_PKG_VERSION"));
    assert_eq!(text.matches(&version).count(), 1);
    text.replace(&version, "ersion\": \"[version]\"")
}
