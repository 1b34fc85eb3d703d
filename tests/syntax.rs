//! Text to tree: every case under `cases/trees/`, and what must hold for any text whatever.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

use crate::outline;
use strikeoff::diagnostic::Code;
use strikeoff::source::{FileId, Store};
use strikeoff::syntax::{diagnostic, parse};

/// The codes this phase can say.
const CODES: &[Code] = &[
    Code::UnreadableLine,
    Code::UnreadableStatement,
    Code::SpelledOtherwise,
    Code::NumberMalformed,
    Code::TextNotClosed,
    Code::EscapeUnknown,
    Code::CharacterNotAllowed,
    Code::NestedTooDeep,
    Code::BlockNotClosed,
    Code::BlockInBlock,
    Code::BraceStray,
    Code::BraceNotAlone,
    Code::WordReserved,
    Code::ClauseMisplaced,
];

fn cases() -> Vec<std::path::PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/trees");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    files
}

/// The problems of a text: place, code and headline, then the label and the help.
fn problems(text: &str) -> String {
    let mut store = Store::new();
    let file = store.add("case", text);
    let mut shown = String::new();
    for problem in parse(file, text).problems {
        if problem.follows {
            continue;
        }
        let said = diagnostic(&problem);
        let primary = said.primary().unwrap();
        let place = store.place(primary.span);
        let slug = said.code.slug();
        writeln!(
            shown,
            "{}:{} {slug}: {}",
            place.line, place.column, said.headline
        )
        .unwrap();
        let under = store.slice(primary.span).escape_debug().to_string();
        writeln!(shown, "    at `{under}`: {}", primary.words).unwrap();
        for label in said.labels().iter().skip(1) {
            let place = store.place(label.span);
            writeln!(
                shown,
                "    at {}:{}: {}",
                place.line, place.column, label.words
            )
            .unwrap();
        }
        writeln!(shown, "    help: {}", said.help.unwrap()).unwrap();
    }
    shown
}

#[test]
fn cases_read_as_before() {
    insta::glob!("cases/trees/*", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        let parsed = parse(FileId(0), &text);
        let outline = outline::outline(&parsed.tree);
        let problems = problems(&text);
        insta::assert_snapshot!(format!("{outline}--- problems\n{problems}"));
    });
}

#[test]
fn cases_whose_name_says_so_read_clean() {
    for path in cases() {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        let clean = parse(FileId(0), &text).problems.is_empty();
        assert_eq!(clean, !name.starts_with("broken-"), "{name}");
    }
}

#[test]
fn every_code_has_a_case() {
    let mut said = BTreeSet::new();
    for path in cases() {
        let text = std::fs::read_to_string(&path).unwrap();
        let problems = parse(FileId(0), &text).problems;
        said.extend(problems.iter().map(|problem| diagnostic(problem).code));
    }
    let all: BTreeSet<_> = CODES.iter().copied().collect();
    assert_eq!(said, all);
}

#[test]
fn cases_rebuild_their_text() {
    for path in cases() {
        outline::assert_sound(&std::fs::read_to_string(&path).unwrap());
    }
}
