//! Texts that would close a hole: a plan at the limit, found by search, and the example for it.
//!
//! A setting that the limit is about is moved in the plan of an example until the standard and the changed one come to
//! different outcomes. Several holes are closed by one plan where that goes. Work is counted, not timed, so that the same
//! standard has the same texts on every machine.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::diagnostic::{Closing, Outcome};
use crate::eval::FigureCache;
use crate::names::plan_scope;
use crate::source::{FileId, Store};
use crate::syntax;
use crate::types::{Expectation, Run, Standard};

use super::super::impact::Reach;
use super::Test;
use super::boundary::{Scope, differs, outcomes};
use super::expect::expected_words;
use super::mutant::{Change, Mutant};

/// The most plans that are tried in one part of the search for a hole, and for all holes.
const MOST_TRIED: u32 = 600;
const MOST_TRIED_IN_ALL: u32 = 150_000;

/// The most work in figures in one part, and for all.
const MOST_WORK: u64 = 400_000;
const MOST_WORK_IN_ALL: u64 = 40_000_000;

/// How many expectations one new plan takes.
const MOST_EXPECTED: usize = 60;

/// How many of the new plans are tried before a fresh one is begun.
const MOST_OPEN: usize = 12;

/// How many plans of either sort are started from for one hole.
const MOST_STARTS: usize = 24;

/// Which plan it was.
#[derive(Debug, Clone, Copy)]
pub(super) enum Of {
    /// A new one.
    Added(usize),
    /// That of an example.
    Test(usize),
}

/// How settings are moved: those that people set to the limit, to other words, or along all they may be; and last what
/// is worked out or taken from a record, stated outright.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    Values,
    Words,
    Along,
    Outright,
}

/// A plan to start from.
pub(super) struct Start {
    pub(super) of: Of,
    pub(super) file: FileId,
    pub(super) text: String,
    pub(super) run: Run,
    /// What must stay as expected.
    pub(super) keep: Vec<Expectation>,
}

/// A plan in which the change makes a difference.
pub(super) struct Hit {
    pub(super) text: String,
    pub(super) run: Run,
    pub(super) rule: usize,
    pub(super) scope: Scope,
}

/// An example to be added.
pub(super) struct Added {
    pub(super) test: Test,
    /// Whether its plan is a new one.
    pub(super) new: bool,
    /// The changes it notices so far, which it is to notice when more is put into its plan.
    pub(super) closes: Vec<Mutant>,
}

/// The search, and what it found so far.
pub(super) struct Closer<'a> {
    pub(super) store: &'a Store,
    pub(super) standard: &'a Standard,
    pub(super) reach: &'a Reach,
    pub(super) tests: &'a [Test],
    pub(super) added: Vec<Added>,
    /// The standard once more, to try the changes on that a plan closes already.
    pub(super) spare: Standard,
    pub(super) tried: u32,
    pub(super) work: u64,
}

/// Up to where one part of the search may go.
pub(super) struct Budget {
    pub(super) tried: u32,
    pub(super) work: u64,
}

impl<'a> Closer<'a> {
    pub(super) fn new(
        store: &'a Store,
        standard: &'a Standard,
        reach: &'a Reach,
        tests: &'a [Test],
    ) -> Self {
        Self {
            store,
            standard,
            reach,
            tests,
            added: Vec::new(),
            spare: standard.clone(),
            tried: 0,
            work: 0,
        }
    }

    /// Finds a text for a hole; the number of the closing. `changed` is the standard, and is again afterwards.
    pub(super) fn close(&mut self, changed: &mut Standard, mutant: &mut Mutant) -> Option<usize> {
        mutant.change.swap(changed);
        let found = self.find(changed, mutant);
        mutant.change.swap(changed);
        if let Some(at) = found {
            self.added[at].closes.push(mutant.clone());
        }
        found
    }

