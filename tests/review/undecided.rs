//! What is not decided is never called proved, is said first, and costs no other rule its answer.

use std::fmt::Write as _;

use strikeoff::cli::{ReviewRun, review};
use strikeoff::diagnostic::{Code, Evidence, Review};

use super::{marked, of, one, reviewed};

fn rule(name: &str, clauses: &str) -> String {
    format!("rule {name} {{\n  {clauses}\n  because \"so it is\"\n  per practice\n}}\n")
}

/// A box whose sides have no end, and whose depth has one.
const BOX: &str = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number \"w\" set\n  tall number \"t\" set\n  deep number from 0 to 6 \"d\" set\n}\n\n";

fn box_with(rules: &[String]) -> Review {
    reviewed(&one(&format!("{BOX}{}", rules.concat())), "room.std").1
}

/// One way of the first rule is impossible (`deep above 7`), the other rests on values without end:
/// nothing was shown, though no run was found.
#[test]
fn an_open_way_beside_an_impossible_one_is_not_proved() {
    let figure = "box.wide * box.tall * box.wide - box.tall * box.wide is 17.31";
    let found = box_with(&[
        rule("one", &format!("shall {figure} or box.deep above 7")),
        rule("two", "shall box.wide at least 100"),
    ]);
    assert_eq!(of(&found, Code::Contradiction).len(), 0, "{found:#?}");
    assert_eq!(of(&found, Code::NotDecided).len(), 1, "{found:#?}");
    // Where the other way is impossible too, it is proved.
    let found = box_with(&[
        rule("one", "shall box.deep at least 6.5 or box.deep above 7"),
        rule("two", "shall box.wide at least 100"),
    ]);
    assert_eq!(of(&found, Code::Contradiction).len(), 1, "{found:#?}");
}

/// 4,000,000,000 times as much as the far ends that stand in for none: no proof, where an end makes it one.
#[test]
fn a_value_without_end_proves_nothing() {
    let clash = [
        rule(
            "one",
            "shall box.wide * box.tall at least 100000000000000000000",
        ),
        rule(
            "two",
            "shall box.wide * box.tall at most 99999999999999999999",
        ),
    ];
    let never = [rule(
        "never",
        "shall box.wide * box.tall at most 100000000000000000000",
    )];
    assert_eq!(of(&box_with(&clash), Code::Contradiction).len(), 0);
    assert_eq!(of(&box_with(&never), Code::NeverBinds).len(), 0);
    let ended = |rules: &[String]| {
        let text = format!("{BOX}{}", rules.concat());
        let text = text.replace("wide number \"", "wide number from 1 to 10 \"");
        let text = text.replace("tall number \"", "tall number from 1 to 10 \"");
        reviewed(&one(&text), "room.std").1
    };
    assert_eq!(of(&ended(&never), Code::NeverBinds).len(), 1);
}

/// Kinds with records that state what the wide rule reads: 12 by 12 by 12 by 12 by 12 combinations.
fn wide(rules: &[String]) -> String {
    let mut text = String::from("standard \"A room\" edition \"1\"\n");
    for kind in ["a", "b", "c", "d", "e"] {
        let _ = write!(
            text,
            "\nkind {kind}, one to a run \"{kind}\" {{\n  size number from 0 to 100 \"s\"\n  free number from 0 to 10 \"f\"\n}}\n"
        );
        for number in 0..12 {
            let _ = write!(text, "\n{kind} {kind}-{number} {{\n  size {number}\n}}\n");
        }
    }
    text + "\n" + &rules.concat()
}

fn slugs(found: &Review) -> Vec<(Code, String)> {
    let told = found.findings.iter();
    // What `south` reads as well is read by a rule.
    let aside = [Code::NotDecided, Code::SettingUnread];
    let told = told.filter(|finding| !aside.contains(&finding.said.code));
    told.map(|finding| (finding.said.code, finding.said.headline.clone()))
        .collect()
}

