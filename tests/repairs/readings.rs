//! A reading is evidence, not a dial: no repair moves it, and where what it rests on is moved it is taken again.

use strikeoff::check::Options;
use strikeoff::diagnostic::{PlanReport, Repair};

use super::{alone, demo, path};

/// What people read off, written by hand and not taken from the specs.
const READ_OFF: [&str; 9] = [
    "film.peak",
    "film.hold",
    "pallet-before",
    "pallet-after",
    "tension",
    "eom",
    "moisture",
    "lead",
    "formaldehyde",
];

fn repairs(plan: &PlanReport) -> impl Iterator<Item = &Repair> {
    let findings = plan.diagnostics.iter().flat_map(|said| &said.repairs);
    findings.chain(plan.whole.iter().filter_map(|whole| whole.repair.as_ref()))
}

fn is_read_off(setting: &str) -> bool {
    let last = setting.rsplit([' ', '.']).next().unwrap();
    READ_OFF
        .iter()
        .any(|known| *known == setting || *known == last)
}

fn help(plan: &PlanReport, rule: &str) -> String {
    let of_rule = plan.diagnostics.iter().find(|said| {
        let finding = said.finding.as_ref();
        finding.is_some_and(|finding| finding.rule == rule)
    });
    of_rule.unwrap().help.clone().unwrap_or_default()
}

#[test]
fn no_repair_of_a_demo_plan_moves_a_reading() {
    let (_, run) = demo();
    let (mut moves, mut edits) = (0, 0);
    for plan in &run.report.plans {
        let text = run.store.get(plan.file).text();
        for repair in repairs(plan) {
            for moved in &repair.moves {
                assert!(!is_read_off(&moved.setting), "{}", repair.words);
                moves += 1;
            }
            // What is written stands on the line of no reading.
            for edit in &repair.edits {
                let line_start = text[..edit.span.start as usize].rfind('\n').unwrap_or(0);
                let before = &text[line_start..edit.span.start as usize];
                let name = before.split([',', '\n']).next_back().unwrap().trim();
                let first = name.split_whitespace().next().unwrap_or_default();
                assert!(
                    !is_read_off(first) && first != "peak" && first != "hold",
                    "{}: {}: `{before}`",
                    path(run, plan),
                    repair.words
                );
                edits += 1;
            }
        }
    }
    assert!(moves >= 35 && edits >= 35, "{moves} {edits}");
}

#[test]
fn a_film_that_is_too_hot_is_no_reason_to_write_another_film() {
    let (_, run) = demo();
    let plan =
        run.report.plans.iter().find(|plan| {
            path(run, plan).ends_with("demo-data/plans/film-too-hot-on-polyester.plan")
        });
    let plan = plan.unwrap();
    assert_eq!(repairs(plan).count(), 0);
    let help = help(plan, "cool-film-on-polyester");
    assert!(
        help.starts_with("`film.peak` is read off, not set"),
        "{help}"
    );
    assert!(
        help.contains("turn `dryer.set-point` or `dryer.belt`, then measure it again"),
        "{help}"
    );
    assert!(
        help.ends_with("it holds where it comes to 276 to 294 °F ± 6 °F"),
        "{help}"
    );
}

#[test]
fn a_dial_is_turned_under_a_probed_film_only_with_the_word_to_probe_again() {
    let (_, run) = demo();
    let mut told = 0;
    for plan in &run.report.plans {
        let text = run.store.get(plan.file).text();
        let probed = text.contains("\nfilm {\n") && text.contains("\n  peak ");
        for repair in repairs(plan).filter(|_| probed) {
            let turns = |name: &str| repair.moves.iter().any(|moved| moved.setting == name);
            if turns("dryer.belt") || turns("dryer.set-point") {
                assert!(repair.measure_again.iter().any(|name| name == "film.peak"));
                assert!(repair.words.contains("`film.peak`"), "{}", repair.words);
                assert!(repair.words.contains("was read at"), "{}", repair.words);
                assert!(
                    repair.words.ends_with("measure it again")
                        || repair.words.ends_with("measure them again"),
                    "{}",
                    repair.words
                );
                told += 1;
            }
        }
    }
    assert!(told >= 5, "{told}");
}

