//! Examples: that they fail when they should, that what is called pinned is pinned, and that the texts that are
//! said to close a hole do.
//!
//! The changes are made a second time here, in the text of the standard, and the plans printed are written and read as
//! files would be: nothing of the search is trusted.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::room::Room;
use strikeoff::check::TestOptions;
use strikeoff::cli::{TestRun, test};
use strikeoff::diagnostic::{ExamplesReport, Nudge};
use strikeoff::report::{
    Show, Style, examples, examples_json, examples_junit, examples_log, examples_schema,
};

/// A small room with limits of every sort.
const STANDARD: &str = r#"standard "A room" edition "1"

kind ink {
  flash      range of time from 1 s to 60 s given
  bleeds     yes/no given
}

kind screen, many to a run {
  ink        ink given
  tension    tension from 1 N/cm to 80 N/cm set in steps of 1 N/cm
}

kind dryer, one to a run {
  chamber    length from 0.3 m to 15 m given
  belt       speed from 0.05 m/min to 20 m/min set in steps of 0.1 m/min
  dwell      time = chamber / belt
}

step flash {
  time       time from 0.2 s to 120 s set
  over       screen given
}

ink white {
  flash      3 to 8 s      per practice
  bleeds     no
}

ink red {
  flash      5 to 9 s      per practice
  bleeds     yes
}

rule slow-heat {
  shall      dryer.dwell at least 60 s
  should     dryer.dwell at least 70 s
  per        practice
}

rule tight {
  for each   screen
  when       screen.ink.bleeds is yes
  shall      screen.tension above 20 N/cm
  per        practice
}

rule flash-suits {
  for each   flash
  shall      flash.time within flash.over.ink.flash
  per        practice
}
"#;

const PLAN: &str = r#"run "a" against "room.std"

screen base {
  ink        white
  tension    25 N/cm ± 1 N/cm
}

screen top {
  ink        red
  tension    25 N/cm
}

sequence {
  flash      4 s ± 0.5 s, over base
  flash      6 s, over top
}

dryer {
  chamber    2.44 m
  belt       2 m/min ± 2 %
}
"#;

fn a_room(examples: &str) -> Room {
    let mut room = Room::default();
    let mut put = |path: &str, text: String| room.texts.insert(path.to_owned(), Ok(text));
    put("room.std", format!("{STANDARD}\n{examples}"));
    put("a.plan", PLAN.to_owned());
    room
}

const ALL: TestOptions = TestOptions {
    shipped: false,
    close: true,
    unpinned: false,
};

