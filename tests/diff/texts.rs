//! What a text of a plan comes to on both sides: values left out, and texts that are read in another way.

use strikeoff::check::{Options, Prepared, check_plan};
use strikeoff::diagnostic::{Answer, Comparison, Meaning, Verdict};
use strikeoff::diff::DiffOptions;
use strikeoff::source::{FileId, Store};

use super::room::{Pair, Room, compared};

const ROOM: &str = r#"standard "Back Lane" edition "1"

unit rack = 12 pieces "a rack"

kind press, one to a run "a press" {
  heads   count from 1 to 20 given
  power   power from 0 W to 5000 W set
  hold    time from 0 s to 600 s set
  load    pieces from 1 rack to 20 rack set
  dose    energy = power * hold
  cotton  share from 0 % to 100 % set
  wool    share from 0 % to 100 % set
  parts cotton, wool make 100 %
  tint    text given
  mode    choice of slow, fast, odd given
}

kind ink "an ink" {
  heat  temperature from 15 °C to 220 °C given
}

step press-on "a step" {
  warm  time from 0 s to 100 s set
  cool  time from 0 s to 100 s set
}

press big {
  power  1000 W
}

rule warm-enough {
  for each  press-on
  shall     press-on.warm at least 15 s
  per       practice
}

rule load-fits {
  shall  press.load at most 24 pieces
  per    practice
}

rule tinted {
  when   press.mode is one of slow, fast, odd
  shall  press.tint is "red" or press.wool above 10 %
  per    practice
}
"#;

fn after(from: &str, to: &str) -> Pair {
    let room = Room::of(ROOM);
    compared(&room, &room.with("room.std", from, to)).expect("it can be used")
}

/// What a plan comes to as a whole.
fn passes(prepared: &Prepared, text: &str) -> bool {
    let mut store = Store::new();
    let file: FileId = store.add("witness.plan", text.to_owned());
    let options = Options {
        repairs: false,
        ..Options::default()
    };
    let report = check_plan(&store, prepared, 0, file, options);
    Verdict::of_plan(&report, false) == Verdict::Passes
}

/// The directions claimed, after every plan that is shown was checked against both.
pub(super) fn checked(pair: &Pair) -> (Answer, Answer) {
    let mut claimed = (Answer::No, Answer::No);
    let mut whole = (false, false);
    let mut look = |tighter: bool, plan: &str| {
        let [old, new] = [&pair.old, &pair.new].map(|side| passes(side, plan));
        if tighter && old && !new {
            whole.0 = true;
        } else if !tighter && !old && new {
            whole.1 = true;
        }
    };
    for change in &pair.found.changes {
        claimed.0 = claimed.0.or(change.direction.tighter);
        claimed.1 = claimed.1.or(change.direction.looser);
        for shows in &change.shows {
            look(shows.tighter, &shows.plan);
        }
    }
    for shows in pair.found.effects.iter().flat_map(|effect| &effect.shows) {
        look(shows.tighter, &shows.plan);
    }
    assert_eq!(
        claimed.0 == Answer::Yes,
        whole.0,
        "{:#?}",
        pair.found.changes
    );
    assert_eq!(
        claimed.1 == Answer::Yes,
        whole.1,
        "{:#?}",
        pair.found.changes
    );
    claimed
}

pub(super) const YES: Answer = Answer::Yes;
pub(super) const NO: Answer = Answer::No;

#[test]
fn a_condition_that_every_stated_value_meets_still_asks_for_one() {
    let when = "  when   press.mode is one of slow, fast, odd\n";
    assert_eq!(checked(&after(when, "")), (NO, YES));
    assert_eq!(
        checked(&after(when, "  when   press.heads at least 1\n")),
        (YES, YES)
    );
    let added = "rule load-fits {\n  shall  press.hold at least 0 s\n";
    assert_eq!(checked(&after("rule load-fits {\n", added)), (YES, NO));
    let and = "press.load at most 24 pieces and press.heads at most 20";
    assert_eq!(
        checked(&after("press.load at most 24 pieces", and)),
        (YES, NO)
    );
}

