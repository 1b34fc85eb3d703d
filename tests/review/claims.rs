//! What a review claims of a rule holds in every situation, and what was not known anywhere is claimed of none.

use std::fmt::Write as _;

use strikeoff::diagnostic::{Code, Review};

use super::{marked, of, one, reviewed};

/// A box of a cloth, of which there are two: `soft` with a slack of 5, `hard` with one of 9.
const ROOM: &str = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide   length from 0 to 50 cm  \"w\"  set in steps of 1 cm\n  tall   number from 0 to 50  \"t\" set\n  label  text \"l\" given\n  free   number \"n\" set\n  area   number = box.tall * box.tall \"a\"\n  cloth  bed \"c\" given\n}\nkind bed \"a bed\" {\n  slack  length from 0 to 20 cm  \"s\" given\n}\nbed soft {\n  slack  5 cm\n}\nbed hard {\n  slack  9 cm\n}\n";

fn text(rules: &[(&str, &[&str])]) -> String {
    let mut text = ROOM.to_owned();
    for (name, clauses) in rules {
        let clauses = clauses.join("\n  ");
        let _ = writeln!(
            text,
            "rule {name} {{\n  {clauses}\n  because \"so it is\"\n  per practice\n}}"
        );
    }
    text
}

fn found(rules: &[(&str, &[&str])]) -> Review {
    reviewed(&one(&text(rules)), "room.std").1
}

fn headlines(found: &Review, code: Code) -> Vec<&str> {
    let findings = of(found, code).into_iter();
    findings
        .map(|finding| finding.said.headline.as_str())
        .collect()
}

/// Where its `when` is true a rule may be impossible with one record and not with the other.
#[test]
fn a_rule_that_some_record_keeps_where_it_applies_is_no_contradiction() {
    let one = |when: &'static str| {
        let stuck = ["shall  box.wide at least box.cloth.slack"];
        [vec![when], stuck.to_vec()].concat()
    };
    let tall = "when  box.tall at least 20";
    let clash = |when: &'static str, most: &'static str| {
        let clauses = one(when);
        found(&[("one", &clauses), ("two", &[most])])
    };
    let both = clash(tall, "shall  box.wide at most 3 cm");
    let told = of(&both, Code::Contradiction);
    assert_eq!(told.len(), 1, "{both:#?}");
    // The first of the records says how much is asked.
    assert!(
        told[0].said.labels()[0].words.ends_with("at least 5 cm"),
        "{told:#?}"
    );
    let room = "shall  box.wide at most 7 cm";
    assert_eq!(of(&clash(tall, room), Code::Contradiction).len(), 0);
    // With the first record it applies anyhow, and can be kept.
    let either = "when  box.cloth is soft or box.tall at least 20";
    assert_eq!(of(&clash(either, room), Code::Contradiction).len(), 0);
}

#[test]
fn limits_of_one_clause_that_exclude_each_other_are_a_contradiction() {
    let never: &[&str] = &[
        "when  box.cloth is soft",
        "shall  box.wide at least 10 cm and box.wide at most 5 cm",
    ];
    let found = found(&[("one", never)]);
    assert_eq!(of(&found, Code::Contradiction).len(), 1, "{found:#?}");
}

/// What a `when` comes to may not be known: then nothing is said of how often it applies.
#[test]
fn a_when_that_is_not_known_is_not_called_unused() {
    for when in [
        "when  box.label is \"x\"",
        "when  box.free * box.free * box.free - box.free is 17.31",
    ] {
        let found = found(&[("one", &[when, "shall  box.wide at least 5 cm"])]);
        assert_eq!(of(&found, Code::RuleUnused).len(), 0, "{when}: {found:#?}");
        assert_eq!(of(&found, Code::DeadRule).len(), 0, "{when}: {found:#?}");
    }
    let never = found(&[(
        "one",
        &[
            "when  box.cloth.slack above 19 cm",
            "shall  box.wide at least 5 cm",
        ],
    )]);
    assert_eq!(of(&never, Code::RuleUnused).len(), 1, "{never:#?}");
}

/// No situation meets the two at once, so that the rule is not looked at with any: why it never applies is said all the same.
#[test]
fn parts_of_a_when_that_no_record_meets_together_are_named() {
    let whens = ["when  box.cloth is soft", "when  box.cloth is hard"];
    let clauses = [whens[0], whens[1], "shall  box.wide at most 40 cm"];
    let text = text(&[("one", &clauses)]);
    let (run, found) = reviewed(&one(&text), "room.std");
    let dead = of(&found, Code::DeadRule);
    assert_eq!(dead.len(), 1, "{found:#?}");
    assert_eq!(
        marked(&run, dead[0]),
        ["box.cloth is soft", "box.cloth is hard"]
    );
}