fn result(room: &Room, how: TestOptions) -> ExamplesReport {
    let run = test("room.std", how, room);
    run.found.unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// Runs examples that consist of these lines; what failed, and what happened instead.
fn failed(lines: &str) -> Vec<(String, String)> {
    let report = result(
        &a_room(&format!("example one {{\n  run \"a.plan\"\n{lines}\n}}\n")),
        TestOptions::default(),
    );
    let failed = report.examples[0].failed.iter();
    failed
        .map(|missed| (missed.expected.clone(), missed.instead.clone()))
        .collect()
}

#[test]
fn what_happens_as_expected_passes() {
    // 2.44 m at 1.96 to 2.04 m/min: 71.76 to 74.69 s.
    let lines = "  expect slow-heat holds at dryer.belt with 71.7 to 74.7 s
  expect tight holds for top at screen.tension with 25.0 N/cm
  expect tight does not apply for base
  expect flash-suits holds for step-1 with 3.5 to 4.5 s
  expect flash-suits holds for step-2 at flash.time with 6 s";
    assert_eq!(failed(lines), []);
}

#[test]
fn what_does_not_happen_fails_and_says_what_did() {
    let one = |line: &str| {
        let failed = failed(line);
        assert_eq!(failed.len(), 1, "{line}: {failed:?}");
        failed[0].1.clone()
    };
    let instead = one("  expect slow-heat breaks");
    assert!(
        instead.starts_with("it holds: `dryer.dwell` is 71.7 to 74.7 s"),
        "{instead}"
    );
    let instead = one("  expect slow-heat holds at dryer.chamber");
    assert!(instead.starts_with("it holds"), "{instead}");
    let instead = one("  expect slow-heat holds with 71.8 to 74.7 s");
    assert!(
        instead.ends_with("the value found is 71.7 to 74.7 s"),
        "{instead}"
    );
    let instead = one("  expect tight holds for topp");
    assert_eq!(instead, "the run has no screen `topp`; did you mean `top`?");
    let instead = one("  expect flash-suits holds for step-3");
    assert!(
        instead.starts_with("the run has no flash `step-3`"),
        "{instead}"
    );
    assert_eq!(
        one("  expect tight holds for base"),
        "it does not apply for screen base: `screen.ink.bleeds` is no, and it applies when that is yes"
    );
}

#[test]
fn a_rule_that_asks_whether_something_is_stated_says_so() {
    let rules = "rule asked {\n  for each screen\n  when screen.tension stated\n  shall screen.ink.bleeds is no\n  per practice\n}\n\
                 rule bare {\n  for each screen\n  when not (screen.tension stated)\n  shall screen.ink.bleeds is no\n  per practice\n}\n\
                 example one {\n  run \"a.plan\"\n  expect asked holds for base\n  expect bare holds for top\n}\n";
    let mut room = a_room(rules);
    let plan = PLAN.replace("  tension    25 N/cm ± 1 N/cm\n", "");
    room.texts.insert("a.plan".to_owned(), Ok(plan));
    let report = result(&room, TestOptions::default());
    let instead = report.examples[0].failed.iter();
    let instead: Vec<&str> = instead.map(|missed| missed.instead.as_str()).collect();
    assert_eq!(
        instead,
        [
            "it does not apply for screen base: `screen.tension` is not stated, and it applies when that is stated",
            "it does not apply for screen top: `screen.tension` is stated, and it applies when that is not stated",
        ]
    );
}

#[test]
fn what_is_not_expected_fails_too() {
    let room = |belt: &str| {
        let mut room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
        let text = PLAN.replace("2 m/min ± 2 %", belt);
        room.texts.insert("a.plan".to_owned(), Ok(text));
        result(&room, TestOptions::default())
    };
    assert_eq!(room("2 m/min").failed(), 0);
    // 65 s: the `shall` holds, and the `should` breaks.
    let report = room("2.25 m/min");
    assert_eq!(report.failed(), 1);
    let instead = &report.examples[0].failed[0].instead;
    assert!(instead.starts_with("it also breaks"), "{instead}");
}

#[test]
fn outcomes_are_counted_by_rule() {
    let report = result(
        &a_room(
            "example one {\n  run \"a.plan\"\n  expect tight holds for top\n  expect tight does not apply for base\n  expect slow-heat breaks\n}\n",
        ),
        TestOptions::default(),
    );
    let seen: BTreeMap<&str, Vec<(&str, u64)>> = report
        .rules
        .iter()
        .map(|rule| {
            let seen = rule
                .outcomes()
                .map(|(outcome, count)| (outcome.slug(), count));
            (rule.name.as_str(), seen.collect())
        })
        .collect();
    assert_eq!(seen["tight"], [("holds", 1), ("does-not-apply", 1)]);
    assert!(
        seen["slow-heat"].is_empty(),
        "a failed expectation is none that came"
    );
    assert!(seen["flash-suits"].is_empty());
}

/// A room with what would close its holes written into it.
fn closed(room: &Room, report: &ExamplesReport) -> Room {
    let mut room = room.clone();
    let standard = room.texts.get_mut("room.std").unwrap().as_mut().unwrap();
    for closing in &report.pins.closings {
        standard.push('\n');
        standard.push_str(&closing.block);
    }
    for closing in &report.pins.closings {
        if let (Some(path), Some(plan)) = (&closing.path, &closing.plan) {
            room.texts.insert(path.clone(), Ok(plan.clone()));
        }
    }
    room
}

#[test]
fn the_texts_printed_close_every_hole() {
    let room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    let report = result(&room, ALL);
    assert_eq!(report.failed(), 0);
    assert!(report.pins.holes.len() > 20, "{}", report.pins.holes.len());
    for nudge in [
        Nudge::Up,
        Nudge::Down,
        Nudge::Flipped,
        Nudge::Edge,
        Nudge::Dropped,
    ] {
        assert!(
            report.pins.holes.iter().any(|hole| hole.nudge == nudge),
            "{nudge:?}"
        );
    }
    for hole in &report.pins.holes {
        assert!(hole.closed_by.is_some(), "{}: {}", hole.owner, hole.words);
    }
    let again = result(&closed(&room, &report), ALL);
    assert_eq!(again.failed(), 0, "{:?}", again.examples);
    assert!(again.pins.holes.is_empty(), "{:?}", again.pins.holes);
    assert_eq!(again.pins.noticed, again.pins.tried);
}

#[test]
fn a_change_of_the_text_is_noticed_once_all_is_pinned() {
    let room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    let room = closed(&room, &result(&room, ALL));
    let changes = [
        ("at least 60 s", "at least 61 s"),
        ("at least 60 s", "at least 59 s"),
        ("at least 60 s", "above 60 s"),
        ("at least 70 s", "at least 71 s"),
        ("at least 70 s", "at most 70 s"),
        ("above 20 N/cm", "above 21 N/cm"),
        ("above 20 N/cm", "above 19 N/cm"),
        ("above 20 N/cm", "at least 20 N/cm"),
        ("above 20 N/cm", "below 20 N/cm"),
        ("  when       screen.ink.bleeds is yes\n", ""),
        ("bleeds is yes", "bleeds is no"),
        ("flash      3 to 8 s", "flash      4 to 8 s"),
        ("flash      3 to 8 s", "flash      2 to 8 s"),
        ("flash      5 to 9 s", "flash      5 to 10 s"),
        ("flash      5 to 9 s", "flash      5 to 8 s"),
    ];
    for (from, to) in changes {
        let mut room = room.clone();
        let standard = room.texts.get_mut("room.std").unwrap().as_mut().unwrap();
        assert_eq!(standard.matches(from).count(), 1, "{from}");
        *standard = standard.replace(from, to);
        let report = result(&room, TestOptions::default());
        assert!(report.failed() > 0, "`{from}` to `{to}` goes unnoticed");
    }
}

/// A room with a table: both ends, one end, one value, an empty cell, a row for a child of another.
const TABLE: &str = r#"standard "A room" edition "1"

kind ink {
  white      yes/no given
}

kind cloth, one to a run {
  stretches  yes/no given
}

kind screen, many to a run {
  ink        ink given
}

kind film, one to a run {
  peak       temperature from 100 °C to 250 °C set in steps of 1 °C
}

ink plain
ink soft is plain
ink other
cloth cotton
cloth knit
cloth felt

table heat by screen.ink, cloth {
  for each   screen
  shall      film.peak
  per        practice
             | cotton         | knit
  plain      | 140 to 160 °C  | at most 150 °C
  soft       | 135.5 °C       | at least 130 °C
  other      |                | 140 to 145 °C
}

example one {
  run "a.plan"
  expect heat does not apply
}
"#;

#[test]
fn the_cells_of_a_table_are_nudged_and_closed() {
    let mut room = Room::default();
    let plan = "run \"a\" against \"room.std\"\n\nscreen base {\n  ink  other\n}\n\n\
                cloth is felt\n\nfilm {\n  peak  150 °C\n}\n";
    room.texts
        .insert("room.std".to_owned(), Ok(TABLE.to_owned()));
    room.texts.insert("a.plan".to_owned(), Ok(plan.to_owned()));
    let report = result(&room, ALL);
    assert_eq!(report.failed(), 0);
    let words: Vec<&str> = report
        .pins
        .holes
        .iter()
        .map(|hole| hole.words.as_str())
        .collect();
    assert_eq!(
        words,
        [
            "`140 °C` could be `141 °C` for plain, cotton",
            "`140 °C` could be `139 °C` for plain, cotton",
            "`160 °C` could be `161 °C` for plain, cotton",
            "`160 °C` could be `159 °C` for plain, cotton",
            "`150 °C` could be `151 °C` for plain, knit",
            "`150 °C` could be `149 °C` for plain, knit",
            "`135.5 °C` could be `136.5 °C` for soft, cotton",
            "`135.5 °C` could be `134.5 °C` for soft, cotton",
            "`130 °C` could be `131 °C` for soft, knit",
            "`130 °C` could be `129 °C` for soft, knit",
            "`140 °C` could be `141 °C` for other, knit",
            "`140 °C` could be `139 °C` for other, knit",
            "`145 °C` could be `146 °C` for other, knit",
            "`145 °C` could be `144 °C` for other, knit",
        ]
    );
    assert!(
        report
            .pins
            .holes
            .iter()
            .all(|hole| hole.closed_by.is_some())
    );
    assert!(
        report
            .pins
            .holes
            .iter()
            .all(|hole| hole.owner == "table heat")
    );
    let room = closed(&room, &report);
    let again = result(&room, ALL);
    assert_eq!((again.failed(), again.pins.holes.len()), (0, 0));
    let changes = [
        ("140 to 160", "140 to 161"),
        ("140 to 160", "141 to 160"),
        ("at most 150", "at most 151"),
        ("at most 150", "at least 150"),
        ("135.5", "134.5"),
        ("at least 130 °C", "at least 131 °C"),
        ("at least 130 °C", "             "),
        ("140 to 145", "139 to 145"),
        // Then `soft` is held to the row of `plain`.
        ("  soft       | 135.5 °C       | at least 130 °C\n", ""),
    ];
    for (from, to) in changes {
        let mut room = room.clone();
        let standard = room.texts.get_mut("room.std").unwrap().as_mut().unwrap();
        assert_eq!(standard.matches(from).count(), 1, "{from}");
        *standard = standard.replace(from, to);
        let run = test("room.std", TestOptions::default(), &room);
        let noticed = run.found.is_err() || run.found.is_ok_and(|report| report.failed() > 0);
        assert!(noticed, "`{from}` to `{to}` goes unnoticed");
    }
}

#[test]
fn the_same_room_has_the_same_report() {
    let room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    let text = || people(&test("room.std", ALL, &room));
    assert_eq!(text(), text());
}

fn people(run: &TestRun) -> String {
    let mut out = Vec::new();
    let report = run.found.as_ref().unwrap();
    examples(report, &run.store, &Style::default(), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// The report fits a screen unless more is asked for, and says how much it leaves out.
#[test]
fn holes_beyond_a_screen_are_counted() {
    let room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    let run = test("room.std", ALL, &room);
    let holes = run.found.as_ref().unwrap().pins.holes.len();
    let text = people(&run);
    let listed = text.matches("` could be ").count();
    assert!(listed < holes && text.lines().count() <= 40, "{text}");
    assert!(
        text.contains(&format!("and {} more; `--all` lists all", holes - listed)),
        "{text}"
    );
    let style = Style {
        show: Show { passed: true },
        ..Style::default()
    };
    let mut out = Vec::new();
    examples(run.found.as_ref().unwrap(), &run.store, &style, &mut out).unwrap();
    let all = String::from_utf8(out).unwrap();
    assert_eq!(all.matches("` could be ").count(), holes, "{all}");
    assert!(all.contains("  passes  one"), "{all}");
}

#[test]
fn the_views() {
    let room = a_room(
        "example one \"first\" {\n  run \"a.plan\"\n  expect slow-heat breaks at dryer.belt\n  expect tight holds for top\n}\n",
    );
    let run = test("room.std", ALL, &room);
    let report = run.found.as_ref().unwrap();
    insta::assert_snapshot!("examples_people", people(&run));
    let mut out = Vec::new();
    examples_log(report, &run.store, &mut out).unwrap();
    insta::assert_snapshot!("examples_log", String::from_utf8(out).unwrap());
    let mut out = Vec::new();
    examples_junit(report, &run.store, &mut out).unwrap();
    insta::assert_snapshot!("examples_junit", String::from_utf8(out).unwrap());
    let mut out = Vec::new();
    examples_json(report, &run.store, &mut out).unwrap();
    let schema = serde_json::from_str(examples_schema()).unwrap();
    let written: serde_json::Value = serde_json::from_slice(&out).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let wrong: Vec<String> = validator
        .iter_errors(&written)
        .map(|error| error.to_string())
        .collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    assert_eq!(written["examples"][0]["passes"], false);
    assert_eq!(
        written["pins"]["holes"].as_array().unwrap().len(),
        report.pins.holes.len()
    );
}

#[test]
fn examples_are_no_part_of_the_meaning() {
    let digest = |examples: &str| {
        let room = a_room(examples);
        let run = room.check(
            vec!["a.plan".to_owned()],
            strikeoff::check::Options::default(),
        );
        run.report.standards[0].digest.clone()
    };
    let one = digest("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    assert_eq!(one, digest(""));
}

/// The exit code of the command on a room written to a folder.
fn exit(name: &str, room: &Room, arguments: &[&str]) -> (i32, String) {
    run_in(&on_disk(name, room), arguments)
}

/// A folder with the files of a room.
fn on_disk(name: &str, room: &Room) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("examples-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    for (path, text) in &room.texts {
        std::fs::write(folder.join(path), text.as_ref().unwrap()).unwrap();
    }
    folder
}

fn run_in(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_strikeoff"))
        .arg("test")
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), said)
}

/// All files of a folder with their bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).unwrap();
    let file = |entry: std::io::Result<std::fs::DirEntry>| {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        path.is_file().then(|| (name, std::fs::read(path).unwrap()))
    };
    entries.filter_map(file).collect()
}

