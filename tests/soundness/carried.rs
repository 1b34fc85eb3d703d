//! A reading that was taken with its dials elsewhere never says of a run what is not so.
//!
//! The truth of each case is worked out here by other means: a formula point by point in exact fractions, with constants
//! that nobody knows and dials that are off; a tunnel as one temperature and the water in it, stepped through zones.
//! What the check calls *holds* or *breaks* is held against it.
//!
//! `STRIKEOFF_LONG=200000` tries so many figures, and 3,000 tunnels.

use super::fraction::{Fraction, decimal};
use super::reckoner::{Formula, Names};
use super::world::{Point, World};
use super::{Random, Room, cases, demo_room};
use strikeoff::check::{Options, Prepared, check_plan};
use strikeoff::diagnostic::Outcome;
use strikeoff::source::Store;

/// What came out of the rules `low` and `high`, and what they ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Told {
    low: Outcome,
    high: Outcome,
}

fn told(store: &mut Store, prepared: &Prepared, plan: &str) -> Option<Told> {
    let options = Options {
        explain: true,
        ..demo_room::quick()
    };
    let file = store.add("a.plan", plan);
    let report = check_plan(store, prepared, 0, file, options);
    let of = |rule: &str| {
        let check = report.checks.iter().find(|check| check.rule == rule)?;
        Some(check.outcome)
    };
    Some(Told {
        low: of("low")?,
        high: of("high")?,
    })
}

/// Whether the truth is against it.
fn refuted(outcome: Outcome, keeps: bool) -> bool {
    match outcome {
        Outcome::Holds => !keeps,
        Outcome::Breaks => keeps,
        _ => false,
    }
}

/// How a dial may be off: by so many tenths, or so many hundredths of what it shows.
#[derive(Debug, Clone, Copy)]
enum Off {
    Tenths(i64),
    Hundredths(i64),
}

impl Off {
    fn text(self) -> String {
        match self {
            Self::Tenths(0) | Self::Hundredths(0) => String::new(),
            Self::Tenths(by) => format!(" ± {}", decimal(by, 1).0),
            Self::Hundredths(by) => format!(" ± {by} %"),
        }
    }

    /// Where it stands in truth, for a part of 64 from one end of what it may be off to the other.
    fn truth(self, shown: &Fraction, part: i64) -> Fraction {
        let part = Fraction::new(part - 32, 32);
        match self {
            Self::Tenths(by) => shown.add(&part.mul(&Fraction::new(by, 10))),
            Self::Hundredths(by) => shown.add(&shown.mul(&part).mul(&Fraction::new(by, 100))),
        }
    }
}

/// A number with one decimal that is no more than `most` tenths away from the truth.
fn near(random: &Random, truth: &Fraction, most: i64) -> (String, Fraction) {
    let tenths = truth.mul(&Fraction::whole(10)).ceil();
    let tenths: i64 = tenths.num.clone().try_into().unwrap_or(0);
    decimal(tenths + random.whole(-most, most), 1)
}

