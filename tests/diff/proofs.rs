//! What diff calls proved: each of these a proof that leaves something out would get wrong.

use strikeoff::diagnostic::{Answer, Direction, Meaning};

use super::edits::total;
use super::room::{Room, compared};

/// What is worked out from a record comes to nothing once the record does not say it any more, and counts as not stated.
fn worked_out(each: &str, asked: &str) -> Room {
    Room::of(&format!(
        "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {{\n  heads  count from 1 to 20 set\n  \
         load   number = heads * bed.each \"l\"\n}}\nkind bed, one to a run \"a bed\" {{\n  each  number from 0 to 20 given\n}}\n\
         bed la {{\n{each}}}\nrule one {{\n  shall  {asked}\n  per    practice\n}}\n"
    ))
}

fn ways(old: &Room, new: &Room) -> Direction {
    let pair = compared(old, new).expect("it can be used");
    let effects = pair.found.effects.iter();
    effects.fold(
        Direction {
            tighter: Answer::No,
            looser: Answer::No,
        },
        |known, effect| known.or(effect.direction),
    )
}

#[test]
fn a_figure_that_is_gone_is_asked_for_where_a_rule_asks_what_is_stated() {
    let (states, gone) = ("  each  5\n", "");
    for (asked, old, new) in [
        ("box.load stated", states, gone),
        ("not box.load stated", gone, states),
    ] {
        let (old, new) = (worked_out(old, asked), worked_out(new, asked));
        assert_ne!(ways(&old, &new).tighter, Answer::No, "{asked}");
        assert_ne!(ways(&new, &old).looser, Answer::No, "{asked}");
    }
}

#[test]
fn a_span_that_grows_at_one_end_lets_nothing_more_pass() {
    let room = |each: &str| worked_out(each, "box.load at most 30");
    let (narrow, wide) = (room("  each  5 to 8\n"), room("  each  5 to 9\n"));
    assert_eq!(ways(&narrow, &wide).looser, Answer::No);
    assert_eq!(ways(&wide, &narrow).tighter, Answer::No);
}

/// A step has no records, so none is chosen.
#[test]
fn no_record_of_a_step_is_chosen() {
    let room = |time: u32| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nstep press-on \"a step\" {{\n  warm  time from 0 s to 100 s set\n}}\n\
             rule one {{\n  for each  press-on\n  shall     press-on.warm at least {time} s\n  per       practice\n}}\n"
        ))
    };
    let pair = compared(&room(15), &room(16)).expect("it can be used");
    let effect = &pair.found.effects[0];
    assert_eq!(effect.direction.tighter, Answer::Yes, "{effect:#?}");
    let mut chosen = effect
        .combinations
        .iter()
        .flat_map(|of| of.list.iter().flatten());
    assert_eq!(chosen.next(), None);
}

/// More cloth takes more heat: where its mass is a wider span, a film that was just hot enough may be too cool. The tunnel's
/// figure is shown for a span of the mass; only one of the thickness would be sampled.
#[test]
fn a_wider_span_of_what_is_heated_tightens_a_film_that_is_worked_out() {
    let room = |mass: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {{\n  time  time from 1 s to 600 s \"t\" set\n  \
             air   temperature from 5 °C to 250 °C \"a\" set\n  film  temperature = film-peak(25 °C, 120 g/m², 0.1 mm, \
             1400 J/(kg·K), 0.17 W/(m·K), 0 g/m², garment.mass, garment.thick, 1300 J/(kg·K), 0.05 W/(m·K), 0.05, 7.5 %, oven.time, \
             oven.air, oven.air, 35 W/(m²·K), 25 W/(m²·K), oven.air, 0 %, 0 W/m², 1500 Pa, 0 %, 0 %, 1, 0.005 m²·K/W, 0 W/(m²·K), 25 °C) \"f\"\n}}\n\
             kind garment, one to a run \"g\" {{\n  thick  length from 0.1 mm to 5 mm \"t\" given\n  \
             mass   areal-mass from 50 g/m² to 600 g/m² \"m\" given\n}}\n\
             garment tee {{\n  thick  0.7 mm\n  mass   {mass}\n}}\nrule one {{\n  shall  oven.film at least 120 °C\n  per    practice\n}}\n"
        ))
    };
    let (narrow, wide) = (room("170 g/m² to 190 g/m²"), room("170 g/m² to 230 g/m²"));
    let tightened = Direction {
        tighter: Answer::Yes,
        looser: Answer::No,
    };
    assert_eq!(ways(&narrow, &wide), tightened);
}