#[test]
fn written_plans_close_every_hole_and_overwrite_nothing() {
    let room = a_room("example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n");
    let folder = on_disk("written", &room);
    let write = ["room.std", "--write-plans", "more/limits"];
    assert_eq!(run_in(&folder, &write).0, 0);
    let written = files(&folder.join("more/limits"));
    assert!(written.len() > 3 && written.contains_key("examples.std"));
    // Once more: what is there stays, byte for byte.
    let (code, said) = run_in(&folder, &write);
    assert_eq!(code, 2);
    assert!(
        said.contains("is there already, so nothing was written"),
        "{said}"
    );
    assert_eq!(files(&folder.join("more/limits")), written);
    // One file in the way is enough, and then none is written.
    std::fs::create_dir(folder.join("half")).unwrap();
    let plan = written.keys().find(|name| name.ends_with(".plan")).unwrap();
    std::fs::write(folder.join("half").join(plan), "mine").unwrap();
    assert_eq!(run_in(&folder, &["room.std", "--write-plans", "half"]).0, 2);
    assert_eq!(files(&folder.join("half")).len(), 1);
    assert_eq!(files(&folder.join("half"))[plan], b"mine");
    // An example cannot name a plan outside the folder of its standard.
    let (code, said) = run_in(&folder, &["room.std", "--write-plans", "../elsewhere"]);
    assert_eq!(code, 2);
    assert!(said.contains("does not lie in the folder"), "{said}");
    assert!(!folder.join("../elsewhere").exists());
    // Taken in as it says, no hole is left.
    assert_eq!(run_in(&folder, &["room.std", "--pinned"]).0, 1);
    let text = std::fs::read_to_string(folder.join("room.std")).unwrap();
    let (head, rest) = text.split_once('\n').unwrap();
    let text = format!("{head}\n\nuse \"more/limits/examples.std\"\n{rest}");
    std::fs::write(folder.join("room.std"), text).unwrap();
    let (code, said) = run_in(&folder, &["room.std", "--pinned"]);
    assert_eq!((code, said.as_str()), (0, ""));
    // The plans name the standard from where they lie now.
    let check = std::process::Command::new(env!("CARGO_BIN_EXE_strikeoff"))
        .args(["check", "more/limits", "--as", "log"])
        .current_dir(&folder)
        .output()
        .unwrap();
    let said = String::from_utf8(check.stdout).unwrap();
    assert!(
        said.contains(&format!(
            "{} plans checked, 0 not checked",
            written.len() - 1
        )),
        "{said}"
    );
}