#[test]
fn only_what_is_set_is_repaired_whatever_a_rule_says_of_it() {
    let standard = |sort: &str| {
        format!(
            "standard \"w\" edition \"1\"
kind air, one to a run \"air\" {{
  dose  number from 0 to 100 \"a figure\" {sort}
  twice number from 0 to 200 = dose * 2 \"twice that\"
}}
rule a {{
  shall      air.twice at most 2
  because    \"it harms those who breathe it\"
  per        practice
}}
"
        )
    };
    let plan = "run \"a\" against \"room.std\"\nair {\n  dose 3\n}\n";
    let (_, free) = alone(&standard("set"), plan, Options::default());
    assert_eq!(repairs(&free.report.plans[0]).count(), 1);
    for (sort, why) in [
        ("given", "is given, not set"),
        ("given unless the plan states it", "is given, not set"),
        // A setting that does not say counts as given.
        ("", "is given, not set"),
        ("measured by \"a badge\"", "is read off, not set (a badge)"),
    ] {
        let (_, kept) = alone(&standard(sort), plan, Options::default());
        assert_eq!(repairs(&kept.report.plans[0]).count(), 0, "{sort}");
        let help = help(&kept.report.plans[0], "a");
        assert!(help.starts_with(&format!("`air.dose` {why}: ")), "{help}");
        assert!(help.ends_with(" 0 to 1"), "{help}");
    }
}

#[test]
fn what_people_read_off_is_measured_in_the_shipped_specs() {
    let standard = "standard \"w\" edition \"1\"\nuse trade\nuse childwear\nuse room-air\n";
    let (_, run) = alone(
        standard,
        "run \"a\" against \"room.std\"\n",
        Options::default(),
    );
    let standard = &run.prepared[0].standard;
    let mut found = vec![0; READ_OFF.len()];
    for (kind, _, field) in standard.numbered_fields() {
        let full = format!("{}.{}", standard.kind(kind).name, field.name);
        for (place, known) in READ_OFF.iter().enumerate() {
            if *known == full || *known == field.name {
                // What an ink wants of a stencil is a span from its sheet.
                if full == "ink.eom" {
                    continue;
                }
                found[place] += 1;
                assert!(field.measured().is_some(), "{full}: {:?}", field.sort);
            }
        }
    }
    assert!(found.iter().all(|found| *found > 0), "{found:?}");
}

#[test]
fn the_air_at_the_print_is_read_again_where_the_controller_is_turned() {
    // The film was probed in that air, so it is probed again as well.
    let standard = "standard \"w\" edition \"1\"
kind oven, one to a run \"oven\" {
  dial  temperature from 0 °C to 300 °C \"what it is set to\" set in steps of 5 °C
  gap   temperature-difference from -50 K to 50 K \"air less dial\" given
  air   temperature from 0 °C to 300 °C = dial + gap \"air\" measured by \"a probe\"
  film  temperature from 0 °C to 300 °C = air - 10 K \"film\" measured by \"a probe\"
  glow  temperature from 0 °C to 300 °C = dial + 20 K \"what glows\"
}
rule a {
  shall      oven.glow at most 180 °C
  because    \"it scorches\"
  per        practice
  adjust     oven.dial
}
";
    let plan = "run \"a\" against \"room.std\"\noven {\n  dial 170 °C\n  air 160 °C ± 3 K\n  film 155 °C ± 3 K\n}\n";
    let (_, run) = alone(standard, plan, Options::default());
    let found: Vec<&Repair> = repairs(&run.report.plans[0]).collect();
    assert_eq!(found.len(), 1, "{:?}", run.report.plans[0].diagnostics);
    assert_eq!(found[0].measure_again, ["oven.air", "oven.film"]);
}

#[test]
fn a_step_is_not_put_in_under_a_reading_that_was_taken_without_it() {
    // No line of a plan can say of a reading that a step was not there yet.
    let standard = "standard \"w\" edition \"1\"
kind rack, one to a run \"rack\" {
  warm  temperature from 0 °C to 90 °C = 60 °C - 10 K * total(rest.stations)  \"how warm\" measured by \"a hand\"
}
step work \"work\" {
  warm  temperature from 0 °C to 90 °C = 60 °C - 10 K * total(rest.stations)  \"how warm\"
}
step rest \"rest\" {
  stations  count of stations from 1 to 9 \"stations\" set
}
rule a {
  for each  work
  shall     work.warm at most 45 °C
  adjust    rest.stations
  per       practice
}
";
    let plan =
        "run \"a\" against \"room.std\"\nrack {\n  warm 60 °C ± 1 K\n}\nsequence {\n  work\n}\n";
    let (_, run) = alone(standard, plan, Options::default());
    assert_eq!(repairs(&run.report.plans[0]).count(), 0);
    let (_, run) = alone(
        standard,
        &plan.replace("  warm 60 °C ± 1 K\n", ""),
        Options::default(),
    );
    let words: Vec<&str> = repairs(&run.report.plans[0])
        .map(|repair| repair.words.as_str())
        .collect();
    assert_eq!(words, ["put `rest 2 stations` before `work, step 1`"]);
}
