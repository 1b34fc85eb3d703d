//! Edits as reviewers meet them, each with what it does to plans: what only texts can show, and what is proved where
//! nothing rests on a change. Each was checked by hand with `check`.

use strikeoff::diagnostic::{ChangeKind, Meaning};

use super::room::{Pair, Room, compared};
use super::texts::{NO, YES, checked};

const ROOM: &str = r#"standard "Back Lane" edition "1"

unit rack = 12 pieces "a rack"

kind press, one to a run "a press" {
  heads   count from 1 to 20
  chamber length from 0.3 m to 15 m
  belt    speed from 0.05 m/min to 20 m/min
  dwell   time = chamber / belt
  load    pieces
  mode    choice of slow, fast, odd
}

kind cloth, one to a run "a cloth" {
  cotton  share from 0 % to 100 %
  wool    share from 0 % to 100 %
  silk    share from 0 % to 100 %
  parts cotton, wool, silk make 100 %
}

kind screen, many to a run "a screen" {
  mesh    thread-count
}

kind ink "an ink" {
  family  choice of plastic, water
}

step rest "a step" {
  first   time from 0 s to 100 s
  second  time from 0 s to 100 s
}

press big {
  chamber  2.44 m
  belt     1.22 m/min
}

cloth fleece {
  cotton  80 %
  wool    20 %
}

cloth felt {
  wool  100 %
}

rule slow {
  shall  press.dwell at least 65 s
  per    practice
}

rule soft {
  when   press.mode is slow
  shall  cloth.wool at most 30 %
  per    practice
}

rule few {
  shall  press.heads at most 16
  per    practice
}
"#;

fn edited(edits: &[(&str, &str)]) -> Pair {
    let old = Room::of(ROOM);
    let mut new = old.clone();
    for (from, to) in edits {
        new = new.with("room.std", from, to);
    }
    compared(&old, &new).expect("it can be used")
}

fn after(from: &str, to: &str) -> Pair {
    edited(&[(from, to)])
}

/// Chamber 2.44 m is 120 s at 1.22 m/min; 2.50 m is 123 s. Both fall and rise with what else a plan states.
#[test]
fn a_chamber_that_was_measured_again_is_decided() {
    let pair = after("chamber  2.44 m", "chamber  2.50 m");
    assert_eq!(checked(&pair), (YES, YES), "{:#?}", pair.found);
}

#[test]
fn a_limit_that_is_worked_out_in_another_way_is_one_limit() {
    let old = Room::of(&ROOM.replace("at most 16", "at most press.load / 1 rack"));
    for to in ["at most press.load / 1 rack - 1", "at most 9"] {
        let new = old.with("room.std", "at most press.load / 1 rack", to);
        let pair = compared(&old, &new).expect("it can be used");
        let change = &pair.found.changes[0];
        assert_eq!(change.kinds, [ChangeKind::Limit], "{:#?}", pair.found);
        assert_eq!(pair.found.changes.len(), 1, "{:#?}", pair.found);
    }
}

#[test]
fn a_rule_that_is_asked_for_each_of_what_it_does_not_speak_of() {
    let each = "rule slow {\n  for each  screen\n";
    assert_eq!(checked(&after("rule slow {\n", each)), (NO, YES));
    let old = Room::of(&ROOM.replace("rule slow {\n", each));
    let pair = compared(&old, &Room::of(ROOM)).expect("it can be used");
    assert_eq!(checked(&pair), (YES, NO));
}

#[test]
fn steps_go_by_their_places_only_where_that_tells() {
    let (first, second) = (
        "  first   time from 0 s to 100 s\n",
        "  second  time from 0 s to 100 s\n",
    );
    let turned = after(&format!("{first}{second}"), &format!("{second}{first}"));
    assert_eq!(checked(&turned), (NO, NO), "{:#?}", turned.found);
    // Where the two may be different, a value goes to another place.
    let narrow = Room::of(&ROOM.replace(second, "  second  time from 0 s to 50 s\n"));
    let other = Room::of(&ROOM.replace(
        &format!("{first}{second}"),
        &format!("  second  time from 0 s to 50 s\n{first}"),
    ));
    let pair = compared(&narrow, &other).expect("it can be used");
    assert_eq!(checked(&pair), (YES, YES), "{:#?}", pair.found);
    // One more behind the others takes nothing from them.
    let more = after(
        second,
        &format!("{second}  third   time from 0 s to 100 s\n"),
    );
    assert_eq!(checked(&more), (NO, YES), "{:#?}", more.found);
}

#[test]
fn a_unit_that_nothing_rests_on_tells_nothing() {
    let pair = after("unit rack = 12 pieces", "unit rack = 10 pieces");
    assert_eq!(checked(&pair), (NO, NO), "{:#?}", pair.found);
    assert_ne!(pair.found.meaning, Meaning::Same);
}

#[test]
fn what_only_records_have_no_plan_states() {
    let pair = after(
        "choice of plastic, water\n",
        "choice of plastic, water, odd\n",
    );
    assert_eq!(checked(&pair), (NO, NO), "{:#?}", pair.found);
}

