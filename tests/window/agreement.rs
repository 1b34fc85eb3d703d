//! `window` against `check` on random standards: ends of stretches, bands that just fit, and what lies between.
//!
//! The judge is a check of the plan's text with the set point written into it. Nothing here knows how a window is made.

use std::fmt::Write as _;

use super::{looked, small};
use strikeoff::check::{Options, Prepared, check_plan, prepare};
use strikeoff::diagnostic::{End, Outcome, SetPoint, Severity, Window, Zone};
use strikeoff::names::read_text;
use strikeoff::source::Store;
use strikeoff::types::Date;

/// Standards in every run, and in the long form; set points for each.
const SHORT: (usize, usize) = (24, 60);
const LONG: (usize, usize) = (200, 560);

/// Random numbers that are the same on every run (SplitMix64, public domain).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    fn one_in(&mut self, count: u64) -> bool {
        self.below(count) == 0
    }

    fn of<'l>(&mut self, list: &[&'l str]) -> &'l str {
        list[usize::try_from(self.below(list.len() as u64)).unwrap()]
    }

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// A standard, a plan that states `a`, `b` and `t`, and which of them are freed.
struct Case {
    standard: String,
    a: String,
    b: String,
    t: String,
    free: Vec<&'static str>,
    /// Whether some requirement has several limits: what is at risk by each of two may break by both.
    several: bool,
}

/// What is worked out of `a`, `b` and `t`: with powers, roots, quotients and a setting used twice.
const FORMULAS: &[&str] = &[
    "a ^ 2",
    "a ^ 3",
    "root(a)",
    "root(a * b)",
    "a * b",
    "a / b",
    "b / a",
    "a - b",
    "3 * a + b / 2",
    "(a + b) ^ 2",
    "t / 2 s",
    "(t / 1 s) ^ 2",
    "root(t / 1 s)",
    "t / (a * 1 s)",
    "a * (60 - a)",
    "most(a, b)",
    "otherwise(missing, a) * 2",
];

const SETTINGS: &[&str] = &["a", "b", "f", "g", "h"];

fn comparison(random: &mut Random) -> String {
    if random.one_in(5) {
        let limit = 5 * random.below(40);
        return format!("bed.t {} {limit} s", random.of(SIDES));
    }
    let setting = random.of(SETTINGS);
    let limit = match random.below(4) {
        0 => format!("{}", 1 + random.below(60)),
        1 => format!("{}.5", random.below(40)),
        2 => format!("{}", (2 + random.below(9)).pow(2)),
        _ => format!("{}", (2 + random.below(4)).pow(3)),
    };
    format!("bed.{setting} {} {limit}", random.of(SIDES))
}

const SIDES: &[&str] = &["at least", "at most", "above", "below"];