/// Shares of one whole come to no more than the whole, whatever a plan states: a limit beyond it asks for nothing.
#[test]
fn shares_together_are_no_more_than_their_whole() {
    let room = |most: u32| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind garment, one to a run \"a garment\" {{\n  \
             wool  share from 0 % to 100 % \"w\" set\n  silk  share from 0 % to 100 % \"s\" set\n  \
             flax  share from 0 % to 100 % \"f\" set\n  parts wool, silk, flax make 100 %\n}}\n\
             rule one {{\n  shall  garment.wool + garment.flax at most {most} %\n  per    practice\n}}\n"
        ))
    };
    assert_eq!(ways(&room(110), &room(120)).looser, Answer::No);
    assert_eq!(ways(&room(90), &room(110)).looser, Answer::Yes);
}

/// Numbers so near to each other that a machine has none between them cannot be halved: what is left of them stays open.
#[test]
fn what_cannot_be_halved_is_no_proof() {
    let room = |most: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {{\n  \
             x  number from 1000000000 to 1000000000.0000001 \"x\" set\n  y  number from 0 to 1 \"y\" set\n}}\n\
             rule one {{\n  shall  box.x * box.y at most {most}\n  per    practice\n}}\n"
        ))
    };
    // A y of 0.33333333335 passes before, and not after.
    let (old, new) = (room("333333333.4"), room("333333333.3"));
    assert_ne!(ways(&old, &new).tighter, Answer::No);
    assert_ne!(ways(&new, &old).looser, Answer::No);
}

/// What a rule asks of the steps behind a step is shown by a sequence that has them, two of other kinds between two of its own
/// included.
#[test]
fn a_sequence_with_two_steps_between_is_made_up() {
    let room = |time: u32| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nstep press-on \"a step\" {{\n  warm  time from 0 s to 100 s set\n}}\n\
             step cool \"a cool\" {{\n  hold  time from 0 s to 100 s set\n}}\nstep dry \"a dry\" {{\n  hold  time from 0 s to 100 s set\n}}\n\
             rule one {{\n  for each  press-on\n  when      press-on.next is cool\n  when      press-on.next.next is dry\n  \
             when      press-on.next.next.next is press-on\n  shall     press-on.warm at least {time} s\n  per       practice\n}}\n"
        ))
    };
    assert_eq!(ways(&room(15), &room(16)).tighter, Answer::Yes);
}

fn of_oven(clauses: &str) -> Room {
    Room::of(&format!(
        "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {{\n  load  number from 0 to 100 set\n  \
         free  number from 0 to 100 set\n}}\nrule one {{\n{clauses}  per    practice\n}}\n"
    ))
}

/// A tolerance is not cut where something is missing: with a further way that a plan does not state, the others are not
/// shown any more.
#[test]
fn a_way_more_may_fail_a_plan_that_does_not_state_it() {
    let either = "  shall  box.load below 5 or box.load at least 4\n";
    let (old, new) = (
        of_oven(either),
        of_oven(&format!("{either}  may    box.free at least 3\n")),
    );
    assert_ne!(ways(&old, &new).tighter, Answer::No);
    // One limit needs no cutting.
    let one = "  shall  box.load below 5\n";
    let (old, new) = (
        of_oven(one),
        of_oven(&format!("{one}  may    box.free at least 3\n")),
    );
    assert_eq!(ways(&old, &new).tighter, Answer::No);
}

/// The most of a value that is missing and a number is missing, however large the number is.
#[test]
fn the_most_of_what_is_missing_is_not_false() {
    let rest = "box.load at most 60";
    let (old, new) = (
        of_oven(&format!(
            "  when   most(box.free, 40) below 30 or {rest}\n  shall  box.load at least 50\n"
        )),
        of_oven(&format!("  when   {rest}\n  shall  box.load at least 50\n")),
    );
    assert_ne!(ways(&old, &new).looser, Answer::No);
    assert_eq!(ways(&old, &new).tighter, Answer::No);
}

