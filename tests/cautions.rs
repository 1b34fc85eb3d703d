//! Branches that add caution: each of these fails where the branch is left out.

use std::fmt::Write as _;

use crate::room::Room;
use strikeoff::check::Options;
use strikeoff::cli::review;
use strikeoff::diagnostic::{Code, Outcome, Review};

const HEAD: &str = "standard \"A made-up room\" edition \"1\"\n\n";

fn room(standard: &str, plan: &str) -> Room {
    let mut room = Room::default();
    let standard = format!("{HEAD}{standard}");
    let plan = format!("run \"a\" against \"room.std\"\n{plan}");
    room.texts.insert("room.std".to_owned(), Ok(standard));
    room.texts.insert("a.plan".to_owned(), Ok(plan));
    room
}

/// What the one rule of a room comes to, and what is said of it.
fn outcome(standard: &str, plan: &str) -> (Outcome, Vec<Code>) {
    let room = room(standard, plan);
    let run = room.check(vec!["a.plan".to_owned()], Options::default());
    let report = &run.report.plans[0];
    assert_eq!(report.checks.len(), 1, "{:?}", report.diagnostics);
    let said = report.diagnostics.iter().map(|said| said.code).collect();
    (report.checks[0].outcome, said)
}

fn reviewed(standard: &str) -> Review {
    review("room.std", &room(standard, ""))
        .found
        .expect("the standard has no error")
}

fn headlines(found: &Review, code: Code) -> Vec<String> {
    let of = found
        .findings
        .iter()
        .filter(|finding| finding.said.code == code);
    of.map(|finding| finding.said.headline.clone()).collect()
}

fn rule(name: &str, clauses: &str) -> String {
    format!("rule {name} {{\n  {clauses}\n  because \"so it is\"\n  per practice\n}}\n")
}

/// A table by what a reference leads to, by way of so many others.
fn by_way_of(many: usize) -> (Outcome, Vec<Code>) {
    let mut text = String::from(
        "kind ink \"an ink\" {\n}\nkind screen, many to a run \"a screen\" {\n  mesh number from 1 to 200 \"m\" set\n  s0 ink \"its ink\" given\n",
    );
    for number in 1..=many {
        let _ = writeln!(text, "  s{number} ink = s{} \"the same\"", number - 1);
    }
    let _ = write!(
        text,
        "}}\nink soft {{\n}}\n\ntable t by screen.s{many} {{\n  for each screen\n  shall screen.mesh\n  because \"so it is\"\n  per practice\n  soft | at least 100\n}}\n"
    );
    outcome(&text, "screen x {\n  mesh 150\n  s0 soft\n}\n")
}

#[test]
fn a_table_whose_row_cannot_be_worked_out_is_not_passed_over() {
    assert_eq!(by_way_of(5).0, Outcome::Holds);
    let (outcome, said) = by_way_of(70);
    assert_ne!(outcome, Outcome::Holds);
    assert_ne!(outcome, Outcome::DoesNotApply);
    assert!(said.contains(&Code::CannotWorkOut), "{said:?}");
}

/// Values that bear on a rule in two places are told apart by cutting; of very many, that is not tried.
#[test]
fn more_tolerances_than_are_cut_stay_at_risk() {
    let with = |others: usize| {
        let mut text =
            String::from("kind box, one to a run \"b\" {\n  x number from 0 to 100 \"x\" set\n");
        let mut plan = String::from("box {\n  x 60 ± 10\n");
        let mut sum = Vec::new();
        for number in 0..others {
            let _ = writeln!(text, "  y{number} number from 0 to 10 \"y\" set");
            let _ = writeln!(plan, "  y{number} 1 ± 0.001");
            sum.push(format!("box.y{number}"));
        }
        let sum = sum.join(" + ");
        let limits = format!("when box.x at least 60\n  shall box.x at least 59 or {sum} below 0");
        text = format!("{text}}}\n{}", rule("a", &limits));
        outcome(&text, &format!("{plan}}}\n")).0
    };
    assert_eq!(with(63), Outcome::Holds, "64 of them");
    assert_eq!(with(64), Outcome::AtRisk, "65 of them");
}

