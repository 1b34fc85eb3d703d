//! What *holds* must not break, and an interval must contain every value: random formulas and rules, worked
//! out by strikeoff from their text and by the test itself at random points inside the tolerances.

#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod demo_room;

use demo_room::{Random, Room, cases, errors, quick, run_of};
use strikeoff::check::check_plan;
use strikeoff::diagnostic::Outcome;
use strikeoff::eval::{Aim, Frame, Scene, range};
use strikeoff::types::{FieldId, InstanceId, Target};

const VALUES: usize = 4;

/// A formula: written for strikeoff, and worked out here.
#[derive(Debug, Clone)]
enum Formula {
    Value(usize),
    Number(i32),
    Earlier(usize),
    Two(char, Box<Formula>, Box<Formula>),
    Square(Box<Formula>),
    Least(Box<Formula>, Box<Formula>),
    Most(Box<Formula>, Box<Formula>),
}

fn below(random: &Random, count: u64) -> u64 {
    random.next() % count
}

fn unit(random: &Random) -> f64 {
    (random.next() >> 11) as f64 / (1_u64 << 53) as f64
}

impl Formula {
    fn random(random: &Random, depth: u64, earlier: usize) -> Self {
        if depth == 0 || below(random, 4) == 0 {
            return match below(random, 5) {
                0 => Self::Number(1 + below(random, 9) as i32),
                1 if earlier > 0 => Self::Earlier(below(random, earlier as u64) as usize),
                _ => Self::Value(below(random, VALUES as u64) as usize),
            };
        }
        let part = || Box::new(Self::random(random, depth - 1, earlier));
        match below(random, 8) {
            0 | 1 => Self::Two('+', part(), part()),
            2 | 3 => Self::Two('-', part(), part()),
            4 => Self::Two('*', part(), part()),
            5 => Self::Two('/', part(), part()),
            6 => Self::Square(part()),
            _ if below(random, 2) == 0 => Self::Least(part(), part()),
            _ => Self::Most(part(), part()),
        }
    }

    fn text(&self) -> String {
        match self {
            Self::Value(index) => format!("v-{index}"),
            Self::Number(number) => number.to_string(),
            Self::Earlier(index) => format!("f-{index}"),
            Self::Two(sign, left, right) => format!("({} {sign} {})", left.text(), right.text()),
            Self::Square(base) => format!("({}) ^ 2", base.text()),
            Self::Least(left, right) => format!("least({}, {})", left.text(), right.text()),
            Self::Most(left, right) => format!("most({}, {})", left.text(), right.text()),
        }
    }

    fn value(&self, values: &[f64], earlier: &[f64]) -> f64 {
        match self {
            Self::Value(index) => values[*index],
            Self::Number(number) => f64::from(*number),
            Self::Earlier(index) => earlier[*index],
            Self::Two(sign, left, right) => {
                let (left, right) = (left.value(values, earlier), right.value(values, earlier));
                match sign {
                    '+' => left + right,
                    '-' => left - right,
                    '*' => left * right,
                    _ => left / right,
                }
            }
            Self::Square(base) => base.value(values, earlier).powi(2),
            Self::Least(left, right) => left
                .value(values, earlier)
                .min(right.value(values, earlier)),
            Self::Most(left, right) => left
                .value(values, earlier)
                .max(right.value(values, earlier)),
        }
    }
}

/// Values with tolerances, and formulas on them.
struct Case {
    nominal: Vec<f64>,
    tolerance: Vec<f64>,
    formulas: Vec<Formula>,
}

impl Case {
    fn random(random: &Random) -> Self {
        let hundredths = |count: u64| below(random, count) as f64 / 100.0;
        let formulas: Vec<Formula> = (0..3)
            .map(|earlier| Formula::random(random, 3, earlier))
            .collect();
        Self {
            nominal: (0..VALUES).map(|_| 1.0 + hundredths(1000)).collect(),
            tolerance: (0..VALUES).map(|_| hundredths(80)).collect(),
            formulas,
        }
    }

    fn kind(&self) -> String {
        let mut text = "standard \"random\" edition \"1\"\nkind bed, one to a run {\n".to_owned();
        for index in 0..VALUES {
            text.push_str(&format!("  v-{index} number\n"));
        }
        for (index, formula) in self.formulas.iter().enumerate() {
            text.push_str(&format!("  f-{index} number = {}\n", formula.text()));
        }
        text + "}\n"
    }

    fn plan(&self, share: f64) -> String {
        let mut text = "run \"a\" against \"room.std\"\nbed {\n".to_owned();
        for (index, (nominal, tolerance)) in self.nominal.iter().zip(&self.tolerance).enumerate() {
            text.push_str(&format!(
                "  v-{index} {nominal:.2} ± {:.4}\n",
                tolerance * share
            ));
        }
        text + "}\n"
    }

