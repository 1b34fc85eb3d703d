//! The digest is that of the meaning: for each clause of the language, two standards that differ there only.
//!
//! What can change the outcome of some plan must change the digest; layout, comments, spelling of units, examples
//! and what only ranks repairs must not. Each pair is a word or number of one standard exchanged; the text is found once
//! and the changed standard is read without an error, so that a pair cannot go stale unseen.

use crate::demo_room::Room;

const ROOM: &str = r#"standard "A room" edition "1"

unit dozen = 12 pieces "twelve"

kind paste "a paste" {
  white    yes/no "white" given
  shade    choice of light, dark "its shade" given
  maker    text "who makes it" given
  band     range of temperature "where it cures" given
  solids   share from 0 % to 100 % "solids" given
  water    share from 0 % to 100 % "water" given
  parts    solids, water make 100 %
}

kind cloth, one to a run "a cloth" {
  mass     areal-mass from 50 g/m² to 900 g/m² "its mass" set
  hand     length "its hand" set
}

kind frame, many to a run "a frame" {
  paste    paste "its paste" given
  pull     length from 0 mm to 9 mm "its pull" set in steps of 0.5 mm
  other    paste = frame.paste "the same again"
}

kind oven, one to a run "an oven" {
  chamber  length from 0.3 m to 15 m "heated length" set
  belt     speed from 0.05 m/min to 20 m/min "belt speed" set
  peak     temperature from 5 °C to 250 °C "hottest" measured by "a gauge"
  dwell    time = chamber / belt "time under heat"  per "a book"
  cold     temperature-difference = most(peak - 20 °C, 1 K) "how far above the room"
  oiled    date "when it was oiled" given
}

kind instrument "what values are read off with" {
  due      date "when its calibration falls due" given
}

kind order, one to a run "an order" {
  pieces   pieces "how many" given
}

step dab "one dab" {
  frame    frame "with which" given
  strokes  count from 1 to 9 "how many" set
  lifts    count from 1 to 9 "how many lifts" set
}

paste base {
  white    yes
  shade    light
  maker    "A, B"
  band     140 to 160 °C
  solids   60 % ± 5 points
  water    40 %
}

paste child is base {
  band     145 to 155 °C
}

paste third

oven long {
  chamber  2 m
  dwell    60.0 s
  oiled    2026-01-02
}

instrument probe-1 {
  due      2027-01-31
}

rule read {
  shall    oven.peak read within 30 d
  shall    oven.belt stated with a tolerance
  shall    oven.oiled not older than 180 d
  per      practice
}

rule slow "slow enough" {
  for each frame
  when     frame.paste is base or frame.paste.maker is one of "A", "B"
  when     not frame.paste.shade is dark and frame.pull stated
  shall    oven.dwell at least 50 s
  should   oven.peak within frame.paste.band
  shall    low(frame.paste.band) at most 150 °C
  may      oven.belt * 2 below 3 m/min
  because  "slow is good"
  per      "a sheet"
  adjust   oven.belt
  caution  "hot"
}

rule sums {
  shall    total(frame.pull) at most 20 mm
  shall    oven.chamber at most 3 m
  per      practice
}

rule steps {
  for each dab
  when     dab.next is dab
  shall    dab.strokes at most otherwise(dab.next-dab.lifts, 5) ^ 2
  per      practice
}

caution heat {
  when     oven.peak above 200 °C
  say      "mind the oven"
  per      practice
}

table cure by frame.paste, cloth.mass-class {
  for each frame
  shall    oven.peak
  per      practice
        | thin         | thick
  base  | 140 to 160 °C | at most 150 °C
  third | 130 °C        |
}

deviation from sums "wide frames" {
  run      "a"
  oven.chamber up to 4 m
  when     cloth.mass at least 60 g/m²
  pieces   300
  because  "they came so"
  approved "lead"
  until    2026-12-31
}
"#;

