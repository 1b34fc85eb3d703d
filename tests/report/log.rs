//! The view for logs.

use super::fixture;
use super::{shown, style};
use strikeoff::report::{Format, Show, Style};

#[test]
fn every_case() {
    for (name, case) in fixture::all() {
        insta::assert_snapshot!(format!("log_{name}"), shown(&case, Format::Log, &style()));
    }
}

#[test]
fn all_checks_and_colour() {
    let all = Style {
        show: Show { passed: true },
        ..style()
    };
    insta::assert_snapshot!(
        "log_all_checks",
        shown(&fixture::two_files(), Format::Log, &all)
    );
    let colour = Style {
        colour: true,
        ..style()
    };
    assert!(shown(&fixture::two_files(), Format::Log, &colour).contains("\u{1b}["));
}

#[test]
fn columns_count_characters() {
    // `  air 320 °F ± 10 °F,  belt 2.1 m/min ± 5 %`: counted by hand, three signs of two bytes.
    let text = shown(&fixture::two_files(), Format::Log, &style());
    assert!(
        text.starts_with("plans/2611.plan:18:29: error[breaks]: "),
        "{text}"
    );
}

#[test]
fn ten_thousand_lines() {
    let text = shown(&fixture::many(10_000), Format::Log, &style());
    assert_eq!(text.lines().count(), 10_001);
    assert!(text.contains("plans/long.plan:100000:8: "));
    assert!(text.ends_with("date 2026-11-25\n"));
}
