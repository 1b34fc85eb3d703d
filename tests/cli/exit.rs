//! Exit codes, one test for each documented situation.

use super::{CLEAN, FINDINGS, Folder, STANDARD, TROUBLE, plan_with};

#[test]
fn a_run_that_holds_exits_with_0() {
    let folder = Folder::room("holds");
    folder.check(&["holds.plan"]).exits(CLEAN).says("passes");
}

#[test]
fn a_broken_shall_exits_with_1() {
    let folder = Folder::room("breaks");
    folder
        .check(&["breaks.plan"])
        .exits(FINDINGS)
        .says("error[breaks]: `dryer.dwell` is 46.4 to 51.4 s");
}

#[test]
fn at_risk_exits_with_1_unless_allowed() {
    let folder = Folder::room("risk");
    folder.check(&["risk.plan"]).exits(FINDINGS);
    folder
        .check(&["risk.plan", "--allow-risk"])
        .exits(CLEAN)
        .says("warning[at-risk]");
    folder
        .check(&["breaks.plan", "--allow-risk"])
        .exits(FINDINGS);
}

#[test]
fn a_missing_value_exits_with_1() {
    let folder = Folder::room("missing-value");
    folder.put("short.plan", "run \"An order\" against \"room.std\"\n");
    folder
        .check(&["short.plan"])
        .exits(FINDINGS)
        .says("error[not-stated]");
}

#[test]
fn a_should_that_breaks_exits_with_0() {
    let folder = Folder::room("should");
    folder.put("room.std", STANDARD.replace("shall ", "should"));
    folder
        .check(&["breaks.plan"])
        .exits(CLEAN)
        .says("warning[breaks]");
}

#[test]
fn stated_against_worked_out_exits_with_1() {
    let folder = Folder::room("disagrees");
    let plan = plan_with("2 m/min").replace("2 m/min\n", "2 m/min\n  dwell    65 s\n");
    folder.put("order.plan", plan);
    folder
        .check(&["order.plan"])
        .exits(FINDINGS)
        .says("error[disagrees]");
}

#[test]
fn trouble_with_a_text_exits_with_2() {
    let folder = Folder::room("trouble");
    folder.put("order.plan", plan_with("2 m/mn"));
    folder
        .check(&["order.plan"])
        .exits(TROUBLE)
        .says("not checked");
    // Also when other plans are checked, and one of them breaks.
    folder
        .check(&["order.plan", "breaks.plan", "holds.plan"])
        .exits(TROUBLE)
        .says("2 plans checked, 1 not checked");
}

#[test]
fn a_standard_by_itself_is_checked() {
    let folder = Folder::room("standard");
    folder.check(&["room.std"]).exits(CLEAN);
    folder.put("bad.std", STANDARD.replace("dryer.dwell", "dryer.dwel"));
    folder
        .check(&["bad.std"])
        .exits(TROUBLE)
        .says("did you mean `dwell`?");
}

#[test]
fn a_warning_about_a_standard_exits_with_0() {
    let folder = Folder::room("warning");
    folder.put("room.std", STANDARD.replace("  per      practice\n", ""));
    folder
        .check(&["holds.plan"])
        .exits(CLEAN)
        .says("warning[no-source]");
}

#[test]
fn a_standard_without_a_rule_checks_nothing() {
    let folder = Folder::room("no-rules");
    let (kinds, _) = STANDARD.split_once("rule ").unwrap();
    folder.put("room.std", kinds);
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("not checked");
}

#[test]
fn wrong_arguments_exit_with_2() {
    let folder = Folder::room("arguments");
    for arguments in [
        &["check"][..],
        &["check", "holds.plan", "--as", "poem"],
        &["check", "holds.plan", "--on", "25.11.2026"],
        &["check", "holds.plan", "--on", "2026-02-30"],
        &["check", "holds.plan", "--root", "nowhere"],
        &["chek", "holds.plan"],
        &["explain", "no-such-code"],
    ] {
        let ran = folder.run(arguments).exits(TROUBLE);
        assert!(!ran.err.is_empty(), "{arguments:?}");
        assert_eq!(ran.out, "", "{arguments:?}");
    }
}

/// What a standard does without is said by everything that speaks of it.
#[test]
fn a_rule_that_is_taken_out_is_said_by_every_report() {
    let folder = Folder::new("taken-out");
    folder.put("house.std", STANDARD);
    folder.put(
        "room.std",
        "standard \"Ours\" edition \"1\"\nuse \"house.std\"\n\nwithout slow because \"a reason\"\n\
         \nrule other {\n  shall    dryer.chamber at least 1 m\n  per      practice\n}\n",
    );
    folder.put("a.plan", plan_with("3 m/min"));
    let wanted = "`slow` is taken out: a reason";
    let page = "slow is taken out: a reason";
    let calls: [&[&str]; 11] = [
        &["check", "a.plan"],
        &["check", "a.plan", "--as", "log"],
        &["check", "a.plan", "--as", "json"],
        &["check", "a.plan", "--as", "sarif"],
        &["check", "a.plan", "--as", "junit"],
        &["review", "room.std"],
        &["review", "room.std", "--as", "json"],
        &["sources", "room.std"],
        &["sources", "room.std", "--as", "json"],
        &["print", "room.std"],
        &["diff", "house.std", "room.std"],
    ];
    for call in calls {
        let said = folder.run(call).out.replace("\\`", "`");
        assert!(
            said.contains(wanted) || said.replace('`', "").contains(page),
            "{call:?}: {said}"
        );
    }
    for form in ["people", "json"] {
        let call = ["window", "a.plan", "--free", "dryer.belt", "--as", form];
        let said = folder.run(&call).out;
        assert!(said.contains(wanted), "{form}: {said}");
    }
    // It is taken out indeed.
    assert_eq!(folder.run(&["check", "a.plan"]).code, CLEAN);
}