#[test]
fn what_has_its_value_in_any_case_asks_for_nothing_more() {
    // Whatever states its sum states its parts.
    let pair = after(
        "press.load at most 24 pieces",
        "press.load at most 24 pieces and press.load at least 1 rack",
    );
    assert_eq!(pair.found.meaning, Meaning::Same, "{:#?}", pair.found);
}

#[test]
fn settings_of_a_step_go_by_their_places() {
    let (warm, cool) = (
        "  warm  time from 0 s to 100 s set\n",
        "  cool  time from 0 s to 100 s set\n",
    );
    let turned = after(&format!("{warm}{cool}"), &format!("{cool}{warm}"));
    assert_eq!(checked(&turned), (YES, YES));
    assert_ne!(turned.old.standard.digest, turned.new.standard.digest);
    assert_eq!(
        checked(&after(
            warm,
            &format!("  zero  time from 0 s to 100 s set\n{warm}")
        )),
        (YES, YES)
    );
}

#[test]
fn plans_that_are_read_in_another_way() {
    let rows = [
        ("make 100 %", "make 90 %", (YES, YES)),
        ("power * hold", "power * hold * 2", (YES, YES)),
        // It is another sort of setting then, and no two sorts are proved to be the same.
        (
            "dose    energy = power * hold",
            "dose    energy",
            (Answer::NotDecided, YES),
        ),
        ("slow, fast, odd given\n}", "slow, fast given\n}", (YES, NO)),
        ("press big {", "press huge {", (YES, YES)),
        ("press big {\n  power  1000 W\n}\n", "", (YES, NO)),
        (
            "  tint    text given",
            "  tint    text given\n  hue     text given",
            (NO, YES),
        ),
    ];
    for (from, to, wanted) in rows {
        let room = Room::of(&ROOM.replace("slow, fast, odd\n  shall", "slow, fast\n  shall"));
        let pair = compared(&room, &room.with("room.std", from, to)).expect("it can be used");
        assert_eq!(checked(&pair), wanted, "{from} → {to}");
        let reading = pair.found.changes.iter().any(|change| change.reading);
        let figure = from.contains("hold");
        assert!(
            reading || figure,
            "{from} → {to}: {:#?}",
            pair.found.changes
        );
    }
}

#[test]
fn a_unit_of_another_size_is_read_in_another_way() {
    let room = Room::of(&ROOM.replace("at most 24 pieces", "at most 240 pieces"));
    let other = room.with("room.std", "rack = 12 pieces", "rack = 10 pieces");
    let pair = compared(&room, &other).expect("it can be used");
    assert_eq!(checked(&pair), (YES, YES));
    // The range is said in what both read alike.
    let notes = |note: &str| {
        let mut all = pair.found.changes.iter().flat_map(|change| &change.notes);
        all.any(|known| known.contains(note))
    };
    assert!(notes("240 pieces is refused now"), "{:#?}", pair.found);
    assert!(notes("may state 10 pieces now"), "{:#?}", pair.found);
}

#[test]
fn plain_edits_are_decided() {
    assert_eq!(checked(&after("is \"red\"", "is \"blue\"")), (YES, YES));
    for same in ["hold * power", "(power * hold)"] {
        let pair = after("power * hold", same);
        assert_eq!(pair.found.meaning, Meaning::Same, "{:#?}", pair.found);
    }
    let most = after("press.load at most", "most(press.load, 1 piece) at most");
    assert_eq!(most.found.meaning, Meaning::Same, "{:#?}", most.found);
}