/// Nothing that a plan can set decides these limits: how a record keeps them is no matter of a limit that never binds.
#[test]
fn limits_on_records_alone_are_not_said_to_never_bind() {
    let found = found(&[("one", &["shall  box.cloth.slack at most 30 cm"])]);
    assert_eq!(of(&found, Code::NeverBinds).len(), 0, "{found:#?}");
    assert_eq!(of(&found, Code::Implied).len(), 0, "{found:#?}");
}

/// A window that no place of the dial lies in, of each cloth; and none where the rules clash anyhow.
#[test]
fn a_window_is_told_of_combinations_in_which_its_rules_can_be_kept() {
    let low = "shall  box.wide at least 10.2 cm";
    let high = "shall  box.wide at most 10.7 cm";
    let soft = "when  box.cloth is soft";
    let each = found(&[
        ("one", &[low]),
        (
            "two",
            &["when  box.cloth is soft or box.cloth is hard", high],
        ),
    ]);
    let told = of(&each, Code::WindowTooNarrow);
    assert_eq!(told.len(), 1, "{each:#?}");
    assert_eq!(told[0].noun, "combination");
    assert_eq!(told[0].members, ["soft", "hard"]);
    let three = "shall  box.wide at most 5 cm";
    let clash = found(&[
        ("one", &[soft, low]),
        ("two", &[soft, high]),
        ("three", &[soft, three]),
    ]);
    assert_eq!(of(&clash, Code::Contradiction).len(), 1, "{clash:#?}");
    assert_eq!(of(&clash, Code::WindowTooNarrow).len(), 0, "{clash:#?}");
}

/// A run may have many screens, the review's own run has one: nothing follows from what that one adds up to.
#[test]
fn a_total_over_all_screens_is_not_that_of_one() {
    let text = "standard \"A room\" edition \"1\"\n\nkind screen, many to a run \"a screen\" {\n  thick  number from 0 to 10 \"t\" set\n}\nkind press, one to a run \"a press\" {\n  base   number from 0 to 5 \"b\" set\n  total  number from 0 to 1000 = press.base + total(screen.thick) \"all\"\n}\nrule one {\n  shall  press.base at most 4\n  because \"so it is\"\n  per practice\n}\nrule three {\n  for each  screen\n  shall  screen.thick at most 9\n  because \"so it is\"\n  per practice\n}\n";
    // Two screens of 9 do it; one does not.
    for two in ["at least 15", "at most 20"] {
        let rule = format!(
            "rule two {{\n  shall  press.total {two}\n  because \"so it is\"\n  per practice\n}}\n"
        );
        let found = reviewed(&one(&format!("{text}{rule}")), "room.std").1;
        assert_eq!(
            of(&found, Code::Contradiction).len(),
            0,
            "{two}: {found:#?}"
        );
        assert_eq!(of(&found, Code::Implied).len(), 0, "{two}: {found:#?}");
    }
}

/// Each rule is met with its own record alone, so that 501 of them are looked at together.
#[test]
fn rules_of_one_record_each_are_looked_at_together_however_many_there_are() {
    let mut rules = String::new();
    let mut text = String::from(
        "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number from 0 to 5000 \"w\" set\n  cloth bed \"c\" given\n}\nkind bed \"a bed\" {\n  slack number from 0 to 5000 \"s\" given\n}\n",
    );
    let rule = |name: &str, record: u32, limit: &str| {
        format!(
            "rule {name} {{\n  when box.cloth is b{record}\n  shall box.wide {limit}\n  because \"so it is\"\n  per practice\n}}\n"
        )
    };
    for number in 0..500 {
        let _ = writeln!(text, "bed b{number} {{\n  slack {number}\n}}");
        let limit = format!("at most {}", 10 + number);
        rules.push_str(&rule(&format!("r{number}"), number, &limit));
    }
    rules.push_str(&rule("clash", 7, "at least 1000"));
    let found = reviewed(&one(&format!("{text}{rules}")), "room.std").1;
    assert_eq!(of(&found, Code::NotDecided).len(), 0);
    assert_eq!(of(&found, Code::Contradiction).len(), 1);
}

/// What a rule reads by way of a formula is read; what ships for the review's own use is not the room's.
#[test]
fn settings_are_read_by_way_of_formulas_and_what_ships_for_others_is_not_missed() {
    let mut text = text(&[("one", &["shall  box.area at most 50"])]);
    text = text.replace("edition \"1\"\n", "edition \"1\"\nuse slips\n");
    let found = reviewed(&one(&text), "room.std").1;
    let unread = headlines(&found, Code::SettingUnread);
    assert!(
        unread.iter().any(|said| said.contains("box.wide")),
        "{unread:?}"
    );
    assert!(
        !unread.iter().any(|said| said.contains("box.tall")),
        "{unread:?}"
    );
    assert_eq!(
        headlines(&found, Code::KindWithoutRules),
        ["no rule speaks of any `bed`"]
    );
}
