//! How fast text becomes a tree.
//!
//! `cargo bench --bench parse`; the throughput column is what the budget of 15 MB/s is about.
#![allow(missing_docs)]

use std::hint::black_box;

use strikeoff::source::FileId;
use strikeoff::syntax::parse;

const STANDARD: &str = include_str!("../tests/cases/trees/room.std");
const KINDS: &str = include_str!("../tests/cases/trees/trade.std");
const PLAN: &str = include_str!("../tests/cases/trees/harbour.plan");

fn main() {
    divan::main();
}

/// The sample texts, repeated until they have this many bytes.
fn sample(samples: &[&str], bytes: usize) -> String {
    let mut text = String::with_capacity(bytes + 4096);
    for sample in samples.iter().cycle() {
        if text.len() >= bytes {
            break;
        }
        text.push_str(sample);
        text.push('\n');
    }
    text
}

fn measure(bencher: divan::Bencher<'_, '_>, text: &str) {
    bencher
        .counter(divan::counter::BytesCount::of_str(text))
        .bench_local(|| black_box(parse(FileId(0), black_box(text))));
}

#[divan::bench(args = [4_000, 40_000, 1_000_000])]
fn ordinary(bencher: divan::Bencher<'_, '_>, bytes: usize) {
    measure(bencher, &sample(&[STANDARD, KINDS, PLAN], bytes));
}

#[divan::bench]
fn plans(bencher: divan::Bencher<'_, '_>) {
    measure(bencher, &sample(&[PLAN], 200_000));
}

#[divan::bench]
fn kinds(bencher: divan::Bencher<'_, '_>) {
    measure(bencher, &sample(&[KINDS], 200_000));
}

/// Expressions and little else.
#[divan::bench]
fn rules(bencher: divan::Bencher<'_, '_>) {
    let rule = "rule r {\n  shall  (a.b + 5 mm) * root(c.d ^ 2 - 3) / 2 at least 65 s and not x is one of p, q\n}\n";
    measure(bencher, &rule.repeat(2_000));
}

/// Every line broken: each is read twice.
#[divan::bench]
fn broken(bencher: divan::Bencher<'_, '_>) {
    let line = "ink a {\n  mesh: 80-200 /in\n  flash >= 3 s\n}\n";
    measure(bencher, &line.repeat(2_000));
}
