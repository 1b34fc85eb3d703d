//! Each view over 10,000 findings, and one finding at the end of a file of 100,000 lines.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    unreachable_pub,
    dead_code
)]

#[path = "../tests/report/fixture.rs"]
mod fixture;

use divan::{Bencher, black_box};
use strikeoff::report::{Format, Style, render};

fn main() {
    divan::main();
}

fn run(bencher: Bencher<'_, '_>, count: usize, format: Format, style: &Style) {
    let case = fixture::many(count);
    bencher.bench_local(|| {
        let mut out = Vec::new();
        render(&case.report, &case.store, format, style, &mut out).unwrap();
        black_box(out.len())
    });
}

const FORMATS: [Format; 5] = [
    Format::People,
    Format::Log,
    Format::Json,
    Format::Sarif,
    Format::Junit,
];

#[divan::bench(args = FORMATS, sample_count = 10)]
fn ten_thousand(bencher: Bencher<'_, '_>, format: Format) {
    run(bencher, 10_000, format, &Style::default());
}

#[divan::bench(sample_count = 10)]
fn ten_thousand_in_full(bencher: Bencher<'_, '_>) {
    run(
        bencher,
        10_000,
        Format::People,
        &Style {
            full: Some(usize::MAX),
            ..Style::default()
        },
    );
}

#[divan::bench(args = FORMATS)]
fn end_of_a_long_file(bencher: Bencher<'_, '_>, format: Format) {
    run(bencher, 1, format, &Style::default());
}