    fn find(&mut self, changed: &Standard, mutant: &Mutant) -> Option<usize> {
        for (index, added) in self.added.iter().enumerate() {
            let noticed = |rule: &usize| {
                let expected = |one: &Expectation| one.rule == *rule;
                added.test.expectations.iter().any(expected)
                    && !added.test.misses(changed, self.reach, *rule).is_empty()
            };
            if mutant.rules.iter().any(noticed) {
                return Some(index);
            }
        }
        for &rule in &mutant.rules {
            for base in self.bases() {
                let scope = differs(&self.tests[base].run, self.standard, changed, rule);
                if let Some(scope) = scope {
                    return Some(self.expect_of(base, rule, scope));
                }
            }
        }
        for &rule in &mutant.rules {
            let budget = self.budget();
            let starts = self.starts(mutant, rule, &budget);
            use Stage::{Along, Outright, Values, Words};
            // The limit of a record is met by a value; other words would only name another record.
            let stages = match mutant.change {
                Change::Value(..) => [Values, Outright, Words, Along],
                Change::Condition(..) => [Values, Words, Along, Outright],
            };
            for stage in stages {
                let budget = self.budget();
                for start in &starts {
                    // A search along all values is dear: it begins a plan of its own.
                    if stage == Stage::Along && matches!(start.of, Of::Added(_)) {
                        continue;
                    }
                    if let Some(hit) = self.hunt(start, changed, mutant, rule, stage, &budget) {
                        return Some(match start.of {
                            Of::Added(at) => self.extend(at, hit),
                            Of::Test(at) => self.begin(at, hit),
                        });
                    }
                }
            }
        }
        None
    }

    /// What may be spent on the next part of the search.
    fn budget(&self) -> Budget {
        Budget {
            tried: MOST_TRIED_IN_ALL.min(self.tried + MOST_TRIED),
            work: MOST_WORK_IN_ALL.min(self.work + MOST_WORK),
        }
    }

    /// Plans to start from: the new ones first, then those of the examples in which the rule says something.
    fn starts(&mut self, mutant: &Mutant, rule: usize, budget: &Budget) -> Vec<Start> {
        let open = (0..self.added.len()).rev().filter(|at| {
            let added = &self.added[*at];
            added.new && added.test.expectations.len() < MOST_EXPECTED
        });
        let open: Vec<usize> = open.take(MOST_OPEN).collect();
        let mut bases = self.bases();
        let silent = |at: &usize| {
            let came = outcomes(self.standard, &self.tests[*at].run, rule);
            came.iter()
                .all(|(_, outcome)| *outcome == Outcome::DoesNotApply)
        };
        bases.sort_by_cached_key(silent);
        let open = open.into_iter().map(Of::Added);
        let mut starts = Vec::new();
        for of in open.chain(bases.into_iter().map(Of::Test)) {
            let (test, keep) = match of {
                Of::Added(at) => (&self.added[at].test, true),
                Of::Test(at) => (&self.tests[at], false),
            };
            let start = Start {
                of,
                file: test.file,
                text: test.text.clone(),
                run: test.run.clone(),
                keep: if keep {
                    test.expectations.clone()
                } else {
                    Vec::new()
                },
            };
            // Both sorts get their share.
            let new = matches!(of, Of::Added(_));
            let same = |start: &&Start| matches!(start.of, Of::Added(_)) == new;
            if starts.iter().filter(same).count() < MOST_STARTS {
                starts.extend(self.firsts(start, mutant, rule, budget));
            }
        }
        starts
    }

    /// The tests whose plans differ.
    fn bases(&self) -> Vec<usize> {
        let first = |at: &usize| {
            let file = self.tests[*at].file;
            !self.tests[..*at].iter().any(|test| test.file == file)
        };
        (0..self.tests.len()).filter(first).collect()
    }

    /// An expectation more of a plan that is there already.
    fn expect_of(&mut self, base: usize, rule: usize, scope: Scope) -> usize {
        let file = self.tests[base].file;
        let known = |added: &Added| {
            !added.new && added.test.file == file && added.test.expectations.len() < MOST_EXPECTED
        };
        let at = self.added.iter().position(known).unwrap_or_else(|| {
            let test = &self.tests[base];
            self.added.push(Added {
                test: Test {
                    name: String::new(),
                    file,
                    text: test.text.clone(),
                    run: test.run.clone(),
                    cache: FigureCache::default(),
                    expectations: Vec::new(),
                },
                new: false,
                closes: Vec::new(),
            });
            self.added.len() - 1
        });
        expect(&mut self.added[at].test, rule, scope);
        at
    }

    fn begin(&mut self, base: usize, hit: Hit) -> usize {
        let mut test = Test {
            name: String::new(),
            file: self.tests[base].file,
            text: hit.text,
            run: hit.run,
            cache: FigureCache::default(),
            expectations: Vec::new(),
        };
        expect(&mut test, hit.rule, hit.scope);
        self.added.push(Added {
            test,
            new: true,
            closes: Vec::new(),
        });
        self.added.len() - 1
    }

    fn extend(&mut self, at: usize, hit: Hit) -> usize {
        let test = &mut self.added[at].test;
        test.text = hit.text;
        test.run = hit.run;
        test.cache = FigureCache::default();
        expect(test, hit.rule, hit.scope);
        at
    }