    /// Corners first, then random points; the value of every formula at each.
    fn points(&self, random: &Random, count: usize) -> Vec<Vec<f64>> {
        (0..count)
            .map(|point| {
                let values: Vec<f64> = (0..VALUES)
                    .map(|index| {
                        let side = if point < 1 << VALUES {
                            f64::from(u8::from(point >> index & 1 == 1))
                        } else {
                            unit(random)
                        };
                        self.nominal[index] + (2.0 * side - 1.0) * self.tolerance[index]
                    })
                    .collect();
                let mut results = Vec::new();
                for formula in &self.formulas {
                    let value = formula.value(&values, &results);
                    results.push(value);
                }
                results
            })
            .collect()
    }
}

/// How far a floating value may be off through its own rounding.
fn slack(value: f64) -> f64 {
    1.0e-9 * value.abs().max(1.0)
}

#[test]
fn an_interval_contains_the_value_at_every_point() {
    let (mut worked_out, mut wide) = (0, 0);
    let count = cases(200);
    for seed in 0..count {
        let random = Random::new(seed);
        let case = Case::random(&random);
        let (mut store, prepared) = Room::of(&case.kind()).prepare("room.std");
        assert!(
            errors(&prepared.problems).is_empty(),
            "{:?}",
            prepared.problems
        );
        let run = run_of(&mut store, &prepared, &case.plan(1.0));
        let scene = Scene::new(&prepared.standard, &run);
        let points = case.points(&random, 400);
        for index in 0..case.formulas.len() {
            let field = FieldId(u32::try_from(VALUES + index).unwrap());
            let target = Target::Thing(InstanceId(0));
            let formula = prepared.standard.kinds[0].fields[field.0 as usize]
                .formula
                .as_ref()
                .unwrap();
            let frame = Frame {
                own: Some(target),
                ..Frame::default()
            };
            // A division by what may be zero has no interval.
            let Ok(found) = range(&scene, frame, Aim::value(formula)) else {
                continue;
            };
            worked_out += 1;
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for point in &points {
                let value = point[index];
                let inside = value >= found.bounds.lo - slack(value)
                    && value <= found.bounds.hi + slack(value);
                assert!(
                    inside,
                    "seed {seed}: {value} outside {found:?}\n{}{}",
                    case.kind(),
                    case.plan(1.0)
                );
                (low, high) = (low.min(value), high.max(value));
            }
            // Random points do not reach every edge, so this is coarser than the guarantee.
            wide +=
                usize::from(found.bounds.hi - found.bounds.lo > 1.25 * (high - low) + slack(high));
        }
    }
    assert!(
        worked_out as u64 > count,
        "only {worked_out} formulas could be worked out"
    );
    assert!(
        wide * 20 < worked_out,
        "{wide} of {worked_out} intervals are a quarter wider than their points"
    );
}

