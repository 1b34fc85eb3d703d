//! Checking: a standard made ready, one plan, ten thousand plans on one core, and plain rules alone.
//!
//! The budgets: ten thousand text plans against the demo standard in a second on one core; a million
//! runs a second on twelve plain rules. Quote ratios within one run, not single times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    missing_docs,
    unreachable_pub
)]

use std::path::{Path, PathBuf};

use divan::{Bencher, black_box};
use strikeoff::check::{Options, Prepared, check_plan, prepare, results};
use strikeoff::eval::Scene;
use strikeoff::names::{ReadProblem, Shelf, plan_scope};
use strikeoff::source::{FileId, Store};
use strikeoff::syntax;
use strikeoff::types::build_run;

fn main() {
    divan::main();
}

/// The demo folder.
struct Folder(PathBuf);

impl Shelf for Folder {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        std::fs::read_to_string(self.0.join(path)).map_err(|_| ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn demo() -> Folder {
    Folder(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data"))
}

fn room(store: &mut Store) -> Prepared {
    let folder = demo();
    let root = store.add("harbour-room.std", folder.read("harbour-room.std").unwrap());
    prepare(store, &folder, root)
}

/// The demo plans whose head fits, as texts, in alphabetical order.
fn plans(wanted: impl Fn(&str) -> bool) -> Vec<String> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(demo().0.join("plans"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    let texts = paths
        .iter()
        .map(|path| std::fs::read_to_string(path).unwrap());
    texts
        .filter(|text| wanted(text.lines().next().unwrap_or_default()))
        .collect()
}

const OUTCOMES: Options = Options {
    explain: false,
    repairs: false,
    allow_risk: false,
};

/// `count` plans in a store of their own, the room first.
fn many(count: usize, wanted: impl Fn(&str) -> bool) -> (Store, Prepared, Vec<FileId>) {
    let mut store = Store::new();
    let prepared = room(&mut store);
    let texts = plans(wanted);
    let files = (0..count)
        .map(|index| store.add(format!("{index}.plan"), texts[index % texts.len()].clone()))
        .collect();
    (store, prepared, files)
}

fn holds(head: &str) -> bool {
    head.ends_with("shows: holds")
}

#[divan::bench]
fn the_demo_standard_made_ready(bencher: Bencher<'_, '_>) {
    bencher.bench_local(|| {
        let mut store = Store::new();
        black_box(room(&mut store).standard.rules.len())
    });
}

#[divan::bench]
fn one_plan_that_holds(bencher: Bencher<'_, '_>) {
    let (store, prepared, files) = many(1, holds);
    bencher.bench_local(|| {
        check_plan(&store, &prepared, 0, files[0], OUTCOMES)
            .counts
            .total()
    });
}

#[divan::bench]
fn one_plan_with_findings_and_repairs(bencher: Bencher<'_, '_>) {
    let (store, prepared, files) = many(1, |head| head.contains("slow-heat-on-polyester breaks"));
    bencher.bench_local(|| {
        check_plan(&store, &prepared, 0, files[0], Options::default())
            .diagnostics
            .len()
    });
}

#[divan::bench(sample_count = 5)]
fn ten_thousand_plans_that_hold(bencher: Bencher<'_, '_>) {
    let (store, prepared, files) = many(10_000, holds);
    bencher.bench_local(|| check_each(&store, &prepared, &files, OUTCOMES));
}

#[divan::bench(sample_count = 5)]
fn ten_thousand_plans_as_broken_as_the_demo(bencher: Bencher<'_, '_>) {
    let (store, prepared, files) = many(10_000, |_| true);
    bencher.bench_local(|| check_each(&store, &prepared, &files, OUTCOMES));
}

fn check_each(store: &Store, prepared: &Prepared, files: &[FileId], options: Options) -> u64 {
    let count = |file: &FileId| {
        check_plan(store, prepared, 0, *file, options)
            .counts
            .total()
    };
    files.iter().map(count).sum()
}

/// Twelve plain rules on settings of one thing, already read.
#[divan::bench]
fn twelve_plain_rules_on_a_run(bencher: Bencher<'_, '_>) {
    let mut standard =
        String::from("standard \"plain\" edition \"1\"\nkind thing, one to a run {\n");
    let mut plan = String::from("run \"r\" against \"plain.std\"\nthing {\n");
    for index in 0..12 {
        standard.push_str(&format!("  value-{index} length from 0 mm to 10 m\n"));
        plan.push_str(&format!("  value-{index} {} mm ± 1 %\n", 20 + index));
    }
    standard.push_str("}\n");
    plan.push_str("}\n");
    for index in 0..12 {
        standard.push_str(&format!(
            "rule r-{index} {{\n  shall thing.value-{index} at most 100 mm\n  per practice\n}}\n"
        ));
    }
    let mut store = Store::new();
    let root = store.add("plain.std", standard);
    let prepared = prepare(&mut store, &demo(), root);
    assert!(prepared.usable(), "{:?}", prepared.problems);
    let file = store.add("r.plan", plan);
    let parsed = syntax::parse(file, store.get(file).text());
    let (scope, _) = plan_scope(&parsed.tree);
    let mut problems = Vec::new();
    let run = build_run(file, &prepared.standard, &scope, &mut problems);
    assert!(problems.is_empty(), "{problems:?}");
    let scene = Scene::new(&prepared.standard, &run);
    bencher.bench_local(|| black_box(results(&scene)).len());
}
