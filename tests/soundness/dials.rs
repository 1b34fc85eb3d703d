//! Dials that read wrong: what a check says of a run is so for whatever the dial may really do.
//!
//! The truth is drawn here: a belt that goes straight from one position of its dial to the next, through some point of
//! what was found at each. Nothing of the engine's own scale is used.
//!
//! `STRIKEOFF_LONG=100000` tries so many.

use std::fmt::Write as _;

use super::fraction::{Fraction, decimal};
use super::{Random, Room, cases, demo_room};
use strikeoff::check::{Options, check_plan};
use strikeoff::diagnostic::{Outcome, PlanReport, Severity};

/// A position of a dial, what was found there, and how far that may be off; all in tenths.
#[derive(Debug, Clone, Copy)]
struct Position {
    shown: i64,
    found: i64,
    off: i64,
}

/// Positions whose values rise even where each is off.
fn scale(random: &Random) -> Vec<Position> {
    let (mut shown, mut high) = (random.whole(5, 30), random.whole(3, 30));
    let count = random.whole(2, 4);
    (0..count)
        .map(|_| {
            let off = random.whole(0, 3);
            let found = high + random.whole(1, 30) + off;
            let position = Position { shown, found, off };
            shown += random.whole(1, 40);
            high = found + off;
            position
        })
        .collect()
}

fn tenths(of: i64) -> Fraction {
    Fraction::new(of, 10)
}

/// What is so where the dial stands at `at`, for a part of 16 of what each position may be off; `None` beyond them.
fn truth(scale: &[Position], at: &Fraction, parts: &[i64]) -> Option<Fraction> {
    let value = |place: usize| {
        let of = scale[place];
        let part = Fraction::new(parts[place] - 8, 8);
        tenths(of.found).add(&tenths(of.off).mul(&part))
    };
    let place = (0..scale.len() - 1).find(|place| {
        tenths(scale[*place].shown) <= *at && *at <= tenths(scale[place + 1].shown)
    })?;
    let (from, to) = (tenths(scale[place].shown), tenths(scale[place + 1].shown));
    let part = at.sub(&from).div(&to.sub(&from))?;
    Some(value(place).add(&value(place + 1).sub(&value(place)).mul(&part)))
}

/// One room and a plan of it.
struct Case {
    scale: Vec<Position>,
    /// Where the dial is set, in tenths, and how far it swings, in percent of it.
    set: i64,
    swing: i64,
    /// Limits, in tenths: belt at most; time under heat in seconds, at least; belt times ten less its square, at most.
    limits: [i64; 3],
}

impl Case {
    fn random(random: &Random) -> Self {
        let scale = scale(random);
        let (first, last) = (scale[0], scale[scale.len() - 1]);
        Self {
            set: random.whole(first.shown - 2, last.shown + 2).max(3),
            swing: random.whole(0, 4) * 2,
            limits: [
                random.whole(first.found, last.found),
                random.whole(200, 2500),
                random.whole(-400, 300),
            ],
            scale,
        }
    }

    fn standard(&self) -> String {
        let mut text = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 1 m to 10 m        "heated length" given
  belt     speed from 0.1 to 200 m/min    "speed of the belt" set in steps of 0.1 m/min
  dwell    time = chamber / belt          "time under heat"
  turns    number = belt / 1 m/min        "belt as a number"
}

dryer tunnel {
  chamber  3 m
"#
        .to_owned();
        for Position { shown, found, off } in &self.scale {
            let of = |tenths: i64| decimal(tenths, 1).0;
            let off = match off {
                0 => String::new(),
                off => format!(" ± {} m/min", of(*off)),
            };
            writeln!(
                text,
                "  belt shows {} m/min at {} m/min{off}",
                of(*shown),
                of(*found)
            )
            .unwrap();
        }
        let [belt, dwell, both] = self.limits.map(|limit| decimal(limit, 1).0);
        write!(
            text,
            "}}\n\nrule belt {{\n  shall dryer.belt at most {belt} m/min\n  per practice\n}}\n\nrule dwell {{\n  shall \
             dryer.dwell at least {dwell} s\n  per practice\n}}\n\nrule both {{\n  shall dryer.turns * 10 - dryer.turns ^ 2 \
             at most {both}\n  per practice\n}}\n"
        )
        .unwrap();
        text
    }

    fn plan(&self) -> String {
        let swing = match self.swing {
            0 => String::new(),
            swing => format!(" ± {swing} %"),
        };
        format!(
            "run \"a\" against \"room.std\"\n\ndryer is tunnel {{\n  belt     {} m/min{swing}\n}}\n",
            decimal(self.set, 1).0
        )
    }

    /// The ends of where the dial may stand.
    fn ends(&self) -> (Fraction, Fraction) {
        let set = tenths(self.set);
        let swing = set.mul(&Fraction::new(self.swing, 100));
        (set.sub(&swing), set.add(&swing))
    }

