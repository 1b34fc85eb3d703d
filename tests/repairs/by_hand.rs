//! Small rooms whose repairs and margins plain algebra gives.

use strikeoff::check::Options;
use strikeoff::diagnostic::{DriftEnd, Repair};
use strikeoff::units::{Exact, Unit};

use super::{Dice, alone};
use strikeoff::types::Date;

const TUNNEL: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 0.3 m to 15 m         "heated length" set
  belt     speed from 0.05 m/min to 20 m/min "belt speed" set in steps of 0.1 ft/min, 0.1 m/min
  fan      speed from 0.1 m/s to 10 m/s      "air speed" set in steps of 0.1 m/s
  lanes    count of lanes from 1 to 10       "side by side" set
  dwell    time = chamber / belt             "time under heat"
  drying   length = fan * 1 s + belt * 6 s   "made up: more of either dries more"
}
"#;

const SLOW: &str = r#"
rule slow "heated slowly" {
  shall    dryer.dwell at least 60 s
  because  "a test"
  per      practice
}
"#;

fn plan(lines: &str) -> String {
    format!("run \"An order\" against \"room.std\"\n\ndryer {{\n{lines}\n}}\n")
}

fn repairs(standard: &str, lines: &str) -> Vec<Repair> {
    let (_, run) = alone(standard, &plan(lines), Options::default());
    let plan = &run.report.plans[0];
    assert!(plan.checked, "{:#?}", plan.diagnostics);
    plan.diagnostics[0].repairs.clone()
}

#[test]
fn the_edge_of_a_plain_limit_is_the_algebraic_one() {
    // 2.44 m in 60 s at + 5 %: at most 2.44 / 1.05 = 2.3238 m/min; the dial has 2.3.
    let found = repairs(
        &format!("{TUNNEL}{SLOW}"),
        "  chamber 2.44 m\n  belt 3 m/min ± 5 %",
    );
    assert_eq!(
        found[0].words,
        "bring `dryer.belt` to 2.3 m/min ± 5 % (anything from 0.1 to 2.3 m/min holds)"
    );
    // In feet 2.3238 m/min is 7.624 ft/min, and 0.05 m/min / 0.95 is 0.1727 ft/min.
    let found = repairs(
        &format!("{TUNNEL}{SLOW}"),
        "  chamber 2.44 m\n  belt 10 ft/min ± 5 %",
    );
    assert_eq!(
        found[0].words,
        "bring `dryer.belt` to 7.6 ft/min ± 5 % (anything from 0.2 to 7.6 ft/min holds)"
    );
    // Without a tolerance the limit itself holds: 2.4 m at 2.4 m/min is 60 s.
    let found = repairs(
        &format!("{TUNNEL}{SLOW}"),
        "  chamber 2.4 m\n  belt 3 m/min",
    );
    assert!(
        found[0]
            .words
            .starts_with("bring `dryer.belt` to 2.4 m/min (")
    );
}

#[test]
fn the_drift_ends_at_the_algebraic_limit() {
    let options = Options {
        margins: true,
        ..Options::default()
    };
    let text = plan("  chamber 2.44 m\n  belt 2.3 m/min ± 5 % sd 0.03 m/min");
    let (_, run) = alone(&format!("{TUNNEL}{SLOW}"), &text, options);
    let margins = run.report.plans[0].margins.as_ref().unwrap();
    let belt = margins
        .rows
        .iter()
        .find(|row| row.setting == "dryer.belt")
        .unwrap();
    // 2.44 / 1.05 - 2.3 = 0.02381
    let up = belt.up.as_ref().unwrap();
    assert_eq!(up.words, "0.0238 m/min");
    assert!(matches!(&up.end, DriftEnd::Rule { rule, .. } if rule == "slow"));
    // 2.3 - 0.05 / 0.95 = 2.24737
    let down = belt.down.as_ref().unwrap();
    assert_eq!(
        (down.words.as_str(), &down.end),
        ("2.247 m/min", &DriftEnd::Possible)
    );
    // One limit, at 2.44 m/min: Cpk = 0.14 / (3 · 0.03) = 1.5556, less what rounding the drift leaves off.
    let capability = belt.capability.as_ref().unwrap();
    assert_eq!(capability.cp, None);
    assert!((capability.cpk.unwrap() - 1.5556).abs() < 2e-3);
    // ± 0.115 m/min over 3 · 0.03 m/min.
    assert!((capability.of_tolerance.unwrap() - 1.2778).abs() < 1e-3);
}

