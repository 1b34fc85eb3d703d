//! Cells of tables: held against rules and against each other, as if they were rules.

use strikeoff::diagnostic::{Code, Evidence, Outcome};

use super::{marked, of, one, reviewed};

/// Inks that cure in these ranges, and a table of what the film gets to, cell by cell.
fn room(table: &str, rules: &str) -> String {
    format!(
        "standard \"A room\" edition \"1\"\n\n\
         kind ink \"an ink\" {{\n  cure range of temperature \"what it cures at\" given\n}}\n\
         kind cloth, one to a run \"a cloth\" {{\n  stretches yes/no \"it does\" given\n}}\n\
         kind screen, many to a run \"a screen\" {{\n  ink ink \"its ink\" given\n}}\n\
         kind film, one to a run \"a film\" {{\n  peak temperature from 50 °C to 250 °C \"hottest\" measured by \"a probe: good to ± 2.5 °C\"\n}}\n\
         ink plain {{\n  cure 140 to 160 °C per practice\n}}\n\
         ink soft is plain {{\n  cure 145 to 155 °C per practice\n}}\n\
         ink hot {{\n  cure 170 to 180 °C per practice\n}}\n\
         cloth cotton\ncloth knit\ncloth tight-knit is knit\n\n\
         table heat by screen.ink, cloth {{\n  for each screen\n  shall film.peak\n  because \"the room tried it\"\n  per practice\n{table}\n}}\n\n{rules}\n"
    )
}

const CURES: &str = "rule cures {\n  for each screen\n  shall film.peak within screen.ink.cure\n  because \"else it washes out\"\n  per practice\n}";

#[test]
fn a_cell_that_clashes_with_a_range_of_a_record() {
    let table = "         | cotton | knit\n  plain  | 140 to 160 °C | 140 to 160 °C\n  hot    | 170 to 180 °C | at most 165 °C";
    let (run, found) = reviewed(&one(&room(table, CURES)), "room.std");
    let clashes = of(&found, Code::PairRuledOut);
    assert_eq!(clashes.len(), 1, "{clashes:#?}");
    let clash = clashes[0];
    assert_eq!(
        clash.said.headline,
        "no run with ink `hot` and cloth `knit` can keep `cures` and `heat: hot, knit`, nor with 1 other combination"
    );
    assert_eq!(clash.members, ["hot, knit", "hot, tight-knit"]);
    assert_eq!(clash.ground, Evidence::Proved);
    assert_eq!(
        marked(&run, clash),
        [
            "shall film.peak within screen.ink.cure",
            "at most 165 °C",
            "170 to 180 °C"
        ]
    );
    let witness = clash.witness.as_ref().unwrap();
    assert!(witness.counts.of(Outcome::Breaks) >= 1, "{}", witness.plan);
    // A cell for all else that a nearer row or column takes over is not counted for it.
    let nearer = table
        .replace("| cotton | knit", "| cotton | knit | tight-knit")
        .replace(
            "| 140 to 160 °C | 140 to 160 °C",
            "| 140 to 160 °C | 140 to 160 °C | 140 to 160 °C",
        )
        .replace("| at most 165 °C", "| at most 165 °C | at most 175 °C");
    let (_, found) = reviewed(&one(&room(&nearer, CURES)), "room.std");
    let clashes = of(&found, Code::PairRuledOut);
    assert_eq!(clashes.len(), 1, "{clashes:#?}");
    assert_eq!(clashes[0].members, ["hot, knit"]);
}

#[test]
fn a_cell_that_a_rule_implies() {
    let table = "         | cotton | knit\n  soft   | 150 to 152 °C | 100 to 200 °C";
    let (run, found) = reviewed(&one(&room(table, CURES)), "room.std");
    let implied = of(&found, Code::Implied);
    assert_eq!(implied.len(), 1, "{implied:#?}");
    assert_eq!(
        implied[0].said.headline,
        "`cures` already implies this requirement of `heat: soft, knit`"
    );
    assert_eq!(marked(&run, implied[0])[0], "100 to 200 °C");
    // The other cell leaves 2 °C, and the probe is good to ± 2.5 °C.
    let narrow = of(&found, Code::WindowTooNarrow);
    assert_eq!(narrow.len(), 1, "{narrow:#?}");
    assert!(
        narrow[0]
            .said
            .headline
            .contains("150 to 152 °C only: 2 °C wide"),
        "{narrow:#?}"
    );
    assert_eq!(marked(&run, narrow[0])[0], "150 to 152 °C");
}

#[test]
fn a_cell_that_never_binds_and_one_for_nobody() {
    let table = "         | cotton | knit | tight-knit\n  plain  | at least 50 °C | 140 to 160 °C | 140 to 160 °C";
    let never = "rule only-cotton {\n  for each screen\n  when cloth is knit\n  shall film.peak at least 60 °C\n  because \"a reason\"\n  per practice\n}";
    let (run, found) = reviewed(&one(&room(table, never)), "room.std");
    let never: Vec<Vec<String>> = of(&found, Code::NeverBinds)
        .iter()
        .map(|one| marked(&run, one))
        .collect();
    assert_eq!(never.len(), 1);
    assert_eq!(never[0][0], "at least 50 °C");
    let table = table.replace("  plain", "  when cloth is cotton\n  plain");
    let (_, found) = reviewed(&one(&room(&table, CURES)), "room.std");
    let dead: Vec<&str> = of(&found, Code::RuleUnused)
        .iter()
        .chain(&of(&found, Code::DeadRule))
        .map(|one| one.said.headline.as_str())
        .collect();
    assert_eq!(dead.len(), 2, "{dead:?}");
    assert!(dead.iter().all(|words| words.contains("knit")), "{dead:?}");
}

#[test]
fn an_empty_cell_is_a_gap_and_nothing_is_left_undecided() {
    let table = "         | cotton | knit\n  plain  | 140 to 160 °C | ";
    let (_, found) = reviewed(&one(&room(table, "")), "room.std");
    let gaps = of(&found, Code::NoLimit);
    assert_eq!([gaps[0].noun, gaps[1].noun], ["combination", "cell"]);
    let members: Vec<&[String]> = gaps.iter().map(|one| one.members.as_slice()).collect();
    // The cell is told as a cell, and what the table has no row for by the setting.
    assert_eq!(
        members,
        [
            &["hot, cotton", "hot, tight-knit"][..],
            &["plain, knit"][..]
        ]
    );
    assert_eq!(of(&found, Code::NotDecided).len(), 0);
}