/// The worked-out settings of the shipped kinds that are plain formulas: at most one per cent wider than what
/// corners and points reach.
#[test]
fn plain_formulas_of_the_trade_are_tight() {
    let random = Random::new(5);
    for round in 0..cases(60) {
        let tolerance = |random: &Random| 0.5 + 7.0 * unit(random);
        let (mesh, thread, thick, eom) = (
            30.0 + 60.0 * unit(&random),
            40.0 + 30.0 * unit(&random),
            80.0 + 60.0 * unit(&random),
            15.0 + 20.0 * unit(&random),
        );
        let chamber = 2.0 + 4.0 * unit(&random);
        let belt = 1.0 + 3.0 * unit(&random);
        let shares: Vec<f64> = (0..6)
            .map(|_| (tolerance(&random) * 10.0).round() / 1000.0)
            .collect();
        let stated: Vec<f64> = [mesh, thread, thick, eom, chamber, belt]
            .iter()
            .map(|value| (value * 100.0).round() / 100.0)
            .collect();
        let plan = format!(
            "run \"a\" against \"room.std\"\nscreen s {{\n  mesh {:.2} /cm ± {:.1} %\n  thread {:.2} µm ± {:.1} %\n  fabric-thickness {:.2} µm ± {:.1} %\n  eom {:.2} µm ± {:.1} %\n}}\ndryer {{\n  chamber {:.2} m ± {:.1} %\n  belt {:.2} m/min ± {:.1} %\n}}\n",
            stated[0],
            shares[0] * 100.0,
            stated[1],
            shares[1] * 100.0,
            stated[2],
            shares[2] * 100.0,
            stated[3],
            shares[3] * 100.0,
            stated[4],
            shares[4] * 100.0,
            stated[5],
            shares[5] * 100.0,
        );
        let (mut store, prepared) =
            Room::of("standard \"t\" edition \"1\"\nuse trade\n").prepare("room.std");
        let run = run_of(&mut store, &prepared, &plan);
        let scene = Scene::new(&prepared.standard, &run);
        // Opening, open area, ink volume, stencil share and dwell, by hand, in SI units.
        let figures = |at: &[f64]| {
            let (n, d, thickness) = (at[0] * 100.0, at[1] * 1e-6, at[2] * 1e-6);
            let opening = 1.0 / n - d;
            let area = (opening * n).powi(2);
            vec![
                ("screen", "opening", opening),
                ("screen", "open-area", area),
                ("screen", "ink-volume", area * thickness),
                ("screen", "eom-share", at[3] * 1e-6 / thickness),
                ("dryer", "dwell", at[4] / (at[5] / 60.0)),
            ]
        };
        let mut reached: Vec<(f64, f64)> = vec![(f64::INFINITY, f64::NEG_INFINITY); 5];
        for point in 0..600_usize {
            let at: Vec<f64> = (0..6)
                .map(|index| {
                    let side = if point < 64 {
                        f64::from(u8::from(point >> index & 1 == 1))
                    } else {
                        unit(&random)
                    };
                    stated[index] * (1.0 + (2.0 * side - 1.0) * shares[index])
                })
                .collect();
            for (ends, (.., value)) in reached.iter_mut().zip(figures(&at)) {
                *ends = (ends.0.min(value), ends.1.max(value));
            }
        }
        for ((low, high), (kind, name, _)) in reached.into_iter().zip(figures(&stated)) {
            let id = prepared.standard.kind_names[kind];
            let field = prepared.standard.kind(id).field_names[name];
            let formula = prepared.standard.field(id, field).formula.as_ref().unwrap();
            let thing = run.singles[id.0 as usize]
                .or_else(|| run.many[id.0 as usize].first().copied())
                .unwrap();
            let frame = Frame {
                own: Some(Target::Thing(thing)),
                ..Frame::default()
            };
            let found = range(&scene, frame, Aim::value(formula)).unwrap().bounds;
            let rounding = 1e-12 * high.abs();
            assert!(
                found.lo <= low + rounding && found.hi >= high - rounding,
                "round {round}: {kind}.{name} {found:?} {low} {high}"
            );
            assert!(
                found.hi - found.lo <= 1.01 * (high - low) + rounding,
                "round {round}: {kind}.{name} {found:?} is wider than {low} to {high}\n{plan}"
            );
        }
    }
}

/// A condition: written for strikeoff, and decided here.
#[derive(Debug, Clone)]
enum Condition {
    Compare(usize, &'static str, f64),
    Not(Box<Condition>),
    Both(Box<Condition>, Box<Condition>),
    Either(Box<Condition>, Box<Condition>),
}

impl Condition {
    fn random(random: &Random, depth: u64, points: &[Vec<f64>]) -> Self {
        if depth == 0 || below(random, 3) == 0 {
            let index = below(random, points[0].len() as u64) as usize;
            let word = ["at least", "at most", "above", "below"][below(random, 4) as usize];
            // Near what the formula comes to, so that the limit matters.
            let near = points[below(random, points.len() as u64) as usize][index];
            let far = near + (unit(random) - 0.5) * near.abs();
            return Self::Compare(index, word, (far * 1000.0).round() / 1000.0);
        }
        let part = || Box::new(Self::random(random, depth - 1, points));
        match below(random, 5) {
            0 => Self::Not(part()),
            1 | 2 => Self::Both(part(), part()),
            _ => Self::Either(part(), part()),
        }
    }

    fn text(&self) -> String {
        match self {
            Self::Compare(index, word, limit) => format!("bed.f-{index} {word} {limit:.3}"),
            Self::Not(inner) => format!("not ({})", inner.text()),
            Self::Both(left, right) => format!("({} and {})", left.text(), right.text()),
            Self::Either(left, right) => format!("({} or {})", left.text(), right.text()),
        }
    }

