//! What the other rules of a standard exclude: no plan passes one side and not the other by a change, as none is left
//! that passes. Each of these is proved by that, or would be wrongly where the proof left something out.

use strikeoff::diagnostic::{Answer, Direction, Meaning};

use super::edits::total;
use super::room::{Room, compared};

fn room(text: &str) -> Room {
    Room::of(&format!("standard \"A room\" edition \"1\"\n\n{text}"))
}

fn rule(name: &str, text: &str) -> String {
    format!("rule {name} {{\n  {text}\n  per practice\n}}\n")
}

fn ways(old: &str, new: &str) -> Direction {
    total(&compared(&room(old), &room(new)).expect("it can be used"))
}

const BOX: &str = "kind box, one to a run \"a box\" {\n  a number from 0 to 10 set\n  b number from 0 to 10 set\n}\n";

/// A rule that is gone kept what a new one asks for.
fn taken_over(verb: &str, more: &str) -> Direction {
    let one = rule("one", &format!("{verb} box.a at most 5"));
    let old = format!("{BOX}{one}{more}");
    let new = format!("{BOX}{}", rule("two", "shall box.a at most 6"));
    ways(&old, &new)
}

#[test]
fn what_another_rule_asked_for_before_is_not_tightened() {
    assert_eq!(taken_over("shall", "").tighter, Answer::No);
    // By itself it does something else, so that it is not the same.
    let old = format!("{BOX}{}", rule("one", "shall box.a at most 5"));
    let new = format!("{BOX}{}", rule("two", "shall box.a at most 6"));
    let pair = compared(&room(&old), &room(&new)).expect("it can be used");
    assert_eq!(pair.found.meaning, Meaning::Differs);
    assert_eq!(total(&pair).looser, Answer::Yes);
}

#[test]
fn what_need_not_be_kept_excludes_nothing() {
    assert_eq!(taken_over("should", "").tighter, Answer::Yes);
    let deviation = "deviation from one {\n  because \"a trial\"\n  approved \"the lead, 2026-01-05\"\n  until 2099-12-31\n}\n";
    assert_ne!(taken_over("shall", deviation).tighter, Answer::No);
}

/// Another word may be stated for a setting, or another setting; `kind` and `more` say what else there is.
fn another_word(more: &str) -> Direction {
    let of = |words: &str| {
        format!(
            "kind cloth, one to a run \"a cloth\" {{\n  shade choice of {words} set\n  wool number from 0 to 10 set\n}}\n{more}{}",
            rule("wool", "shall cloth.wool at most 5")
        )
    };
    ways(&of("white, dark"), &of("white, dark, odd"))
}

#[test]
fn a_word_that_no_plan_passes_with_loosens_nothing() {
    let light = rule("one", "shall cloth.shade is white");
    assert_eq!(another_word(&light).looser, Answer::No);
    assert_eq!(another_word("").looser, Answer::Yes);
    let may = rule("one", "should cloth.shade is white");
    assert_eq!(another_word(&may).looser, Answer::Yes);
}

#[test]
fn a_rule_that_asks_nothing_where_there_are_none_excludes_nothing() {
    let pan = "kind pan, many to a run \"a pan\" {\n  mesh number from 0 to 10 set\n}\n";
    let each = rule("one", "for each pan\n  shall cloth.shade is white");
    assert_eq!(another_word(&format!("{pan}{each}")).looser, Answer::Yes);
}

/// A plan may state something else than its record, where that is not given.
#[test]
fn what_a_plan_may_state_instead_of_its_record_excludes_nothing() {
    for (sort, looser) in [("set", Answer::Yes), ("given", Answer::No)] {
        let of = |more: &str| {
            format!(
                "kind cloth, one to a run \"a cloth\" {{\n  wool number from 0 to 10 {sort}\n{more}}}\ncloth plain {{\n  wool 3  per practice\n}}\n{}{}",
                rule("one", "shall cloth is plain"),
                rule("two", "shall cloth.wool at least 4"),
            )
        };
        let found = ways(&of(""), &of("  silk number from 0 to 10 set\n"));
        assert_eq!(found.looser, looser, "{sort}");
    }
}

/// A share that a record leaves out may be stated all the same.
#[test]
fn a_share_beside_those_of_a_record_excludes_nothing() {
    let of = |more: &str| {
        format!(
            "kind cloth, one to a run \"a cloth\" {{\n  wool share from 0 % to 100 % set\n  silk share from 0 % to 100 % set\n{more}  \
             parts wool, silk make 100 %\n}}\ncloth plain {{\n  wool 100 %  per practice\n}}\n{}{}",
            rule("one", "shall cloth is plain"),
            rule("two", "shall cloth.silk at least 40 %"),
        )
    };
    let found = ways(&of(""), &of("  dyed yes/no set\n"));
    assert_eq!(found.looser, Answer::Yes);
}

/// Whichever record a thing names, and if it names none.
#[test]
fn what_no_record_of_a_kind_lets_pass_is_excluded() {
    let of = |second: &str, more: &str| {
        format!(
            "kind ink \"an ink\" {{\n  heat number from 0 to 10 given\n}}\nkind pan, many to a run \"a pan\" {{\n  ink ink given\n{more}}}\n\
             ink one {{\n}}\nink other {{\n{second}}}\n{}",
            rule("hot", "for each pan\n  shall pan.ink.heat at least 4"),
        )
    };
    let fresh = "  fresh number from 0 to 10 set\n";
    assert_eq!(ways(&of("", ""), &of("", fresh)).looser, Answer::No);
    let (warm, hot) = ("  heat 3  per practice\n", "  heat 5  per practice\n");
    assert_eq!(ways(&of(warm, ""), &of(warm, fresh)).looser, Answer::No);
    assert_eq!(ways(&of(hot, ""), &of(hot, fresh)).looser, Answer::Yes);
}

/// How many things there are is always known, and where one of them is asked about it is one at least.
#[test]
fn how_many_there_are_is_known() {
    let pan = "kind pan, many to a run \"a pan\" {\n  mesh number from 0 to 10 set\n}\n";
    let of = |text: &str| format!("{BOX}{pan}{}", rule("one", text));
    let few = "for each pan\n  when count(pan) at most 3\n  shall box.a at most 5";
    let more =
        "for each pan\n  when (count(pan) at most 3) or (box.b at most 5)\n  shall box.a at most 5";
    assert_eq!(ways(&of(few), &of(more)).looser, Answer::No);
    let none = "for each pan\n  shall box.a at most 5\n  may count(pan) below 1";
    assert_eq!(
        ways(&of("for each pan\n  shall box.a at most 5"), &of(none)),
        Direction::NONE
    );
    let anyhow = "shall box.a at most 5\n  may count(pan) below 1";
    assert_eq!(
        ways(&of("shall box.a at most 5"), &of(anyhow)).looser,
        Answer::Yes
    );
}

/// A deviation from what should be lets no plan pass that would fail; one from what shall be does.
#[test]
fn a_deviation_from_what_should_be_lets_no_more_plans_pass() {
    for (verbs, excluded) in [(["should", "shall"], true), (["shall", "should"], false)] {
        let [one, two] = verbs;
        let old = format!(
            "{BOX}{}",
            rule(
                "one",
                &format!("{one} box.a at most 5\n  {two} box.b at most 5")
            )
        );
        let deviation = "deviation from one {\n  box.a up to 7\n  because \"a trial\"\n  approved \"the lead, 2026-01-05\"\n  until 2099-12-31\n}\n";
        let found = ways(&old, &format!("{old}{deviation}"));
        assert_eq!(found.looser == Answer::No, excluded, "{verbs:?}");
    }
}