/// The worked example of the NIST/SEMATECH e-Handbook of Statistical Methods, 7.1.6 (from memory): mean 16, standard
/// deviation 2, limits 8 and 20 give Cp = 1.0 and Cpk = 0.6667.
#[test]
fn capability_between_two_limits() {
    let standard = format!(
        "{TUNNEL}
rule window {{
  shall    dryer.fan at least 0.8 m/s
  shall    dryer.fan at most 2.0 m/s
  because  \"a test\"
  per      practice
}}
"
    );
    let options = Options {
        margins: true,
        ..Options::default()
    };
    let (_, run) = alone(&standard, &plan("  fan 1.6 m/s sd 0.2 m/s"), options);
    let margins = run.report.plans[0].margins.as_ref().unwrap();
    let capability = margins.rows[0].capability.as_ref().unwrap();
    assert!((capability.cp.unwrap() - 1.0).abs() < 1e-9);
    assert!((capability.cpk.unwrap() - 2.0 / 3.0).abs() < 1e-9);
    assert_eq!(capability.of_tolerance, None);
}

#[test]
fn two_settings_where_one_is_not_enough() {
    // Slowing the belt to 2.4 m/min costs 0.06 m of drying, and the fan would have to go to 1.8 m/s; the least is a
    // longer chamber, 3 m for 60 s at 3 m/min, and the fan at 2 m - 0.3 m = 1.7 m in a second.
    let standard = format!(
        "{TUNNEL}{SLOW}
rule dry {{
  shall    dryer.drying at least 2 m
  because  \"a test\"
  per      practice
}}
"
    );
    let (_, run) = alone(
        &standard,
        &plan("  chamber 2.4 m\n  belt 3 m/min\n  fan 1 m/s"),
        Options::default(),
    );
    let plan = &run.report.plans[0];
    let repair = plan.whole.as_ref().unwrap().repair.as_ref().unwrap();
    assert!(repair.whole);
    assert_eq!(
        repair.words,
        "bring `dryer.chamber` to 3 m and `dryer.fan` to 1.7 m/s (`dryer.chamber` anything from 3 to 15 m \
         and `dryer.fan` anything from 1.7 to 10 m/s hold together)"
    );
}

#[test]
fn what_takes_less_comes_first_and_a_room_says_it_anew() {
    let dry = "
rule dry {
  shall    dryer.drying at least 2 m
  because  \"a test\"
  per      practice
}
";
    let lines = "  belt 3 m/min\n  fan 1 m/s";
    let first = |more: &str| {
        repairs(&format!("{TUNNEL}{dry}{more}"), lines)[0]
            .words
            .clone()
    };
    // Relative to its value the fan moves less: 1.7 m/s and 0.3 m.
    assert!(first("").starts_with("bring `dryer.fan` to 1.7 m/s"));
    let takes = "add to dryer {\n  changing belt takes 1 min\n  changing fan takes 5 min \"a new pulley\"\n}\n";
    assert!(first(takes).starts_with("bring `dryer.belt` to 10 m/min"));
    let anew = format!("{takes}add to dryer {{\n  changing fan takes 30 s \"the knob\"\n}}\n");
    let words = first(&anew);
    assert!(words.starts_with("bring `dryer.fan` to 1.7 m/s"), "{words}");
    assert!(words.ends_with("; takes 30 s: the knob)"), "{words}");
}

