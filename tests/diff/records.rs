//! What records say differently: plans that state something else, spans that can move a figure one way only,
//! and figures of heat of the demo room.

use strikeoff::diagnostic::{Answer, Direction};

use super::edits::total;
use super::room::{BOTH, LOOSER, NONE, Pair, Room, TIGHTER, compared};

const BOXES: &str = r#"standard "Boxes" edition "1"

kind box, one to a run "a box" {
  wide   number from 0 to 10 set
  tall   number from 0 to 10 set
  each   number from 0 to 10 set
  load   number from 0 to 100 = each * 4
  oak    share from 0 % to 100 % set
  pine   share from 0 % to 100 % set
  ash    share from 0 % to 100 % set
  parts oak, pine, ash make 100 %
}

box crate "a crate" {
  wide  6
  tall  6
  each  4 to 6
  oak   50 %
  pine  50 %
}
"#;

fn boxes(rule: &str, from: &str, to: &str) -> Pair {
    let rule = format!("\nrule one {{\n{rule}\n  per practice\n}}\n");
    let room = Room::of(&format!("{BOXES}{rule}"));
    let pair = compared(&room, &room.with("room.std", from, to)).expect("it can be used");
    super::edits::witnesses(&pair, to);
    pair
}

#[test]
fn a_plan_may_state_what_hides_that_its_record_changed() {
    // By the record alone the other side of the `or` keeps it.
    let rule = "  shall box.wide at least 5 or box.tall at least 5";
    let pair = boxes(rule, "wide  6", "wide  4");
    assert_eq!(total(&pair), TIGHTER);
    assert!(pair.found.effects[0].shows[0].plan.contains("tall"));
}

#[test]
fn a_limit_counts_where_a_plan_states_another_value_than_its_record() {
    let rule = "  when box is crate\n  shall box.wide at least 2";
    let pair = boxes(rule, "wide at least 2", "wide at least 3");
    assert_eq!(total(&pair), TIGHTER);
}

#[test]
fn a_value_that_only_one_side_states() {
    // Unstated keeps no more than a value that breaks; stated by the plan it is the same for both.
    let rule = "  shall box.wide at least 9";
    assert_eq!(total(&boxes(rule, "  wide  6\n", "")), Direction::NONE);
    let rule = "  shall box.wide at least 5";
    assert_eq!(total(&boxes(rule, "  wide  6\n", "")), TIGHTER);
}

#[test]
fn shares_that_records_and_plans_cannot_make_a_whole_of_are_no_runs() {
    // Half and half, all oak: no plan can state the ash beside either for one standard and not the other.
    let rule = "  shall box.oak + box.ash at least 40 %";
    let pair = boxes(rule, "oak   50 %\n  pine  50 %", "oak   100 %");
    assert_eq!(of_clauses(&pair), Direction::NONE);
    let rule = "  shall box.oak + box.ash at least 60 %";
    let pair = boxes(rule, "oak   50 %\n  pine  50 %", "oak   100 %");
    assert_eq!(of_clauses(&pair), LOOSER);
    // One that states its own pine adds up with the one record, and not with the other.
    let both = total(&pair);
    assert_eq!(both.looser, Answer::Yes);
    assert_ne!(
        both.tighter,
        Answer::No,
        "it may fail there, so that it is not excluded"
    );
}

#[test]
fn a_span_moves_a_figure_only_as_it_lies() {
    let rule = "  shall box.load within 10 to 26";
    let to = |to: &str| of_clauses(&boxes(rule, "each  4 to 6", to));
    assert_eq!(to("each  4.5 to 5.5"), Direction::NONE);
    assert_eq!(to("each  3 to 7"), TIGHTER);
    assert_eq!(to("each  3 to 5"), Direction::NONE);
    let rule = "  shall box.load at most 20";
    let to = |to: &str| of_clauses(&boxes(rule, "each  4 to 6", to));
    assert_eq!(to("each  4 to 5"), LOOSER);
    assert_eq!(to("each  5 to 6"), Direction::NONE);
}

/// What became of the clauses; what a plan states beside what its record says is apart from it.
fn of_clauses(pair: &Pair) -> Direction {
    let effects = pair.found.effects.iter();
    effects.fold(Direction::NONE, |known, effect| known.or(effect.direction))
}

#[test]
fn a_figure_that_is_stated_may_contradict_what_its_record_says_now() {
    let rule = "  shall box.load within 10 to 26";
    for to in ["each  4.5 to 5.5", "each  3 to 5"] {
        let pair = boxes(rule, "each  4 to 6", to);
        assert_ne!(total(&pair).tighter, Answer::No, "{to}");
    }
}

/// The demo room with another parent of one of its garments.
fn parent(from: &str, to: &str) -> Pair {
    let room = Room::demo();
    let (name, _) = from.split_once(" is ").expect("a parent");
    let (from, to) = (
        format!("garment {from} "),
        format!("garment {name} is {to} "),
    );
    let pair = compared(&room, &room.with("garments.std", &from, &to)).expect("it can be used");
    super::edits::witnesses(&pair, &to);
    pair
}

