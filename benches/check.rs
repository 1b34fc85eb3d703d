//! How long a check takes, from the start of a standard to ten thousand plans.
//!
//! `cargo bench --bench check`. Aims: 10,000 plans from text against the demo standard in under a second
//! on one core; a million runs a second against twelve plain rules with what decides kept.
//! The start of the whole program is measured from outside:
//! `/usr/bin/time -v target/release/strikeoff check demo-data/plans/cotton-two-colours.plan`;
//! at most 8 ms and 10 MB.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    unreachable_pub
)]

use std::fmt::Write as _;
use std::path::Path;

use divan::{Bencher, black_box, counter::ItemsCount};
use strikeoff::check::{Options, Prepared, check_plan, prepare, results};
use strikeoff::diagnostic::{Counts, Outcome, PlanReport, Report, Severity};
use strikeoff::eval::EvalContext;
use strikeoff::names::{ReadProblem, Shelf, plan_scope};
use strikeoff::report::{Format, Style, render};
use strikeoff::source::{FileId, Store};
use strikeoff::syntax;
use strikeoff::types::{Run, build_run};

/// What a check by hand asks for.
const BY_HAND: Options = Options {
    explain: false,
    repairs: true,
    allow_risk: false,
    on: None,
    budget: strikeoff::eval::MOST_HELPS,
    margins: false,
};

/// A typical plan of the demo room that holds.
const HOLDS: &str = include_str!("../demo-data/plans/tri-blend-slow-enough.plan");
/// One that breaks.
const BREAKS: &str = include_str!("../demo-data/plans/tri-blend-too-fast.plan");

fn main() {
    divan::main();
}

/// The demo room on the disk.
struct Room;

