//! A misspelt word never leaves a clean check.
//!
//! Every word of every standard and plan of the demo room, and of the shipped specs as a room would
//! have them in its own folder, is misspelt in four ways: a letter dropped, doubled, changed, two
//! swapped. Keywords, names, choices and units alike. The check of the whole room then says something
//! it did not say before, or comes to another outcome.
//!
//! Exempt, and nothing else:
//! - texts in quotes, and comments: they are for the reader;
//! - the name behind `rule`, `caution` and `table`: nothing refers to it, so a misspelling is another name;
//! - a word that stands nowhere else in the room: it is the declaration of something nobody uses, and
//!   misspelling it is another name for the same thing;
//! - the name of a setting, a choice or a noun where it is declared: whoever refers to the old name is
//!   told that there is none, so where nothing is said nobody does, although the word stands elsewhere
//!   for something else, as `speed` the setting and `speed` the dimension;
//! - a text that means the same, by its digest: `0 % to 99 %` and `0 to 99 %`;
//! - what [`SAME`] lists: a misspelling that is another good word of the same effect.
//!
//! `STRIKEOFF_LONG=1 cargo test --release --test all misspelling:: -- --nocapture` tries all words.

use std::collections::{BTreeMap, BTreeSet};

use crate::demo_room::{self, Random, Room, quick};
use strikeoff::check::{Prepared, check_plan};
use strikeoff::diagnostic::{Diagnostic, Outcome};
use strikeoff::names::SHIPPED;
use strikeoff::source::Store;

/// Misspellings that give another good text which comes to the same: the line, the word, the other word.
///
/// An empty line stands for any.
const SAME: &[(&str, &str, &str)] = &[
    // One piece and several are the same unit.
    ("", "pieces", "piece"),
    ("", "strokes", "stroke"),
    ("", "stations", "station"),
    // The ASCII spelling of the same unit.
    ("", "µm", "um"),
    // The lower end of what is possible may be lower still without any value being affected.
    ("molar-energy from 10 kJ/mol", "kJ", "J"),
];

/// Characters of words and units.
fn is_word(character: char) -> bool {
    character.is_alphanumeric() || "-°µΔ²³%_".contains(character)
}

/// Where the words of a text stand, texts in quotes and comments left out.
fn words(text: &str) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let (mut quoted, mut comment, mut escaped) = (false, false, false);
    let mut start: Option<usize> = None;
    for (at, character) in text.char_indices().chain([(text.len(), '\n')]) {
        let here = !quoted && !comment && is_word(character);
        if !here && let Some(start) = start.take() {
            let word = &text[start..at];
            // Numbers are values, not words; a misspelt value is another value.
            let number = word
                .trim_start_matches('-')
                .starts_with(|first: char| first.is_ascii_digit());
            if !number && word != "-" {
                found.push(start..at);
            }
        }
        if here && start.is_none() {
            start = Some(at);
        }
        match character {
            '\n' => (quoted, comment, escaped) = (false, false, false),
            '"' if !comment && !escaped => quoted = !quoted,
            '#' if !quoted => comment = true,
            _ => {}
        }
        escaped = quoted && character == '\\' && !escaped;
    }
    found
}

/// One misspelling of a word; `None` when it is the word itself.
fn misspelt(random: &Random, word: &str, way: usize) -> Option<String> {
    let mut letters: Vec<char> = word.chars().collect();
    let at = random.below(letters.len());
    match way {
        0 => {
            letters.remove(at);
        }
        1 => letters.insert(at, letters[at]),
        2 => {
            let next = (at + 1) % letters.len();
            letters.swap(at, next);
        }
        _ => {
            let alphabet: Vec<char> = ('a'..='z').collect();
            letters[at] = *random.pick(&alphabet);
        }
    }
    let other: String = letters.into_iter().collect();
    (other != word).then_some(other)
}

/// What a check of the room says: diagnostics, and outcomes by plan.
type Said = BTreeSet<(String, String)>;

fn said(path: &str, diagnostics: &[Diagnostic]) -> impl Iterator<Item = (String, String)> {
    diagnostics.iter().map(move |one| {
        (
            path.to_owned(),
            format!("{} {}", one.code.slug(), one.headline),
        )
    })
}

/// Said of a plan that an error in it keeps from being checked.
const UNCHECKED: &str = "not checked";

