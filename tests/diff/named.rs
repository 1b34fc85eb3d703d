//! Kinds and records that are renamed together are told as renamed, and a change is told by the line that changed.

use strikeoff::diagnostic::{Answer, ChangeKind, Direction};

use super::room::{Pair, Room, compared};

const ROOM: &str = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide   number from 0 to 50 \"w\" set\n  cloth  bed \"c\" given\n}\nkind bed \"a bed\" {\n  slack  number from 0 to 20 \"s\" given\n  heft   number from 0 to 20 \"h\" given\n}\nbed base {\n  slack  5\n}\nbed hard is base {\n  heft   7\n}\nbed wild is hard {\n  heft   9\n}\nrule one {\n  when   box.wide at least 2\n  shall  box.wide at most box.cloth.slack\n  per    practice\n}\nrule two {\n  shall  box.wide at least box.cloth.heft\n  per    practice\n}\n";

fn edited(edits: &[(&str, &str)]) -> Pair {
    let new = edits.iter().fold(ROOM.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    compared(&Room::of(ROOM), &Room::of(&new)).expect("it can be used")
}

fn kinds(pair: &Pair) -> Vec<&[ChangeKind]> {
    let changes = pair.found.changes.iter();
    changes.map(|change| change.kinds.as_slice()).collect()
}

/// A record is told apart by its parent: that of the third is known only when that of the second is.
#[test]
fn records_that_are_renamed_with_their_parents_are_renamed() {
    let pair = edited(&[("base", "core"), ("hard", "firm"), ("wild", "calm")]);
    assert_eq!(
        kinds(&pair),
        [[ChangeKind::Renamed]; 3],
        "{:#?}",
        pair.found
    );
}

#[test]
fn a_kind_that_is_renamed_with_all_that_speaks_of_it_is_renamed() {
    let pair = edited(&[("bed", "mat")]);
    assert_eq!(kinds(&pair), [[ChangeKind::Renamed]], "{:#?}", pair.found);
}

#[test]
fn a_change_of_a_when_stands_at_the_when() {
    let pair = edited(&[("box.wide at least 2", "box.wide at least 3")]);
    let change = &pair.found.changes[0];
    let words = [&change.old, &change.new].map(|side| side.as_ref().map(|at| at.words.clone()));
    let at = |value: u32| Some(format!("when box.wide at least {value}"));
    assert_eq!(words, [at(2), at(3)]);
}

/// A sum with a value that its record does not state comes to nothing, whatever the plan sets: it is never kept by that.
#[test]
fn a_value_that_is_gone_from_its_record_keeps_nothing() {
    let text = |slack: &str| {
        let sum = "shall  box.wide at most 10 - box.cloth.slack";
        let room = ROOM.replace("shall  box.wide at most box.cloth.slack", sum);
        Room::of(&room.replace("  slack  5\n", slack))
    };
    let (stated, gone) = (text("  slack  5\n"), text(""));
    for (old, new, tighter, looser) in [
        (&stated, &gone, Answer::Yes, Answer::No),
        (&gone, &stated, Answer::No, Answer::Yes),
    ] {
        let pair = compared(old, new).expect("it can be used");
        let effects = pair.found.effects.iter().filter(|of| of.rule == "one");
        let found: Vec<Direction> = effects.map(|of| of.direction).collect();
        assert_eq!(found, [Direction { tighter, looser }], "{:#?}", pair.found);
    }
}