impl Shelf for Room {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
        std::fs::read_to_string(path).map_err(|_| ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn prepared(store: &mut Store, root: &str) -> Prepared {
    let file = store.add(root, Room.read(root).unwrap());
    let prepared = prepare(store, &Room, file);
    assert!(prepared.usable(), "{:?}", prepared.problems);
    prepared
}

fn demo(store: &mut Store) -> Prepared {
    prepared(store, "demo-data/nosuch-room.std")
}

/// The run of a plan; `None` when its text has an error.
fn run_of(store: &Store, prepared: &Prepared, file: FileId) -> Option<Run> {
    let parsed = syntax::parse(file, store.get(file).text());
    let mut problems = Vec::new();
    let (scope, _) = plan_scope(&parsed.tree);
    let run = build_run(file, &prepared.standard, &scope, &mut problems);
    let wrong = problems
        .iter()
        .any(|problem| problem.severity == Severity::Error);
    (parsed.problems.is_empty() && !wrong).then_some(run)
}

/// From text to outcomes, without a word said.
fn outcomes(store: &Store, prepared: &Prepared, file: FileId) -> Counts {
    let mut counts = Counts::default();
    if let Some(run) = run_of(store, prepared, file) {
        for result in results(&EvalContext::new(&prepared.standard, &run)) {
            counts.add(result.outcome());
        }
    }
    counts
}

fn is_clean(report: &PlanReport) -> bool {
    report.checked
        && report
            .diagnostics
            .iter()
            .all(|found| found.severity != Severity::Error)
}

/// Which plans a series is made of.
#[derive(Debug, Clone, Copy)]
enum Series {
    /// Nine in ten hold.
    AsInLife,
    /// As broken as the demo room, which is there to show every finding.
    AsTheDemo,
}

/// The same plan with other numbers: a little more or less wherever a tolerance stands.
fn varied(text: &str, number: usize) -> String {
    let mut out = String::with_capacity(text.len() + 64);
    for (line_number, line) in text.lines().enumerate() {
        let shift = f64::from(u32::try_from((number + line_number) % 9).unwrap()) - 4.0;
        let moved = line.split_once(" ± ").and_then(|(before, after)| {
            let (head, unit) = before.rsplit_once(' ')?;
            let (name, value) = head.rsplit_once(' ')?;
            let value: f64 = value.parse().ok()?;
            Some((name, value * (1.0 + shift * 2e-4), unit, after))
        });
        match moved {
            Some((name, value, unit, after)) => {
                writeln!(out, "{name} {value:.3} {unit} ± {after}").unwrap();
            }
            None => writeln!(out, "{line}").unwrap(),
        }
    }
    out
}

/// So many plans in the store.
fn plans(store: &mut Store, prepared: &Prepared, series: Series, count: usize) -> Vec<FileId> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/plans");
    let mut texts: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    texts.sort();
    let texts: Vec<String> = texts
        .iter()
        .map(|path| std::fs::read_to_string(path).unwrap())
        .collect();
    let mut scratch = store.clone();
    let clean: Vec<&String> = texts
        .iter()
        .filter(|text| {
            let file = scratch.add("scratch.plan", text.as_str());
            is_clean(&check_plan(&scratch, prepared, 0, file, BY_HAND))
        })
        .collect();
    (0..count)
        .map(|number| {
            let text = match series {
                Series::AsInLife if number % 10 > 0 => clean[number % clean.len()],
                _ => &texts[number % texts.len()],
            };
            store.add(format!("{number}.plan"), varied(text, number))
        })
        .collect()
}

#[divan::bench]
fn prepare_demo_standard(bencher: Bencher<'_, '_>) {
    bencher.bench_local(|| {
        let mut store = Store::new();
        black_box(demo(&mut store).standard.rules.len())
    });
}

fn one_plan(bencher: Bencher<'_, '_>, text: &str, work: impl Fn(&Store, &Prepared, FileId)) {
    let mut store = Store::new();
    let prepared = demo(&mut store);
    let file = store.add("demo-data/plans/one.plan", text);
    bencher.bench_local(|| work(&store, &prepared, file));
}

fn to_outcomes(store: &Store, prepared: &Prepared, file: FileId) {
    black_box(outcomes(store, prepared, file));
}

fn to_report(store: &Store, prepared: &Prepared, file: FileId) {
    black_box(check_plan(store, prepared, 0, file, BY_HAND));
}

#[divan::bench]
fn one_plan_that_holds_to_outcomes(bencher: Bencher<'_, '_>) {
    one_plan(bencher, HOLDS, to_outcomes);
}

#[divan::bench]
fn one_plan_that_holds_to_report(bencher: Bencher<'_, '_>) {
    one_plan(bencher, HOLDS, to_report);
}

#[divan::bench]
fn one_plan_that_breaks_to_report(bencher: Bencher<'_, '_>) {
    one_plan(bencher, BREAKS, to_report);
}

fn ten_thousand(
    bencher: Bencher<'_, '_>,
    series: Series,
    work: impl Fn(&Store, &Prepared, FileId),
) {
    const COUNT: usize = 10_000;
    let mut store = Store::new();
    let prepared = demo(&mut store);
    let files = plans(&mut store, &prepared, series, COUNT);
    bencher.counter(ItemsCount::new(COUNT)).bench_local(|| {
        for file in &files {
            work(&store, &prepared, *file);
        }
    });
}

const SERIES: [Series; 2] = [Series::AsInLife, Series::AsTheDemo];

#[divan::bench(args = SERIES, sample_count = 3, sample_size = 1)]
fn ten_thousand_to_outcomes(bencher: Bencher<'_, '_>, series: Series) {
    ten_thousand(bencher, series, to_outcomes);
}

#[divan::bench(args = SERIES, sample_count = 3, sample_size = 1)]
fn ten_thousand_to_reports(bencher: Bencher<'_, '_>, series: Series) {
    ten_thousand(bencher, series, to_report);
}

/// Built runs against twelve plain rules; a tenth of them break something.
fn plain_runs(store: &mut Store, prepared: &Prepared, count: usize) -> Vec<Run> {
    (0..count)
        .map(|number| {
            let text = format!(
                r#"run "{number}" against "plain.std"
dryer {{
  chamber 2.44 m
  belt 2.{:02} m/min ± 1 %
  air 32{} °F ± 10 °F
  lanes 2
}}
film {{
  peak 28{} °F ± 8 °F
  hold 2{} s
}}
garment {{
  polyester 50 %
  cotton 50 %
}}
press {{
  heads 8
  index 3.{} s
  drive automatic
}}
flash-unit {{
  gap 7{} mm ± 2 mm
}}
order {{
  spoilage {} %
}}
"#,
                number % 39,
                number % 10,
                number % 7,
                number % 9,
                number % 8,
                number % 10,
                number % 4 + usize::from(number % 10 == 0) * 5,
            );
            let file = store.add(format!("{number}.plan"), text);
            run_of(store, prepared, file).unwrap()
        })
        .collect()
}

#[divan::bench]
fn thousand_built_runs_on_twelve_plain_rules(bencher: Bencher<'_, '_>) {
    const COUNT: usize = 1_000;
    let mut store = Store::new();
    let prepared = prepared(&mut store, "benches/plain.std");
    let runs = plain_runs(&mut store, &prepared, COUNT);
    let decided = |outcome| {
        let all = runs
            .iter()
            .flat_map(|run| results(&EvalContext::new(&prepared.standard, run)));
        all.filter(|result| result.outcome() == outcome).count()
    };
    assert!(decided(Outcome::Breaks) > COUNT / 20);
    assert_eq!(decided(Outcome::NotStated), 0);
    bencher.counter(ItemsCount::new(COUNT)).bench_local(|| {
        for run in &runs {
            black_box(results(&EvalContext::new(
                &prepared.standard,
                black_box(run),
            )));
        }
    });
}

/// Checks and renders; the first hundred findings in full.
fn rendered(store: &Store, prepared: &Prepared, files: &[FileId]) -> usize {
    let report = Report {
        date: "2026-11-25".to_owned(),
        standards: vec![prepared.report()],
        plans: files
            .iter()
            .map(|file| check_plan(store, prepared, 0, *file, BY_HAND))
            .collect(),
        ..Report::default()
    };
    let mut out = Vec::new();
    render(&report, store, Format::People, &Style::default(), &mut out).unwrap();
    out.len()
}

/// 100,000 lines in a folder of plans, as broken as the demo room.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn folder_of_100_000_lines(bencher: Bencher<'_, '_>) {
    let mut store = Store::new();
    let prepared = demo(&mut store);
    let files = plans(&mut store, &prepared, Series::AsTheDemo, 2_500);
    bencher.bench_local(|| black_box(rendered(&store, &prepared, &files)));
}