    /// `None` within rounding of a limit.
    fn holds(&self, point: &[f64]) -> Option<bool> {
        match self {
            Self::Compare(index, word, limit) => {
                let away = point[*index] - limit;
                (away.abs() > slack(*limit)).then_some(
                    if word.starts_with("at l") || *word == "above" {
                        away > 0.0
                    } else {
                        away < 0.0
                    },
                )
            }
            Self::Not(inner) => Some(!inner.holds(point)?),
            Self::Both(left, right) => Some(left.holds(point)? & right.holds(point)?),
            Self::Either(left, right) => Some(left.holds(point)? | right.holds(point)?),
        }
    }
}

#[test]
fn what_holds_holds_and_what_breaks_breaks_at_every_point() {
    let mut seen = std::collections::BTreeMap::new();
    for seed in 0..cases(300) {
        let random = Random::new(seed ^ 0xabcd);
        let case = Case::random(&random);
        let points = case.points(&random, 300);
        if points
            .iter()
            .flatten()
            .any(|value| !value.is_finite() || value.abs() > 1e9)
        {
            continue;
        }
        let when = Condition::random(&random, 1, &points);
        let shall = Condition::random(&random, 2, &points);
        let may = (below(&random, 3) == 0).then(|| Condition::random(&random, 1, &points));
        let permission = may
            .as_ref()
            .map(|may| format!("  may {}\n", may.text()))
            .unwrap_or_default();
        let standard = format!(
            "{}rule r {{\n  when {}\n  shall {}\n{permission}  per practice\n}}\n",
            case.kind(),
            when.text(),
            shall.text()
        );
        let (mut store, prepared) = Room::of(&standard).prepare("room.std");
        assert!(
            errors(&prepared.problems).is_empty(),
            "{:?}\n{standard}",
            prepared.problems
        );
        let mut outcome_of = |share: f64| {
            let file = store.add("a.plan", case.plan(share));
            let report = check_plan(&store, &prepared, 0, file, quick());
            let counts = report.counts;
            *Outcome::ALL
                .iter()
                .find(|outcome| counts.of(**outcome) > 0)
                .unwrap()
        };
        let outcome = outcome_of(1.0);
        *seen.entry(outcome).or_insert(0) += 1;
        for point in &points {
            let (Some(applies), Some(holds)) = (when.holds(point), shall.holds(point)) else {
                continue;
            };
            let Some(permitted) = may.as_ref().map_or(Some(false), |may| may.holds(point)) else {
                continue;
            };
            let good = !applies || holds || permitted;
            let right = match outcome {
                Outcome::Holds => good,
                Outcome::DoesNotApply => !applies,
                Outcome::Breaks => !good,
                Outcome::AtRisk | Outcome::NotStated => true,
            };
            assert!(
                right,
                "seed {seed}: {outcome:?} at {point:?}\n{standard}{}",
                case.plan(1.0)
            );
        }
        // Inside a box on which all is well, all is well.
        if matches!(outcome, Outcome::Holds | Outcome::DoesNotApply) {
            let tighter = outcome_of(0.5);
            assert!(
                matches!(tighter, Outcome::Holds | Outcome::DoesNotApply),
                "seed {seed}: {tighter:?} when tightened\n{standard}"
            );
        }
    }
    for outcome in [
        Outcome::Holds,
        Outcome::Breaks,
        Outcome::AtRisk,
        Outcome::DoesNotApply,
    ] {
        assert!(
            seen.get(&outcome).is_some_and(|count| *count >= 5),
            "{seen:?}"
        );
    }
}

/// A value exactly on its limit, written in two units, is on it: no rounding decides.
#[test]
fn a_value_on_its_limit_is_on_it() {
    let random = Random::new(11);
    for _ in 0..cases(200) {
        let inches = below(&random, 100_000);
        let text = format!("{}.{:03}", inches / 1000, inches % 1000);
        // 1 in = 25.4 mm exactly.
        let micrometres = inches * 254;
        let millimetres = format!("{}.{:04}", micrometres / 10_000, micrometres % 10_000);
        let fahrenheit = 32 + 9 * (below(&random, 40) as i64);
        let celsius = (fahrenheit - 32) * 5 / 9;
        for (ty, stated, limit) in [
            ("length", format!("{text} in"), format!("{millimetres} mm")),
            (
                "temperature",
                format!("{fahrenheit} °F"),
                format!("{celsius} °C"),
            ),
            ("number", "0.3".to_owned(), "0.1 + 0.2".to_owned()),
        ] {
            for (word, outcome) in [
                ("at least", Outcome::Holds),
                ("at most", Outcome::Holds),
                ("is", Outcome::Holds),
                ("above", Outcome::Breaks),
                ("below", Outcome::Breaks),
            ] {
                let standard = format!(
                    "standard \"s\" edition \"1\"\nkind bed, one to a run {{\n  x {ty}\n}}\nrule r {{\n  shall bed.x {word} {limit}\n  per practice\n}}\n"
                );
                let (mut store, prepared) = Room::of(&standard).prepare("room.std");
                assert!(
                    errors(&prepared.problems).is_empty(),
                    "{:?}\n{standard}",
                    prepared.problems
                );
                let file = store.add(
                    "a.plan",
                    format!("run \"a\" against \"room.std\"\nbed {{\n  x {stated}\n}}\n"),
                );
                let report = check_plan(&store, &prepared, 0, file, quick());
                assert_eq!(
                    report.counts.of(outcome),
                    1,
                    "{stated} {word} {limit}: {:?}",
                    report.counts
                );
            }
        }
    }
}