#[test]
fn exit_codes() {
    let passes = "example one {\n  run \"a.plan\"\n  expect slow-heat holds\n}\n";
    let room = a_room(passes);
    assert_eq!(exit("holes", &room, &["room.std"]).0, 0);
    assert_eq!(exit("pinned", &room, &["room.std", "--pinned"]).0, 1);
    let all = closed(&room, &result(&room, ALL));
    assert_eq!(exit("closed", &all, &["room.std", "--pinned"]).0, 0);
    let fails = a_room(&passes.replace("holds", "breaks"));
    assert_eq!(exit("fails", &fails, &["room.std"]).0, 1);
    let (code, said) = exit(
        "trouble",
        &a_room(&passes.replace("slow", "slwo")),
        &["room.std"],
    );
    assert_eq!(code, 2);
    assert!(said.contains("unknown-rule"), "{said}");
    let mut plan = room.clone();
    plan.texts
        .insert("a.plan".to_owned(), Ok(PLAN.replace("belt ", "blet ")));
    let (code, said) = exit("plan", &plan, &["room.std"]);
    assert_eq!(code, 2);
    assert!(said.contains("unknown-setting"), "{said}");
    let (code, said) = exit("none", &a_room(""), &["room.std"]);
    assert_eq!(code, 2);
    assert!(said.contains("no example"), "{said}");
    assert_eq!(exit("wrong-file", &room, &["a.plan"]).0, 2);
    assert_eq!(exit("missing", &room, &["b.std"]).0, 2);
}
