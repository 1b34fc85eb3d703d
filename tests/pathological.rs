//! Inputs made to be slow: each is answered after bounded work, and none brings the program down.
//!
//! Work is counted, as the engine counts it, and no clock is looked at: the same on every machine. Text that
//! takes too long to be read shows as a run of these tests that does not end.

use std::fmt::Write as _;

use crate::demo_room::{self, Room};
use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{Code, Outcome, Report};
use strikeoff::report::{Format, Style, render};

/// Nothing here may count more steps: twice what the budgets of one check come to (help 8, figures 6, values 3 and
/// searches 1 million).
const MOST_WORK: u64 = 36_000_000;

const FORMATS: [Format; 5] = [
    Format::People,
    Format::Log,
    Format::Json,
    Format::Sarif,
    Format::Junit,
];

/// Checks a plan against a room whose root is `room.std`, shows it in every view: all within the bound.
fn bounded(name: &str, room: &Room, plan: &str) -> Report {
    let (mut store, prepared) = room.prepare("room.std");
    let file = store.add("a.plan", plan);
    let plan = check_plan(&store, &prepared, 0, file, Options::default());
    eprintln!("{name}: {} steps", plan.work);
    assert!(plan.work < MOST_WORK, "{name}: {}", plan.work);
    let report = demo_room::report_of(&prepared, Some(plan));
    for format in FORMATS {
        render(
            &report,
            &store,
            format,
            &Style::default(),
            &mut std::io::sink(),
        )
        .unwrap();
    }
    report
}

/// The whole size when `STRIKEOFF_LONG` is set, else a tenth of it.
fn size(whole: usize) -> usize {
    if std::env::var_os("STRIKEOFF_LONG").is_some() {
        whole
    } else {
        whole / 10
    }
}

fn outcome(report: &Report, rule: &str) -> Outcome {
    let checks = &report.plans[0].checks;
    let found = checks.iter().find(|check| check.rule == rule);
    let problems: Vec<&String> = report.all_diagnostics().map(|one| &one.headline).collect();
    found.unwrap_or_else(|| panic!("{problems:#?}")).outcome
}

const HEAD: &str = "standard \"a\" edition \"1\"\n";
const RUN: &str = "run \"a\" against \"room.std\"\n";

/// A standard with one kind `bed` of these settings and one rule of these clauses.
fn bed(settings: &str, rule: &str) -> Room {
    Room::of(&format!(
        "{HEAD}kind bed, one to a run \"a\" {{\n{settings}}}\nrule r {{\n{rule}  per practice\n}}\n"
    ))
}

fn plan(settings: &str) -> String {
    format!("{RUN}bed {{\n{settings}}}\n")
}

#[test]
fn long_files_and_long_lines() {
    let room = bed("  x number set\n", "  shall bed.x above 0\n");
    let lines = |line: &str| format!("{RUN}bed {{\n{}}}\n", line.repeat(size(100_000)));
    for (name, text) in [
        ("100,000 comments", lines("  # a\n")),
        ("100,000 doubles", lines("  x 1\n")),
        ("100,000 unknown settings", lines("  xyz 1\n")),
        ("100,000 broken lines", lines("  x = ?? 1\n")),
        (
            "100,000 broken statements",
            format!("{RUN}{}", "?? a\n".repeat(size(100_000))),
        ),
        (
            "100,000 records",
            format!("{RUN}{}", "bed {\n}\n".repeat(size(100_000))),
        ),
        (
            "10 MB of words",
            format!("{RUN}{}", "word ".repeat(size(2_000_000))),
        ),
        (
            "10 MB of brackets",
            format!("{RUN}{}", "(".repeat(size(10_000_000))),
        ),
        (
            "10 MB of braces",
            format!("{RUN}{}", "{".repeat(size(10_000_000))),
        ),
        (
            "10 MB of quotes",
            format!("{RUN}{}", "\"".repeat(size(10_000_000))),
        ),
        (
            "10 MB of digits",
            format!("{RUN}bed {{\n  x {}\n}}\n", "1".repeat(size(10_000_000))),
        ),
        (
            "10 MB of text",
            format!(
                "run \"{}\" against \"room.std\"\n",
                "a".repeat(size(10_000_000))
            ),
        ),
        (
            "10 MB of comment",
            format!("{RUN}# {}", "a".repeat(size(10_000_000))),
        ),
        (
            "10 MB of commas",
            format!("{RUN}bed {{\n  x 1{}\n}}\n", ", 1".repeat(size(3_000_000))),
        ),
        (
            "10 MB of controls",
            format!("{RUN}{}", "\u{1}".repeat(size(10_000_000))),
        ),
    ] {
        bounded(name, &room, &text);
    }
}

