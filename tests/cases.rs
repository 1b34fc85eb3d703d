//! Examples: one file, one behaviour. Adding a case is adding a file under `tests/cases/`.
//!
//! A `.case` holds the files of a small room, each under a line `--- path`. What should be found
//! is written as a comment under the line it speaks of, in the language's own comment syntax:
//!
//! ```text
//!   belt   3 m/min
//! #        ^^^^^^^ error[breaks] wants at least 60 s
//! ```
//!
//! The carets stand under the primary place, behind the code there may be a part of the headline.
//! A place that starts in the first column is written `#^^^`, or `#<` when it is one wide.
//! Above the first file: what the case shows, and
//!
//! - `# expect: error[file-missing] words`: a diagnostic without a place;
//! - `# expect: clean`: nothing is found;
//! - `# counts: holds 1, breaks 1`: the totals, those that are not zero;
//! - `# with: allow-risk`.
//!
//! Behind a path may stand `bom`, `crlf`, `not-utf8`, `too-large`, `leaves` or `unreadable`.
//! What is found and what is expected must be the same set, a case that expects nothing fails, and
//! every repair that is offered is applied and checked again. Then the text for people is compared
//! with its snapshot. `STRIKEOFF_WRITE_CASES=1 cargo test --test all cases::` writes the comments of a new
//! case; read them before you keep them.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use crate::room::{Room, people};
use strikeoff::check::Options;
use strikeoff::cli::Run;
use strikeoff::diagnostic::{Code, Diagnostic, Outcome, Severity};
use strikeoff::names::ReadProblem;

/// Where something is said: file, line from 1, first column from 0 and width in characters.
type Place = (String, usize, usize, usize);

/// One diagnostic as cases write it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Said {
    place: Option<Place>,
    /// `error[breaks]`
    what: String,
    /// The headline, or a part of it.
    words: String,
}

/// A case file, taken apart.
#[derive(Debug, Default)]
struct Case {
    head: Vec<String>,
    /// Path, attributes and lines, expectations left out.
    files: Vec<(String, Vec<String>)>,
    expected: Vec<Said>,
    /// Lines of the head that are about expectations, left out of `head`.
    clean: bool,
    counts: Option<String>,
    room: Room,
    options: Options,
}

impl Case {
    fn read(path: &Path) -> Self {
        let text = std::fs::read_to_string(path).unwrap();
        let mut case = Self {
            options: Options {
                explain: false,
                ..Options::default()
            },
            ..Self::default()
        };
        for line in text.lines() {
            if let Some(header) = line.strip_prefix("--- ") {
                case.files.push((header.trim().to_owned(), Vec::new()));
                continue;
            }
            match case.files.last_mut() {
                None => case.head_line(line),
                Some((header, lines)) => match caret(line) {
                    Some((column, width, rest)) => {
                        let file = header.split(' ').next().unwrap().to_owned();
                        let (what, words) = split(rest);
                        case.expected.push(Said {
                            place: Some((file, lines.len(), column, width)),
                            what,
                            words,
                        });
                    }
                    None => lines.push(line.to_owned()),
                },
            }
        }
        case.fill();
        case
    }

    fn head_line(&mut self, line: &str) {
        if let Some(rest) = line.strip_prefix("# expect: ") {
            if rest == "clean" {
                self.clean = true;
                return;
            }
            let (what, words) = split(rest);
            self.expected.push(Said {
                place: None,
                what,
                words,
            });
            return;
        }
        if let Some(rest) = line.strip_prefix("# counts: ") {
            self.counts = Some(rest.to_owned());
            return;
        }
        if let Some(rest) = line.strip_prefix("# with: ") {
            assert_eq!(rest, "allow-risk");
            self.options.allow_risk = true;
        }
        self.head.push(line.to_owned());
    }

