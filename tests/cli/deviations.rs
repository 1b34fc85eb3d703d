//! `deviations`: what it lists, for which day, and its exit codes.

use super::{CLEAN, FINDINGS, Folder, STANDARD, TROUBLE, plan_with};

/// A room with a deviation that two plans need, and one that ended.
fn room(name: &str) -> Folder {
    let folder = Folder::room(name);
    let deviations = r#"
deviation from slow "the long tunnel is down" {
  up to    46 s
  because  "the long tunnel is down"
  approved "process lead, 2026-11-20"
  until    2026-12-31
}

deviation from slow "an old one" {
  up to    40 s
  because  "a rush"
  approved "process lead, 2026-05-20"
  until    2026-06-30
}
"#;
    folder.put("room.std", format!("{STANDARD}{deviations}"));
    folder
}

#[test]
fn all_are_listed_with_their_states() {
    let folder = room("deviations-all");
    folder
        .run(&["deviations", "--on", "2026-11-25"])
        .exits(CLEAN)
        .says("active: from slow: the long tunnel is down")
        .says("2026-12-31, 36 days left")
        .says("2 checks in 2 plans")
        .says("ended: from slow: an old one")
        .says("2026-06-30, 148 days past")
        .says("2 deviations; over 3 plans checked, 0 not checked");
}

#[test]
fn ending_takes_days_with_or_without_the_word() {
    let folder = room("deviations-ending");
    for ending in [&["30", "days"][..], &["30 days"], &["30", "."], &["30"]] {
        let mut words = vec!["deviations", "--on", "2026-11-25", "--ending"];
        words.extend(ending);
        folder
            .run(&words)
            .exits(CLEAN)
            .says("1 of 2 deviations ended, or end within 30 days");
    }
    folder
        .run(&[
            "deviations",
            ".",
            "--ending",
            "36",
            "days",
            "--on",
            "2026-11-25",
        ])
        .exits(CLEAN)
        .says("2 of 2 deviations");
    folder
        .run(&["deviations", "--on", "2026-12-01", "--ending", "30", "days"])
        .says("ends soon: from slow: the long tunnel is down");
    folder
        .run(&["deviations", "--ending", "soon"])
        .exits(TROUBLE)
        .complains("`soon` is no number of days");
    folder
        .run(&["deviations", "--on", "2026-02-30"])
        .exits(TROUBLE)
        .complains("is not a date");
}

#[test]
fn a_check_passes_until_the_last_day() {
    let folder = room("deviations-check");
    let plans = ["breaks.plan", "risk.plan"];
    let on = |day| ["check", plans[0], plans[1], "--on", day];
    folder
        .run(&on("2026-12-31"))
        .exits(CLEAN)
        .says("2 hold by deviation")
        .says("date: 2026-12-31");
    folder
        .run(&on("2027-01-01"))
        .exits(FINDINGS)
        .says("the deviation from this rule ended on 2026-12-31");
}

#[test]
fn a_malformed_one_is_trouble_and_the_plans_are_checked_all_the_same() {
    let folder = Folder::room("deviations-malformed");
    let malformed = "deviation from slwo {\n  up to 40 s\n  because \"a\"\n  approved \"b\"\n  until 2027-01-01\n}\n";
    folder.put("room.std", format!("{STANDARD}\n{malformed}"));
    folder.put("faster.plan", plan_with("4 m/min"));
    folder
        .check(&["."])
        .exits(TROUBLE)
        .says("did you mean `slow`?")
        .says("holds 1, breaks 2, at risk 1")
        .says("4 plans checked, 0 not checked");
    folder
        .run(&["deviations", "--on", "2026-11-25"])
        .exits(TROUBLE)
        .says("malformed: from slwo")
        .complains("there is no rule `slwo` to deviate from");
}

#[test]
fn a_room_without_any_says_so() {
    let folder = Folder::room("deviations-none");
    folder
        .run(&["deviations", "--on", "2026-11-25"])
        .exits(CLEAN)
        .says("0 deviations; over 3 plans checked");
}
