//! `words` and `new plan`: what can be written, and a plan to fill in, from the program alone.

use super::{CLEAN, FINDINGS, Folder, STANDARD, TROUBLE};

#[test]
fn words_come_from_the_program_alone() {
    let folder = Folder::new("words");
    let all = folder.run(&["words"]);
    assert_eq!(all.code, CLEAN);
    let text = all.out;
    for word in [
        "garment",
        "dryer",
        "least(a, b",
        "film-peak",
        "m/min",
        "slow-heat-on-polyester",
    ] {
        assert!(text.contains(word), "no `{word}` in\n{text}");
    }
    let kind = folder.run(&["words", "dryer"]).out;
    assert!(kind.contains("belt") && kind.contains("chamber"), "{kind}");
    let setting = folder.run(&["words", "dryer.belt"]).out;
    for word in ["m/min", "read by", "<trade>:"] {
        assert!(setting.contains(word), "no `{word}` in\n{setting}");
    }
    // A path as rules write it leads to the same setting.
    assert!(
        folder
            .run(&["words", "screen.ink.cure"])
            .out
            .contains("`ink.cure`")
    );
    // A rule is shown as it is written, as findings point into texts that nobody can open.
    let rule = folder.run(&["words", "slow-heat-on-polyester"]).out;
    assert!(
        rule.contains("rule slow-heat-on-polyester") && rule.contains("shall"),
        "{rule}"
    );
    let spec = folder.run(&["words", "--spec", "trade"]);
    assert_eq!(spec.out, include_str!("../../specs/trade.std"));
}

#[test]
fn a_word_that_is_not_there_is_answered_with_the_nearest() {
    let folder = Folder::new("words-wrong");
    for (name, help) in [
        ("dryer.bel", "did you mean `belt`?"),
        ("garmet", "did you mean `garment`?"),
        (
            "quite-another-thing",
            "`strikeoff words` lists what there is",
        ),
    ] {
        let run = folder.run(&["words", name]);
        assert_eq!(run.code, TROUBLE, "{name}");
        assert!(run.err.contains(help), "{name}: {}", run.err);
    }
    let run = folder.run(&["words", "--spec", "trad"]);
    assert_eq!(run.code, TROUBLE);
    assert!(run.err.contains("did you mean `trade`?"), "{}", run.err);
    // `explain` is for codes; it says where the words are.
    let run = folder.run(&["explain", "dryer.belt"]);
    assert!(
        run.err.contains("`strikeoff words dryer.belt`"),
        "{}",
        run.err
    );
}

const ROOM: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 0.3 m to 15 m    "heated length"  given
  belt     speed from 0.05 to 20 m/min  "belt speed"  set in steps of 0.05 m/min
  dwell    time from 1 s to 900 s = chamber / belt   "time under heat"
}

kind film, one to a run "the ink film" {
  peak     temperature from 5 °C to 225 °C = dryer.dwell * 1 K / 1 s + 80 °C  "hottest it gets"  measured by "a probe"
  spare    length  given
}

kind ink "an ink" {
  cure     range of temperature  given
}

kind screen, many to a run "a screen" {
  ink      ink  set
  tension  tension from 1 N/cm to 80 N/cm  "of the mesh"  measured by "a tension meter"
}

step print "a print" {
  screen   screen  set
  strokes  count of strokes from 1 to 9  set
}

ink white { 
  cure     150 to 165 °C   per practice
}

dryer north {
  chamber  2.44 m
}

rule slow "heated slowly" {
  shall    dryer.dwell at least 60 s
  should   dryer.dwell at least 65 s
  per      practice
}

rule cures {
  for each print
  shall    film.peak within print.screen.ink.cure
  shall    print.strokes at least 2 strokes
  per      practice
}

rule tight {
  for each screen
  shall    screen.tension at least 20 N/cm
  per      practice
}
"#;