#[test]
fn a_reading_of_a_plain_figure_says_nothing_that_is_not_so() {
    let names = Names {
        bed: "",
        pan: "",
        of_pan: false,
    };
    let (mut asked, mut moved, mut decided) = (0_u64, 0_u64, 0_u64);
    for seed in 0..cases(1_500) {
        let random = Random::new(seed ^ 0x0ca1);
        let formula = Formula::random(&random, 3, 3, 0, false);
        let world = World {
            stated: 3,
            of_bed: Vec::new(),
            of_pan: Vec::new(),
            bed: Vec::new(),
            pans: Vec::new(),
        };
        // Two dials and a constant: where it stood, where it stands, and how it is off.
        let low = if random.chance(70) { 1 } else { -4 };
        let then: Vec<i64> = (0..2).map(|_| random.whole(low * 10, 90)).collect();
        let now: Vec<i64> = then
            .iter()
            .map(|at| {
                if random.chance(70) {
                    random.whole(low * 10, 90)
                } else {
                    *at
                }
            })
            .collect();
        let off: Vec<Off> = (0..2)
            .map(|_| match random.below(3) {
                0 => Off::Tenths(0),
                1 => Off::Tenths(random.whole(1, 5)),
                _ => Off::Hundredths(random.whole(1, 6)),
            })
            .collect();
        let parts: Vec<i64> = (0..2).map(|_| *random.pick(&[0, 64, 13, 40])).collect();
        let constant = random.whole(if random.chance(70) { 1 } else { -50 }, 50);
        // Where a reading says closer than the plan where its dial stood, what it was off then is another matter.
        let closer: Vec<Option<Off>> = off
            .iter()
            .map(|off| match off {
                Off::Tenths(by @ 2..) if random.chance(40) => Some(Off::Tenths(by - 1)),
                _ => None,
            })
            .collect();
        let parts_then: Vec<i64> = (0..2)
            .map(|dial| match closer[dial] {
                Some(_) => *random.pick(&[0, 64, 13, 40]),
                None => parts[dial],
            })
            .collect();
        let off_then: Vec<Off> = (0..2)
            .map(|dial| closer[dial].unwrap_or(off[dial]))
            .collect();
        let at = |shown: &[i64], off: &[Off], parts: &[i64]| {
            let mut bed: Vec<Fraction> = (0..2)
                .map(|dial| off[dial].truth(&Fraction::new(shown[dial], 10), parts[dial]))
                .collect();
            bed.push(Fraction::new(constant, 10));
            formula.value(
                &world,
                &Point {
                    bed,
                    pans: Vec::new(),
                },
                None,
            )
        };
        let (Some(was), Some(is)) = (at(&then, &off_then, &parts_then), at(&now, &off, &parts))
        else {
            continue;
        };
        let far = |of: &Fraction| Fraction::whole(900_000) < *of || *of < Fraction::whole(-900_000);
        if far(&was) || far(&is) {
            continue;
        }
        // A gauge that is off by no more than it says.
        let gauge = random.whole(1, 30);
        let (read, _) = near(&random, &was, gauge - 1);
        let (least, asks_least) = near(&random, &is, 60);
        let (most, asks_most) = near(&random, &is, 60);
        let standard = format!(
            "standard \"a\" edition \"1\"\nkind bed, one to a run \"a\" {{\n  \
             x0 number from {low} to 9 set\n  x1 number from {low} to 9 set\n  x2 number from {} to 5 given\n  \
             f0 number from -1000000 to 1000000 = {} measured by \"a gauge\"\n}}\n\
             rule low {{\n  shall bed.f0 at least {least}\n  per practice\n}}\n\
             rule high {{\n  shall bed.f0 at most {most}\n  per practice\n}}\n",
            if constant > 0 { "0.1" } else { "-5" },
            formula.text(names),
        );
        let stated = |shown: &[i64], off: &[Off], dial: usize| {
            format!("{}{}", decimal(shown[dial], 1).0, off[dial].text())
        };
        let mut plan = "run \"a\" against \"room.std\"\nbed {\n".to_owned();
        (0..2).for_each(|dial| plan += &format!("  x{dial} {}\n", stated(&now, &off, dial)));
        if random.chance(40) {
            plan += &format!("  x2 {}\n", decimal(constant, 1).0);
        }
        plan += "}\nreading bed.f0 {\n";
        plan += &format!(
            "  value {read} ± {}\n  on 2026-11-20\n",
            decimal(gauge, 1).0
        );
        let mut elsewhere = false;
        for dial in 0..2 {
            if then[dial] != now[dial] || closer[dial].is_some() {
                elsewhere = true;
                let with = closer[dial].is_some() || random.chance(50);
                let at = if with {
                    stated(&then, &off_then, dial)
                } else {
                    decimal(then[dial], 1).0
                };
                plan += &format!("  at bed.x{dial} {at}\n");
            }
        }
        plan += "}\n";
        let (mut store, prepared) = Room::of(&standard).prepare("room.std");
        let errors = demo_room::errors(&prepared.problems);
        if !errors.is_empty() {
            // A formula that can have no value, or a constant one.
            continue;
        }
        let Some(told) = told(&mut store, &prepared, &plan) else {
            continue;
        };
        asked += 1;
        moved += u64::from(elsewhere);
        let said = [told.low, told.high];
        let verdict = |of: &Outcome| matches!(of, Outcome::Holds | Outcome::Breaks);
        decided += u64::from(elsewhere && said.iter().any(verdict));
        let wrong = refuted(told.low, asks_least <= is) || refuted(told.high, is <= asks_most);
        assert!(
            !wrong,
            "case {seed}: {told:?}, and it was {was:?} then and is {is:?} now, off {parts:?}, constant {constant}\n\
             {standard}{plan}"
        );
    }
    eprintln!("{asked} readings, {moved} taken elsewhere, {decided} of them with a verdict");
    // A test that never gets a verdict shows nothing.
    assert!(decided * 5 > moved, "{decided} of {moved}");
}