    fn fill(&mut self) {
        for (header, lines) in &self.files {
            let mut words = header.split(' ');
            let path = words.next().unwrap().to_owned();
            let mut text: String = lines.iter().map(|line| format!("{line}\n")).collect();
            let mut read = None;
            for attribute in words {
                match attribute {
                    "bom" => text.insert(0, '\u{feff}'),
                    "crlf" => text = text.replace('\n', "\r\n"),
                    "not-utf8" => read = Some(ReadProblem::NotUtf8(7)),
                    "too-large" => read = Some(ReadProblem::TooLarge(50_000_000)),
                    "leaves" => read = Some(ReadProblem::Leaves),
                    "unreadable" => read = Some(ReadProblem::Other("permission denied".to_owned())),
                    other => panic!("`{other}` is no attribute of a file"),
                }
            }
            let text = read.map_or(Ok(text), Err);
            self.room.texts.insert(path, text);
        }
    }

    fn run(&self) -> Run {
        self.room.check(self.room.ending(".plan"), self.options)
    }

    /// The case file with these diagnostics as its expectations.
    fn written(&self, run: &Run) -> String {
        let found = found(self, run);
        let mut text = String::new();
        for line in &self.head {
            let _ = writeln!(text, "{line}");
        }
        for said in found.iter().filter(|said| said.place.is_none()) {
            let _ = writeln!(text, "# expect: {} {}", said.what, said.words);
        }
        if found.is_empty() {
            text.push_str("# expect: clean\n");
        }
        if !run.report.plans.is_empty() {
            let _ = writeln!(text, "# counts: {}", counts(run));
        }
        for (header, lines) in &self.files {
            let _ = writeln!(text, "--- {header}");
            let path = header.split(' ').next().unwrap();
            for (index, line) in lines.iter().enumerate() {
                let _ = writeln!(text, "{line}");
                for said in &found {
                    if let Some((file, number, column, width)) = &said.place
                        && file == path
                        && *number == index + 1
                    {
                        let carets = match (column, width) {
                            (0, 1) => "#<".to_owned(),
                            (0, _) => format!("#{}", "^".repeat(width - 1)),
                            _ => format!("#{}{}", " ".repeat(column - 1), "^".repeat(*width)),
                        };
                        let _ = writeln!(text, "{carets} {} {}", said.what, said.words);
                    }
                }
            }
        }
        text
    }
}

/// `error[breaks] words` taken apart.
fn split(rest: &str) -> (String, String) {
    let (what, words) = rest.split_once(' ').unwrap_or((rest, ""));
    (what.to_owned(), words.trim().to_owned())
}

/// A caret comment: column, width and what follows.
fn caret(line: &str) -> Option<(usize, usize, &str)> {
    let body = line.strip_prefix('#')?;
    if let Some(rest) = body.strip_prefix("< ") {
        return Some((0, 1, rest));
    }
    let spaces = body.len() - body.trim_start_matches(' ').len();
    let carets = body[spaces..].len() - body[spaces..].trim_start_matches('^').len();
    if carets == 0 {
        return None;
    }
    let rest = body[spaces + carets..].trim();
    match spaces {
        0 => Some((0, carets + 1, rest)),
        _ => Some((spaces + 1, carets, rest)),
    }
}

fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// What was found, as cases write it.
fn found(case: &Case, run: &Run) -> Vec<Said> {
    let said = |said: &Diagnostic| Said {
        place: said.primary().and_then(|label| {
            let text = run.store.get(label.span.file);
            // An empty text has no line to write an expectation under.
            let known = case.room.texts.contains_key(text.name()) && !text.text().is_empty();
            let start = label.span.start as usize;
            let before = &text.text()[..start];
            let line_start = before.rfind('\n').map_or(0, |at| at + 1);
            let column = before[line_start..].chars().count();
            let rest = &text.text()[start..label.span.end as usize];
            let width = rest.split(['\n', '\r']).next().unwrap().chars().count();
            let line = before.matches('\n').count() + 1;
            known.then(|| (text.name().to_owned(), line, column, width.max(1)))
        }),
        what: format!("{}[{}]", severity(said.severity), said.code.slug()),
        words: said.headline.clone(),
    };
    run.report.all_diagnostics().map(said).collect()
}

