//! Every offered repair, applied and checked in full.

use strikeoff::diagnostic::{Outcome, Verb};

use super::{demo, path, rank};

#[test]
fn every_repair_mends_its_finding_and_harms_nothing() {
    let (room, run) = demo();
    let wrong: Vec<String> = run
        .report
        .plans
        .iter()
        .flat_map(|plan| room.try_repairs(run, plan))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_said_to_mend_the_whole_run_does() {
    let (room, run) = demo();
    let mut tried = 0;
    for plan in &run.report.plans {
        let path = path(run, plan);
        let findings = plan.diagnostics.iter().flat_map(|said| &said.repairs);
        let whole = plan.whole.iter().filter_map(|whole| whole.repair.as_ref());
        for repair in findings.chain(whole).filter(|repair| repair.whole) {
            let mended = room.repaired(run, repair);
            let again = mended.check(vec![path.clone()], Default::default());
            let after = &again.report.plans[0];
            assert!(after.checked, "{path}: {}", repair.words);
            for check in &after.checks {
                assert_eq!(
                    rank(check.outcome),
                    0,
                    "{path}: {}: {}",
                    repair.words,
                    check.why
                );
            }
            tried += 1;
        }
    }
    assert!(tried >= 15, "{tried}");
}

#[test]
fn what_mends_only_what_is_required_does() {
    let (room, run) = demo();
    let mut tried = 0;
    for plan in &run.report.plans {
        let Some(whole) = &plan.whole else { continue };
        let Some(repair) = whole.repair.as_ref().filter(|repair| !repair.whole) else {
            continue;
        };
        let said = whole.said.as_deref().unwrap();
        let path = path(run, plan);
        let again = room
            .repaired(run, repair)
            .check(vec![path], Default::default());
        let required = |outcome: Outcome, verb: Verb| verb == Verb::Shall && rank(outcome) > 0;
        let left = again.report.plans[0]
            .checks
            .iter()
            .filter(|check| required(check.outcome, check.verb));
        if said.starts_with("every `shall`") {
            assert_eq!(left.count(), 0, "{}", repair.words);
            tried += 1;
        }
    }
    assert!(tried >= 1, "{tried}");
}

#[test]
fn a_print_that_is_fast_and_hot_is_made_slow_and_cool() {
    // The dye leaves at 390 °F; neither the belt nor the air alone would do, for the film has to cure.
    let (_, run) = demo();
    let plan = run
        .report
        .plans
        .iter()
        .find(|plan| path(run, plan).ends_with("blend-white-fast-and-hot.plan"))
        .unwrap();
    let repair = plan.whole.as_ref().unwrap().repair.as_ref().unwrap();
    let settings: Vec<&str> = repair.moves.iter().map(|of| of.setting.as_str()).collect();
    assert_eq!(settings, ["dryer.belt", "dryer.set-point"]);
    assert!(
        repair.moves[0].high <= 4.88 / 1.03 + 1e-9,
        "dwell of at least 60 s in 4.88 m"
    );
}

#[test]
fn numbers_name_changes_and_the_same_change_has_one_number() {
    let (_, run) = demo();
    for plan in &run.report.plans {
        let findings = plan.diagnostics.iter().flat_map(|said| &said.repairs);
        let whole = plan.whole.iter().filter_map(|whole| whole.repair.as_ref());
        let all: Vec<_> = findings.chain(whole).collect();
        let mut highest = 0;
        for (index, repair) in all.iter().enumerate() {
            let before = all[..index]
                .iter()
                .find(|known| known.edits == repair.edits);
            match before {
                Some(known) => assert_eq!(known.number, repair.number),
                None => {
                    highest += 1;
                    assert_eq!(repair.number, highest, "{}", repair.words);
                }
            }
        }
    }
}

#[test]
fn nothing_is_offered_silently() {
    // What breaks or is at risk has a repair, or says why not.
    let (_, run) = demo();
    for plan in &run.report.plans {
        for said in &plan.diagnostics {
            let Some(finding) = &said.finding else {
                continue;
            };
            // A choice, or a record, is named by the headline.
            let open = matches!(finding.outcome, Outcome::Breaks | Outcome::AtRisk)
                && finding.deviation.is_none()
                && finding.margin.is_some();
            assert!(
                !open || !said.repairs.is_empty() || said.help.is_some(),
                "{}: {}",
                path(run, plan),
                said.headline
            );
        }
    }
}