fn case(seed: u64) -> Case {
    let mut random = Random(seed);
    let step = if random.one_in(3) {
        " set in steps of 1"
    } else {
        " set"
    };
    let mut standard = format!(
        "standard \"w\" edition \"1\"
kind bed, one to a run \"bed\" {{
  a number from 1 to 100 \"a\"{step}
  b number from 1 to 60 \"b\" set
  t time from 1 s to 300 s \"t\" set
  missing number from 0 to 1 \"never stated\" set
"
    );
    for name in ["f", "g", "h"] {
        writeln!(
            standard,
            "  {name} number = {} \"{name}\"",
            random.of(FORMULAS)
        )
        .unwrap();
    }
    standard.push_str("}\n");
    let tolerance = match random.below(5) {
        0 => String::new(),
        1 => format!(" ± {}", 1 + random.below(6)),
        2 => format!(" ± {}.5", random.below(6)),
        3 => format!(" ± {} %", 1 + random.below(12)),
        _ => format!(" +{} -{}", 1 + random.below(3), 1 + random.below(3)),
    };
    let mut several = false;
    for number in 0..1 + random.below(3) {
        writeln!(standard, "rule r{number} {{").unwrap();
        if random.one_in(3) {
            writeln!(standard, "  when {}", comparison(&mut random)).unwrap();
        }
        let shall = match random.below(9) {
            0 => {
                // A band that the tolerance just fills, or nearly.
                let from = 3 + random.below(50);
                let width = random.below(14);
                format!("bed.a within {from} to {}", from + width)
            }
            1 => format!("{} or {}", comparison(&mut random), comparison(&mut random)),
            2 => {
                several = true;
                format!(
                    "{} and {}",
                    comparison(&mut random),
                    comparison(&mut random)
                )
            }
            3 => format!("not ({})", comparison(&mut random)),
            4 => {
                let from = random.below(60);
                let setting = random.of(SETTINGS);
                format!("bed.{setting} within {from} to {}", from + random.below(60))
            }
            5 if random.one_in(3) => format!("bed.a is not {}", 2 + random.below(30)),
            _ => comparison(&mut random),
        };
        writeln!(standard, "  shall {shall}").unwrap();
        if random.one_in(6) {
            writeln!(standard, "  may {}", comparison(&mut random)).unwrap();
        }
        standard.push_str("  per practice\n}\n");
    }
    let free = match random.below(6) {
        0 => vec!["bed.a", "bed.b"],
        1 => vec!["bed.t"],
        _ => vec!["bed.a"],
    };
    let t = if random.one_in(2) { "" } else { " ± 5 %" };
    Case {
        a: format!("{}{tolerance}", 15 + random.below(40)),
        b: format!("{}", 5 + random.below(30)),
        t: format!("{} s{t}", 20 + random.below(200)),
        standard,
        free,
        several,
    }
}

/// A number with what is stated behind it.
fn parts(value: &str) -> (&str, &str) {
    let (number, rest) = value.split_once(' ').unwrap_or((value, ""));
    (number, rest)
}

impl Case {
    fn plan(&self, at: &[(&str, String)]) -> String {
        let value = |name: &str, stated: &str| {
            let moved = at.iter().find(|(setting, _)| *setting == name);
            moved.map_or_else(
                || stated.to_owned(),
                |(_, number)| format!("{number} {}", parts(stated).1),
            )
        };
        format!(
            "run \"a\" against \"room.std\"\nbed {{\n  a {}\n  b {}\n  t {}\n}}\n",
            value("bed.a", &self.a),
            value("bed.b", &self.b),
            value("bed.t", &self.t)
        )
    }
}

/// What a check of a plan's text comes to.
struct Judge {
    store: Store,
    prepared: Prepared,
}

impl Judge {
    fn new(standard: &str) -> Option<Self> {
        let room = small(standard, "");
        let mut store = Store::new();
        let file = read_text(&mut store, &room, "room.std", None).unwrap();
        let prepared = prepare(&mut store, &room, file);
        prepared.usable().then_some(Self { store, prepared })
    }

    /// `None` for a plan that is refused.
    fn zone(&mut self, text: String) -> Option<Zone> {
        let file = self.store.add("point.plan", text);
        let options = Options {
            repairs: false,
            on: Date::parse("2026-11-25"),
            ..Options::default()
        };
        let report = check_plan(&self.store, &self.prepared, 0, file, options);
        if !report.checked {
            return None;
        }
        let mut zone = Zone::Holds;
        for said in &report.diagnostics {
            if said.severity != Severity::Error {
                continue;
            }
            let outcome = said.finding.as_ref().map(|finding| finding.outcome);
            if outcome.is_none_or(|outcome| outcome == Outcome::Breaks) {
                return Some(Zone::Breaks);
            }
            zone = Zone::AtRisk;
        }
        Some(zone)
    }
}

#[derive(Default)]
struct Tally {
    standards: usize,
    points: usize,
    ends: usize,
    bands: usize,
    zones: [usize; 5],
    wrong: Vec<String>,
}

impl Tally {
    fn point(&mut self, case: &Case, claimed: Zone, why: bool, found: Option<Zone>, at: &str) {
        let Some(found) = found else {
            self.wrong.push(format!("{at}: refused\n{}", case.standard));
            return;
        };
        self.points += 1;
        self.zones[Zone::ALL.iter().position(|zone| *zone == claimed).unwrap()] += 1;
        let right = match claimed {
            Zone::NotDecided => true,
            Zone::Fails => found != Zone::Holds,
            _ if why => found != Zone::Holds,
            Zone::AtRisk if case.several => found != Zone::Holds,
            other => found == other,
        };
        if !right {
            self.wrong.push(format!(
                "{at}: the window says {claimed:?}, a check {found:?}\na {}, b {}, t {}\n{}",
                case.a, case.b, case.t, case.standard
            ));
        }
    }
}