/// The totals that are not zero.
fn counts(run: &Run) -> String {
    let counts = run.report.counts();
    let words: Vec<String> = Outcome::ALL
        .iter()
        .filter(|outcome| counts.of(**outcome) > 0)
        .map(|outcome| format!("{} {}", outcome.word(), counts.of(*outcome)))
        .collect();
    if words.is_empty() {
        "nothing".to_owned()
    } else {
        words.join(", ")
    }
}

/// What is wrong with a case.
fn complaints(case: &Case, run: &Run) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut left = found(case, run);
    for expected in &case.expected {
        let same = |said: &Said| {
            said.place == expected.place
                && said.what == expected.what
                && said.words.contains(&expected.words)
        };
        match left.iter().position(same) {
            Some(index) => {
                left.remove(index);
            }
            None => wrong.push(format!("missing: {expected:?}")),
        }
    }
    wrong.extend(left.iter().map(|said| format!("unexpected: {said:?}")));
    if case.expected.is_empty() != case.clean {
        wrong.push("a case says what it expects, or `# expect: clean`".to_owned());
    }
    if let Some(wanted) = &case.counts
        && *wanted != counts(run)
    {
        wrong.push(format!("counts: {wanted} wanted, {} found", counts(run)));
    }
    for plan in &run.report.plans {
        wrong.extend(case.room.try_repairs(run, plan));
    }
    if case.head.first().is_none_or(|line| !line.starts_with("# ")) {
        wrong.push("a case starts with a comment that says what it shows".to_owned());
    }
    wrong
}

/// Checks one case; its text for people, and what is wrong.
fn try_case(path: &Path) -> (String, Vec<String>) {
    let mut case = Case::read(path);
    if std::env::var_os("STRIKEOFF_WRITE_CASES").is_some() {
        let text = case.written(&case.run());
        std::fs::write(path, text).unwrap();
        case = Case::read(path);
    }
    let run = case.run();
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    let wrong = complaints(&case, &run);
    let mut wrong: Vec<String> = wrong.iter().map(|one| format!("{name}: {one}")).collect();
    if !wrong.is_empty() {
        wrong.push(case.written(&run));
    }
    (people(&run), wrong)
}

// One `glob!` a folder: insta names snapshots by the path below what all matches share.
macro_rules! folder {
    ($name:ident, $pattern:literal) => {
        #[test]
        fn $name() {
            let mut wrong = Vec::new();
            insta::glob!($pattern, |path| {
                let (text, complaints) = try_case(path);
                wrong.extend(complaints);
                insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
                    insta::assert_snapshot!(text);
                });
            });
            assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        }
    };
}

folder!(syntax, "cases/syntax/*.case");
folder!(names, "cases/names/*.case");
folder!(types, "cases/types/*.case");
folder!(check, "cases/check/*.case");
folder!(files, "cases/files/*.case");
folder!(deviations, "cases/deviations/*.case");
folder!(tables, "cases/tables/*.case");

fn all_cases() -> Vec<PathBuf> {
    let mut cases = Vec::new();
    let folders = [
        "syntax",
        "names",
        "types",
        "check",
        "files",
        "deviations",
        "tables",
    ];
    for folder in folders {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/cases")
            .join(folder);
        let entries = std::fs::read_dir(folder).unwrap();
        cases.extend(entries.map(|entry| entry.unwrap().path()));
    }
    cases.retain(|path| path.extension().is_some_and(|end| end == "case"));
    cases
}