#[test]
fn what_changing_takes_is_no_part_of_the_meaning() {
    let digest = |more: &str| {
        let (_, run) = alone(
            &format!("{TUNNEL}{SLOW}{more}"),
            &plan("  lanes 1"),
            Options::default(),
        );
        run.report.standards[0].digest.clone()
    };
    let takes = "add to dryer {\n  changing belt, fan takes 1 min \"a knob\"\n}\n";
    assert_eq!(digest(""), digest(takes));
}

#[test]
fn clauses_that_clash_are_named() {
    let standard = format!(
        "{TUNNEL}{SLOW}
rule fast \"the press must not wait\" {{
  shall    dryer.belt at least 2.5 m/min
  because  \"a test\"
  per      practice
}}
"
    );
    let (_, run) = alone(
        &standard,
        // The chamber is the room's: no plan moves it.
        &plan("  belt 3 m/min").replace("dryer {", "dryer is short {"),
        Options::default(),
    );
    assert!(!run.report.plans[0].checked, "there is no such tunnel yet");
    let standard = format!("{standard}\ndryer short {{\n  chamber 2.4 m\n}}\n");
    let (_, run) = alone(
        &standard,
        &plan("  belt 3 m/min").replace("dryer {", "dryer is short {"),
        Options::default(),
    );
    let said = &run.report.plans[0].diagnostics[0];
    assert!(said.repairs.is_empty());
    assert_eq!(
        said.notes,
        ["with `dryer.belt` at 2.4 m/min it holds, but then `fast` breaks"]
    );
    let clashes = said.labels().iter().filter(|label| {
        label
            .words
            .contains("breaks with `dryer.belt` at 2.4 m/min")
    });
    assert_eq!(clashes.count(), 1);
}

/// Against all values that the dial has: the offer is the nearest that does, and what is called proved is so.
#[test]
fn the_nearest_value_of_the_dial_is_offered() {
    let mut dice = Dice(5);
    let mut counts = (0, 0);
    let unit = Unit::parse("m/min").unwrap();
    for _ in 0..200 {
        let dwell = dice.whole(20, 90);
        let (low, high) = (dice.whole(1, 60), dice.whole(1, 60));
        let (low, high) = (low.min(high), low.max(high));
        let belt = dice.whole(1, 199);
        let chamber = dice.whole(10, 60);
        let standard = format!(
            "{TUNNEL}
dryer one {{
  chamber {}.{} m
}}
rule slow {{
  shall    dryer.dwell at least {dwell} s
  because  \"a test\"
  per      practice
}}
rule between {{
  shall    dryer.belt at least {}.{} m/min
  shall    dryer.belt at most {}.{} m/min
  because  \"a test\"
  per      practice
}}
",
            chamber / 10,
            chamber % 10,
            low / 10,
            low % 10,
            high / 10,
            high % 10,
        );
        let text = plan(&format!("  belt {}.{} m/min", belt / 10, belt % 10))
            .replace("dryer {", "dryer is one {");
        let (_, run) = alone(&standard, &text, Options::default());
        // chamber/10 m over belt/10 m/min is chamber/belt min.
        let slow = |belt: i64| 60 * chamber >= dwell * belt;
        let keeps = |at: i64| (low..=high).contains(&at);
        let report = &run.report.plans[0];
        let found = report.diagnostics.iter().find(|said| {
            said.finding
                .as_ref()
                .is_some_and(|finding| finding.rule == "slow")
        });
        assert_eq!(found.is_none(), slow(belt));
        let Some(found) = found else { continue };
        // Downwards from the present value: `between` may not break where it holds now.
        let does = |at: i64| slow(at) && (keeps(at) || worse_is_allowed(belt, at, low, high));
        let nearest = (1..belt).rev().find(|at| does(*at));
        match (nearest, found.repairs.first()) {
            (Some(at), Some(repair)) => {
                let value = Exact::ratio(at, 10);
                let shown = strikeoff::units::show_exact(&unit.to_base(&value), &unit);
                assert_eq!(repair.moves[0].to, shown, "{standard}{text}");
                let lowest = (1..=at).rev().take_while(|at| does(*at)).last().unwrap();
                #[allow(clippy::cast_precision_loss)]
                let lowest = lowest as f64 / 10.0;
                assert!(
                    (repair.moves[0].low - lowest).abs() < 1e-9,
                    "{standard}{text}"
                );
                counts.0 += 1;
            }
            (None, None) => counts.1 += 1,
            (nearest, repair) => panic!("{nearest:?} {repair:?}\n{standard}{text}"),
        }
    }
    assert!(counts.0 > 30 && counts.1 > 20, "{counts:?}");
}