/// A run may have many of a kind that are records, and a rule may ask which of them one is, or whether two are the same.
fn of_screens(of: &str) -> Room {
    Room::of(&format!(
        "standard \"A room\" edition \"1\"\n\nkind job, one to a run \"a job\" {{\n  spoilage number set\n  chief screen given\n  \
         second screen given\n}}\nkind screen, many to a run \"a screen\" {{\n  mesh number set\n}}\n\
         screen fine {{\n  mesh 100  per practice\n}}\nrule one {{\n{of}  per practice\n}}\n"
    ))
}

#[test]
fn a_record_of_a_kind_of_many_that_a_clause_asks_for_is_looked_at() {
    for each in [
        "  for each screen\n  when screen is fine\n",
        "  when job.chief is fine\n",
    ] {
        let room =
            |least: u32| of_screens(&format!("{each}  shall job.spoilage at least {least}\n"));
        let pair = compared(&room(2), &room(3)).expect("it can be used");
        assert_eq!(pair.found.meaning, Meaning::Differs, "{each}");
        assert_eq!(ways(&room(2), &room(3)).tighter, Answer::Yes, "{each}");
    }
}

#[test]
fn two_things_that_are_one_record_are_not_the_same_thing() {
    let room = |of: &str| {
        of_screens(&format!(
            "  when job.chief is fine\n  when job.second is fine\n  shall {of}\n"
        ))
    };
    let (same, any) = (room("job.chief is job.second"), room("job.chief stated"));
    assert_ne!(ways(&same, &any).looser, Answer::No);
    assert_ne!(ways(&any, &same).tighter, Answer::No);
}

/// A share that is left out beside the others is nothing, also where nothing may not be stated.
#[test]
fn a_share_that_may_not_be_nothing_is_nothing_where_it_is_left_out() {
    let room = |least: u32| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind cloth, one to a run \"a cloth\" {{\n  wool  share from 5 % to 100 % set\n  \
             silk  share from 0 % to 100 % set\n  parts wool, silk make 100 %\n}}\n\
             rule one {{\n  shall  cloth.wool at least {least} %\n  per    practice\n}}\n"
        ))
    };
    let pair = compared(&room(0), &room(5)).expect("it can be used");
    assert_eq!(pair.found.meaning, Meaning::Differs);
    assert_eq!(ways(&room(0), &room(5)).tighter, Answer::Yes);
}

/// Whether an ink states something is not known of no ink, so that neither it nor its contrary is so.
#[test]
fn what_is_asked_of_an_ink_that_is_not_named_has_no_answer() {
    let room = |when: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind job, one to a run \"a job\" {{\n  spoilage  number set\n}}\n\
             kind ink \"an ink\" {{\n  mesh  range of thread-count given\n}}\n\
             kind pan, many to a run \"a pan\" {{\n  ink  ink given\n}}\nink ink-c {{\n}}\npan pan-a {{\n}}\n\
             rule one {{\n  for each  pan\n{when}  shall     not (job.spoilage stated)\n  per       practice\n}}\n"
        ))
    };
    let always = room("");
    let asked = room("  when      (pan.ink.mesh stated) or (not (pan.ink.mesh stated))\n");
    assert_ne!(ways(&always, &asked).tighter, Answer::No);
    assert_ne!(ways(&asked, &always).looser, Answer::No);
}

/// Of `x above x` no tolerance shows that it is not so, where `x` is worked out, nor of `x - x above nothing`; a `may` then
/// lets more pass.
#[test]
fn what_cancels_at_every_point_is_not_shown_of_a_tolerance() {
    let room = |when: &str, may: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {{\n  air  temperature set\n  \
             second  temperature set\n  hottest  temperature = most(air, second)\n  swing  temperature-difference set\n}}\n\
             rule one {{\n  when   {when}\n  shall  oven.swing at least 27 K\n{may}  per    practice\n}}\n"
        ))
    };
    for when in [
        "oven.hottest above oven.hottest",
        "oven.hottest - oven.hottest above 0 K",
    ] {
        let (without, with) = (
            room(when, ""),
            room(when, "  may    oven.swing at most 15 K\n"),
        );
        assert_ne!(ways(&without, &with).looser, Answer::No, "{when}");
        assert_ne!(ways(&with, &without).tighter, Answer::No, "{when}");
    }
}