/// A tunnel as it is, and nobody knows it; all its numbers are made up here, wide enough for any: zones with air of their own, one temperature, and water that leaves it.
struct Tunnel {
    /// Lengths of the zones (m), and how far their air is from what the controller is set to (K).
    zones: Vec<(f64, f64)>,
    /// Whether a zone follows the controller, or stays as warm as the room.
    heated: Vec<bool>,
    /// How fast the film follows the air (1/s).
    rate: f64,
    /// Water at the entry, as the heat that it takes away (K), and how fast it leaves.
    water: f64,
    drying: f64,
    enters: f64,
    /// What the belt does for what it shows.
    belt: f64,
}

/// What a log of one pass shows.
struct Pass {
    peak: f64,
    /// It only gets warmer up to where it is hottest.
    rises: bool,
    /// It is never warmed again after that.
    then_falls: bool,
}

impl Tunnel {
    fn random(random: &Random) -> Self {
        let share = |low: i64, high: i64| random.whole(low, high) as f64 / 100.0;
        let count = 1 + random.below(4);
        Self {
            zones: (0..count)
                .map(|_| (share(20, 150), share(-4_000, 1_500)))
                .collect(),
            heated: (0..count)
                .map(|zone| zone == 0 || random.chance(75))
                .collect(),
            rate: share(2, 12),
            water: if random.chance(40) {
                share(0, 6_000)
            } else {
                0.0
            },
            drying: share(1, 30),
            enters: share(1_500, 6_500),
            belt: share(93, 107),
        }
    }

    /// One pass: `belt` (m/min) and `set` (°C) as they are shown.
    fn pass(&self, belt: f64, set: f64) -> Pass {
        let speed = belt * self.belt / 60.0;
        let (mut film, mut water) = (self.enters, self.water);
        let mut log = vec![film];
        // Steps of place, the same for every speed, small against the time the film takes to follow.
        let step = 0.002;
        for (zone, (length, offset)) in self.zones.iter().enumerate() {
            let air = if self.heated[zone] {
                set + offset
            } else {
                25.0
            };
            let steps = (length / step) as usize;
            for _ in 0..steps {
                let time = step / speed;
                // Water leaves the faster the warmer it is, and takes heat away as it does.
                let leaves = (self.drying * time * (film - 25.0).max(0.0) / 10.0).min(water);
                water -= leaves;
                film += self.rate * time * (air - film) - leaves;
                log.push(film);
            }
        }
        let (at, peak) = log
            .iter()
            .enumerate()
            .fold((0, f64::MIN), |best, (at, film)| {
                if *film > best.1 { (at, *film) } else { best }
            });
        Pass {
            peak,
            rises: log[..=at].windows(2).all(|two| two[0] <= two[1]),
            then_falls: log[at..].windows(2).all(|two| two[0] >= two[1]),
        }
    }
}