/// The record's dwell is 120 s by its own chamber and belt.
#[test]
fn a_record_that_states_what_is_worked_out_as_well() {
    let belt = "belt     1.22 m/min\n";
    let wrong = after(belt, &format!("{belt}  dwell    90 s\n"));
    assert_eq!(checked(&wrong).0, YES, "{:#?}", wrong.found);
    // To half a unit of its last digit.
    let whole = edited(&[(belt, &format!("{belt}  dwell    120 s\n"))]);
    let old = Room::of(&ROOM.replace(belt, &format!("{belt}  dwell    120 s\n")));
    let fine = Room::of(&ROOM.replace(belt, &format!("{belt}  dwell    120.000 s\n")));
    let pair = compared(&old, &fine).expect("it can be used");
    assert_ne!(pair.old.standard.digest, pair.new.standard.digest);
    assert_ne!(pair.found.meaning, Meaning::Same, "{:#?}", pair.found);
    drop(whole);
}

#[test]
fn a_share_that_is_worked_out_is_not_proved_to_be_the_same() {
    let pair = after(
        "silk    share from 0 % to 100 %",
        "silk    share from 0 % to 100 % = wool",
    );
    assert_eq!(checked(&pair).0, YES, "{:#?}", pair.found);
}

#[test]
fn a_standard_that_nothing_passes_is_not_loosened() {
    let old = Room::of(&ROOM.replace(
        "press.heads at most 16\n",
        "press.heads at most 16\n  shall  press.heads above 16\n",
    ));
    let new = old.with(
        "room.std",
        "choice of slow, fast, odd",
        "choice of slow, fast, odd, new",
    );
    let pair = compared(&old, &new).expect("it can be used");
    assert_eq!(checked(&pair), (NO, NO), "{:#?}", pair.found);
    let mut notes = pair.found.changes.iter().flat_map(|change| &change.notes);
    let said = notes.any(|note| note.contains("no plan can pass the new standard: `few`"));
    assert!(said, "{:#?}", pair.found);
}

#[test]
fn what_is_taken_where_nothing_is_stated() {
    let first = Room::of(&ROOM.replace(
        "press.heads at most 16",
        "otherwise(press.heads, 4) at most 16",
    ));
    let same = [
        "otherwise(press.heads, 4, press.heads) at most 16",
        "otherwise(press.heads, 8) at most 16",
    ];
    for to in same {
        let new = Room::of(&ROOM.replace("press.heads at most 16", to));
        let pair = compared(&first, &new).expect("it can be used");
        assert_eq!(checked(&pair), (NO, NO), "{to}: {:#?}", pair.found);
    }
    let new = Room::of(&ROOM.replace(
        "press.heads at most 16",
        "otherwise(press.heads, 18) at most 16",
    ));
    let pair = compared(&first, &new).expect("it can be used");
    assert_eq!(checked(&pair), (YES, NO), "{:#?}", pair.found);
}

#[test]
fn powers_of_what_is_never_below_nothing() {
    let square = "press.belt ^ 2 at most (9 m/min) ^ 2";
    let old = Room::of(&ROOM.replace("press.heads at most 16", square));
    for (to, wanted) in [
        ("press.belt at most 9 m/min", (NO, NO)),
        ("press.belt ^ 3 at most (9 m/min) ^ 3", (NO, NO)),
        ("press.belt at most 8 m/min", (YES, NO)),
    ] {
        let new = Room::of(&ROOM.replace("press.heads at most 16", to));
        let pair = compared(&old, &new).expect("it can be used");
        assert_eq!(checked(&pair), wanted, "{to}: {:#?}", pair.found);
    }
}

/// Whatever lies above the least lies below the most of the same.
#[test]
fn the_least_is_not_above_the_most() {
    let old = Room::of(&ROOM.replace(
        "press.heads at most 16",
        "most(screen.mesh) at least 40 /cm",
    ));
    let new = Room::of(&ROOM.replace(
        "press.heads at most 16",
        "least(screen.mesh) at least 40 /cm",
    ));
    let pair = compared(&old, &new).expect("it can be used");
    assert_eq!(checked(&pair), (YES, NO), "{:#?}", pair.found);
}

/// What the rows go by is asked first: of a plan without a cloth whose mode has no row, one table has no limit, and the
/// other asks for the cloth.
#[test]
fn a_table_that_is_turned_asks_for_something_else_first() {
    let table = |by: &str, rows: &str| {
        format!("{ROOM}\ntable t by {by} {{\n  shall press.heads\n  per practice\n{rows}}}\n")
    };
    let old = table(
        "press.mode, cloth",
        "  | fleece | felt\n  slow | at most 4 | at most 5\n  fast | at most 6 | at most 7\n",
    );
    let new = table(
        "cloth, press.mode",
        "  | slow | fast\n  fleece | at most 4 | at most 6\n  felt | at most 5 | at most 7\n",
    );
    let pair = compared(&Room::of(&old), &Room::of(&new)).expect("it can be used");
    assert_ne!(pair.found.meaning, Meaning::Same, "{:#?}", pair.found);
}

/// A tolerance across a limit at which only one point is asked: what holds at every point is not shown to hold.
#[test]
fn what_holds_at_every_point_may_not_be_shown_inside_a_tolerance() {
    let rule = |limit: &str| {
        ROOM.replace(
            "rule few {\n  shall  press.heads at most 16",
            &format!("rule few {{\n  when   press.load is 100 pieces\n  shall  press.load at most {limit}"),
        )
    };
    let old = rule("otherwise(press.load, 100 pieces)");
    let new = rule("otherwise(100 pieces, press.load)");
    let pair = compared(&Room::of(&old), &Room::of(&new)).expect("it can be used");
    assert_ne!(pair.found.meaning, Meaning::Same, "{:#?}", pair.found);
    let tighter = pair
        .found
        .changes
        .iter()
        .fold(NO, |known, change| known.or(change.direction.tighter));
    assert_ne!(tighter, NO, "{:#?}", pair.found);
}