fn check(store: &Store, prepared: &Prepared, path: &str, text: &str) -> Said {
    let mut store = store.clone();
    let file = store.add(path, text);
    let report = check_plan(&store, prepared, 0, file, quick());
    let counts = Outcome::ALL.map(|outcome| report.counts.of(outcome));
    let cautions = report
        .cautions
        .iter()
        .map(|one| (path.to_owned(), one.words.clone()));
    let unchecked = (!report.checked).then(|| (path.to_owned(), UNCHECKED.to_owned()));
    said(path, &report.diagnostics)
        .chain(unchecked)
        .chain(cautions)
        .chain([(path.to_owned(), format!("{counts:?}"))])
        .collect()
}

struct Bench {
    room: Room,
    store: Store,
    prepared: Prepared,
    problems: BTreeSet<String>,
    plans: BTreeMap<String, Said>,
    /// How often each word stands in the room.
    uses: BTreeMap<String, usize>,
}

impl Bench {
    fn new() -> Self {
        Self::of(Room::with_specs())
    }

    fn of(mut room: Room) -> Self {
        // A spec that the room does not use would not be read at all.
        let root = room.files.get_mut(demo_room::ROOT).unwrap();
        for (name, _) in SHIPPED {
            let line = format!("use \"shipped/{name}.std\"\n");
            if !root.contains(&line) {
                root.push_str(&line);
            }
        }
        let (store, prepared) = room.prepare(demo_room::ROOT);
        assert!(
            prepared.usable(),
            "{:#?}",
            demo_room::errors(&prepared.problems)
        );
        let plans = room.plans().map(|path| {
            (
                path.to_owned(),
                check(&store, &prepared, path, &room.files[path]),
            )
        });
        let plans = plans.collect();
        let problems = prepared
            .problems
            .iter()
            .map(|one| one.headline.clone())
            .collect();
        let mut uses: BTreeMap<String, usize> = BTreeMap::new();
        for text in room.files.values() {
            for word in words(text) {
                *uses.entry(text[word].to_owned()).or_default() += 1;
            }
        }
        Self {
            room,
            store,
            prepared,
            problems,
            plans,
            uses,
        }
    }

    /// Whether a change of one file is noticed.
    fn noticed(&self, path: &str, text: &str) -> bool {
        if path.ends_with(".plan") {
            let said = check(&self.store, &self.prepared, path, text);
            // A plan that is not checked at all for an error in it is no clean check.
            return said != self.plans[path] || said.iter().any(|(_, words)| words == UNCHECKED);
        }
        let mut room = self.room.clone();
        room.files.insert(path.to_owned(), text.to_owned());
        let (store, prepared) = room.prepare(demo_room::ROOT);
        if prepared
            .problems
            .iter()
            .any(|one| !self.problems.contains(&one.headline))
        {
            return true;
        }
        self.plans
            .iter()
            .any(|(path, before)| check(&store, &prepared, path, &self.room.files[path]) != *before)
    }

    /// Whether a standard means the same after a change of one file, without a problem.
    fn means_the_same(&self, path: &str, text: &str) -> bool {
        if path.ends_with(".plan") {
            return false;
        }
        let mut room = self.room.clone();
        room.files.insert(path.to_owned(), text.to_owned());
        let (_, prepared) = room.prepare(demo_room::ROOT);
        prepared.problems.len() == self.problems.len()
            && prepared.standard.digest == self.prepared.standard.digest
    }

    /// Whether a word is a name that nothing else mentions.
    fn is_own_name(&self, text: &str, word: &std::ops::Range<usize>) -> bool {
        let line = text[..word.start].rsplit('\n').next().unwrap();
        if matches!(line.trim(), "rule" | "caution" | "table") && !line.starts_with(' ') {
            return true;
        }
        if declares(text, word) {
            return true;
        }
        let name = &text[word.clone()];
        // `power power from …`: a setting called as its dimension.
        let dimension = text[word.end..].split_whitespace().next() == Some(name);
        let declares = line.trim().is_empty() && dimension;
        self.uses[name] == 1 + usize::from(declares)
    }
}

/// Whether a word stands where a kind or step declares a setting, a choice or a noun of that name.
fn declares(text: &str, word: &std::ops::Range<usize>) -> bool {
    let before = &text[..word.start];
    let head = before.lines().rev().find(|line| {
        let letter = |first: char| first.is_alphabetic();
        line.starts_with(letter)
    });
    let in_kind = head.is_some_and(|head| {
        let word = head.split_whitespace().next();
        matches!(word, Some("kind" | "step" | "add")) && head.ends_with('{')
    });
    let line = before.rsplit('\n').next().unwrap();
    let setting = line.trim().is_empty() && line.starts_with(' ');
    let noun = line.trim_end().ends_with("count of");
    let choice = line.contains(" choice of ") && !line.contains('"');
    in_kind && (setting || noun || choice)
}

