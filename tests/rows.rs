//! What is decided column by column is what the full evaluation says, on the demo room and around it.

use std::fs;
use std::path::Path;

use strikeoff::check::{Columns, Prepared, Rows, prepare, results};
use strikeoff::diagnostic::Outcome;
use strikeoff::eval::EvalContext;
use strikeoff::names::{ReadProblem, Shelf, plan_scope};
use strikeoff::source::Store;
use strikeoff::syntax;
use strikeoff::types::{Run, build_run};

struct Disk;

impl Shelf for Disk {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
        fs::read_to_string(path).map_err(|_| ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn prepared(store: &mut Store, root: &str) -> Prepared {
    let file = store.add(root, Disk.read(root).unwrap());
    let prepared = prepare(store, &Disk, file);
    assert!(prepared.usable(), "{:?}", prepared.problems);
    prepared
}

fn run(store: &mut Store, prepared: &Prepared, text: String) -> Run {
    let file = store.add("a.plan", text);
    let parsed = syntax::parse(file, store.get(file).text());
    let (scope, _) = plan_scope(&parsed.tree);
    build_run(file, &prepared.standard, &scope, &mut Vec::new())
}

/// Every row and requirement is decided as by the full evaluation, or left open. Gives how many were
/// found to hold, to break, and left open.
fn agrees(prepared: &Prepared, runs: &[Run]) -> (usize, usize, usize) {
    let columns = Columns::of(&prepared.standard);
    let mut rows = Rows::default();
    for run in runs {
        columns.add(&mut rows, &EvalContext::new(&prepared.standard, run));
    }
    assert_eq!(rows.count(), runs.len());
    let masks = columns.masks(&rows);
    let (mut holds, mut breaks, mut open) = (0, 0, 0);
    for (row, run) in runs.iter().enumerate() {
        let all = results(&EvalContext::new(&prepared.standard, run));
        for mask in &masks {
            let full = all
                .iter()
                .find(|result| result.rule == mask.rule && result.requirement == mask.requirement)
                .unwrap()
                .outcome();
            let name = &prepared.standard.rules[mask.rule].name;
            match mask.outcome(row) {
                None => open += 1,
                Some(quick) => {
                    assert_eq!(quick, full, "`{name}` on row {row}, `{}`", run.name);
                    match quick {
                        Outcome::Holds => holds += 1,
                        _ => breaks += 1,
                    }
                }
            }
        }
    }
    for mask in &masks {
        assert_eq!(mask.outcome(runs.len()), None, "no bit behind the last row");
    }
    (holds, breaks, open)
}

fn demo_plans() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/plans");
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| fs::read_to_string(path).unwrap())
        .collect()
}

/// A plan with one line left out for each line it has.
fn thinned(text: &str) -> impl Iterator<Item = String> {
    let lines: Vec<&str> = text.lines().collect();
    (0..lines.len()).map(move |out| {
        let mut lines = lines.clone();
        lines.remove(out);
        lines.join("\n")
    })
}

#[test]
fn the_demo_room_and_all_its_gaps() {
    let mut store = Store::new();
    let prepared = prepared(&mut store, "demo-data/nosuch-room.std");
    let mut runs = Vec::new();
    for text in demo_plans() {
        runs.extend(
            thinned(&text)
                .step_by(5)
                .map(|thin| run(&mut store, &prepared, thin)),
        );
        runs.push(run(&mut store, &prepared, text));
    }
    let (holds, breaks, _) = agrees(&prepared, &runs);
    assert!(holds > 500, "{holds}");
    assert!(breaks > 1, "{breaks}");
}

#[test]
fn plain_rules_around_their_limits() {
    let mut store = Store::new();
    let prepared = prepared(&mut store, "benches/plain.std");
    let mut runs = Vec::new();
    for belt in 200..300 {
        for (lanes, drive) in [(1, "automatic"), (2, "manual"), (3, "automatic")] {
            let text = format!(
                "run \"r\" against \"plain.std\"
dryer {{
  chamber 2.44 m
  belt {}.{:02} m/min ± 1 %
  air {} °F ± 5 °F
  lanes {lanes}
}}
press {{
  drive {drive}
  heads {}
}}
order {{
  spoilage {} %
}}
",
                belt / 100,
                belt % 100,
                295 + belt % 60,
                2 + belt % 4,
                belt % 9,
            );
            runs.push(run(&mut store, &prepared, text));
        }
    }
    let (holds, breaks, open) = agrees(&prepared, &runs);
    let lowest = holds.min(breaks).min(open);
    assert!(lowest > 200, "{holds} hold, {breaks} break, {open} open");
}
