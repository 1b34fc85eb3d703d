//! What a check shows of a tolerance on one side it shows on the other, by the form of the conditions.

use strikeoff::diagnostic::{Answer, Direction, Meaning};

use super::edits::total;
use super::room::{Pair, Room, compared};

fn pair([old, new]: [&str; 2]) -> Pair {
    let room = |rule: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {{\n  air number from 0 to 300 set\n  second number from 0 to 300 set\n  \
             belt number from 1 to 20 set\n  load number from 0 to 50 set\n  hottest number = most(air, second) \"h\"\n  dwell number = second / belt \"d\"\n  \
             fan yes/no set\n}}\nkind cloth, one to a run \"a cloth\" {{\n  wool number from 0 to 100 set\n}}\ncloth plain {{\n  wool 60  per practice\n}}\n\
             rule one {{\n  {rule}\n  per practice\n}}\n"
        ))
    };
    compared(&room(old), &room(new)).expect("it can be used")
}

fn ways(of: [&str; 2]) -> Direction {
    total(&pair(of))
}

/// Both sides are cut in the same pieces, and each that passes one passes the other.
#[test]
fn the_same_with_limits_that_let_more_pass_is_not_tightened() {
    let of = |limit: &str| {
        format!(
            "when (oven.fan is yes) and (oven.air {limit} 110)\n  shall (oven.second above 120) or (oven.second below 130)\n  may oven.load above 40"
        )
    };
    let found = ways([&of("below"), &of("at most")]);
    assert_eq!(found.looser, Answer::No);
}

/// A comparison of what is stated with itself is never in doubt.
#[test]
fn a_way_more_beside_what_is_never_in_doubt_tightens_nothing() {
    let of = "when (oven.dwell below 90) or (oven.hottest at most 160)\n  shall (oven.load at most cloth.wool) and (oven.belt at least oven.belt)";
    let found = ways([of, &format!("{of}\n  may oven.fan is yes")]);
    assert_eq!((found.tighter, found.looser), (Answer::No, Answer::Yes));
}

#[test]
fn what_keeps_to_one_side_of_a_number_is_not_that_number() {
    let of = |limit: &str| format!("shall (oven.air {limit} 110) or (oven.load below 15)");
    let found = ways([&of("above"), &of("is not")]);
    assert_eq!((found.tighter, found.looser), (Answer::No, Answer::Yes));
    let found = ways([&of("at least"), &of("is not")]);
    assert_eq!(found.tighter, Answer::Yes);
}

#[test]
fn what_is_the_most_of_it_and_a_number_is_no_less_than_that() {
    let of = |how: &str| {
        format!(
            "when most(oven.air, 170) {how} 130\n  when (oven.second below 100) or (oven.hottest above 120)\n  shall oven.load below 15"
        )
    };
    let found = ways([&of("is"), &of("is not")]);
    assert_eq!(found.looser, Answer::No);
}

#[test]
fn the_least_or_most_of_one_value_is_that_value() {
    let of = |value: &str| format!("when oven.hottest at least 100\n  shall {value} below 2");
    let found = pair([&of("oven.load"), &of("most(oven.load, oven.load)")]).found;
    assert_eq!(found.meaning, Meaning::Same);
}

/// A part that is in doubt beside one that reads what may be missing: nothing is cut where that is so.
#[test]
fn a_way_more_that_may_be_missing_is_not_excluded_where_a_tolerance_is_cut() {
    let of = "when oven.air at least 100\n  when (oven.hottest at least 130) and (oven.hottest at most 160)\n  shall oven.load at least 40";
    let pair = pair([of, &format!("{of}\n  may cloth.wool above 50")]);
    // Neither by the clause itself, whatever is shown of single records, nor in all.
    let effect = &pair.found.effects[0];
    assert_eq!(effect.direction.tighter, Answer::NotDecided, "{effect:#?}");
    assert_eq!(total(&pair).tighter, Answer::NotDecided);
    assert_eq!(total(&pair).looser, Answer::Yes);
}

/// What never applies asks for nothing, but for what its `when` reads.
#[test]
fn a_value_that_is_asked_for_besides_tightens() {
    let of = "shall oven.load below 15";
    let found = ways([of, &format!("when oven.air at least 0\n  {of}")]);
    assert_eq!(found.tighter, Answer::Yes);
    assert_eq!(found.looser, Answer::No);
}