/// What is shown lies where no single dial leads from what both keep: only cutting the box finds it.
#[test]
fn a_box_in_doubt_is_cut_and_not_given_up() {
    let text = |more: &str| {
        format!(
            "standard \"A\" edition \"1\"\n\nkind bed, one to a run \"a bed\" {{\n  a  number from 0 to 10 set\n  b  number from 0 to 10 set\n}}\n\n\
             rule r {{\n  shall  bed.a * bed.b at most 60{more}\n  per    practice\n}}\n"
        )
    };
    let (old, new) = (text(""), text(" or bed.a * (bed.b + 5) at least 149"));
    let pair = compared(&Room::of(&old), &Room::of(&new)).expect("it can be used");
    assert_eq!(checked(&pair).1, YES, "{:#?}", pair.found);
}

/// Seven values of one record differ; what a plan states instead of some of them decides.
#[test]
fn more_mixtures_than_are_listed_are_said_not_to_be_excluded() {
    let text = |one: u32, seven: u32, asked: &str| {
        let fields: String = (1..=7)
            .map(|number| format!("  f{number}  number from 0 to 100 set\n"))
            .collect();
        let values: String = (2..=6)
            .map(|number| format!("  f{number}  {}\n", one + number))
            .collect();
        format!(
            "standard \"A\" edition \"1\"\n\nkind bed, one to a run \"a bed\" {{\n{fields}}}\n\n\
             bed la {{\n  f1  {one}\n{values}  f7  {seven}\n}}\n\n\
             rule r {{\n  shall  {asked}\n  per    practice\n}}\n"
        )
    };
    let ways = |asked: &str, values: [(u32, u32); 2]| {
        let sides = values.map(|(one, seven)| Room::of(&text(one, seven, asked)));
        let pair = compared(&sides[0], &sides[1]).expect("it can be used");
        let mut left = pair.found.effects.iter().flat_map(|effect| &effect.left);
        assert!(left.any(|words| words.contains("could be mixed")));
        let changes = pair.found.changes.iter();
        let ways = changes.map(|change| (change.direction.tighter, change.direction.looser));
        ways.fold((NO, NO), |known, (tighter, looser)| {
            (known.0.or(tighter), known.1.or(looser))
        })
    };
    let wide = "(bed.f1 at most 5 or bed.f7 at most 10) and bed.f2 + bed.f3 + bed.f4 + bed.f5 + bed.f6 at least 0";
    assert_ne!(ways(wide, [(1, 9), (2, 11)]).0, NO);
    // Only a plan that states f1 and leaves f7 to its record shows it, and there is next to no room for f1.
    let narrow = "(bed.f1 at most 41.3 or bed.f1 at least 41.4 or bed.f7 at most 10) \
                  and bed.f2 at most 90 and bed.f3 at most 90 and bed.f4 at most 90 and bed.f5 at most 90 and bed.f6 at most 90";
    assert_ne!(ways(narrow, [(1, 9), (2, 11)]).0, NO);
    assert_ne!(ways(narrow, [(2, 11), (1, 9)]).1, NO);
}

/// A box on a bed whose slack is a span; `asked` is what its width has to be.
fn box_on_a_bed(asked: &str) -> Room {
    Room::of(&format!(
        "standard \"A\" edition \"1\"\n\nkind box, one to a run \"a box\" {{\n  wide  number from 0 to 50 \"w\" set\n  \
         tall  number from 0 to 50 \"t\" set\n  bed   bed \"b\" given\n}}\nkind bed \"a bed\" {{\n  slack  number from 0 to 20 \"s\" given\n}}\n\
         bed soft {{\n  slack  5 to 7\n}}\n\
         rule r {{\n  shall  box.wide {asked}\n  per    practice\n}}\n"
    ))
}

/// What a record states as a span is no single number: a sum with it is no plain limit, and is decided all the same where the
/// two editions differ in their comparison alone.
#[test]
fn a_span_in_a_sum_of_two_settings_is_cut() {
    let (old, new) = (
        box_on_a_bed("at least box.tall + box.bed.slack"),
        box_on_a_bed("above box.tall + box.bed.slack"),
    );
    let pair = compared(&old, &new).expect("it can be used");
    let changes = pair.found.changes.iter();
    let ways: Vec<_> = changes
        .map(|change| (change.direction.tighter, change.direction.looser))
        .collect();
    assert_eq!(ways, [(YES, NO)], "{:#?}", pair.found);
}

