//! Two standards of a thousand rules: the same, and with forty limits moved.
#![allow(clippy::unwrap_used, missing_docs)]

use divan::{Bencher, black_box};
use strikeoff::cli::{DiffSide, diff};
use strikeoff::diff::DiffOptions;
use strikeoff::names::{ReadProblem, Shelf};

fn main() {
    divan::main();
}

struct One(String);

impl Shelf for One {
    fn read(&self, _: &str) -> Result<String, ReadProblem> {
        Ok(self.0.clone())
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn standard(moved: usize) -> One {
    let mut text =
        "standard \"large\" edition \"1\"\n\nuse trade\nuse inks\nuse fabrics\nuse rules\n"
            .to_owned();
    for number in 0..1000 {
        let dwell = 10 + number % 60 + if number < moved { 2 } else { 0 };
        text.push_str(&format!(
            "\nrule r{number} {{\n  when   garment.polyester above {} %\n  shall  dryer.dwell at least {dwell} s\n  per    practice\n}}\n",
            number % 50
        ));
    }
    One(text)
}

#[divan::bench(args = [0, 40], sample_count = 10)]
fn thousand_rules(bencher: Bencher<'_, '_>, moved: usize) {
    let (old, new) = (standard(0), standard(moved));
    bencher.bench_local(|| {
        let side = |shelf| DiffSide {
            shelf,
            path: "room.std",
            revision: None,
        };
        let run = diff(side(&old), side(&new), DiffOptions::default());
        black_box(run.found.unwrap().changes.len())
    });
}