#[test]
fn cloth_with_other_heat_data_goes_the_ways_its_spans_can() {
    // What differs can only be sampled, before and after: nothing is kept by it on either side.
    let pair = parent("cotton-tee is cotton-jersey", "cotton-canvas");
    assert_eq!(of_clauses(&pair), Direction::NONE);
    // Wider spans.
    let pair = parent("tri-blend-tee is tri-blend-jersey", "stretch-sport-jersey");
    assert_eq!(of_clauses(&pair), TIGHTER);
    // Water that has to leave: cooler at the lower end of the cure range, and at the upper one. The air is worked out
    // from the controller where nobody probed it; what is not found there is left open, and nothing is claimed.
    let pair = parent("cotton-hoodie is cotton-fleece", "damp-cotton-jersey");
    assert!(not_kept(total(&pair)));
    // Without heat data the film cannot be worked out, and what asks for a flash that is does not apply.
    let pair = parent("cotton-hoodie is cotton-fleece", "polypropylene-bag");
    assert!(not_kept(total(&pair)));
}

/// Whether neither way is claimed to be closed.
fn not_kept(direction: Direction) -> bool {
    direction.tighter != Answer::No && direction.looser != Answer::No
}

#[test]
fn a_second_flash_is_shown_beside_a_first_one_that_is_kept() {
    let room = Room::demo();
    let when = "  when       not (flash.previous-flash stated)\n";
    let pair = compared(&room, &room.with("rules.std", when, "")).expect("it can be used");
    super::edits::witnesses(&pair, when);
    assert_eq!(total(&pair), TIGHTER);
    let plan = &pair.found.effects[0].shows[0].plan;
    assert_eq!(plan.matches("\n  flash").count(), 2, "{plan}");
}

#[test]
fn a_second_print_is_shown_beside_a_first_one_with_another_ink() {
    let room = Room::of(
        r#"standard "Prints" edition "1"

use trade
use inks
use fabrics

rule first-ink {
  for each  print
  when      garment.polyester at least 50 %
  when      not (print.previous-print stated)
  shall     print.screen.ink.bleed-resistant is yes
  per       practice
}
"#,
    );
    let when = "  when      not (print.previous-print stated)\n";
    let pair = compared(&room, &room.with("room.std", when, "")).expect("it can be used");
    super::edits::witnesses(&pair, when);
    assert_eq!(total(&pair), TIGHTER);
}

/// A rule that asks for a record or one of its children asks about the parent too: a record with the same values that
/// is no child any more is another one.
#[test]
fn a_record_that_is_no_child_any_more() {
    const INKS: &str = r#"standard "Inks" edition "1"

kind ink "an ink" {
  white  yes/no given
}
kind screen, many to a run "a screen" {
  ink    ink given
  mesh   number from 1 to 200 set
}

ink base {
  white  yes
}
ink soft is base {
}

rule one {
  for each screen
  when   screen.ink is base
  shall  screen.mesh at least 100
  per    practice
}
"#;
    let room = Room::of(INKS);
    let other = room.with("room.std", "soft is base {\n", "soft {\n  white  yes\n");
    let pair = compared(&room, &other).expect("it can be used");
    super::edits::witnesses(&pair, "no child any more");
    assert_eq!(total(&pair), LOOSER);
    let pair = compared(&other, &room).expect("it can be used");
    assert_eq!(total(&pair), TIGHTER);
}

/// A plan that states a given value otherwise than its record fails, whatever the rules ask: another value of the record
/// lets other plans pass, of a number, a word and a text alike.
#[test]
fn a_given_value_that_changes_lets_other_plans_pass() {
    let text = |bed: &str| {
        format!(
            "standard \"A\" edition \"1\"\n\nkind bed, one to a run \"a bed\" {{\n  slack  number from 0 to 20 \"s\" given\n  \
             mode  choice of slow, quick \"m\" given\n  colour  text \"c\" given\n  free  number from 0 to 20 \"f\" given unless the plan states it\n  \
             wide  number from 0 to 50 \"w\" set\n}}\nbed soft {{\n{bed}}}\nbed hard {{\n  slack  5\n}}\n\
             rule r {{\n  shall  bed.wide at most 40\n  per    practice\n}}\n"
        )
    };
    let all = "  slack  5\n  mode  slow\n  colour  \"red\"\n  free  5\n";
    let ways = |new: &str| {
        total(&compared(&Room::of(&text(all)), &Room::of(&text(new))).expect("it can be used"))
    };
    for (from, to) in [
        ("slack  5", "slack  6"),
        ("slow", "quick"),
        ("\"red\"", "\"blue\""),
    ] {
        assert_eq!(ways(&all.replacen(from, to, 1)), BOTH, "{to}");
    }
    for gone in ["  slack  5\n", "  mode  slow\n", "  colour  \"red\"\n"] {
        assert_eq!(ways(&all.replacen(gone, "", 1)), LOOSER, "{gone}");
    }
    assert_eq!(ways(&all.replacen("free  5", "free  6", 1)), NONE);
    // With a record that a rule refuses nothing passes, so that no plan shows anything of it.
    let refused = |text: String| text.replace("bed.wide at most 40", "bed is hard");
    let (old, new) = (
        refused(text(all)),
        refused(text(&all.replacen("slow", "quick", 1))),
    );
    let pair = compared(&Room::of(&old), &Room::of(&new)).expect("it can be used");
    assert_eq!(total(&pair), NONE);
}
