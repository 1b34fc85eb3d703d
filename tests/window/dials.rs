//! A window over a dial that reads wrong is drawn on the dial's own scale, and agrees with checks of plans on it.

use super::{found, small};
use strikeoff::check::{Options, check_plan, prepare};
use strikeoff::diagnostic::{Outcome, Zone};
use strikeoff::names::read_text;
use strikeoff::source::Store;

const ROOM: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 1 m to 10 m       "heated length" given
  belt     speed from 0.1 to 20 m/min    "speed of the belt" set in steps of 0.1 m/min
  dwell    time = chamber / belt         "time under heat"
}

dryer tunnel {
  chamber  3 m
  belt shows 1 m/min at 0.8 m/min ± 0.05 m/min
  belt shows 3 m/min at 2.6 m/min ± 0.1 m/min
  belt shows 6 m/min at 5.8 m/min ± 0.1 m/min
}

rule long-enough {
  shall    dryer.dwell at least 45 s
  per      practice
}

rule not-dried-out {
  shall    dryer.dwell at most 120 s
  per      practice
}
"#;

fn plan(belt: &str) -> String {
    format!("run \"a\" against \"room.std\"\n\ndryer is tunnel {{\n  belt     {belt}\n}}\n")
}

#[test]
fn the_zones_of_a_dial_that_reads_wrong_are_those_of_a_check() {
    let mut told = [0_usize; 3];
    for swing in ["", " ± 4 %", " ± 0.05 m/min"] {
        let room = small(ROOM, &plan(&format!("3 m/min{swing}")));
        let window = found(&room, "a.plan", &["dryer.belt"]);
        let setting = &window.settings[0];
        // The dial was looked at from 1 to 6 m/min; its tolerance stays inside that.
        assert!(setting.low >= 1.0 - 1e-9 && setting.high <= 6.0 + 1e-9);
        let mut store = Store::new();
        let root = read_text(&mut store, &room, "room.std", None).unwrap();
        let prepared = prepare(&mut store, &room, root);
        for stretch in &setting.stretches {
            let (low, high) = (stretch.low.at, stretch.high.at);
            for part in 1..24 {
                let at = low + (high - low) * f64::from(part) / 24.0;
                let text = plan(&format!("{at:.9} m/min{swing}"));
                let file = store.add("b.plan", text);
                let options = Options {
                    explain: true,
                    repairs: false,
                    ..Options::default()
                };
                let report = check_plan(&store, &prepared, 0, file, options);
                let all: Vec<Outcome> = report.checks.iter().map(|check| check.outcome).collect();
                assert_eq!(all.len(), 2);
                let holds = all.iter().all(|of| *of == Outcome::Holds);
                let breaks = all.contains(&Outcome::Breaks);
                match stretch.zone {
                    Zone::Holds => {
                        told[0] += 1;
                        assert!(holds, "{at} in {low} to {high}: {all:?}");
                    }
                    Zone::Breaks => {
                        told[1] += 1;
                        assert!(breaks, "{at} in {low} to {high}: {all:?}");
                    }
                    Zone::NotDecided => {}
                    Zone::AtRisk | Zone::Fails => {
                        told[2] += 1;
                        assert!(!holds, "{at} in {low} to {high}: {all:?}");
                    }
                }
            }
        }
    }
    assert!(told.iter().all(|zone| *zone > 40), "{told:?}");
}

#[test]
fn the_edges_are_on_the_dials_own_scale() {
    let room = small(ROOM, &plan("3 m/min"));
    let window = found(&room, "a.plan", &["dryer.belt"]);
    let holds = window.settings[0]
        .stretches
        .iter()
        .find(|stretch| stretch.zone == Zone::Holds)
        .expect("some of it holds");
    // By hand: at least 45 s is a belt of at most 4 m/min, and 2.7 + (x - 3) * 3.2 / 3 is that at 4.21875;
    // at most 120 s is at least 1.5 m/min, and 0.75 + (x - 1) * 1.75 / 2 is that at 1.857142…
    assert!((holds.high.at - 4.21875).abs() < 1e-9, "{}", holds.high.at);
    assert!((holds.low.at - 13.0 / 7.0).abs() < 1e-9, "{}", holds.low.at);
}