/// What must change the digest: what is written, and what instead.
const MEANING: &[(&str, &str, &str)] = &[
    ("the name", "\"A room\"", "\"B room\""),
    ("the edition", "edition \"1\"", "edition \"2\""),
    ("a unit of its own", "= 12 pieces", "= 10 pieces"),
    ("the name of a unit", "unit dozen", "unit dozens"),
    (
        "the place of a kind",
        "kind paste \"a",
        "kind paste, many to a run \"a",
    ),
    (
        "a choice",
        "choice of light, dark",
        "choice of light, dark, red",
    ),
    (
        "the order of choices that records name",
        "choice of light, dark",
        "choice of dark, light",
    ),
    ("a dimension", "hand     length", "hand     time"),
    (
        "what is possible, below",
        "from 0.3 m to 15 m",
        "from 0.2 m to 15 m",
    ),
    (
        "what is possible, above",
        "from 0.3 m to 15 m",
        "from 0.3 m to 14 m",
    ),
    ("a formula", "= chamber / belt", "= chamber / belt / 2"),
    ("a number in a formula", "1 K)", "2 K)"),
    ("a function in a formula", "= most(", "= least("),
    ("no formula", "= chamber / belt \"time", "\"time"),
    (
        "a reference that is found",
        "= frame.paste \"the same",
        "\"the same",
    ),
    (
        "the source of a formula",
        "per \"a book\"",
        "per \"another book\"",
    ),
    ("the step of a dial", "steps of 0.5 mm", "steps of 0.25 mm"),
    ("who finds a value", "\"a gauge\"", "\"a rule\""),
    ("set or given", "\"its mass\" set", "\"its mass\" given"),
    (
        "set or measured",
        "\"its mass\" set",
        "\"its mass\" measured by \"a gauge\"",
    ),
    (
        "whether a plan may say otherwise",
        "pieces   pieces \"how many\" given",
        "pieces   pieces \"how many\" given unless the plan states it",
    ),
    (
        "worked out until it is read",
        "\"time under heat\"",
        "\"time under heat\" measured by \"a watch\"",
    ),
    (
        "shares of a whole",
        "solids, water make 100 %",
        "solids, water make 99 %",
    ),
    (
        "the order of the settings of a step",
        "  strokes  count from 1 to 9 \"how many\" set\n  lifts    count from 1 to 9 \"how many lifts\" set",
        "  lifts    count from 1 to 9 \"how many lifts\" set\n  strokes  count from 1 to 9 \"how many\" set",
    ),
    ("how old a reading may be", "within 30 d", "within 31 d"),
    (
        "whether a tolerance is asked for",
        "stated with a tolerance",
        "stated",
    ),
    ("how old a thing may be", "than 180 d", "than 90 d"),
    ("a day", "oiled    2026-01-02", "oiled    2026-01-03"),
    ("when an instrument falls due", "2027-01-31", "2027-02-28"),
    ("an instrument", "instrument probe-1", "instrument probe-2"),
    ("yes or no", "white    yes\n", "white    no\n"),
    ("a choice that is stated", "shade    light", "shade    dark"),
    (
        "a text that is stated",
        "maker    \"A, B\"",
        "maker    \"A,  B\"",
    ),
    (
        "the low end of a range",
        "140 to 160 °C\n  solids",
        "141 to 160 °C\n  solids",
    ),
    (
        "the high end of a range",
        "140 to 160 °C\n  solids",
        "140 to 161 °C\n  solids",
    ),
    ("a value", "water    40 %", "water    41 %"),
    ("a tolerance", "± 5 points", "± 4 points"),
    ("an uneven tolerance", "± 5 points", "+5 points -4 points"),
    (
        "the last digit beside a formula",
        "dwell    60.0 s",
        "dwell    60 s",
    ),
    ("a parent", "paste child is base", "paste child"),
    ("the name of a record", "paste child is", "paste young is"),
    (
        "a record more",
        "paste third\n",
        "paste third\npaste fourth\n",
    ),
    ("the name of a rule", "rule steps", "rule strokes"),
    ("for each", "rule sums {", "rule sums {\n  for each dab"),
    (
        "a record in a `when`",
        "frame.paste is base or",
        "frame.paste is child or",
    ),
    ("one text or two", "is one of \"A\", \"B\"", "is \"A, B\""),
    ("or", "is base or frame", "is base and frame"),
    (
        "not",
        "when     not frame.paste.shade is dark and",
        "when     frame.paste.shade is dark and",
    ),
    ("stated", "and frame.pull stated", "and frame.other stated"),
    ("shall", "shall    oven.dwell", "should   oven.dwell"),
    (
        "at least",
        "oven.dwell at least 50 s",
        "oven.dwell above 50 s",
    ),
    (
        "at most",
        "oven.dwell at least 50 s",
        "oven.dwell at most 50 s",
    ),
    ("is", "oven.dwell at least 50 s", "oven.dwell is 50 s"),
    ("a limit", "at least 50 s", "at least 51 s"),
    (
        "within",
        "oven.peak within frame.paste.band",
        "oven.peak above low(frame.paste.band)",
    ),
    ("an end of a range", "shall    low(", "shall    high("),
    ("a permission", "below 3 m/min", "below 4 m/min"),
    ("an operator", "oven.belt * 2", "oven.belt / 2"),
    ("a source", "per      \"a sheet\"", "per      practice"),
    ("a reason", "\"slow is good\"", "\"slow is best\""),
    (
        "what to adjust",
        "adjust   oven.belt",
        "adjust   oven.chamber",
    ),
    (
        "a caution of a rule",
        "caution  \"hot\"",
        "caution  \"very hot\"",
    ),
    (
        "a function over a kind",
        "total(frame.pull) at most 20",
        "most(frame.pull) at most 20",
    ),
    (
        "a neighbour",
        "dab.next-dab.lifts",
        "dab.previous-dab.lifts",
    ),
    (
        "a kind of step",
        "when     dab.next is dab",
        "when     dab.previous is dab",
    ),
    ("a power", "^ 2", "^ 3"),
    ("what a caution says", "mind the oven", "mind the hot oven"),
    ("when a caution is shown", "above 200 °C", "above 201 °C"),
    ("a cell", "third | 130 °C", "third | 131 °C"),
    ("a cell that is empty", "| at most 150 °C", "| "),
    (
        "the place of a cell",
        "third | 130 °C        |",
        "third |        | 130 °C",
    ),
    ("a row", "  third | 130", "  child | 130"),
    (
        "a column",
        "| thin         | thick",
        "| thick         | thin",
    ),
    (
        "an empty row",
        "  third | 130",
        "  child |  | \n  third | 130",
    ),
    ("the run of a deviation", "run      \"a\"", "run      \"b\""),
    ("how far a deviation goes", "up to 4 m", "up to 5 m"),
    (
        "when a deviation is in force",
        "at least 60 g/m²",
        "at least 61 g/m²",
    ),
    ("the pieces of a deviation", "pieces   300", "pieces   301"),
    ("the reason of a deviation", "they came so", "they came"),
    ("the approval of a deviation", "\"lead\"", "\"chief\""),
    ("the end of a deviation", "2026-12-31", "2026-12-30"),
];