/// A decimal of so many digits behind the point.
fn decimal(value: f64) -> String {
    format!("{value:.10}")
}

/// Each stretch of each freed setting: both ends as printed and as they are, and points inside.
fn along(
    case: &Case,
    window: &Window,
    judge: &mut Judge,
    random: &mut Random,
    inside: usize,
    tally: &mut Tally,
) {
    let setting = &window.settings[0];
    let free = case.free[0];
    let mut last: Option<&End> = None;
    let mut undecided = 0.0;
    for stretch in &setting.stretches {
        let why = stretch.why.is_some();
        // No two stretches claim one end, and none is left between them.
        if let Some(last) = last {
            assert_eq!(
                last.at.to_bits(),
                stretch.low.at.to_bits(),
                "{}",
                case.standard
            );
            assert_ne!(last.within, stretch.low.within, "{}", case.standard);
        }
        last = Some(&stretch.high);
        if stretch.zone == Zone::NotDecided {
            undecided += stretch.high.at - stretch.low.at;
        }
        for end in [&stretch.low, &stretch.high] {
            let exact = end.exact.as_ref().filter(|text| !text.contains('/'));
            let Some(exact) = exact else { continue };
            let number = exact.clone();
            let found = judge.zone(case.plan(&[(free, number.clone())]));
            tally.ends += 1;
            if end.within {
                tally.point(
                    case,
                    stretch.zone,
                    why,
                    found,
                    &format!("{free} at its end {number}"),
                );
            } else if stretch.zone == Zone::Holds && found == Some(Zone::Holds) {
                tally.wrong.push(format!(
                    "{free} holds at {number}, which is left out\n{}",
                    case.standard
                ));
            }
        }
        if stretch.low.at == stretch.high.at {
            tally.bands += usize::from(stretch.zone == Zone::Holds);
            continue;
        }
        // What is printed is rounded inward, so it belongs to the stretch where that has any width.
        let printed: Vec<&str> = [&stretch.low, &stretch.high]
            .map(|end| parts(&end.words).0)
            .to_vec();
        let as_number = |text: &str| text.parse::<f64>().unwrap();
        if as_number(printed[0]) < as_number(printed[1]) {
            for (end, number) in [&stretch.low, &stretch.high].into_iter().zip(&printed) {
                let sharp = end.exact.as_deref() == Some(*number);
                if sharp && !end.within {
                    continue;
                }
                let number = (*number).to_owned();
                let found = judge.zone(case.plan(&[(free, number.clone())]));
                tally.ends += 1;
                tally.point(
                    case,
                    stretch.zone,
                    why,
                    found,
                    &format!("{free} printed as {number}"),
                );
            }
        }
        for _ in 0..inside {
            let at = stretch.low.at + (stretch.high.at - stretch.low.at) * random.unit();
            let at: f64 = decimal(at).parse().unwrap();
            if at <= stretch.low.at || at >= stretch.high.at {
                continue;
            }
            let number = decimal(at);
            let found = judge.zone(case.plan(&[(free, number.clone())]));
            tally.point(
                case,
                stretch.zone,
                why,
                found,
                &format!("{free} inside at {number}"),
            );
        }
    }
    let range = setting.high - setting.low;
    assert!(
        undecided <= range * 0.05,
        "{undecided} of {range} is not decided\n{}",
        case.standard
    );
}