#[test]
fn nesting() {
    for depth in [40, size(20_000)] {
        for (open, close) in [
            ("(", ")"),
            ("not (", ")"),
            ("- (", ")"),
            ("least(1, ", ")"),
            ("- - ", ""),
            ("not not ", ""),
        ] {
            let condition = format!("{}bed.x{} above 0", open.repeat(depth), close.repeat(depth));
            let room = bed("  x number set\n", &format!("  shall {condition}\n"));
            bounded(&format!("{depth} of {open:?}"), &room, &plan("  x 1\n"));
        }
        let sum = format!("bed.x{} above 0", " + bed.x".repeat(depth));
        bounded(
            &format!("a sum of {depth}"),
            &bed("  x number set\n", &format!("  shall {sum}\n")),
            &plan("  x 1 ± 0.5\n"),
        );
        let many = format!("bed.x above 0{}", " and bed.x above 0".repeat(depth));
        bounded(
            &format!("{depth} conditions"),
            &bed("  x number set\n", &format!("  shall {many}\n")),
            &plan("  x 1 ± 2\n"),
        );
        let path = format!("bed.x{} above 0", ".x".repeat(depth));
        bounded(
            &format!("a path of {depth}"),
            &bed("  x number set\n", &format!("  shall {path}\n")),
            &plan("  x 1\n"),
        );
        let list = format!("least(bed.x{}) above 0", ", bed.x".repeat(depth));
        bounded(
            &format!("{depth} arguments"),
            &bed("  x number set\n", &format!("  shall {list}\n")),
            &plan("  x 1 ± 0.5\n"),
        );
    }
}

#[test]
fn extreme_numbers() {
    let nines = "9".repeat(40);
    let long = "3".repeat(100_000);
    for number in [
        "1e-40",
        "1e40",
        "1e308",
        "1e309",
        "1e-400",
        "1e999",
        "1e999999999",
        "1e-999999999",
        "1e99999999999999999999",
        &nines,
        &long,
        &format!("0.{long}"),
        &format!("1e{long}"),
    ] {
        for value in [
            number.to_owned(),
            format!("{number} ± {number}"),
            format!("{number} ± 5 %"),
            format!("1 to {number}"),
        ] {
            for rule in [
                "bed.x above 0",
                "bed.x * bed.x at least bed.x ^ 2",
                "bed.x - bed.x is 0",
                "1 / bed.x above 0",
                "root(bed.x) above 1",
                "round-up(bed.x) above 1",
            ] {
                let room = bed("  x number set\n", &format!("  shall {rule}\n"));
                let (mut store, prepared) = room.prepare("room.std");
                let file = store.add("a.plan", plan(&format!("  x {value}\n")));
                let plan = check_plan(&store, &prepared, 0, file, Options::default());
                let shown = &number[..number.len().min(30)];
                assert!(plan.work < MOST_WORK, "{shown} in {rule}: {}", plan.work);
            }
        }
        let literal = bed(
            "  x number set\n",
            &format!("  shall bed.x * {number} above {number}\n"),
        );
        let shown = &number[..number.len().min(30)];
        bounded(
            &format!("literal {shown}"),
            &literal,
            &plan("  x 1 ± 0.1\n"),
        );
    }
}

const VALUES: [&str; 5] = [
    "1.0000001 ± 0.00000001",
    "1",
    "3 ± 1",
    "0 ± 1",
    "0.3333333333333333333333 ± 50 %",
];

