//! The view for people.

use super::fixture::{self, Case};
use super::{shown, style};
use strikeoff::diagnostic::Outcome;
use strikeoff::report::{Format, Show, Style};

#[test]
fn every_case() {
    for (name, case) in fixture::all() {
        insta::assert_snapshot!(
            format!("person_{name}"),
            shown(&case, Format::People, &style())
        );
    }
}

#[test]
fn narrated_ascii_and_tables() {
    let plain = Style {
        plain: true,
        ..style()
    };
    insta::assert_snapshot!(
        "person_plain",
        shown(&fixture::two_files(), Format::People, &plain)
    );
    let ascii = Style {
        unicode: false,
        show: Show { passed: true },
        ..style()
    };
    insta::assert_snapshot!(
        "person_ascii",
        shown(&fixture::several(), Format::People, &ascii)
    );
}

#[test]
fn colour_changes_no_word() {
    let colour = Style {
        colour: true,
        ..style()
    };
    for (name, case) in fixture::all() {
        let coloured = shown(&case, Format::People, &colour);
        assert!(coloured.contains("\u{1b}["), "{name}");
        let mut bare = String::new();
        let mut rest = coloured.as_str();
        while let Some((before, after)) = rest.split_once("\u{1b}[") {
            bare.push_str(before);
            rest = after.split_once('m').unwrap().1;
        }
        bare.push_str(rest);
        // Blanks at line ends hide behind a colour's end.
        let lines = |text: &str| {
            text.lines()
                .map(|line| line.trim_end().to_owned())
                .collect::<Vec<_>>()
        };
        assert_eq!(
            lines(&bare),
            lines(&shown(&case, Format::People, &style())),
            "{name}"
        );
    }
}

#[test]
fn beyond_the_limit_one_line_each() {
    let case = fixture::many(250);
    let text = shown(
        &case,
        Format::People,
        &Style {
            full: Some(10),
            ..style()
        },
    );
    assert_eq!(text.matches("the standard says:").count(), 10);
    assert_eq!(
        text.matches("plans/long.plan:").count(),
        250 + 1,
        "heading and each finding"
    );
    assert!(
        text.contains(
            "240 of 250 findings have one line only; `--full 250` shows every one in full."
        )
    );
    assert!(
        !shown(
            &case,
            Format::People,
            &Style {
                full: Some(250),
                ..style()
            }
        )
        .contains("one line only")
    );
}

#[test]
fn the_end_of_a_long_file() {
    let text = shown(&fixture::many(1), Format::People, &style());
    assert!(text.contains("[plans/long.plan:100000:8]"), "{text}");
    assert!(text.contains("  99999 │ "), "one line before: {text}");
    assert!(text.contains("100000 │ "), "{text}");
    assert!(text.lines().count() < 45, "{text}");
}

#[test]
fn a_mark_stands_under_its_text() {
    // Degree signs are two bytes and one column: the mark must not drift.
    let text = shown(&fixture::two_files(), Format::People, &style());
    let mut lines = text
        .lines()
        .skip_while(|line| !line.contains("belt 2.1 m/min"));
    let column = |line: &str, mark: &str| line.find(mark).map(|at| line[..at].chars().count());
    let code = lines.next().unwrap();
    let mark = lines.next().unwrap();
    assert_eq!(
        column(code, "2.1 m/min"),
        column(mark, "─"),
        "{code}\n{mark}"
    );
}

#[test]
fn nothing_checked_is_said() {
    for case in [
        fixture::no_place(),
        {
            let mut case = Case::new();
            case.report.plans[0].checked = false;
            case
        },
        Case::new(),
    ] {
        let text = shown(&case, Format::People, &style());
        assert!(text.contains("nothing was checked"), "{text}");
        for outcome in Outcome::ALL {
            assert!(text.contains(&format!("{} 0", outcome.word())), "{text}");
        }
    }
}

#[test]
fn risk_may_be_allowed() {
    let mut case = fixture::at_risk();
    assert!(shown(&case, Format::People, &style()).contains("tees: does not pass. "));
    case.report.allow_risk = true;
    assert!(shown(&case, Format::People, &style()).contains("tees: passes (at risk is allowed). "));
}

#[test]
fn no_word_twice() {
    let text = shown(&fixture::two_files(), Format::People, &style());
    for once in [
        "65.8 to 74.0 s",
        "14.2 s short",
        "common practice",
        "dryer.dwell",
    ] {
        assert_eq!(text.matches(once).count(), 1, "{once} in\n{text}");
    }
}

#[test]
fn a_caution_is_said_once() {
    let mut case = fixture::several();
    let mut again = case.report.plans[0].clone();
    again.cautions.push(again.cautions[0].clone());
    case.report.plans.push(again);
    let text = shown(&case, Format::People, &style());
    assert_eq!(text.matches("hot-work").count(), 1, "{text}");
    assert!(text.contains("[2 of 3 plans]"), "{text}");
}
