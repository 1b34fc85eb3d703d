//! Questions that hang on a figure: boxes are cut until nothing is left, or a run is found, or it is called not decided.

use strikeoff::diagnostic::{Code, Outcome};

use super::{marked, of, one, reviewed};

/// A tunnel of 2.44 m and a rule on its belt; `dwell` is worked out.
fn tunnel(rules: &str) -> String {
    format!(
        "standard \"A room\" edition \"1\"\n\nkind dryer, one to a run \"a tunnel\" {{\n  chamber length from 0.3 m to 15 m \"heated length\" given\n  belt speed from 0.05 to 20 m/min \"belt speed\" set\n  dwell time from 1 s to 7200 s = chamber / belt \"time under heat\"\n}}\n\ndryer short {{\n  chamber 2.44 m per practice\n}}\n\n{rules}"
    )
}

fn rule(name: &str, clauses: &str) -> String {
    format!("rule {name} {{\n  {clauses}\n  because \"so it is\"\n  per practice\n}}\n")
}

/// 2.44 m at 3 m/min is 48.8 s: below 60 s, and above 48 s.
#[test]
fn a_figure_and_what_it_is_worked_out_from() {
    let fast = rule("fast", "shall dryer.belt at least 3 m/min");
    let slow = rule("slow", "shall dryer.dwell at least 60 s");
    let (run, found) = reviewed(&one(&tunnel(&(fast.clone() + &slow))), "room.std");
    let clashes = of(&found, Code::Contradiction);
    assert_eq!(clashes.len(), 1, "{found:#?}");
    let places = marked(&run, clashes[0]);
    assert!(
        places.contains(&"shall dryer.belt at least 3 m/min".to_owned()),
        "{places:?}"
    );
    assert!(
        places.contains(&"shall dryer.dwell at least 60 s".to_owned()),
        "{places:?}"
    );
    let witness = clashes[0].witness.as_ref().unwrap();
    assert!(witness.plan.contains("dryer is short"), "{}", witness.plan);
    assert_eq!(witness.counts.of(Outcome::Holds), 1, "{}", witness.plan);
    let gentle = rule("gentle", "shall dryer.dwell at least 48 s");
    let (_, found) = reviewed(&one(&tunnel(&(fast + &gentle))), "room.std");
    assert_eq!(of(&found, Code::Contradiction).len(), 0, "{found:#?}");
}

/// A limit that compares two settings, and one that follows from it: proved by cutting boxes.
#[test]
fn a_requirement_that_a_figure_implies() {
    let kind = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number from 1 to 6 \"w\" set\n  tall number from 1 to 6 \"t\" set\n}\n\n";
    let strict = rule("strict", "shall box.wide * box.tall at most 8");
    let loose = rule("loose", "shall box.wide * box.tall at most 9");
    let other = rule("other", "shall box.wide + box.tall at least 3");
    let text = format!("{kind}{strict}{loose}{other}");
    let (run, found) = reviewed(&one(&text), "room.std");
    let implied = of(&found, Code::Implied);
    assert_eq!(implied.len(), 1, "{found:#?}");
    assert_eq!(
        marked(&run, implied[0]),
        [
            "shall box.wide * box.tall at most 9",
            "shall box.wide * box.tall at most 8"
        ]
    );
    // 6 + 6 is 12: nothing can reach 13, and a box is at least 1 by 1.
    let never = rule("never", "shall box.wide + box.tall at most 13");
    let vain = rule("vain", "shall box.wide + box.tall at least 12.5");
    let (_, found) = reviewed(&one(&format!("{kind}{never}")), "room.std");
    assert_eq!(of(&found, Code::NeverBinds).len(), 1, "{found:#?}");
    let (_, found) = reviewed(&one(&format!("{kind}{vain}")), "room.std");
    assert_eq!(of(&found, Code::Contradiction).len(), 1, "{found:#?}");
}

/// Two requirements that touch in a curve that no box hits: neither proved nor shown, and called so.
#[test]
fn what_is_not_decided_is_said() {
    let kind = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number from 1 to 6 \"w\" set\n  tall number from 1 to 6 \"t\" set\n}\n\n";
    let at_most = rule("at-most", "shall box.wide * box.tall at most 7");
    let at_least = rule("at-least", "shall box.wide * box.tall at least 7");
    let (_, found) = reviewed(&one(&format!("{kind}{at_most}{at_least}")), "room.std");
    assert_eq!(of(&found, Code::Contradiction).len(), 0, "{found:#?}");
    assert_eq!(of(&found, Code::NotDecided).len(), 1, "{found:#?}");
}

#[test]
fn a_rule_for_records_that_are_not_there() {
    let kind = "standard \"A room\" edition \"1\"\n\nkind paint \"a paint\" {\n  base choice of oil, water \"what carries it\" given\n}\nkind can, many to a run \"a can\" {\n  paint paint \"what is in it\" given\n  heat temperature from 0 to 100 °C \"how warm\" set\n}\n\npaint red {\n  base oil\n}\n\n";
    let text = format!(
        "{kind}{}",
        rule(
            "wet",
            "for each can\n  when can.paint.base is water\n  shall can.heat at most 30 °C"
        )
    );
    let (_, found) = reviewed(&one(&text), "room.std");
    assert_eq!(of(&found, Code::RuleUnused).len(), 1, "{found:#?}");
    assert_eq!(of(&found, Code::DeadRule).len(), 0);
}