#[test]
fn a_reading_of_a_film_in_a_tunnel_says_nothing_that_is_not_so() {
    let (mut asked, mut taken, mut decided) = (0_u64, 0_u64, 0_u64);
    for seed in 0..cases(60).min(3_000) {
        let random = Random::new(seed ^ 0x7077);
        let tunnel = Tunnel::random(&random);
        let belt = |random: &Random| random.whole(10, 60);
        let set = |random: &Random| 5 * random.whole(20, 45);
        let (belt_then, set_then) = (belt(&random), set(&random));
        let belt_now = if random.chance(75) {
            belt(&random)
        } else {
            belt_then
        };
        let set_now = if random.chance(50) {
            set(&random)
        } else {
            set_then
        };
        let was = tunnel.pass(belt_then as f64 / 10.0, set_then as f64);
        let is = tunnel.pass(belt_now as f64 / 10.0, set_now as f64);
        let tenths = |of: f64| (of * 10.0).round() as i64;
        let probe = random.whole(5, 60);
        let read = tenths(was.peak) + random.whole(-probe + 1, probe - 1);
        let (least, most) = (
            tenths(is.peak) + random.whole(-150, 150),
            tenths(is.peak) + random.whole(-150, 150),
        );
        if !(100..=2_200).contains(&read) || least < 60 || most < 60 {
            continue;
        }
        let text = |tenths: i64| decimal(tenths, 1).0;
        let standard = format!(
            "standard \"a\" edition \"1\"\nuse trade\n\
             rule low {{\n  shall film.peak at least {} °C\n  per practice\n}}\n\
             rule high {{\n  shall film.peak at most {} °C\n  per practice\n}}\n",
            text(least),
            text(most),
        );
        let mut plan = format!(
            "run \"a\" against \"room.std\"\ndryer {{\n  belt {} m/min ± 8 %\n  set-point {set_now} °C\n}}\n\
             reading film.peak {{\n  value {} °C ± {} K\n  on 2026-11-20\n",
            text(belt_now),
            text(read),
            text(probe),
        );
        if belt_then != belt_now {
            plan += &format!("  at dryer.belt {} m/min\n", text(belt_then));
        }
        if set_then != set_now {
            plan += &format!("  at dryer.set-point {set_then} °C\n");
        }
        plan += "}\n";
        let (mut store, prepared) = Room::of(&standard).prepare("room.std");
        let errors = demo_room::errors(&prepared.problems);
        assert!(errors.is_empty(), "{errors:#?}");
        let Some(told) = told(&mut store, &prepared, &plan) else {
            panic!("no outcome\n{plan}");
        };
        asked += 1;
        // What the report says is taken to hold: of the log that was read, where the belt was moved.
        let slower = belt_now < belt_then;
        let faster = belt_now > belt_then;
        if slower && !was.rises || faster && !(was.rises && was.then_falls) {
            continue;
        }
        taken += 1;
        let said = [told.low, told.high];
        let verdict = |of: &Outcome| matches!(of, Outcome::Holds | Outcome::Breaks);
        decided += u64::from(said.iter().any(verdict));
        // The steps are good to far less than a tenth.
        let (peak, close) = (is.peak * 10.0, 0.05);
        let wrong = refuted(told.low, least as f64 <= peak) && (least as f64 - peak).abs() > close
            || refuted(told.high, peak <= most as f64) && (most as f64 - peak).abs() > close;
        assert!(
            !wrong,
            "case {seed}: {told:?}, and it was {} °C then and is {} °C now\n{standard}{plan}",
            was.peak, is.peak
        );
    }
    eprintln!(
        "{asked} films, {taken} with what is taken to hold, {decided} of them with a verdict"
    );
    assert!(decided * 6 > taken, "{decided} of {taken}");
}