/// Formulas over formulas: `x0` is stated, each next one is worked out from the one before.
fn tower(levels: usize, formula: &str) -> String {
    let mut settings = "  x0 number\n".to_owned();
    for level in 1..=levels {
        let below = format!("x{}", level - 1);
        writeln!(
            settings,
            "  x{level} number = {}",
            formula.replace('x', &below)
        )
        .unwrap();
    }
    settings
}

#[test]
fn towers_of_formulas() {
    for (levels, formula) in [
        (20, "x ^ 8"),
        (60, "x ^ 8"),
        (60, "x * x"),
        (60, "x + x"),
        (60, "x - x"),
        (60, "x / x"),
        (60, "(x + 1) * (x - 1) / x"),
        (60, "x * x / (x + 1)"),
        (60, "least(x, x * x)"),
        (60, "round-up(x * x)"),
        (60, "root(x * x)"),
        (200, "x + x"),
        (5_000, "x + 1"),
        (10, "x * x * x * x * x * x * x * x"),
        (6, "x ^ 127"),
        (3, "x ^ 10000"),
        (2, "x ^ 2000000000"),
        (2, "x ^ -2000000000"),
        (1, "x ^ 99999999999"),
    ] {
        for value in VALUES.iter().take(size(50)) {
            let rule = format!(
                "  shall bed.x{levels} at least 1\n  shall bed.x{levels} is bed.x{levels}\n  shall bed.x{levels} below 1 or bed.x{levels} above bed.x0\n"
            );
            let room = bed(&tower(levels, formula), &rule);
            bounded(
                &format!("{levels} of {formula}, {value}"),
                &room,
                &plan(&format!("  x0 {value}\n")),
            );
        }
    }
}

#[test]
fn doubts_upon_doubts() {
    // Every setting is used twice, nothing is monotone, and the limit lies in the middle.
    for count in [2, 4, 8, 16, 32] {
        let mut settings = String::new();
        let mut values = String::new();
        let mut sum = "0".to_owned();
        for index in 0..count {
            writeln!(settings, "  x{index} number").unwrap();
            writeln!(values, "  x{index} 1 ± 1").unwrap();
            write!(sum, " + bed.x{index} * bed.x{index} - 2 * bed.x{index}").unwrap();
        }
        for (name, rule) in [
            ("one", format!("  shall {sum} above -0.5\n")),
            (
                "or",
                format!("  shall {sum} above -0.5 or {sum} below -0.7\n"),
            ),
            (
                "when",
                format!(
                    "  when {sum} above -0.5\n  shall {sum} below -0.2 or {sum} above -0.1\n  may {sum} above -0.15\n"
                ),
            ),
            ("three", format!("  shall {sum} above -0.5\n").repeat(3)),
        ] {
            let room = bed(&settings, &rule);
            bounded(&format!("{count} doubts, {name}"), &room, &plan(&values));
        }
    }
}

const STEPS: &str = "step wash \"a\" {\n  x number set\n  y number = wash.previous-wash.y + 1\n  z number = wash.next-wash.z + wash.previous-wash.z\n  c number = choose(wash.next-wash.c, wash.previous-wash.c)\n}\n";

#[test]
fn many_steps() {
    let mut standard = format!("{HEAD}{STEPS}step dry \"a\" {{\n  t number\n}}\n");
    for rule in 0..100 {
        writeln!(standard, "rule r{rule} {{\n  for each wash\n  when wash.previous-dry stated\n  shall wash.x at least wash.previous-dry.t\n  per practice\n}}").unwrap();
    }
    let mut text = format!("{RUN}sequence {{\n");
    for step in 0..size(500) * 2 {
        writeln!(text, "  wash x 2 ± 1\n  dry t {}", 1 + step % 3).unwrap();
    }
    text.push_str("}\n");
    bounded("1,000 steps under 100 rules", &Room::of(&standard), &text);
    let sparse = text
        .replace("  dry t 1\n", "")
        .replace("  dry t 2\n", "")
        .replace("  dry t 3\n", "");
    bounded(
        "1,000 steps, and none before",
        &Room::of(&standard),
        &sparse,
    );
}