/// One rule that reads what records of five kinds state does not cost the others their answers.
#[test]
fn a_rule_with_too_many_combinations_does_not_starve_the_rest() {
    let rest = [
        rule("never", "shall a.free at most 10"),
        rule("high", "shall b.free at least 8"),
        rule("low", "shall b.free at most 7"),
        rule("dead", "when c.free above 20\n  shall c.free at least 1"),
        rule(
            "other",
            "shall d.free at least 1\n  shall e.free at least 1",
        ),
    ];
    let south = rule(
        "south",
        "shall a.size * a.free + b.size * b.free + c.size * c.free + d.size * d.free + e.size * e.free at most 100000",
    );
    let (_, alone) = reviewed(&one(&wide(&rest)), "room.std");
    let mut all = rest.to_vec();
    all.push(south);
    let (run, found) = reviewed(&one(&wide(&all)), "room.std");
    assert_eq!(of(&alone, Code::NeverBinds).len(), 1);
    assert_eq!(of(&alone, Code::Contradiction).len(), 1);
    assert_eq!(of(&alone, Code::DeadRule).len(), 1);
    assert_eq!(slugs(&alone), slugs(&found));
    // It stands first, names the rule, and says how many there are.
    let first = &found.findings[0];
    assert_eq!(first.said.code, Code::NotDecided);
    assert_eq!(first.ground, Evidence::NotDecided);
    assert!(first.said.headline.contains("`south`"), "{first:#?}");
    assert!(
        first.said.headline.contains("371293 combinations"),
        "{first:#?}"
    );
    assert!(marked(&run, first)[0].starts_with("shall a.size * a.free"));
}

/// What a rule that was set aside limits may have its limit by it: that is not called missing.
#[test]
fn a_limit_that_was_not_looked_at_may_be_the_missing_one() {
    let limits = rule("limits", "when a is a-1\n  shall a.free at most 5");
    let south = rule(
        "south",
        "shall a.size * a.free + b.size + c.size + d.size + e.size at most 30",
    );
    let (_, found) = reviewed(&one(&wide(std::slice::from_ref(&limits))), "room.std");
    let missing = |found: &Review| {
        let told = of(found, Code::NoLimit).into_iter();
        told.filter(|finding| finding.said.headline.contains("a.free"))
            .count()
    };
    assert_eq!(missing(&found), 1, "{found:#?}");
    let (_, found) = reviewed(&one(&wide(&[limits, south])), "room.std");
    assert_eq!(missing(&found), 0, "{found:#?}");
}

/// A rule that reads what a figure is worked out from changes nothing of what is said of the others, neither how often
/// nor for which records.
#[test]
fn what_is_found_without_a_rule_is_found_with_it() {
    let mut text = String::from(
        "standard \"A room\" edition \"1\"\n\nkind dryer, one to a run \"d\" {\n  chamber length from 1 m to 10 m \"c\" set\n  belt speed from 0.05 to 20 m/min \"b\" set\n  shown speed from 0.05 to 20 m/min \"what the dial says\" set\n  slow share from 0 % to 50 % \"slower by\" set\n  real speed = shown * (1 - slow) \"what it does\"\n  dwell time = chamber / belt \"d\"\n}\nkind cloth, one to a run \"c\" {\n}\n",
    );
    for number in 0..5 {
        let _ = write!(
            text,
            "dryer d{number} {{\n  chamber {} m\n  slow {number} %\n}}\ncloth c{number} {{\n}}\n",
            number + 2
        );
    }
    text += &rule(
        "slow",
        "when cloth is c0\n  shall dryer.dwell at least 65 s",
    );
    let south = rule(
        "south",
        "when dryer.shown stated\n  shall dryer.belt is dryer.real",
    );
    let (_, kept) = reviewed(&one(&text), "room.std");
    let (_, lost) = reviewed(&one(&format!("{text}{south}")), "room.std");
    let missing = slugs(&kept);
    assert!(missing[0].1.contains("for 4 combinations"), "{missing:?}");
    let found = slugs(&lost);
    for one in missing {
        assert!(found.contains(&one), "{one:?} is not in {found:#?}");
    }
}

/// Many hard rules on the same figure: what is plain beside them is decided all the same.
#[test]
fn hard_rules_do_not_starve_plain_ones() {
    let hard = |number: usize| {
        rule(
            &format!("hard-{number}"),
            &format!("shall box.wide * box.tall * box.wide - box.tall * box.deep is {number}.31"),
        )
    };
    let mut rules: Vec<String> = (0..60).map(hard).collect();
    rules.push(rule("never", "shall box.deep at most 6"));
    rules.push(rule(
        "dead",
        "when box.deep above 7\n  shall box.deep at least 1",
    ));
    let found = box_with(&rules);
    assert_eq!(of(&found, Code::NeverBinds).len(), 1, "{found:#?}");
    assert_eq!(of(&found, Code::DeadRule).len(), 1, "{found:#?}");
    assert!(!of(&found, Code::NotDecided).is_empty());
}