/// One plan of 100,000 lines in which a thousand screens are slack.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn file_of_100_000_lines(bencher: Bencher<'_, '_>) {
    let mut store = Store::new();
    let prepared = demo(&mut store);
    let file = store.add("demo-data/plans/long.plan", long_plan(10_000));
    assert!(store.get(file).line_count() > 100_000);
    bencher.bench_local(|| black_box(rendered(&store, &prepared, &[file])));
}

/// A plan with so many screens, a tenth of them slack, each printed once.
fn long_plan(screens: usize) -> String {
    let (things, sequence) = HOLDS.split_once("sequence {").unwrap();
    let (_, rest) = sequence.split_once("\n}").unwrap();
    let (before, after) = things.split_once("screen base").unwrap();
    let (_, after) = after.split_once("\n}").unwrap();
    let mut text = before.to_owned();
    for number in 0..screens {
        let tension = if number % 10 == 0 { 14 } else { 25 };
        write!(
            text,
            "screen s{number} is stock-110 {{
  ink              soft-white
  tension          {tension} N/cm ± 0.5 N/cm
  eom              22 µm ± 2 µm
  squeegee         70 ShoreA ± 5 ShoreA
  squeegee-angle   70 ° ± 3 °
  off-contact      3 mm ± 0.5 mm
  reducer          0 %
}}
"
        )
        .unwrap();
    }
    text.push_str(after);
    text.push_str("sequence {\n");
    for number in 0..screens {
        writeln!(text, "  print            s{number}, 1 stroke").unwrap();
    }
    text.push('}');
    text + rest
}