/// What must not change it.
const DRESS: &[(&str, &str, &str)] = &[
    ("a comment", "kind oven", "# hot\nkind oven"),
    ("space", "shade    light", "shade light"),
    (
        "the spelling of a unit",
        "most(peak - 20 °C",
        "most(peak - 20 degC",
    ),
    ("another unit", "at most 20 mm", "at most 2 cm"),
    (
        "a last digit that nothing asks about",
        "water    40 %",
        "water    40.0 %",
    ),
    (
        "the order of records",
        "paste third\n\noven long",
        "oven long",
    ),
    (
        "a review",
        "per      \"a sheet\"",
        "per      \"a sheet\" reviewed 2026-03-01",
    ),
    (
        "how long a change takes",
        "  peak     temperature",
        "  changing belt takes 5 min\n  peak     temperature",
    ),
    (
        "a sentence",
        "\"heated length\"",
        "\"length that is heated\"",
    ),
    (
        "an example",
        "caution heat {",
        "example one {\n  run      \"a.plan\"\n  expect   sums holds\n}\n\ncaution heat {",
    ),
];

fn text() -> String {
    // The columns of the table go by a choice.
    ROOM.replace(
        "\"its mass\" set\n",
        "\"its mass\" set\n  mass-class choice of thin, thick \"its class\" given\n",
    )
}

fn digest(text: &str, what: &str) -> String {
    let mut room = Room::of(text);
    room.files.insert(
        "a.plan".to_owned(),
        "run \"a\" against \"room.std\"\n".to_owned(),
    );
    let (_, prepared) = room.prepare("room.std");
    let wrong: Vec<_> = prepared
        .problems
        .iter()
        .filter(|said| said.severity == strikeoff::diagnostic::Severity::Error)
        .collect();
    assert!(wrong.is_empty(), "{what}: {wrong:#?}\n{text}");
    prepared.standard.digest.0.clone()
}

fn changed(text: &str, (what, from, to): (&str, &str, &str)) -> String {
    assert_eq!(text.matches(from).count(), 1, "{what}: `{from}`");
    text.replace(from, to)
}

#[test]
fn what_can_change_an_outcome_changes_the_digest() {
    let text = text();
    let own = digest(&text, "as it is");
    let mut seen = std::collections::BTreeMap::from([(own, "as it is")]);
    for pair in MEANING {
        let other = digest(&changed(&text, *pair), pair.0);
        if let Some(known) = seen.insert(other, pair.0) {
            panic!("{} has the digest of {known}", pair.0);
        }
    }
}

/// A standard that does without a rule means what it would mean if the rule had never been written.
#[test]
fn a_rule_that_is_taken_out_leaves_nothing_behind() {
    let head = "standard \"A room\" edition \"1\"\n";
    let room = |extra: &str, house: &str| {
        let mut room = Room::of(&format!("{head}use \"house.std\"\n{extra}"));
        room.files.insert("house.std".to_owned(), house.to_owned());
        room.prepare("room.std").1.standard.digest.0.clone()
    };
    let kind = "kind oven, one to a run \"an oven\" {\n  time     time from 1 s to 190 s \"time\" set in steps of 1 s\n}\n";
    let long = "rule long {\n  shall    oven.time at most 80 s\n  per      practice\n}\n";
    let ours = |head: &str| {
        format!("rule ours {head}{{\n  shall    oven.time at most 90 s\n  per      practice\n}}\n")
    };
    let with_it = format!("{kind}{long}");
    let without = room("without long because \"so\"\n", &with_it);
    assert_eq!(without, room("", kind));
    assert_ne!(without, room("", &with_it));
    let instead = room(&ours("instead of long because \"so\" "), &with_it);
    assert_eq!(instead, room(&ours(""), kind));
}

#[test]
fn another_dress_does_not_change_the_digest() {
    let text = text();
    let own = digest(&text, "as it is");
    for pair in DRESS {
        let mut other = changed(&text, *pair);
        if pair.0 == "the order of records" {
            other = other.replace("\nrule slow", "\npaste third\n\nrule slow");
        }
        assert_eq!(digest(&other, pair.0), own, "{}", pair.0);
    }
}
