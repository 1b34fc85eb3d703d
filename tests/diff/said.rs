//! What is said of single changes.

use strikeoff::diagnostic::{Answer, ChangeKind, Direction, Meaning};

use super::room::{BOTH, LOOSER, Pair, Room, TIGHTER, compared};

const ROOM: &str = r#"standard "Back Lane" edition "1"

kind ink "an ink" {
  mesh   range of thread-count from 4 /cm to 200 /cm given
  cure   range of temperature from 15 °C to 220 °C given
}

kind garment, one to a run "what is printed on" {
  cotton     share from 0 % to 100 % given
  polyester  share from 0 % to 100 % given
  parts cotton, polyester make 100 %
}

kind screen, many to a run "a screen" {
  ink   ink given
  mesh  thread-count from 4 /cm to 200 /cm set
}

kind dryer, one to a run "the tunnel" {
  chamber  length from 0.3 m to 15 m given
  belt     speed from 0.05 m/min to 20 m/min set
  dwell    time from 1 s to 3600 s = chamber / belt
  film     temperature from 5 °C to 220 °C set
}

ink white-base {
  mesh  80 to 160 /in  per practice
  cure  280 to 320 °F  per practice
}

ink snow is white-base {
  mesh  100 to 160 /in  per practice
}

ink frost is white-base "a fine one"

rule slow-heat "polyester is heated slowly" {
  when     garment.polyester above 0 %
  shall    dryer.dwell at least 60 s
  because  "fast heat drives dye out"
  per      practice
}

rule cured {
  for each  screen
  shall     dryer.film within screen.ink.cure
  per       practice
}

rule mesh-suits {
  for each  screen
  shall     screen.mesh within screen.ink.mesh
  per       practice
}
"#;

fn room() -> Room {
    Room::of(ROOM)
}

fn after(from: &str, to: &str) -> Pair {
    let room = room();
    compared(&room, &room.with("room.std", from, to)).expect("it can be used")
}

fn only(pair: &Pair) -> (&[ChangeKind], Direction) {
    assert_eq!(pair.found.changes.len(), 1, "{:#?}", pair.found.changes);
    (
        &pair.found.changes[0].kinds,
        pair.found.changes[0].direction,
    )
}

#[test]
fn a_moved_limit() {
    let pair = after("at least 60 s", "at least 65 s");
    assert_eq!(only(&pair), (&[ChangeKind::Limit][..], TIGHTER));
    let shows = &pair.found.effects[0].shows[0];
    assert!(shows.plan.contains("dwell"), "{}", shows.plan);
    assert_eq!(only(&after("at least 60 s", "at least 55 s")).1, LOOSER);
}

#[test]
fn a_limit_that_lets_its_own_value_go() {
    assert_eq!(only(&after("at least 60 s", "above 60 s")).1, TIGHTER);
}

#[test]
fn an_interval_that_shifts_is_both() {
    let pair = after("280 to 320 °F", "290 to 330 °F");
    let (_, direction) = only(&pair);
    assert_eq!(
        direction,
        Direction {
            tighter: Answer::Yes,
            looser: Answer::Yes
        }
    );
    assert_eq!(pair.found.effects[0].shows.len(), 2);
}

#[test]
fn another_form_is_the_same_and_proved() {
    for other in [
        "not dryer.dwell below 60 s",
        "1 min at most dryer.dwell",
        "dryer.dwell * 2 at least 120 s",
        "dryer.dwell at least 60 s or dryer.dwell at least 70 s",
        "dryer.dwell - 10 s at least 50 s",
    ] {
        let pair = after("dryer.dwell at least 60 s", other);
        assert_eq!(
            pair.found.meaning,
            Meaning::Same,
            "{other}: {:#?}",
            pair.found.changes
        );
        let kinds = pair.found.changes.iter().flat_map(|change| &change.kinds);
        assert!(
            kinds.clone().all(|kind| *kind == ChangeKind::Form),
            "{other}"
        );
    }
}

#[test]
fn another_form_of_a_figure_is_proved_by_cutting() {
    let room = room().with(
        "room.std",
        "dryer.dwell at least 60 s",
        "dryer.chamber / dryer.belt at least 60 s",
    );
    let other = room.with(
        "room.std",
        "dryer.chamber / dryer.belt at least 60 s",
        "dryer.chamber / dryer.belt at least 50 s",
    );
    let pair = compared(&room, &other).unwrap();
    assert_eq!(only(&pair).1, LOOSER);
    let wider = room.with(
        "room.std",
        "dryer.chamber / dryer.belt at least 60 s",
        "dryer.chamber at least 50 s * dryer.belt",
    );
    let pair = compared(&room, &wider).unwrap();
    assert_eq!(
        only(&pair).1.looser,
        Answer::Yes,
        "{:#?}",
        pair.found.effects
    );
    assert_ne!(only(&pair).1.tighter, Answer::Yes);
}

#[test]
fn a_formula_that_changes_bears_on_what_reads_it() {
    let pair = after("= chamber / belt", "= 0.9 * chamber / belt");
    let (kinds, direction) = only(&pair);
    assert_eq!(kinds, &[ChangeKind::Formula]);
    assert_eq!(direction.tighter, Answer::Yes, "{:#?}", pair.found.effects);
    // No clause lets more pass; a plan that states the figure as it is worked out now contradicted itself.
    assert_eq!(pair.found.effects[0].direction.looser, Answer::No);
    assert_eq!(direction.looser, Answer::Yes);
}