/// A tunnel whose dial is known to half a metre a minute.
fn dialled(off: &str, rule: &str) -> Room {
    Room::of(&format!(
        "standard \"A room\" edition \"1\"\n\nkind dryer, one to a run \"a tunnel\" {{\n  belt  speed from 0.1 to 20 m/min \
         set\n}}\ndryer one {{\n  belt shows 1 m/min at 1 m/min{off}\n  belt shows 9 m/min at 9 m/min{off}\n}}\n\
         rule one {{\n  shall  {rule}\n  per    practice\n}}\n"
    ))
}

/// A number that lies anywhere between what is stated and twice that is above 10 or below 11, whichever it is; a check shows
/// neither.
#[test]
fn what_lies_between_two_values_is_known_no_better_by_cutting() {
    let room = |rule: &str| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind oven, one to a run \"an oven\" {{\n  heat   number from 0 to 100 set\n  \
             worth  number = between(heat, 2 * heat)\n}}\nrule one {{\n  shall  {rule}\n  per    practice\n}}\n"
        ))
    };
    let plain = room("oven.heat at least 0");
    let either = room("oven.worth above 10 or oven.worth below 11");
    // A heat of 8 may be worth either; a check of it is at risk.
    assert_ne!(ways(&plain, &either).tighter, Answer::No);
}

/// A belt is above 3 m/min or below 3.2, whichever it is; which of the two is not known where its dial is not known so far.
#[test]
fn what_is_so_behind_a_dial_is_known_no_better_by_cutting() {
    let off = " ± 0.5 m/min";
    let plain = dialled(off, "dryer.belt at least 0.1 m/min");
    let either = dialled(
        off,
        "(dryer.belt above 3 m/min) or (dryer.belt below 3.2 m/min)",
    );
    assert_ne!(ways(&plain, &either).tighter, Answer::No);
    assert_ne!(ways(&either, &plain).looser, Answer::No);
}

#[test]
fn a_dial_that_is_said_to_read_otherwise_tells() {
    let rule = "dryer.belt at most 3 m/min";
    for (old, new) in [(" ± 0.1 m/min", " ± 0.5 m/min"), ("", " ± 0.5 m/min")] {
        let (narrow, wide) = (dialled(old, rule), dialled(new, rule));
        assert_ne!(ways(&narrow, &wide).tighter, Answer::No);
        assert_ne!(ways(&wide, &narrow).looser, Answer::No);
        let pair = compared(&narrow, &wide).expect("it can be used");
        assert_ne!(pair.found.meaning, Meaning::Same);
    }
}

/// What a plan states beside a figure agrees with one scale and not with the other, whatever the rules read.
#[test]
fn a_dial_bears_on_what_is_stated_beside_a_figure() {
    let room = |found: u32| {
        Room::of(&format!(
            "standard \"A room\" edition \"1\"\n\nkind dryer, one to a run \"a tunnel\" {{\n  chamber  length from 1 m to 9 m \
             given\n  belt  speed from 0.1 to 20 m/min set\n  dwell  time = chamber / belt\n  fans  number set\n}}\n\
             dryer one {{\n  chamber  3 m\n  belt shows 1 m/min at 1 m/min\n  belt shows 9 m/min at {found} m/min\n}}\n\n\
             rule one {{\n  shall  dryer.fans at least 1\n  per    practice\n}}\n"
        ))
    };
    let pair = compared(&room(9), &room(12)).expect("it can be used");
    assert_ne!(pair.found.meaning, Meaning::Same);
    let total = total(&pair);
    assert_ne!(total.tighter, Answer::No);
    assert_ne!(total.looser, Answer::No);
}