/// Whether the two limits of `between` are none the worse: one that breaks now may go on to.
fn worse_is_allowed(belt: i64, at: i64, low: i64, high: i64) -> bool {
    (at >= low || belt < low) && (at <= high || belt > high)
}

#[test]
fn a_repair_is_a_number_that_a_plan_can_hold() {
    let standard = "standard \"w\" edition \"1\"
kind bed, one to a run \"bed\" {
  swing   temperature-difference from 0 K to 80 K \"swing\" set
  pieces  pieces from 1 pieces to 1000 pieces \"pieces\" set
  wide    length from 0 mm to 900 mm \"wide\" set in steps of 0.0625 mm
}
unit dozen = 12 pieces
rule a {
  shall  bed.swing at most 10 Δ°F
  per    practice
}
rule b {
  shall  bed.pieces below 100 pieces
  per    practice
}
rule c {
  shall  bed.wide at most 123.4375 mm
  per    practice
}
";
    for (stated, to) in [
        ("swing 20 Δ°F ± 2 Δ°F", "`bed.swing` to 8 Δ°F ± 2 Δ°F"),
        ("swing 20 K ± 2 K", "`bed.swing` to 3.5 K ± 2 K"),
        ("pieces 98 ± 2", "`bed.pieces` to 97 pieces ± 2 pieces"),
        ("pieces 100", "`bed.pieces` to 99 pieces"),
        ("pieces 9 dozen", "`bed.pieces` to 99 pieces"),
        // No digit is lost, or the value would be another one.
        ("wide 200 mm", "`bed.wide` to 123.4375 mm"),
    ] {
        let plan = format!(
            "run \"a\" against \"room.std\"\nbed {{\n  swing 1 K\n  pieces 5\n  wide 1 mm\n  {stated}\n}}\n"
        );
        let name = stated.split(' ').next().unwrap();
        let own = plan
            .lines()
            .filter(|line| !line.trim_start().starts_with(name) || line.trim_start() == stated);
        let plan = own.collect::<Vec<_>>().join("\n") + "\n";
        let (room, run) = alone(standard, &plan, Options::default());
        let report = &run.report.plans[0];
        assert!(report.checked, "{stated}: {:?}", report.diagnostics);
        let said = report
            .diagnostics
            .iter()
            .find(|said| !said.repairs.is_empty());
        let said = said.unwrap_or_else(|| panic!("{stated}: {:?}", report.diagnostics));
        assert!(
            said.repairs[0].words.starts_with(&format!("bring {to}")),
            "{}",
            said.repairs[0].words
        );
        let wrong = room.try_repairs(&run, report);
        assert!(wrong.is_empty(), "{wrong:?}");
    }
}

#[test]
fn a_repair_does_not_take_away_what_a_deviation_lets_pass() {
    let standard = "standard \"A room\" edition \"1\"
kind dryer, one to a run \"a tunnel\" {
  belt  speed from 0.05 to 20 m/min  \"belt speed\" set in steps of 0.1 m/min
}
rule slow {
  shall    dryer.belt at most 5 m/min
  adjust   dryer.belt
  because  \"so it has to be\"
  per      practice
}
rule fast {
  shall    dryer.belt at least 8 m/min
  adjust   dryer.belt
  because  \"so it has to be\"
  per      practice
}
deviation from slow {
  up to    7 m/min
  because  \"a trial of the new ink\"
  approved \"a lead\"
  until    2027-12-31
}
";
    let plan = "run \"An order\" against \"room.std\"\ndryer {\n  belt 6.5 m/min\n}\n";
    let options = Options {
        on: Date::parse("2026-11-27"),
        ..Options::default()
    };
    let (_, run) = alone(standard, plan, options);
    let report = &run.report.plans[0];
    let fast = report.diagnostics.iter().find(|said| {
        said.finding
            .as_ref()
            .is_some_and(|finding| finding.rule == "fast")
    });
    // 8 m/min would do for `fast`, and is more than the deviation from `slow` permits.
    let fast = fast.unwrap();
    assert!(fast.repairs.is_empty(), "{:?}", fast.repairs);
    assert!(
        fast.notes
            .iter()
            .any(|note| note.contains("but then `slow` breaks")),
        "{:?}",
        fast.notes
    );
}