/// Thousands of limits on one figure: all but the strictest are implied by it.
#[test]
fn thousands_of_limits_on_one_setting() {
    let many = 3_000;
    let mut text = String::from(BOX);
    for number in 0..many {
        text += &rule(
            &format!("r{number}"),
            &format!("shall box.wide at least {number}"),
        );
    }
    let (_, found) = reviewed(&one(&text), "room.std");
    assert_eq!(of(&found, Code::Implied).len(), many - 1);
    assert_eq!(of(&found, Code::NotDecided).len(), 0);
    text += &rule("cap", "shall box.wide at most 5");
    let (_, found) = reviewed(&one(&text), "room.std");
    let clashes = of(&found, Code::Contradiction);
    assert_eq!(clashes.len(), 1);
    assert_eq!(clashes[0].said.labels().len(), 2, "two are enough to clash");
}

/// A table of 40 by 40: every cell meets its own combination, and one that leaves nothing is found.
#[test]
fn a_large_table_is_looked_at_cell_by_cell() {
    let many = 40;
    let mut text = String::from(
        "standard \"A room\" edition \"1\"\n\nkind ink \"an ink\" {\n}\nkind garment, one to a run \"cloth\" {\n}\nkind screen, many to a run \"a screen\" {\n  ink ink given\n}\nkind dryer, one to a run \"a dryer\" {\n  air temperature from 0 °C to 400 °C set\n}\n",
    );
    for number in 0..many {
        let _ = write!(text, "\nink i{number} {{\n}}\n\ngarment g{number} {{\n}}\n");
    }
    text += "\ntable cure by screen.ink, garment {\n  for each screen\n  shall dryer.air\n  because \"it cures there\"\n  per practice\n      ";
    for number in 0..many {
        let _ = write!(text, "| g{number} ");
    }
    for row in 0..many {
        let _ = write!(text, "\n  i{row} ");
        for column in 0..many {
            let _ = write!(text, "| {} to {} °C ", 100 + row, 160 + column);
        }
    }
    text += "\n}\n";
    text += &rule(
        "cap",
        "when garment is g7\n  shall dryer.air at most 130 °C",
    );
    let (_, found) = reviewed(&one(&text), "room.std");
    assert_eq!(
        of(&found, Code::NotDecided).len(),
        0,
        "{:#?}",
        found.findings
    );
    // Rows 31 to 39 start above 130 °C.
    let pairs = of(&found, Code::Contradiction);
    let clashing: usize = pairs.iter().map(|pair| pair.members.len().max(1)).sum();
    assert_eq!(clashing, 9, "{pairs:#?}");
}

/// Two values of which one is worked out are never equal to the last digit; counts and set values may be.
#[test]
fn an_equality_that_no_measurement_shows() {
    let text = |condition: &str| {
        format!(
            "standard \"A room\" edition \"1\"\n\nkind dryer, one to a run \"a dryer\" {{\n  belt speed from 0.05 to 20 m/min \"what is set\" set\n  shown speed from 0.05 to 20 m/min \"what the dial says\" set\n  timed speed from 0.05 to 20 m/min \"by watch\" measured by \"a watch\"\n  slow share from 0 % to 50 % \"slower by\" set\n  real speed = shown * (1 - slow) \"what it does\"\n  lanes count of lanes from 1 to 4 \"how many\" set\n  used count of lanes from 1 to 4 \"of them\" set\n}}\n\n{}",
            rule("south-belt", &format!("shall {condition}"))
        )
    };
    let told = |condition: &str| {
        let text = text(condition);
        let ReviewRun { found, .. } = review("room.std", &one(&text));
        let found = found.unwrap_or_else(|problems| panic!("{condition}: {problems:#?}"));
        let told = of(&found, Code::NeverEqual).into_iter();
        told.map(|finding| (finding.said.headline.clone(), finding.said.help.clone()))
            .collect::<Vec<_>>()
    };
    let worked_out = told("dryer.belt is dryer.real");
    assert_eq!(worked_out.len(), 1);
    assert_eq!(
        worked_out[0].0,
        "`south-belt` asks for `dryer.belt` and `dryer.real`, which is worked out, to be exactly equal, which no measurement shows"
    );
    let next = worked_out[0].1.clone().unwrap();
    assert!(
        next.contains("`dryer.belt at least 0.97 * dryer.real`"),
        "{next}"
    );
    // What it says to write is read, and can be kept.
    let instead =
        "dryer.belt at least 0.97 * dryer.real\n  shall dryer.belt at most 1.03 * dryer.real";
    assert_eq!(told(instead).len(), 0);
    assert_eq!(told("dryer.belt is dryer.timed").len(), 1);
    assert_eq!(told("dryer.belt is dryer.shown").len(), 0);
    assert_eq!(told("dryer.belt is 3 m/min").len(), 0);
}