fn line_of<'t>(text: &'t str, word: &std::ops::Range<usize>) -> &'t str {
    let start = text[..word.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[word.end..]
        .find('\n')
        .map_or(text.len(), |at| word.end + at);
    text[start..end].trim()
}

/// Tries words of these files; every `stride`th misspelling.
fn misspell(bench: &Bench, paths: &[&str], stride: usize) {
    let (mut tried, mut names) = (0, BTreeSet::new());
    let mut silent = Vec::new();
    let random = Random::new(7);
    let mut turn = 0;
    for path in paths {
        let text = &bench.room.files[*path];
        for word in words(text) {
            for way in 0..4 {
                let Some(other) = misspelt(&random, &text[word.clone()], way) else {
                    continue;
                };
                turn += 1;
                if turn % stride != 0 {
                    continue;
                }
                tried += 1;
                let mut changed = text.clone();
                changed.replace_range(word.clone(), &other);
                if bench.noticed(path, &changed) || bench.means_the_same(path, &changed) {
                    continue;
                }
                let (line, was) = (line_of(text, &word), &text[word.clone()]);
                if bench.is_own_name(text, &word) {
                    names.insert(was.to_owned());
                } else if !SAME
                    .iter()
                    .any(|(where_, from, to)| line.contains(where_) && *from == was && *to == other)
                {
                    silent.push(format!("{path}: `{was}` as `{other}` in\n    {line}"));
                }
            }
        }
    }
    eprintln!(
        "{tried} misspellings in {} files; names of their own: {names:?}",
        paths.len()
    );
    assert!(
        silent.is_empty(),
        "{} silent:\n{}",
        silent.len(),
        silent.join("\n")
    );
    assert!(tried > 100);
}

fn stride(short: usize) -> usize {
    if std::env::var_os("STRIKEOFF_LONG").is_some() {
        1
    } else {
        short
    }
}

#[test]
fn no_misspelling_in_a_plan_is_silent() {
    let bench = Bench::new();
    let plans: Vec<&str> = bench.room.plans().collect();
    misspell(&bench, &plans, stride(13));
}

#[test]
fn no_misspelling_in_a_standard_is_silent() {
    let bench = Bench::new();
    let standards: Vec<&str> = bench.room.standards().collect();
    misspell(&bench, &standards, stride(101));
}

#[test]
fn words_are_found_outside_texts_and_comments() {
    let text = "  a-b 2.5 m/min \"c \\\" d\" 80 /in # e\nper practice ± 5 %\n";
    let found: Vec<&str> = words(text).into_iter().map(|word| &text[word]).collect();
    assert_eq!(found, ["a-b", "m", "min", "in", "per", "practice", "%"]);
}

/// A tunnel whose dial reads wrong, a probe, and how often to read.
const DIALS: &str = r#"# dials.std: a dial that reads wrong, and readings. Invented.

dryer timed-tunnel is tunnel-a {
  belt shows       1 m/min at 0.9 m/min ± 0.05 m/min    per practice
  belt shows       6 m/min at 5.5 m/min ± 0.1 m/min
}

instrument probe-9 "a probe on a wire" {
  class            "K, class 2"
  due              2027-03-31
}

rule read-often "the film is read often" {
  shall      film.peak read within 60 d
  should     dryer.belt at most 5 m/min
  read every 2 h
  when out   "stop the belt"
  per        practice
}
"#;

const READ: &str = r#"run "2699 band tees" against "../nosuch-room.std"

garment is cotton-tee

press is carousel

dryer is timed-tunnel {
  belt             4.9 m/min ± 5 %
  set-point        330 °F
}

reading film.peak {
  value            300 °F ± 6 °F
  at               dryer.belt 4.5 m/min
  on               2026-11-20
  with             probe-9
  pieces           5 pieces
}
"#;

#[test]
fn no_misspelling_of_a_dial_or_a_reading_is_silent() {
    let mut room = Room::with_specs();
    let (standard, plan) = ("demo-data/dials.std", "demo-data/plans/read.plan");
    room.files.insert(standard.to_owned(), DIALS.to_owned());
    room.files.insert(plan.to_owned(), READ.to_owned());
    let root = room.files.get_mut(demo_room::ROOT).unwrap();
    root.push_str("use \"dials.std\"\n");
    let bench = Bench::of(room);
    misspell(&bench, &[standard, plan], 1);
}