/// A question ends with its budget, says so, and leaves to the others what is theirs.
#[test]
fn a_question_that_ends_with_its_budget_says_so() {
    let mut store = Store::new();
    let mut read = |asked: &str| {
        let room = box_on_a_bed(&format!("at least {asked}"));
        room.read(&mut store).expect("it can be used")
    };
    let old = read("box.tall + box.bed.slack");
    let new = read("box.tall + 6 + 0 * box.bed.slack");
    let options = DiffOptions {
        budget: 300,
        on: None,
    };
    let found = strikeoff::diff::compare(&store, &old, &new, options);
    let effect = &found.effects[0];
    assert!(effect.direction.is_open(), "{effect:#?}");
    let spent = |left: &String| left.ends_with("its budget is spent");
    assert!(effect.left.iter().any(spent), "{:?}", effect.left);
}

/// The digest tells apart all that can change what a text comes to, and nothing that cannot.
#[test]
fn the_digest_covers_what_can_change_an_outcome() {
    let digest = |text: &str| {
        let mut store = Store::new();
        let read = Room::of(text).read(&mut store).expect("it can be used");
        read.standard.digest.0
    };
    let own = digest(ROOM);
    let (warm, cool) = (
        "  warm  time from 0 s to 100 s set\n",
        "  cool  time from 0 s to 100 s set\n",
    );
    let steps = (format!("{warm}{cool}"), format!("{cool}{warm}"));
    let edits = [
        (steps.0.as_str(), steps.1.as_str()),
        ("rack = 12 pieces", "rack = 10 pieces"),
        ("unit rack", "unit tray"),
        ("make 100 %", "make 90 %"),
        ("slow, fast, odd given\n}", "slow, fast given\n}"),
        ("from 0 W to 5000 W", "from 0 W to 6000 W"),
        ("power * hold", "power * hold * 2"),
        ("one to a run", "many to a run"),
        ("at least 15 s", "at least 16 s"),
        ("shall  press.load", "should  press.load"),
        ("power  1000 W", "power  1200 W"),
        ("is \"red\"", "is \"blue\""),
    ];
    for (from, to) in edits {
        let mut text = ROOM.replace(from, to);
        if from == "unit rack" {
            text = text.replace("1 rack to 20 rack", "1 tray to 20 tray");
        }
        if from == "one to a run" {
            text = text
                .replace(
                    "rule load-fits {\n",
                    "rule load-fits {\n  for each  press\n",
                )
                .replace("rule tinted {\n", "rule tinted {\n  for each  press\n");
        }
        if from.starts_with("slow") {
            text = text.replace("one of slow, fast, odd", "one of slow, fast");
        }
        assert_ne!(own, digest(&text), "{from} → {to}");
    }
    let dress = ROOM
        .replace("15 s", "0.25 min")
        .replace("rule load-fits {", "# a comment\nrule load-fits {");
    assert_eq!(own, digest(&dress));
}

#[test]
fn the_verb_of_both_sides_is_told() {
    let pair = after("  shall  press.load", "  should  press.load");
    let effect = &pair.found.effects[0];
    assert_eq!(
        (
            effect.old_verb.map(|verb| verb.word()),
            effect.new_verb.map(|verb| verb.word())
        ),
        (Some("shall"), Some("should"))
    );
    assert_eq!(directions(&pair.found), (NO, YES));
}

fn directions(found: &Comparison) -> (Answer, Answer) {
    found.changes.iter().fold((NO, NO), |known, change| {
        (
            known.0.or(change.direction.tighter),
            known.1.or(change.direction.looser),
        )
    })
}