    /// The texts, and the tests they are.
    pub(super) fn written(self) -> (Vec<Closing>, Vec<Test>) {
        let mut closings = Vec::new();
        let mut tests = Vec::new();
        let known = |name: &str| {
            let mut examples = self.standard.examples.iter();
            examples.any(|example| example.name == name)
        };
        let mut taken: BTreeSet<String> = BTreeSet::new();
        for mut added in self.added {
            let file = self.store.get(added.test.file).name();
            let about = name_of(self.standard, &added, file);
            let from = if added.new { 1 } else { 2 };
            let numbered = (from..).map(|number| format!("{about}-{number}"));
            let bare = (!added.new).then(|| about.clone());
            let mut names = bare.into_iter().chain(numbered);
            let free = |name: &String| !known(name) && !taken.contains(name);
            let name = names.find(free).unwrap_or_else(|| about.clone());
            taken.insert(name.clone());
            let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
            let path = match (added.new, folder) {
                (false, _) => file.to_owned(),
                (true, "") => format!("{name}.plan"),
                (true, folder) => format!("{folder}/{name}.plan"),
            };
            let root = self.store.get(self.standard.root).name();
            let top = root.rsplit_once('/').map_or("", |(folder, _)| folder);
            let below = path
                .strip_prefix(top)
                .map_or(path.as_str(), |rest| rest.trim_start_matches('/'));
            let mut block = format!("example {name} {{\n  run        \"{below}\"\n");
            for expected in &added.test.expectations {
                let _ = writeln!(
                    block,
                    "  expect     {}",
                    expected_words(self.standard, expected)
                );
            }
            block.push_str("}\n");
            let plan = added.new.then(|| {
                let text = without_head(&added.test.text);
                named(added.test.file, &text, &name)
            });
            closings.push(Closing {
                name: name.clone(),
                path: added.new.then_some(path),
                plan,
                block,
            });
            added.test.name = name;
            tests.push(added.test);
        }
        (closings, tests)
    }
}

/// What an example is called after: what it pins first, numbered; or the plan it looks at once more.
fn name_of(standard: &Standard, added: &Added, file: &str) -> String {
    let word = |name: &str| {
        let plain = |letter: char| {
            if letter.is_alphanumeric() {
                letter
            } else {
                '-'
            }
        };
        name.chars().map(plain).collect::<String>()
    };
    let first = added.closes.first();
    let about = match first.map(|mutant| &mutant.change) {
        Some(Change::Value(record, field, _)) => {
            let of = standard.record(*record);
            format!("{}-{}", of.name, standard.field(of.kind, *field).name)
        }
        Some(Change::Condition(rule, ..)) => standard.rules[*rule].name.clone(),
        None => "limit".to_owned(),
    };
    if added.new {
        return word(&about);
    }
    let stem = file.rsplit('/').next().unwrap_or(file);
    let stem = stem.strip_suffix(".plan").unwrap_or(stem);
    let stem = word(stem);
    // A name starts with a letter.
    if stem.starts_with(char::is_alphabetic) {
        format!("{stem}-limits")
    } else {
        format!("{}-limits", word(&about))
    }
}

/// A plan under another name of the run: two runs of one name are one too many in a folder.
fn named(file: FileId, text: &str, name: &str) -> String {
    let parsed = syntax::parse(file, text);
    let (scope, _) = plan_scope(&parsed.tree);
    let Some((quote, ..)) = scope.run else {
        return text.to_owned();
    };
    let mut named = text.to_owned();
    named.replace_range(quote.span.range(), &format!("\"{name}\""));
    named
}

/// A plan without the comments at its top, which were about another one.
fn without_head(text: &str) -> String {
    let mut rest = text.trim_start_matches('\u{feff}');
    while let Some((line, after)) = rest.split_once('\n') {
        if line.trim().is_empty() || line.trim_start().starts_with('#') {
            rest = after;
        } else {
            break;
        }
    }
    rest.to_owned()
}

/// Adds what was found; each outcome once.
fn expect(test: &mut Test, rule: usize, (thing, outcomes): Scope) {
    for outcome in outcomes {
        let known =
            |one: &Expectation| one.rule == rule && one.thing == thing && one.outcome == outcome;
        if test.expectations.iter().any(known) {
            continue;
        }
        test.expectations.push(Expectation {
            span: test.run.span,
            rule,
            outcome,
            thing: thing.clone(),
            at: None,
            value: None,
        });
    }
}