#[test]
fn a_plan_to_fill_in_asks_for_what_the_rules_ask_for_and_nothing_else() {
    let folder = Folder::new("new-plan");
    folder.put("room.std", ROOM);
    let run = folder.run(&[
        "new",
        "plan",
        "--against",
        "room.std",
        "--dryer",
        "north",
        "--ink",
        "white",
        "--ink",
        "white",
    ]);
    assert_eq!(run.code, CLEAN, "{}", run.err);
    let text = run.out;
    assert!(
        !text.contains("spare") && !text.contains("chamber  "),
        "{text}"
    );
    for line in [
        "dryer is north {",
        "screen screen-2 {",
        "print screen-1",
        "# tension",
        "# belt",
    ] {
        assert!(text.contains(line), "no `{line}` in\n{text}");
    }
    // It reads as it is, and says what it lacks: each thing once, `shall` and `should` on one value together,
    // and things that lack the same together.
    folder.put("order.plan", &text);
    let check = folder.run(&["check", "order.plan"]);
    assert_eq!(check.code, FINDINGS, "{}", check.err);
    let said = check.out;
    assert_eq!(said.matches("error[").count(), 1, "{said}");
    assert_eq!(said.matches("    belt ").count(), 1, "{said}");
    assert_eq!(said.matches("    tension ").count(), 1, "{said}");
    // What it asks for is all there is to ask: filled in, every rule is decided.
    let mut filled = String::new();
    for line in text.lines() {
        let value = line.trim_start();
        let value = match value
            .strip_prefix("# ")
            .and_then(|rest| rest.split(' ').next())
        {
            Some("belt") => "  belt  2 m/min",
            Some("tension") => "  tension  24 N/cm",
            Some("peak") => "  peak  153 °C",
            _ if value.starts_with("print ") => {
                &format!("  {}, strokes 2", value.split("   #").next().unwrap())
            }
            _ => line,
        };
        filled.push_str(value);
        filled.push('\n');
    }
    folder.put("order.plan", &filled);
    let check = folder.run(&["check", "order.plan"]);
    assert_eq!(check.code, CLEAN, "{}\n{filled}", check.out);
    assert!(check.out.contains("not stated 0"), "{}", check.out);
}

#[test]
fn what_can_be_read_or_worked_out_names_both_ways() {
    let folder = Folder::new("two-ways");
    folder.put("room.std", ROOM);
    folder.put(
        "a.plan",
        "run \"a\" against \"room.std\"\ndryer {\n  belt 2 m/min\n}\nscreen one {\n  ink white\n  tension 24 N/cm\n}\nsequence {\n  print one, strokes 2\n}\n",
    );
    let said = folder.run(&["check", "a.plan"]).out;
    let peak = said.find("    peak ").unwrap_or_else(|| panic!("{said}"));
    assert!(said.contains("read it off: a probe"), "{said}");
    // `slow` needs the chamber by itself, so it is no way round.
    let chamber = said
        .find("    chamber ")
        .unwrap_or_else(|| panic!("{said}"));
    assert!(
        chamber < peak && !said.contains("instead of reading"),
        "{said}"
    );
}

#[test]
fn choices_that_cannot_be_are_told_of() {
    let folder = Folder::new("new-plan-wrong");
    folder.put("room.std", STANDARD);
    for (words, help) in [
        (vec!["--dryr", "north"], "did you mean `dryer`?"),
        (vec!["--dryer", "north"], "no dryer `north`"),
        (vec!["--dryer"], "names no record"),
        (vec!["dryer"], "stands alone"),
    ] {
        let mut all = vec!["new", "plan", "--against", "room.std"];
        all.extend(words);
        let run = folder.run(&all);
        assert_eq!(run.code, TROUBLE, "{all:?}");
        assert!(run.err.contains(help), "{all:?}: {}", run.err);
    }
}

#[test]
fn two_inks_on_one_sort_of_screen_are_two_screens() {
    let folder = Folder::new("new-plan-screens");
    folder.run(&["new", "."]);
    let mut words = vec![
        "new",
        "plan",
        "--against",
        "room.std",
        "--screen",
        "house-screen",
    ];
    words.extend(["--ink", "house-ink", "--ink", "puff-plastisol"]);
    let text = folder.run(&words).out;
    let squeezed = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in [
        "screen screen-1 is house-screen { ink house-ink # tension … N/cm read on … #",
        "screen screen-2 is house-screen { ink puff-plastisol #",
        "print screen-1",
        "print screen-2",
    ] {
        assert!(squeezed.contains(told), "no {told:?} in\n{text}");
    }
    assert!(!text.contains("screen-3"), "{text}");
}
