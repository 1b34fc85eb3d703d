//! The demo room in memory: read once from the disk, changed at will, checked like the command line does.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use strikeoff::check::{Options, Prepared, prepare};
use strikeoff::diagnostic::{Diagnostic, PlanReport, Report, Severity};
use strikeoff::names::{ReadProblem, SHIPPED, Shelf, plan_scope, read_text};
use strikeoff::source::Store;
use strikeoff::syntax;
use strikeoff::types::{Date, Run, build_run};

/// Files by path, with forward slashes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Room {
    pub(crate) files: BTreeMap<String, String>,
}

impl Shelf for Room {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        self.files.get(path).cloned().ok_or(ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// Path of the room's root standard.
pub(crate) const ROOT: &str = "demo-data/nosuch-room.std";

impl Room {
    /// The demo room as it lies on the disk.
    pub(crate) fn demo() -> Self {
        let mut room = Self::default();
        for folder in ["demo-data", "demo-data/plans"] {
            let below = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
            for entry in fs::read_dir(below).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_str().unwrap();
                if name.ends_with(".std") || name.ends_with(".plan") {
                    let text = fs::read_to_string(&path).unwrap();
                    room.files.insert(format!("{folder}/{name}"), text);
                }
            }
        }
        assert!(room.plans().count() >= 20);
        room
    }

    /// The demo room with the shipped specs as files of its own, so that they can be changed too.
    pub(crate) fn with_specs() -> Self {
        let mut room = Self::demo();
        for (name, text) in SHIPPED {
            let path = format!("demo-data/shipped/{name}.std");
            room.files.insert(path, (*text).to_owned());
        }
        for (path, text) in &mut room.files {
            let folder = if path.contains("/shipped/") {
                ""
            } else {
                "shipped/"
            };
            if path.ends_with(".std") {
                for (name, _) in SHIPPED {
                    let (from, to) = (
                        format!("\nuse {name}\n"),
                        format!("\nuse \"{folder}{name}.std\"\n"),
                    );
                    *text = text.replace(&from, &to);
                }
                assert!(!text.contains("\nuse trade"));
            }
        }
        room
    }

    /// A room of one standard.
    pub(crate) fn of(standard: &str) -> Self {
        let mut room = Self::default();
        room.files
            .insert("room.std".to_owned(), standard.to_owned());
        room
    }

    /// Paths of all plans, in order.
    pub(crate) fn plans(&self) -> impl Iterator<Item = &str> {
        let names = self.files.keys().map(String::as_str);
        names.filter(|name| name.ends_with(".plan"))
    }

    /// Paths of all standards and parts of them, in order.
    pub(crate) fn standards(&self) -> impl Iterator<Item = &str> {
        let names = self.files.keys().map(String::as_str);
        names.filter(|name| name.ends_with(".std"))
    }

    /// A standard made ready, with the store that holds it.
    pub(crate) fn prepare(&self, root: &str) -> (Store, Prepared) {
        let mut store = Store::new();
        let file = read_text(&mut store, self, root, None).unwrap();
        let prepared = prepare(&mut store, self, file);
        (store, prepared)
    }

    /// Checks everything, as `strikeoff check FOLDER` would.
    pub(crate) fn check(&self, options: Options) -> (Store, Report) {
        let named = strikeoff::cli::Named {
            plans: self.plans().map(str::to_owned).collect(),
            parts: self.standards().map(str::to_owned).collect(),
            ..strikeoff::cli::Named::default()
        };
        let request = strikeoff::cli::Request {
            named,
            stdin: None,
            standard: None,
            date: "2026-11-25".to_owned(),
            options,
        };
        let run = strikeoff::cli::check(request, self);
        (run.store, run.report)
    }
}

/// Only what is asked of a property: outcomes and findings, no words for what holds and no repairs.
pub(crate) fn quick() -> Options {
    Options {
        explain: false,
        repairs: false,
        allow_risk: false,
        on: Date::parse("2026-11-25"),
        ..Options::default()
    }
}

/// A run read from a text; panics when it has an error.
pub(crate) fn run_of(store: &mut Store, prepared: &Prepared, text: &str) -> Run {
    try_run_of(store, prepared, text).unwrap_or_else(|| panic!("has an error:\n{text}"))
}

/// A run read from a text; `None` when it has an error.
pub(crate) fn try_run_of(store: &mut Store, prepared: &Prepared, text: &str) -> Option<Run> {
    let file = store.add("a.plan", text);
    let parsed = syntax::parse(file, store.get(file).text());
    let mut problems: Vec<Diagnostic> = parsed.problems.iter().map(syntax::diagnostic).collect();
    let (scope, misplaced) = plan_scope(&parsed.tree);
    problems.extend(misplaced);
    let run = build_run(file, &prepared.standard, &scope, &mut problems);
    errors(&problems).is_empty().then_some(run)
}

/// Headlines of all errors.
pub(crate) fn errors(problems: &[Diagnostic]) -> Vec<String> {
    let errors = problems
        .iter()
        .filter(|one| one.severity == Severity::Error);
    errors.map(|one| one.headline.clone()).collect()
}

/// A report of one plan, for the views.
pub(crate) fn report_of(prepared: &Prepared, plan: Option<PlanReport>) -> Report {
    Report {
        diagnostics: prepared.problems.clone(),
        standards: vec![prepared.report()],
        plans: plan.into_iter().collect(),
        date: "2026-11-25".to_owned(),
        allow_risk: false,
    }
}

/// How many cases a property tries: `STRIKEOFF_LONG` when it is set, else `short`.
pub(crate) fn cases(short: u64) -> u64 {
    let long = std::env::var("STRIKEOFF_LONG").ok();
    long.and_then(|count| count.parse().ok()).unwrap_or(short)
}

/// A small generator of random numbers (xorshift64*), the same on every machine.
#[derive(Debug, Clone)]
pub(crate) struct Random(Cell<u64>);

impl Random {
    /// One generator for each case, so that any case can be run again alone.
    pub(crate) fn new(seed: u64) -> Self {
        // SplitMix64, so that neighbouring seeds give unlike numbers.
        let mut mixed = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        Self(Cell::new((mixed ^ (mixed >> 31)) | 1))
    }

    pub(crate) fn next(&self) -> u64 {
        let mut state = self.0.get();
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        self.0.set(state);
        state.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// Below `count`, which is not zero.
    pub(crate) fn below(&self, count: usize) -> usize {
        usize::try_from((self.next() >> 11) % u64::try_from(count).unwrap()).unwrap()
    }

    /// From `low` to `high`, both included.
    pub(crate) fn whole(&self, low: i64, high: i64) -> i64 {
        low + i64::try_from(self.below(usize::try_from(high - low + 1).unwrap())).unwrap()
    }

    pub(crate) fn pick<'a, T>(&self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }

    /// True `percent` times in a hundred.
    pub(crate) fn chance(&self, percent: usize) -> bool {
        self.below(100) < percent
    }
}