#[test]
fn steps_that_need_their_neighbours() {
    for setting in ["y", "z", "c"] {
        let standard = format!(
            "{HEAD}{STEPS}rule r {{\n  for each wash\n  shall wash.{setting} above 0\n  per practice\n}}\n"
        );
        for count in [3, size(300)] {
            let text = format!(
                "{RUN}sequence {{\n  wash x 1, y 1, z 1, c 1\n{}}}\n",
                "  wash x 1\n".repeat(count)
            );
            let report = bounded(
                &format!("{setting} over {count} steps"),
                &Room::of(&standard),
                &text,
            );
            if setting == "y" && count < 40 {
                assert_eq!(outcome(&report, "r"), Outcome::Holds);
            }
        }
    }
}

#[test]
fn many_things() {
    let mut standard = format!(
        "{HEAD}kind ink \"a\" {{\n  x number\n  p range of number\n}}\nkind pan, many to a run \"a\" {{\n  ink ink set\n  x number set\n}}\nink i0 {{\n  x 1\n  p 1 to 2\n}}\n"
    );
    for index in 1..10_000 {
        writeln!(standard, "ink i{index} is i{}", index - 1).unwrap();
    }
    standard.push_str("rule r {\n  for each pan\n  shall pan.ink.x at least 1\n  shall pan.ink is i0\n  shall pan.x within pan.ink.p\n  per practice\n}\n");
    let room = Room::of(&standard);
    bounded(
        "10,000 records in a chain",
        &room,
        &format!("{RUN}pan a {{\n  ink i9999\n  x 1 ± 1\n}}\n"),
    );
    let mut text = RUN.to_owned();
    for index in 0..size(2_000) {
        writeln!(
            text,
            "pan p{index} {{\n  ink i{}\n  x 1 ± 1\n}}",
            index % 50
        )
        .unwrap();
    }
    bounded("2,000 pans", &room, &text);
    let mut wrong = RUN.to_owned();
    for index in 0..200 {
        writeln!(wrong, "pan p{index} {{\n  ink ii{index}x\n}}").unwrap();
    }
    bounded("200 names that are near 10,000 others", &room, &wrong);
    let circle = standard.replace("ink i0 {", "ink i0 is i9999 {");
    let report = bounded(
        "10,000 records in a circle",
        &Room::of(&circle),
        &format!("{RUN}pan a {{\n  ink i9999\n  x 1\n}}\n"),
    );
    assert!(
        report
            .all_diagnostics()
            .any(|one| one.code == Code::InheritanceCycle)
    );
}

#[test]
fn functions_over_functions() {
    let standard = |condition: &str| {
        format!(
            "{HEAD}kind pan, many to a run \"a\" {{\n  x number\n}}\nrule r {{\n  shall {condition} above 0\n  per practice\n}}\n"
        )
    };
    let mut text = RUN.to_owned();
    for index in 0..1_000 {
        writeln!(text, "pan p{index} {{\n  x 1 ± 0.1\n}}").unwrap();
    }
    for condition in [
        "total(pan.x)",
        "total(pan.x * pan.x - pan.x)",
        "total(pan.x) - most(pan.x) * count(pan)",
        "total(pan.x * total(pan.x))",
        "total(total(pan.x) * total(pan.x * total(pan.x)))",
        "total(total(total(total(total(total(pan.x))))))",
    ] {
        bounded(condition, &Room::of(&standard(condition)), &text);
    }
}