const BOX: &str = "kind box, one to a run \"a box\" {\n  deep number from 0 to 6 \"d\" set\n}\n";

/// No decimal is the root of 2: whether the rule can be kept hangs on a difference that is too small to cut.
#[test]
fn what_hangs_on_too_small_a_difference_is_said() {
    let found = reviewed(&format!(
        "{BOX}{}",
        rule("root", "shall box.deep * box.deep is 2")
    ));
    assert_eq!(
        headlines(&found, Code::Contradiction).len(),
        0,
        "{found:#?}"
    );
    let said = headlines(&found, Code::NotDecided);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("`root`") && said[0].contains("not known closely enough"),
        "{said:?}"
    );
    // What can be told apart is decided.
    let found = reviewed(&format!(
        "{BOX}{}",
        rule("root", "shall box.deep * box.deep is 40")
    ));
    assert_eq!(headlines(&found, Code::NotDecided).len(), 0, "{found:#?}");
    assert_eq!(
        headlines(&found, Code::Contradiction).len(),
        1,
        "{found:#?}"
    );
}

/// A `when` of hundreds of choices: that it was not found out whether the rule applies is said, and nothing is claimed.
#[test]
fn what_takes_more_work_than_one_question_may_is_said() {
    let with = |choices: usize| {
        let mut text = String::from(
            "kind box, one to a run \"a box\" {\n  last number from 0 to 10 \"l\" set\n",
        );
        let mut whens = String::new();
        for number in 0..choices {
            let _ = writeln!(text, "  s{number} number from 0 to 10 \"s\" set");
            let _ = writeln!(text, "  t{number} number from 0 to 10 \"t\" set");
            let _ = write!(
                whens,
                "when box.s{number} at most 4 or box.t{number} at least 6\n  "
            );
        }
        let all = rule("many", &format!("{whens}shall box.last at most 5"));
        reviewed(&format!("{text}}}\n{all}"))
    };
    let few = with(100);
    assert_eq!(headlines(&few, Code::NotDecided).len(), 0, "{few:#?}");
    let many = with(300);
    let said = headlines(&many, Code::NotDecided);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("`many`") && said[0].contains("more work"),
        "{said:?}"
    );
    assert_eq!(headlines(&many, Code::DeadRule).len(), 0);
}

/// Five groups of rules with 15,625 combinations each are more than there is work for: of a rule that applies in the last
/// of them only, nothing is claimed.
#[test]
fn combinations_that_were_not_looked_at_are_said() {
    let mut text = String::new();
    let records = 24;
    for group in 0..5 {
        for kind in ["a", "b", "c"] {
            let _ = write!(
                text,
                "\nkind {kind}{group}, one to a run \"k\" {{\n  size number from 0 to 100 \"s\" set\n  free number from 0 to 10 \"f\" set\n}}\n"
            );
            for number in 0..records {
                let size = if number + 1 == records { 95 } else { number };
                let _ = write!(
                    text,
                    "{kind}{group} {kind}{group}-{number} {{\n  size {size}\n}}\n"
                );
            }
        }
        for number in 0..11 {
            let whens: Vec<String> = ["a", "b", "c"]
                .iter()
                .map(|kind| format!("when {kind}{group}.size above 90\n  "))
                .collect();
            let limit = format!("{}shall a{group}.free at most 5", whens.concat());
            text += &rule(&format!("g{group}-{number}"), &limit);
        }
    }
    let found = reviewed(&text);
    let said = headlines(&found, Code::NotDecided);
    assert_eq!(said.len(), 5, "{said:?}");
    assert!(
        said[0].contains("more combinations of records than there is work for"),
        "{said:?}"
    );
    for code in [
        Code::DeadRule,
        Code::NeverBinds,
        Code::Implied,
        Code::NoLimit,
    ] {
        assert_eq!(headlines(&found, code), Vec::<String>::new());
    }
}
