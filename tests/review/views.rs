//! The views of a review, and the command with its exit codes.

use std::process::Command;

use strikeoff::report::{ReviewShow, Style, review_json, review_log, review_schema};

use super::{demo, one, reviewed};

const SOUND: &str = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number from 0 to 6 \"w\" set\n}\n\nrule narrow {\n  shall box.wide at most 5\n  because \"it must go through the door\"\n  per practice\n}\n";

fn people(text: &str, show: ReviewShow) -> String {
    let (run, found) = reviewed(&one(text), "room.std");
    let mut out = Vec::new();
    strikeoff::report::review(&found, &run.store, show, &Style::default(), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn json_fits_its_schema() {
    let schema = serde_json::from_str(review_schema()).unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    for room in [demo("demo-data"), one(SOUND)] {
        let path = if room.texts.len() > 1 {
            "nosuch-room.std"
        } else {
            "room.std"
        };
        let (run, found) = reviewed(&room, path);
        let mut out = Vec::new();
        review_json(&found, &run.store, &mut out).unwrap();
        let value = serde_json::from_slice(&out).unwrap();
        let wrong: Vec<String> = schema
            .iter_errors(&value)
            .map(|error| error.to_string())
            .collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
    assert!(!schema.is_valid(&serde_json::json!({"format": "strikeoff-review", "version": 2})));
}

/// A reader of the demo room sees what is above a note, and one line or a few for each sort of note.
#[test]
fn notes_do_not_drown_the_rest() {
    let (run, found) = reviewed(&demo("demo-data"), "nosuch-room.std");
    let shown = |full| {
        let mut out = Vec::new();
        let show = ReviewShow {
            full,
            witnesses: false,
        };
        strikeoff::report::review(&found, &run.store, show, &Style::default(), &mut out).unwrap();
        String::from_utf8(out).unwrap()
    };
    let (short, full) = (shown(false), shown(true));
    let notes = |of: &dyn Fn(&str) -> bool| {
        let lines = short.lines().filter(|line| line.starts_with("note["));
        lines.filter(|line| of(line)).count()
    };
    // What a rule explains is told with that rule, one line a reason.
    let explained = |line: &str| line.starts_with("note[explained]");
    // What was looked at by itself only is said for each rule, and first.
    let open = |line: &str| line.starts_with("note[not-decided]");
    assert!(
        notes(&|line| !explained(line) && !open(line)) <= 6,
        "{short}"
    );
    assert!(notes(&open) <= 8, "{short}");
    assert!(notes(&explained) <= 12, "{short}");
    assert!(short.lines().count() < 120, "{short}");
    assert!(full.lines().count() > short.lines().count());
    assert!(short.contains("`--full` lists everything"), "{short}");
}

#[test]
fn nothing_found_is_said() {
    let text = people(SOUND, ReviewShow::default());
    assert!(text.contains("nothing found"), "{text}");
    assert!(
        text.contains("review: 0 errors, 0 warnings, 0 notes; 1 requirement"),
        "{text}"
    );
}

#[test]
fn a_witness_is_a_plan_that_can_be_checked() {
    let clash = "rule wide {\n  shall box.wide at least 5.5\n  because \"a mistake of ours\"\n  per practice\n}\n";
    let (_, found) = reviewed(&one(&format!("{SOUND}\n{clash}")), "room.std");
    let witness = found.findings[0].witness.clone().unwrap();
    let mut room = one(&format!("{SOUND}\n{clash}"));
    room.texts
        .insert("witness.plan".to_owned(), Ok(witness.plan.clone()));
    let run = room.check(
        vec!["witness.plan".to_owned()],
        strikeoff::check::Options::default(),
    );
    assert_eq!(
        run.report.plans[0].counts, witness.counts,
        "{}",
        witness.plan
    );
    let shown = people(
        &format!("{SOUND}\n{clash}"),
        ReviewShow {
            full: false,
            witnesses: true,
        },
    );
    assert!(
        shown.contains("run \"witness\" against \"room.std\""),
        "{shown}"
    );
}

#[test]
fn log_lines_name_their_places() {
    let text = SOUND.replace("  because \"it must go through the door\"\n", "");
    let (run, found) = reviewed(&one(&text), "room.std");
    let mut out = Vec::new();
    review_log(
        &found,
        &run.store,
        ReviewShow::default(),
        &Style::default(),
        &mut out,
    )
    .unwrap();
    let text = String::from_utf8(out).unwrap();
    assert!(
        text.starts_with("room.std:7:6: warning[no-reason]: "),
        "{text}"
    );
}

/// 0 for nothing above a note, 1 for something to look at, 2 for trouble with the text.
#[test]
fn exit_codes() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("review-exit");
    std::fs::create_dir_all(&folder).unwrap();
    let exit = |name: &str, text: Option<&str>| {
        if let Some(text) = text {
            std::fs::write(folder.join(name), text).unwrap();
        }
        let run = Command::new(env!("CARGO_BIN_EXE_strikeoff"))
            .args(["review", name])
            .current_dir(&folder)
            .output()
            .unwrap();
        run.status.code().unwrap()
    };
    assert_eq!(exit("sound.std", Some(SOUND)), 0);
    let dead = SOUND.replace("  shall", "  when box.wide above 6\n  shall");
    assert_eq!(exit("dead.std", Some(&dead)), 1);
    assert_eq!(
        exit("broken.std", Some("standard \"A room\"\nrule x {\n")),
        2
    );
    assert_eq!(exit("nowhere.std", None), 2);
    for room in ["nosuch-room.std", "fitted/fitted-room.std"] {
        let run = Command::new(env!("CARGO_BIN_EXE_strikeoff"))
            .args(["review", &format!("demo-data/{room}")])
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(0), "{room}");
    }
    assert_eq!(
        exit("order.plan", Some("run \"x\" against \"sound.std\"\n")),
        2
    );
}

/// Any text: what cannot be reviewed is said, and no review panics.
#[test]
fn every_case_of_the_other_tests_can_be_reviewed() {
    let cases = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut reviewed = 0;
    for folder in ["syntax", "names", "types", "check", "files"] {
        for entry in std::fs::read_dir(cases.join(folder)).unwrap() {
            let Ok(text) = std::fs::read_to_string(entry.unwrap().path()) else {
                continue;
            };
            let mut room = crate::room::Room::default();
            for part in text.split("\n--- ").skip(1) {
                let (name, body) = part.split_once('\n').unwrap_or((part, ""));
                let name = name.split(' ').next().unwrap().to_owned();
                room.texts.insert(name, Ok(body.to_owned()));
            }
            for path in room.ending(".std") {
                let run = strikeoff::cli::review(&path, &room);
                reviewed += usize::from(run.found.is_ok());
            }
        }
    }
    assert!(reviewed > 50, "{reviewed}");
}

/// Many records of many kinds, and figures that touch: the work ends, and what was not looked at is called so.
#[test]
fn too_much_to_look_at_is_said() {
    let mut text = "standard \"A room\" edition \"1\"\n".to_owned();
    for kind in ["a", "b", "c"] {
        text.push_str(&format!(
            "\nkind {kind}-thing, one to a run \"a thing\" {{\n  size number from 1 to 6 \"its size\"\n  top number from 1 to 6 \"its top\"\n}}\n"
        ));
        for number in 0..40 {
            text.push_str(&format!(
                "\n{kind}-thing {kind}-{number} {{\n  top {}.{number}\n}}\n",
                1 + number % 5
            ));
        }
    }
    text.push_str("\nrule hard {\n  shall a-thing.size * b-thing.size * c-thing.size is a-thing.top * b-thing.top * c-thing.top\n  because \"so it is\"\n  per practice\n}\n");
    let (_, found) = reviewed(&one(&text), "room.std");
    let said = found
        .findings
        .iter()
        .any(|one| one.said.code == strikeoff::diagnostic::Code::NotDecided);
    assert!(said, "{found:#?}");
}