/// Whatever the records, a rule on them alone explains a pair that nothing can be done about.
#[test]
fn a_rule_on_the_records_explains_a_pair() {
    let kind = "standard \"A room\" edition \"1\"\n\nkind paint \"a paint\" {\n  cure range of temperature from 0 to 300 °C \"what it needs\" given\n}\nkind cloth, one to a run \"a cloth\" {\n  stands temperature from 0 to 300 °C \"what it stands\" set\n}\nkind can, many to a run \"a can\" {\n  paint paint \"what is in it\" given\n  heat temperature from 0 to 300 °C \"how warm\" set\n}\n\npaint hot {\n  cure 180 to 200 °C per practice\n}\n\npaint cool {\n  cure 100 to 120 °C per practice\n}\n\ncloth thin {\n  stands 150 °C\n}\n\ncloth thick {\n  stands 250 °C\n}\n\n";
    let cures = rule(
        "cures",
        "for each can\n  shall can.heat within can.paint.cure",
    );
    let stands = rule(
        "stands",
        "for each can\n  shall can.heat at most cloth.stands",
    );
    let (_, found) = reviewed(&one(&format!("{kind}{cures}{stands}")), "room.std");
    let pairs = of(&found, Code::PairRuledOut);
    assert_eq!(pairs.len(), 1, "{found:#?}");
    assert_eq!(pairs[0].members, ["hot, thin"]);
    let said = rule(
        "suits",
        "for each can\n  shall low(can.paint.cure) at most cloth.stands",
    );
    let (run, found) = reviewed(&one(&format!("{kind}{cures}{stands}{said}")), "room.std");
    assert_eq!(of(&found, Code::PairRuledOut).len(), 0, "{found:#?}");
    let explained = of(&found, Code::Explained);
    assert_eq!(explained.len(), 1, "{found:#?}");
    assert_eq!(
        explained[0].said.headline,
        "no run with paint `hot` and cloth `thin` can keep `cures` and `stands`; `suits` says so"
    );
    assert_eq!(
        marked(&run, explained[0])[0],
        "shall low(can.paint.cure) at most cloth.stands"
    );
    // Advice does not rule a pair out, and a rule without a reason explains nothing.
    let loud = |said: &str| {
        let (_, found) = reviewed(&one(&format!("{kind}{cures}{stands}{said}")), "room.std");
        let quiet = of(&found, Code::Explained).len();
        (
            of(&found, Code::PairRuledOut).len(),
            of(&found, Code::Contradiction).len(),
            quiet,
        )
    };
    assert_eq!(loud(&said.replace("shall", "should")), (1, 0, 0));
    let bare: Vec<&str> = said
        .lines()
        .filter(|line| !line.contains("because"))
        .collect();
    assert_eq!(loud(&bare.join("\n")), (1, 0, 0));
    // A paint that goes on nothing is no pair: a rule that forbids it everywhere does not make it right.
    let nothing = "paint boiling {\n  cure 270 to 290 °C per practice\n}\n\n";
    assert_eq!(loud(&format!("{nothing}{said}")), (0, 1, 0));
}

/// Advice that fails at the worse end of a span and could be followed at the other is a dispute, not vain.
#[test]
fn a_span_that_decides_is_told_as_one() {
    let kind = "standard \"A room\" edition \"1\"\n\nkind cloth, one to a run \"a cloth\" {\n  onset temperature from 0 to 300 °C \"where dye moves\" set\n}\nkind film, one to a run \"a film\" {\n  peak temperature from 0 to 300 °C \"how warm\" measured by \"a probe\"\n}\n\ncloth knit {\n  onset 130 to 160 °C per \"two pages\"\n}\n\n";
    let cures = rule("cures", "shall film.peak at least 140 °C");
    let cool = rule("cool", "should film.peak below cloth.onset");
    let told = |text: &str| {
        let (_, found) = reviewed(&one(text), "room.std");
        (
            of(&found, Code::Explained).len(),
            of(&found, Code::VainAdvice).len(),
        )
    };
    let text = format!("{kind}{cures}{cool}");
    assert_eq!(told(&text), (1, 0));
    assert_eq!(
        told(&text.replace("130 to 160 °C", "130 to 140 °C")),
        (0, 1)
    );
    assert_eq!(
        told(&text.replace("130 to 160 °C", "141 to 160 °C")),
        (0, 0)
    );
}

#[test]
fn cells_of_a_table_do_not_clash_with_each_other_and_empty_ones_are_told() {
    let room = one("standard \"a room\" edition \"1\"

kind ink \"an ink\" {
}
kind garment, one to a run \"what is printed on\" {
}
kind screen, many to a run \"a screen\" {
  ink  ink given
}
kind film, one to a run \"the film\" {
  peak  temperature from 20 °C to 250 °C measured by \"a probe\"
}
ink white {
}
ink black {
}
garment cotton {
}
garment blend {
}
table cure by screen.ink, garment {
  for each   screen
  shall      film.peak
  per        practice
  because    \"it cures there\"
        | cotton         | blend
  white | 100 to 110 °C  | 120 to 130 °C
  black | 140 to 150 °C  |
}
");
    let (run, review) = reviewed(&room, "room.std");
    assert!(of(&review, Code::Contradiction).is_empty());
    assert!(of(&review, Code::PairRuledOut).is_empty());
    let empty = of(&review, Code::NoLimit);
    assert_eq!(empty.len(), 1);
    assert_eq!(empty[0].members, ["black, blend"]);
    assert_eq!(marked(&run, empty[0]), ["|"]);
    assert_eq!(of(&review, Code::NotDecided).len(), 0);
}
