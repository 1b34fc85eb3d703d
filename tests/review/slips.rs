//! The published slips of the trade's pages (handbook, section 9.4), typed into a standard: each is flagged.

use strikeoff::diagnostic::Code;

use super::{of, one, reviewed};

/// As printed, and what flags it.
const PRINTED: &[(&str, &str, Code)] = &[
    ("X1", "cures at 320 degF (135 degC)", Code::PairDisagrees),
    ("X2", "300-330 degF (143-166 degC)", Code::PairDisagrees),
    (
        "X3",
        "flash film 115-160 degC; 265-320 degF",
        Code::PairDisagrees,
    ),
    ("X4", "160 degC (350 degF)", Code::PairDisagrees),
    ("X6", "120 threads/cm (205 threads/in)", Code::PairDisagrees),
    ("X7", "90 mesh/cm = 225 mesh/in", Code::PairDisagrees),
    ("X8", "305/40 has an open area of 25 %", Code::PublishedSlip),
    ("X9", "tension 25 N/cm2", Code::PublishedSlip),
    (
        "X10",
        "mesh is counted in threads per square inch",
        Code::PublishedSlip,
    ),
    (
        "X10",
        "so many lines in every square inch",
        Code::PublishedSlip,
    ),
    (
        "X11",
        "1/6 in, the thickness of a dime",
        Code::PublishedSlip,
    ),
    ("X13", "123 mesh at 6.0 c saves 27 %", Code::PublishedSlip),
    ("X15", "110/70 flows like 125/40", Code::PublishedSlip),
    (
        "X16",
        "a higher mesh size lets more ink through",
        Code::PublishedSlip,
    ),
    (
        "X17",
        "polyester melts at 120-150 degC",
        Code::PublishedSlip,
    ),
    (
        "X18",
        "polyester with its 300 degF melting point",
        Code::PublishedSlip,
    ),
    (
        "X19",
        "type K, 2.5 degC or 0.0075 t, class 1",
        Code::PublishedSlip,
    ),
    ("X20", "the reducer has no limit", Code::PublishedSlip),
];

/// The same put right, by the column of that table that says what is correct.
const RIGHT: &[&str] = &[
    "cures at 320 degF (160 degC)",
    "300-330 degF (149-166 degC)",
    "115-160 degC; 239-320 degF",
    "350 degF (176.7 degC)",
    "120 threads/cm (305 threads/in)",
    "90 mesh/cm = 228.6 mesh/in",
    "305/40 has an open area of 27 %",
    "tension 25 N/cm",
    "mesh is counted in threads per inch",
    "1/16 in, about the thickness of a dime",
    "110/70 flows less than 125/40",
    "a higher mesh lets less ink through",
    "polyester melts at 250-260 degC",
    "type K, 2.5 degC or 0.0075 t, class 2",
    "not more than 10 % of reducer",
];

fn room(words: &str, comment: bool) -> String {
    let (text, comment) = if comment {
        ("nothing wrong here".to_owned(), format!("# {words}\n"))
    } else {
        (words.to_owned(), String::new())
    };
    format!(
        "standard \"A room\" edition \"1\"\n\n{comment}kind dryer, one to a run \"a tunnel\" {{\n  belt speed from 1 to 20 m/min \"belt\"\n}}\n\nrule slow {{\n  shall dryer.belt at most 3 m/min\n  because \"{text}\"\n  per practice\n}}\n"
    )
}

#[test]
fn every_printed_slip_is_flagged_in_a_text_and_in_a_comment() {
    for (id, words, code) in PRINTED {
        for comment in [false, true] {
            let (run, found) = reviewed(&one(&room(words, comment)), "room.std");
            let flagged = of(&found, *code);
            assert_eq!(flagged.len(), 1, "{id}: {words}: {:#?}", found.findings);
            let marked = super::marked(&run, flagged[0]);
            assert!(
                words.contains(marked[0].trim().trim_end_matches(')')),
                "{id}: {marked:?}"
            );
        }
    }
}

#[test]
fn what_is_right_is_not_flagged() {
    for words in RIGHT {
        let (_, found) = reviewed(&one(&room(words, false)), "room.std");
        let slips = |code| of(&found, code).len();
        assert_eq!(
            slips(Code::PairDisagrees) + slips(Code::PublishedSlip),
            0,
            "{words}: {:#?}",
            found.findings
        );
    }
}

/// X8 as figures rather than words: 305/40 has 27.0 % open area by geometry, not 25 %.
#[test]
fn a_record_that_contradicts_itself() {
    let room = |share: &str| {
        one(&format!(
            "standard \"A room\" edition \"1\"\n\nuse trade\n\nscreen fine {{\n  mesh 305 /in\n  thread 40 µm\n  open-area {share}\n}}\n"
        ))
    };
    let (run, found) = reviewed(&room("25 %"), "room.std");
    let wrong = of(&found, Code::RecordDisagrees);
    assert_eq!(wrong.len(), 1);
    assert_eq!(super::marked(&run, wrong[0])[0], "25 %");
    assert!(
        wrong[0].said.headline.contains("27"),
        "{}",
        wrong[0].said.headline
    );
    let (_, found) = reviewed(&room("27 %"), "room.std");
    assert_eq!(of(&found, Code::RecordDisagrees).len(), 0);
}

/// X9 as a value rather than in a text: the unit itself is refused.
#[test]
fn a_tension_per_area_is_no_tension() {
    let room = one(
        "standard \"A room\" edition \"1\"\n\nuse trade\n\nscreen slack {\n  tension 25 N/cm²\n}\n",
    );
    let problems = strikeoff::cli::review("room.std", &room).found.unwrap_err();
    assert!(
        problems
            .iter()
            .any(|said| said.code == Code::WrongDimension)
    );
}