#[test]
fn many_files() {
    let mut room = Room::default();
    let mut root = HEAD.to_owned();
    for index in 0..500 {
        writeln!(root, "use \"f{index}.std\"").unwrap();
        room.files.insert(
            format!("f{index}.std"),
            format!(
                "use \"f{}.std\"\nkind k{index} \"a\" {{\n  x number\n}}\n",
                (index + 1).min(499)
            ),
        );
    }
    room.files.insert("room.std".to_owned(), root);
    bounded("500 files", &room, RUN);
    for count in [30, 3_000] {
        let mut chain = Room::default();
        chain
            .files
            .insert("room.std".to_owned(), format!("{HEAD}use \"f0.std\"\n"));
        for index in 0..count {
            chain.files.insert(
                format!("f{index}.std"),
                format!("use \"f{}.std\"\n", index + 1),
            );
        }
        bounded(&format!("{count} files in a chain"), &chain, RUN);
    }
    // Each file uses the next one twice over another name: the ways double, the files do not.
    let mut ladder = Room::default();
    ladder.files.insert(
        "room.std".to_owned(),
        format!("{HEAD}use \"a0.std\"\nuse \"b0.std\"\n"),
    );
    for index in 0..100 {
        for side in ["a", "b"] {
            ladder.files.insert(
                format!("{side}{index}.std"),
                format!("use \"a{0}.std\"\nuse \"b{0}.std\"\n", index + 1),
            );
        }
    }
    bounded("a ladder of files", &ladder, RUN);
}

#[test]
fn odd_units() {
    for unit in [
        "m^127".to_owned(),
        "m^128".to_owned(),
        "m^-128".to_owned(),
        "m^99999999999999999999".to_owned(),
        "m^0".to_owned(),
        "in^127".to_owned(),
        "in^-127/ft^127".to_owned(),
        format!("m{}", "·m".repeat(120)),
        format!("m{}", "·m".repeat(5_000)),
        format!("m{}", "/m".repeat(100_000)),
        format!("m^100{}", "·m^100".repeat(100)),
        format!("m/({})", vec!["m"; 10_000].join("·")),
        "µ".repeat(100_000),
        "²".repeat(1_000),
        format!("m{}", "²".repeat(100_000)),
        "%".repeat(1_000),
        "°C·°C".to_owned(),
        "m^⁻".to_owned(),
    ] {
        let shown: String = unit.chars().take(12).collect();
        let room = bed(
            "  x length set\n",
            &format!(
                "  shall bed.x above 1 {unit}\n  shall bed.x * (1 {unit}) at least bed.x * (1 {unit})\n"
            ),
        );
        bounded(
            &format!("unit {shown}"),
            &room,
            &plan(&format!("  x 1 {unit} ± 5 %\n")),
        );
        bounded(&format!("unit {shown}"), &room, &plan("  x 1 m ± 5 %\n"));
    }
    let mut standard = format!("{HEAD}unit u0 = 1000 m \"a\"\n");
    for index in 1..300 {
        writeln!(standard, "unit u{index} = 1000 u{} \"a\"", index - 1).unwrap();
    }
    standard.push_str("kind bed, one to a run \"a\" {\n  x length set\n}\nrule r {\n  shall bed.x * bed.x / bed.x at least 1 u299\n  per practice\n}\n");
    bounded(
        "a chain of units",
        &Room::of(&standard),
        &plan("  x 1 u299 ± 5 %\n"),
    );
    let circle = standard.replace("unit u0 = 1000 m", "unit u0 = 1000 u299");
    bounded("a circle of units", &Room::of(&circle), &plan("  x 1 m\n"));
}

#[test]
fn many_rules() {
    let mut standard = format!("{HEAD}kind bed, one to a run \"a\" {{\n  x number\n}}\n");
    for index in 0..5_000 {
        writeln!(standard, "rule r{index} {{\n  shall bed.x at least {index}\n  caution \"caution {index}\"\n  per practice\n  adjust bed.x\n}}").unwrap();
    }
    bounded(
        "5,000 rules that break",
        &Room::of(&standard),
        &plan("  x -1 ± 1\n"),
    );
    let twice = standard.replace("rule r4999", "rule r4998").repeat(2);
    bounded("5,000 doubles", &Room::of(&twice), &plan("  x 1 ± 1\n"));
    let mut wrong = format!("{HEAD}kind bed, one to a run \"a\" {{\n");
    for index in 0..1_000 {
        writeln!(wrong, "  setting-{index} number").unwrap();
    }
    wrong.push_str("}\nrule r {\n");
    for index in 0..1_000 {
        writeln!(wrong, "  shall bed.seting-{index} above 0").unwrap();
    }
    wrong.push_str("  per practice\n}\n");
    bounded(
        "1,000 names that are near 1,000 others",
        &Room::of(&wrong),
        RUN,
    );
}