#[test]
fn what_cannot_be_written_is_not_offered() {
    // No text of at most 12 places says this tolerance; a rounded one would be another plan than the one tried.
    let standard = "standard \"w\" edition \"1\"
kind bed, one to a run \"bed\" {
  wide  length from 0 mm to 900 mm \"wide\" set
}
rule a {
  shall  bed.wide at most 10 mm
  per    practice
}
";
    let offered = |tolerance: &str| {
        let plan =
            format!("run \"a\" against \"room.std\"\nbed {{\n  wide 20 mm ± {tolerance} mm\n}}\n");
        let (_, run) = alone(standard, &plan, Options::default());
        let report = &run.report.plans[0];
        assert!(report.checked, "{:?}", report.diagnostics);
        report
            .diagnostics
            .iter()
            .map(|said| said.repairs.len())
            .sum::<usize>()
    };
    assert_eq!(offered("0.123456789012"), 1);
    assert_eq!(offered("0.12345678901234567"), 0);
}

/// 20 and 20 are all that two dials have: where that is shown of both together it is called proved.
#[test]
fn that_no_two_settings_do_is_proved_or_not_said_to_be() {
    let said = |asked: &str| {
        let standard = format!(
            "standard \"w\" edition \"1\"
kind bed, one to a run \"bed\" {{
  wide  number from 0 to 20 \"wide\" set in steps of 1
  tall  number from 0 to 20 \"tall\" set in steps of 1
}}
rule a {{
  shall  {asked}
  because \"a test\"
  per    practice
}}
"
        );
        let plan = "run \"a\" against \"room.std\"\nbed {\n  wide 15\n  tall 10\n}\n";
        let (_, run) = alone(&standard, plan, Options::default());
        format!("{:?}", run.report.plans[0].diagnostics[0])
    };
    let never = said("bed.wide + bed.tall at least 50");
    let proved =
        "no change of one or two settings makes this hold and breaks nothing else (proved)";
    assert!(never.contains(proved), "{never}");
    assert!(!said("bed.wide + bed.tall at least 40").contains(proved));
}

/// No setting mends what a plan states otherwise than its record: each finding keeps its repair, and nothing is said to mend
/// the whole run.
#[test]
fn nothing_mends_a_run_that_overrules_what_is_given() {
    let room = TUNNEL.replace("\"heated length\" set", "\"heated length\" given");
    let fan = "\nrule windy {\n  shall    dryer.fan at least 1 m/s\n  per      practice\n}\n";
    let room = format!("{room}\ndryer north {{\n  chamber  2.44 m\n}}\n{SLOW}{fan}");
    let plan = |chamber: &str| {
        format!(
            "run \"An order\" against \"room.std\"\n\ndryer is north {{\n{chamber}  belt 3 m/min ± 5 %\n  fan 0.5 m/s\n}}\n"
        )
    };
    for (chamber, mended) in [("", true), ("  chamber 2.5 m\n", false)] {
        let (_, run) = alone(&room, &plan(chamber), Options::default());
        let found = &run.report.plans[0];
        let repair = found.whole.as_ref().and_then(|whole| whole.repair.as_ref());
        assert_eq!(repair.is_some(), mended, "{chamber}: {:#?}", found.whole);
        assert!(
            found
                .diagnostics
                .iter()
                .any(|said| !said.repairs.is_empty()),
            "{chamber}"
        );
    }
}