#[test]
fn a_changed_when_is_reach() {
    let pair = after("polyester above 0 %", "polyester at least 30 %");
    assert_eq!(only(&pair), (&[ChangeKind::Reach][..], LOOSER));
    let pair = after("  when     garment.polyester above 0 %\n", "");
    // A plan that did not say what its cloth is had to; now it need not.
    assert_eq!(only(&pair), (&[ChangeKind::Reach][..], BOTH));
    assert!(
        pair.found.changes[0]
            .notes
            .iter()
            .any(|note| note.contains("need not state"))
    );
}

#[test]
fn a_verb_that_changes() {
    assert_eq!(
        only(&after("shall    dryer.dwell", "should   dryer.dwell")),
        (&[ChangeKind::Verb][..], LOOSER)
    );
}

#[test]
fn a_parent_says_whom_it_reaches() {
    let pair = after("cure  280 to 320 °F", "cure  285 to 320 °F");
    let change = &pair.found.changes[0];
    assert_eq!(change.reaches, ["white-base", "snow", "frost"]);
    assert_eq!(change.direction, TIGHTER);
    let list = &pair.found.effects[change.effects[0].effect].combinations[0].list;
    assert_eq!(list.len(), 3, "{list:?}");
    // What a child states itself is not reached.
    let pair = after("mesh  80 to 160 /in", "mesh  90 to 160 /in");
    assert_eq!(pair.found.changes[0].reaches, ["white-base", "frost"]);
}

#[test]
fn the_same_number_in_another_unit_is_a_slip_until_told_otherwise() {
    let pair = after("at least 60 s", "at least 60 min");
    let alarm = pair.found.changes[0].alarm.as_ref().expect("a shout");
    assert!(
        alarm.contains("60 s was 1 min, and is 60 min now"),
        "{alarm}"
    );
    let same = after("280 to 320 °F", "280 °F to 320 °F");
    assert!(same.found.changes.is_empty());
}

#[test]
fn rules_are_known_by_meaning() {
    let pair = after("rule slow-heat ", "rule gentle-heat ");
    assert_eq!(only(&pair).0, &[ChangeKind::Renamed]);
    assert_eq!(pair.found.meaning, Meaning::Same);
}

#[test]
fn added_and_removed_rules() {
    let rule = "rule mesh-suits {\n  for each  screen\n  shall     screen.mesh within screen.ink.mesh\n  per       practice\n}\n";
    let pair = after(rule, "");
    assert_eq!(only(&pair), (&[ChangeKind::Removed][..], LOOSER));
    let less = room().with("room.std", rule, "");
    let pair = compared(&less, &room()).unwrap();
    assert_eq!(only(&pair), (&[ChangeKind::Added][..], TIGHTER));
}

#[test]
fn a_clause_that_is_parted_is_the_same() {
    let room = room().with(
        "room.std",
        "dryer.dwell at least 60 s",
        "dryer.dwell within 60 s to 90 s",
    );
    let parted = room.with(
        "room.std",
        "  shall    dryer.dwell within 60 s to 90 s\n",
        "  shall    dryer.dwell at least 60 s\n  shall    dryer.dwell at most 90 s\n",
    );
    let pair = compared(&room, &parted).unwrap();
    assert_eq!(
        pair.found.meaning,
        Meaning::Same,
        "{:#?}",
        pair.found.changes
    );
}

#[test]
fn what_people_read_is_told_and_changes_nothing() {
    let pair = after("fast heat drives dye out", "it is gentler");
    assert_eq!(only(&pair), (&[ChangeKind::Wording][..], Direction::NONE));
    assert_eq!(pair.found.meaning, Meaning::Same);
    let pair = after(
        "at least 60 s\n  because  \"fast heat drives dye out\"\n  per      practice",
        "at least 60 s\n  because  \"fast heat drives dye out\"\n  per      \"trial 4\"",
    );
    assert_eq!(only(&pair), (&[ChangeKind::Source][..], Direction::NONE));
}

#[test]
fn a_possible_range_says_what_is_refused() {
    let pair = after(
        "chamber  length from 0.3 m to 15 m",
        "chamber  length from 0.3 m to 10 m",
    );
    let (_, direction) = only(&pair);
    assert_eq!(direction, TIGHTER);
    assert!(pair.found.changes[0].notes[0].contains("15 m is refused now"));
}

#[test]
fn records_come_and_go_and_are_renamed() {
    assert_eq!(
        only(&after("ink frost is white-base \"a fine one\"\n", "")).0,
        &[ChangeKind::Removed]
    );
    let pair = after("ink frost is", "ink rime is");
    assert_eq!(only(&pair).0, &[ChangeKind::Renamed]);
    assert_eq!(
        pair.found.meaning,
        Meaning::Differs,
        "a plan that names it has to follow"
    );
}

#[test]
fn a_shipped_family_that_changes_reaches_every_ink_of_the_room() {
    let room = Room::demo();
    let other = room.with(
        "spec-inks.std",
        "  squeegee         65 to 75 ShoreA           per practice\n  reducer          0 %                       per practice\n  cure             270 to 325 °F             per practice",
        "  squeegee         68 to 75 ShoreA           per practice\n  reducer          0 %                       per practice\n  cure             270 to 325 °F             per practice",
    );
    let pair = compared(&room, &other).unwrap();
    let mut reached = pair.found.changes[0].reaches.clone();
    reached.sort_unstable();
    assert_eq!(
        reached,
        [
            "block-letter-white",
            "low-bleed-plastisol",
            "low-bleed-white",
            "number-white",
            "soft-white",
            "stretch-white"
        ]
    );
    assert_eq!(pair.found.changes[0].direction, TIGHTER);
}