    /// Whether each rule keeps at a belt.
    fn keeps(&self, belt: &Fraction) -> [bool; 3] {
        let [most, least, both] = self.limits.map(tenths);
        let dwell = Fraction::whole(180).div(belt).expect("a belt runs");
        let square = belt.mul(&Fraction::whole(10)).sub(&belt.mul(belt));
        [*belt <= most, dwell >= least, square <= both]
    }
}

fn outcomes(report: &PlanReport) -> [Outcome; 3] {
    ["belt", "dwell", "both"].map(|rule| {
        let check = report.checks.iter().find(|check| check.rule == rule);
        check.expect("every rule is asked").outcome
    })
}

#[test]
fn a_dial_that_reads_wrong_hides_nothing() {
    let (mut decided, mut beyond, mut repaired, mut exact) = (0_u64, 0_u64, 0_u64, 0_u64);
    for seed in 0..cases(300) {
        let random = Random::new(seed ^ 0xd1a1);
        let case = Case::random(&random);
        let (standard, plan) = (case.standard(), case.plan());
        let (mut store, prepared) = Room::of(&standard).prepare("room.std");
        let errors = demo_room::errors(&prepared.problems);
        assert!(errors.is_empty(), "{errors:#?}\n{standard}");
        let options = Options {
            explain: true,
            repairs: true,
            ..demo_room::quick()
        };
        let file = store.add("a.plan", plan.clone());
        let report = check_plan(&store, &prepared, 0, file, options);
        let came = outcomes(&report);
        let (low, high) = case.ends();
        let middle = vec![8; case.scale.len()];
        let known = [&low, &high].map(|end| truth(&case.scale, end, &middle).is_some());
        if known != [true, true] {
            beyond += 1;
            let sure = |of: &Outcome| matches!(of, Outcome::Holds | Outcome::Breaks);
            assert!(
                !came.iter().any(sure),
                "decided beyond what is known: {came:?}\n{standard}\n{plan}"
            );
        } else {
            for sample in 0..24 {
                let part = match sample {
                    0 => Fraction::whole(0),
                    1 => Fraction::whole(1),
                    _ => Fraction::new(random.whole(0, 64), 64),
                };
                let at = low.add(&high.sub(&low).mul(&part));
                let parts: Vec<i64> = case
                    .scale
                    .iter()
                    .map(|_| match sample {
                        0 => 0,
                        1 => 16,
                        _ => random.whole(0, 16),
                    })
                    .collect();
                let belt = truth(&case.scale, &at, &parts).expect("between positions");
                for (came, keeps) in came.iter().zip(case.keeps(&belt)) {
                    let refuted = match came {
                        Outcome::Holds => !keeps,
                        Outcome::Breaks => keeps,
                        _ => false,
                    };
                    assert!(
                        !refuted,
                        "{came:?} at {at:?}, in truth {belt:?}\n{standard}\n{plan}"
                    );
                }
            }
            decided += came
                .iter()
                .filter(|of| matches!(of, Outcome::Holds | Outcome::Breaks))
                .count() as u64;
            // Of a rule that goes one way the ends decide, and the check comes to what they do.
            let end = |at: &Fraction, part: i64| {
                let parts = vec![part; case.scale.len()];
                case.keeps(&truth(&case.scale, at, &parts).expect("between positions"))
            };
            let (least, most) = (end(&low, 0), end(&high, 16));
            for rule in 0..2 {
                let wanted = match (least[rule], most[rule]) {
                    (true, true) => Outcome::Holds,
                    (false, false) => Outcome::Breaks,
                    _ => Outcome::AtRisk,
                };
                assert_eq!(came[rule], wanted, "rule {rule}\n{standard}\n{plan}");
                exact += 1;
            }
        }
        // A repair is written on the dial's own scale, and does.
        let found = report.diagnostics.iter().flat_map(|said| &said.repairs);
        let of_all = report.whole.iter().filter_map(|of| of.repair.as_ref());
        for repair in found.filter(|repair| repair.whole).chain(of_all) {
            let mut text = plan.clone();
            let mut edits = repair.edits.clone();
            edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
            for edit in edits {
                text.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
            }
            let file = store.add("b.plan", text.clone());
            let after = check_plan(&store, &prepared, 0, file, options);
            let errors = after
                .diagnostics
                .iter()
                .filter(|said| said.severity == Severity::Error);
            assert_eq!(errors.count(), 0, "{}\n{standard}\n{text}", repair.words);
            repaired += 1;
        }
    }
    println!(
        "dials: {decided} decided, {exact} at their ends, {beyond} beyond, {repaired} repaired"
    );
    assert!(decided > 300 && beyond > 30 && repaired > 4 && exact > 200);
}