/// Codes that no case file can show, with the test that does.
const ELSEWHERE: &[(Code, &str)] = &[
    (
        Code::NothingToCheck,
        "cli/paths.rs, folders_without_a_plan_or_a_standard",
    ),
    (
        Code::Contradiction,
        "review/faults.rs, fault_1_contradiction",
    ),
    (
        Code::PairRuledOut,
        "review/figures.rs, a_rule_on_the_records_explains_a_pair",
    ),
    (Code::Explained, "review/shipped.rs, the_demo_rooms"),
    (Code::VainAdvice, "review/brute.rs"),
    (Code::DeadRule, "review/faults.rs, fault_2_dead_rule"),
    (
        Code::RuleUnused,
        "review/figures.rs, a_rule_for_records_that_are_not_there",
    ),
    (
        Code::NeverBinds,
        "review/faults.rs, fault_4_limit_that_never_binds",
    ),
    (
        Code::NeverEqual,
        "review/undecided.rs, an_equality_that_no_measurement_shows",
    ),
    (Code::Implied, "review/faults.rs, fault_3_implied_rule"),
    (
        Code::NotDecided,
        "review/figures.rs, what_is_not_decided_is_said",
    ),
    (
        Code::WindowTooNarrow,
        "review/faults.rs, fault_8_window_too_narrow",
    ),
    (
        Code::NoLimit,
        "review/faults.rs, fault_5_pair_without_a_limit",
    ),
    (
        Code::RecordLacks,
        "review/faults.rs, fault_5_pair_without_a_limit",
    ),
    (
        Code::KindWithoutRules,
        "review/faults.rs, fault_6_kind_without_rules",
    ),
    (
        Code::SettingUnread,
        "review/faults.rs, fault_7_setting_that_no_rule_reads",
    ),
    (
        Code::LoosenedWithoutReason,
        "review/faults.rs, fault_9_loosened_without_reason",
    ),
    (
        Code::NoReason,
        "review/faults.rs, fault_11_rule_without_because",
    ),
    (Code::PairDisagrees, "review/slips.rs"),
    (Code::PublishedSlip, "review/slips.rs"),
    (
        Code::RecordDisagrees,
        "review/slips.rs, a_record_that_contradicts_itself",
    ),
    (Code::TooManyFiles, "too_many_files, below"),
];

#[test]
fn every_code_has_a_case() {
    let mut shown: BTreeSet<String> = BTreeSet::new();
    for path in all_cases() {
        for said in Case::read(&path).expected {
            let slug = said.what.split('[').nth(1).unwrap().trim_end_matches(']');
            shown.insert(slug.to_owned());
        }
    }
    let elsewhere: Vec<Code> = ELSEWHERE.iter().map(|(code, _)| *code).collect();
    let missing: Vec<&str> = Code::ALL
        .iter()
        .filter(|code| !elsewhere.contains(code))
        .map(|code| code.slug())
        .filter(|slug| !shown.contains(*slug))
        .collect();
    assert!(missing.is_empty(), "no case shows {missing:?}");
    let stale: Vec<&str> = elsewhere
        .iter()
        .map(|code| code.slug())
        .filter(|slug| shown.contains(*slug))
        .collect();
    assert!(stale.is_empty(), "a case shows {stale:?} after all");
}

#[test]
fn too_many_files() {
    let mut room = Room::default();
    let mut put = |path: &str, text: String| room.texts.insert(path.to_owned(), Ok(text));
    let uses: String = (0..600)
        .map(|index| format!("use \"part-{index}.std\"\n"))
        .collect();
    put(
        "room.std",
        format!("standard \"A room\" edition \"1\"\n{uses}"),
    );
    for index in 0..600 {
        put(&format!("part-{index}.std"), "# nothing\n".to_owned());
    }
    let run = room.check(Vec::new(), Options::default());
    let said: Vec<&Diagnostic> = run
        .report
        .all_diagnostics()
        .filter(|said| said.code == Code::TooManyFiles)
        .collect();
    assert_eq!(said.len(), 1);
    assert_eq!(
        said[0].headline,
        "a standard may be made of at most 500 files"
    );
}

#[test]
fn every_snapshot_has_its_case() {
    let names: BTreeSet<String> = all_cases()
        .iter()
        .map(|path| {
            let folder = path.parent().unwrap().file_name().unwrap();
            let file = path.file_name().unwrap();
            format!("{}@{}", folder.display(), file.display())
        })
        .collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots");
    let mut stale = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if let Some(case) = name.strip_suffix(".snap")
            && case.ends_with(".case")
            && !names.contains(case)
        {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "no case for {stale:?}");
}
