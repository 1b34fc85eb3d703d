//! A value that is stated beside what it is worked out from: a bare one counts for nothing, one with a tolerance does.
//!
//! `STRIKEOFF_LONG=20000 cargo test --release --test all stated_beside::` tries so many.

use strikeoff::diagnostic::{Code, Outcome, PlanReport};

use crate::demo_room::{Random, Room, cases, quick};
use strikeoff::check::check_plan;

const STANDARD: &str = "standard \"A\" edition \"1\"
kind oven, one to a run \"oven\" {
  chamber  length from 0.3 m to 15 m \"heated length\" given
  belt     speed from 0.05 m/min to 20 m/min \"belt\" set in steps of 0.05 m/min
  dwell    time = chamber / belt \"time under heat\"
  timed    time = chamber / belt \"time under heat, by the watch\" measured by \"a watch\"
}
rule a {
  shall    oven.dwell at least 60 s
  because  \"slow is good\"
  per      practice
}
rule b {
  shall    oven.timed at most 70 s
  because  \"and not too slow\"
  per      practice
}
";

fn verdicts(report: &PlanReport) -> Vec<(String, Outcome)> {
    assert!(report.checked, "{:?}", report.diagnostics);
    let checks = report.checks.iter();
    checks
        .map(|check| (check.rule.clone(), check.outcome))
        .collect()
}

fn says(report: &PlanReport, code: Code) -> bool {
    report.diagnostics.iter().any(|said| said.code == code)
}

#[test]
fn a_bare_value_changes_no_outcome_and_is_held_against_what_is_worked_out() {
    let (mut store, prepared) = Room::of(STANDARD).prepare("room.std");
    let mut check = |body: &str| {
        let text = format!("run \"a\" against \"room.std\"\noven {{\n{body}}}\n");
        let file = store.add("a.plan", text);
        let options = strikeoff::check::Options {
            explain: true,
            ..quick()
        };
        check_plan(&store, &prepared, 0, file, options)
    };
    let random = Random::new(6);
    let (mut inside, mut apart, mut at_risk) = (0, 0, 0);
    for _ in 0..cases(300) {
        // A belt at which the dwell lies around the limits: 2.44 m in 60 to 70 s is 2.09 to 2.44 m/min.
        let belt = random.whole(195, 260);
        let tolerance = random.whole(0, 12);
        let dwell = random.whole(500, 800);
        let oven = format!(
            "  chamber  2.44 m\n  belt     {}.{:02} m/min ± {tolerance} %\n",
            belt / 100,
            belt % 100
        );
        let stated = |tolerance: &str| {
            let value = format!("{}.{} s{tolerance}", dwell / 10, dwell % 10);
            format!("{oven}  dwell    {value}\n  timed    {value}\n")
        };
        let (without, bare) = (check(&oven), check(&stated("")));
        assert_eq!(verdicts(&without), verdicts(&bare), "{oven} {dwell}");
        at_risk += without.counts.of(Outcome::AtRisk);
        // 146.4 s·m/min over the slowest and the fastest belt; half a digit of what is stated to either side.
        let [slow, fast] = [100 - tolerance, 100 + tolerance]
            .map(|share| 14_640.0 / (belt as f64 * share as f64 / 100.0));
        let value = dwell as f64 / 10.0;
        let far = value - 0.051 > slow || value + 0.051 < fast;
        let near = value - 0.049 <= slow && value + 0.049 >= fast;
        if far || near {
            assert_eq!(says(&bare, Code::Disagrees), far, "{oven} {dwell}");
            assert_eq!(says(&bare, Code::StatedBeside), near, "{oven} {dwell}");
        }
        inside += u32::from(near);
        apart += u32::from(far);
        // One that says how far it may be off is what counts.
        let measured = check(&stated(" ± 0.1 s"));
        let wanted = |holds: bool, breaks: bool| match (holds, breaks) {
            (true, _) => Outcome::Holds,
            (_, true) => Outcome::Breaks,
            _ => Outcome::AtRisk,
        };
        assert_eq!(
            verdicts(&measured),
            [
                ("a".to_owned(), wanted(dwell >= 601, dwell < 599)),
                ("b".to_owned(), wanted(dwell <= 699, dwell > 701)),
            ],
            "{oven} {dwell}"
        );
    }
    assert!(
        inside > 40 && apart > 40 && at_risk > 40,
        "{inside} {apart} {at_risk}"
    );
}

#[test]
fn a_bare_value_counts_where_nothing_is_worked_out() {
    let (mut store, prepared) = Room::of(STANDARD).prepare("room.std");
    let mut outcomes = |body: &str| {
        let text = format!("run \"a\" against \"room.std\"\noven {{\n{body}}}\n");
        let file = store.add("a.plan", text);
        let options = strikeoff::check::Options {
            explain: true,
            ..quick()
        };
        let report = check_plan(&store, &prepared, 0, file, options);
        let said: Vec<Outcome> = report.checks.iter().map(|check| check.outcome).collect();
        (said, says(&report, Code::StatedBeside))
    };
    use Outcome::{Breaks, Holds};
    assert_eq!(
        outcomes("  belt  2.4 m/min\n  dwell  61 s\n  timed  71 s\n"),
        (vec![Holds, Breaks], false)
    );
}