/// Random points of the boxes of two settings, and of those that are a line.
fn in_boxes(
    case: &Case,
    window: &Window,
    judge: &mut Judge,
    random: &mut Random,
    points: usize,
    tally: &mut Tally,
) {
    for _ in 0..points {
        let number = random.below(window.boxes.len() as u64);
        let part = &window.boxes[usize::try_from(number).unwrap()];
        let why = false;
        let mut at = Vec::new();
        for (index, free) in case.free.iter().enumerate() {
            let (low, high) = (part.low[index], part.high[index]);
            let value = low + (high - low) * random.unit();
            let value: f64 = if low == high {
                low
            } else {
                decimal(value).parse().unwrap()
            };
            if low < high && (value <= low || value >= high) {
                break;
            }
            at.push((*free, decimal(value)));
        }
        if at.len() < case.free.len() {
            continue;
        }
        let found = judge.zone(case.plan(&at));
        tally.point(case, part.zone, why, found, &format!("box at {at:?}"));
    }
}

/// What is proposed passes as it is printed, and so does all of the room around it.
fn proposed(case: &Case, point: &SetPoint, judge: &mut Judge, tally: &mut Tally) {
    let mut tries: Vec<Vec<(&str, String)>> = Vec::new();
    let words = |index: usize, text: &str| {
        let number = parts(text).0.to_owned();
        (case.free[index], number)
    };
    tries.push(
        point
            .words
            .iter()
            .enumerate()
            .map(|(index, text)| words(index, text))
            .collect(),
    );
    for corner in 0..1_usize << case.free.len() {
        let ends = point.around.iter().enumerate();
        tries.push(
            ends.map(|(index, (low, high))| {
                words(
                    index,
                    if corner >> index & 1 == 0 {
                        &low.1
                    } else {
                        &high.1
                    },
                )
            })
            .collect(),
        );
    }
    for at in tries {
        let found = judge.zone(case.plan(&at));
        tally.point(case, Zone::Holds, false, found, &format!("proposed {at:?}"));
    }
}

#[test]
fn window_and_check_agree_on_random_standards() {
    let long = std::env::var_os("STRIKEOFF_LONG").is_some();
    let (standards, points) = if long { LONG } else { SHORT };
    let mut tally = Tally::default();
    let mut seed = 26_11;
    while tally.standards < standards {
        seed += 1;
        let case = case(seed);
        let Some(mut judge) = Judge::new(&case.standard) else {
            continue;
        };
        let room = small(&case.standard, &case.plan(&[]));
        let Ok(window) = looked(&room, "a.plan", &case.free, 1_500).found else {
            continue;
        };
        // What fails whatever is set is no matter of the window.
        if !window.standstill.is_empty() || window.cuts.is_empty() {
            continue;
        }
        tally.standards += 1;
        let mut random = Random(seed ^ 0xABCD);
        if case.free.len() == 1 {
            let inside = points / window.settings[0].stretches.len().max(1);
            along(&case, &window, &mut judge, &mut random, inside, &mut tally);
            let now = window.present.as_ref().unwrap().zone;
            let found = judge.zone(case.plan(&[]));
            tally.point(&case, now, false, found, "as set now");
        } else {
            in_boxes(&case, &window, &mut judge, &mut random, points, &mut tally);
        }
        for point in [&window.best, &window.nearest].into_iter().flatten() {
            proposed(&case, point, &mut judge, &mut tally);
        }
        if window.empty {
            // Nothing is claimed of a band that the points would never meet: the present and every limit is tried.
            for at in (2..=200).map(|half| f64::from(half) * 0.5) {
                let at = vec![(case.free[0], decimal(at))];
                if judge.zone(case.plan(&at)) == Some(Zone::Holds) {
                    tally.wrong.push(format!(
                        "{at:?} holds in an empty window\n{}",
                        case.standard
                    ));
                }
                tally.points += 1;
            }
        }
    }
    println!(
        "{} standards, {} points, {} of them ends, {} bands of one set point; holds, at risk, breaks, does not hold, not decided: {:?}",
        tally.standards, tally.points, tally.ends, tally.bands, tally.zones
    );
    assert!(
        tally.wrong.is_empty(),
        "{} of {}:\n{}",
        tally.wrong.len(),
        tally.points,
        tally.wrong[..tally.wrong.len().min(5)].join("\n")
    );
    let [holds, risk, breaks, ..] = tally.zones;
    assert!(
        holds > 200 && risk > 100 && breaks > 200,
        "{:?}",
        tally.zones
    );
    assert!(tally.ends > 100);
    if long {
        assert!(tally.points >= 100_000, "{}", tally.points);
    }
}
