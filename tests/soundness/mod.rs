//! The engine is sound: what it shows is so at every point inside the tolerances.
//!
//! Random formulas, rules and tolerances are written as text, checked by the engine, and worked out
//! point by point by `reckoner.rs`, in exact fractions. The worked-out settings of the shipped specs
//! are held against corners and dense samples.
//!
//! `STRIKEOFF_LONG=100000 cargo test --release --test all soundness:: -- --nocapture` tries so many.

mod carried;
mod dials;
mod fraction;
mod heat;
mod limits;
mod reckoner;
mod shipped;
mod world;

use crate::demo_room::{self, Random, Room, cases};
use fraction::{Fraction, decimal};
use reckoner::{Condition, Formula, Names};
use strikeoff::check::{Applied, Prepared, results};
use strikeoff::eval::{Aim, Binding, EvalContext, EvalError, FigureCache, Range, Verdict, range};
use strikeoff::source::Store;
use strikeoff::types::{Run, Target};
use world::{Point, World};

/// How a rule names settings.
const IN_RULES: Names = Names {
    bed: "bed.",
    pan: "",
    of_pan: false,
};

fn ready(standard: &str, plan: &str) -> (Prepared, Run) {
    let (mut store, prepared): (Store, Prepared) = Room::of(standard).prepare("room.std");
    let errors = demo_room::errors(&prepared.problems);
    assert!(errors.is_empty(), "{errors:#?}\n{standard}");
    let run = demo_room::run_of(&mut store, &prepared, plan);
    (prepared, run)
}

/// The range of a worked-out setting of the bed.
fn range_of(prepared: &Prepared, run: &Run, field: &str) -> Result<Range, EvalError> {
    let standard = &prepared.standard;
    let kind = standard.kind_names["bed"];
    let target = Target::Thing(run.singles[kind.0 as usize].unwrap());
    let id = standard.kind(kind).field_names[field];
    let formula = standard.field(kind, id).formula.as_ref().unwrap();
    let cache = FigureCache::default();
    let context = EvalContext::new(standard, run).remembering(&cache);
    let binding = Binding {
        own: Some(target),
        ..Binding::default()
    };
    range(&context, binding, Aim::value(formula))
}

fn verdict(prepared: &Prepared, run: &Run) -> Verdict {
    let cache = FigureCache::default();
    let context = EvalContext::new(&prepared.standard, run).remembering(&cache);
    let all = results(&context);
    assert_eq!(all.len(), 1);
    match all.into_iter().next().unwrap().applied {
        Applied::To(verdict) => verdict,
        Applied::ToNothing | Applied::ToNoCell(_) => {
            panic!("a rule without `for each` is always asked")
        }
    }
}

/// An exact number of the engine as a fraction.
fn fraction(exact: &strikeoff::units::Exact) -> Fraction {
    let (num, den) = exact.parts();
    Fraction::new(num, den)
}

#[test]
fn intervals_hold_every_point() {
    let (mut asked, mut without, mut exact, mut reached) = (0_u64, 0_u64, 0_u64, 0_u64);
    for seed in 0..cases(150) {
        let random = Random::new(seed);
        let world = World::random(&random);
        let (standard, plan) = (world.standard(), world.plan());
        let (prepared, run) = ready(&standard, &plan);
        let corners = world.corners();
        let mut points = corners.clone();
        points.extend(world.inside(&random, 40));
        for (index, formula) in world.of_bed.iter().enumerate() {
            asked += 1;
            let values: Vec<Option<Fraction>> = points
                .iter()
                .map(|point| formula.value(&world, point, None))
                .collect();
            let found = match range_of(&prepared, &run, &format!("f{index}")) {
                Ok(found) => found,
                Err(_) => {
                    without += 1;
                    continue;
                }
            };
            let told = || format!("case {seed}, f{index}: {found:?}\n{standard}{plan}");
            for value in &values {
                let value = value
                    .as_ref()
                    .unwrap_or_else(|| panic!("no value at a point: {}", told()));
                let (low, high) = (found.bounds.lo, found.bounds.hi);
                assert!(
                    low == f64::NEG_INFINITY || Fraction::of_float(low) <= *value,
                    "{value:?} {}",
                    told()
                );
                assert!(
                    high == f64::INFINITY || Fraction::of_float(high) >= *value,
                    "{value:?} {}",
                    told()
                );
            }
            let Some((low, high)) = &found.exact else {
                continue;
            };
            exact += 1;
            let (low, high) = (fraction(low), fraction(high));
            let known: Vec<Fraction> = values.into_iter().flatten().collect();
            assert!(
                known.iter().all(|value| low <= *value && *value <= high),
                "{}",
                told()
            );
            // What moves in one direction only, or is used once, is lowest and highest at corners; an
            // even power may be lowest between them.
            let even = |one: &Formula| matches!(one, Formula::Power(_, power) if power % 2 == 0);
            if !formula.any(&world, &even, false) {
                reached += 1;
                let at_corners = &known[..corners.len()];
                assert_eq!(at_corners.iter().min(), Some(&low), "{}", told());
                assert_eq!(at_corners.iter().max(), Some(&high), "{}", told());
            }
        }
    }
    eprintln!(
        "{asked} formulas, {without} without a value everywhere, {exact} exact, {reached} of them with both ends at corners"
    );
    assert!(without * 2 < asked, "too few have a value");
}

/// A rule over a random world.
struct Case {
    world: World,
    when: Option<Condition>,
    shall: Condition,
    may: Option<Condition>,
}

impl Case {
    fn random(random: &Random) -> Self {
        let world = World::random(random);
        let condition = |deep| Condition::random(random, deep, &world);
        let shall = condition(if random.chance(40) { 0 } else { 2 });
        let when = random.chance(30).then(|| condition(1));
        let may = random.chance(20).then(|| condition(1));
        Self {
            world,
            when,
            shall,
            may,
        }
    }

    fn standard(&self) -> String {
        let mut text = self.world.standard() + "rule r {\n";
        if let Some(when) = &self.when {
            text += &format!("  when {}\n", when.text(IN_RULES));
        }
        text += &format!("  shall {}\n", self.shall.text(IN_RULES));
        if let Some(may) = &self.may {
            text += &format!("  may {}\n", may.text(IN_RULES));
        }
        text + "  per practice\n}\n"
    }

    /// Whether the rule applies at a point, and whether it is kept there.
    fn at(&self, point: &Point) -> Option<(bool, bool)> {
        let holds = |condition: &Condition| condition.holds(&self.world, point);
        let applies = match &self.when {
            Some(when) => holds(when)?,
            None => true,
        };
        let permitted = match &self.may {
            Some(may) => holds(may)?,
            None => false,
        };
        Some((applies, holds(&self.shall)? || permitted))
    }
}

#[test]
fn outcomes_are_true_at_every_point() {
    let mut counts = [0_u64; 5];
    let (mut doubts, mut both) = (0_u64, 0_u64);
    for seed in 0..cases(300) {
        let random = Random::new(1_000_000 + seed);
        let case = Case::random(&random);
        let (standard, plan) = (case.standard(), case.world.plan());
        let (prepared, run) = ready(&standard, &plan);
        let verdict = verdict(&prepared, &run);
        let mut points = case.world.corners();
        points.extend(case.world.inside(&random, 60));
        let told = || format!("case {seed}: {verdict:?}\n{standard}{plan}");
        let at: Vec<Option<(bool, bool)>> = points.iter().map(|point| case.at(point)).collect();
        match &verdict {
            Verdict::Holds(_) => {
                counts[0] += 1;
                // A point at which a part has no value may be one the answer does not hang on.
                assert!(
                    at.iter().flatten().all(|(applies, kept)| !applies || *kept),
                    "{}",
                    told()
                );
            }
            Verdict::Breaks => {
                counts[1] += 1;
                assert!(
                    at.iter().flatten().all(|(applies, kept)| *applies && !kept),
                    "{}",
                    told()
                );
            }
            Verdict::DoesNotApply(_) => {
                counts[2] += 1;
                assert!(
                    at.iter().flatten().all(|(applies, _)| !applies),
                    "{}",
                    told()
                );
            }
            Verdict::AtRisk(_) => {
                counts[3] += 1;
                let plain = case.when.is_none()
                    && case.may.is_none()
                    && matches!(case.shall, Condition::Compare(..));
                if plain && decidable(&case) {
                    doubts += 1;
                    let seen = |wanted: bool| at.iter().flatten().any(|(_, kept)| *kept == wanted);
                    let touched = points
                        .iter()
                        .any(|point| case.shall.touches(&case.world, point));
                    assert!(
                        seen(true) && seen(false) || touched,
                        "nothing is at risk: {}",
                        told()
                    );
                    both += 1;
                }
            }
            Verdict::CannotWorkOut(_) => counts[4] += 1,
            Verdict::NotStated(_) => panic!("everything is stated: {}", told()),
        }
    }
    eprintln!(
        "holds {}, breaks {}, does not apply {}, at risk {} ({doubts} of them plain and exact, {both} with both found), cannot be worked out {}",
        counts[0], counts[1], counts[2], counts[3], counts[4]
    );
    assert!(counts[..4].iter().all(|count| *count > 0));
}

/// A formula in which each value stands once is lowest and highest at corners, so that the outcome is
/// known exactly: three ways, and the limit itself belongs to one of them.
#[test]
fn one_comparison_is_decided_exactly() {
    let mut counts = [0_u64; 3];
    for seed in 0..cases(400) {
        let random = Random::new(5_000_000 + seed);
        let mut world = World::random(&random);
        world.stated = 4;
        world.bed = (0..4).map(|_| world::Value::random(&random)).collect();
        world.of_bed = vec![Formula::Stated(0)];
        world.pans.truncate(1);
        let mut left = vec![0, 1, 2, 3];
        let formula = Formula::of_each_once(&random, &mut left);
        let values: Option<Vec<Fraction>> = world
            .corners()
            .iter()
            .map(|point| formula.value(&world, point, None))
            .collect();
        let Some(values) = values else { continue };
        let (low, high) = (values.iter().min().unwrap(), values.iter().max().unwrap());
        // A limit between the ends, on one of them, or beyond: with three places, as people write.
        let part = Fraction::new(random.whole(-3, 11), 8);
        let near = low.add(&high.sub(low).mul(&part));
        let on_end = [low, high]
            .into_iter()
            .find(|end| end.mul(&Fraction::whole(1_000)).den == 1.into());
        let limit = match on_end {
            Some(end) if random.chance(50) => end.mul(&Fraction::whole(1_000)),
            _ => near.mul(&Fraction::whole(1_000)).ceil(),
        };
        let Ok(number) = i64::try_from(limit.num) else {
            continue;
        };
        let (text, limit) = decimal(number, 3);
        let sign = *random.pick(&["at least", "at most", "above", "below"]);
        let (all, none) = match sign {
            "at least" => (*low >= limit, *high < limit),
            "at most" => (*high <= limit, *low > limit),
            "above" => (*low > limit, *high <= limit),
            _ => (*high < limit, *low >= limit),
        };
        let shall = Condition::Compare(sign, formula, Formula::Number(text, limit));
        let case = Case {
            world,
            when: None,
            shall,
            may: None,
        };
        let (standard, plan) = (case.standard(), case.world.plan());
        let (prepared, run) = ready(&standard, &plan);
        let found = verdict(&prepared, &run);
        if matches!(found, Verdict::CannotWorkOut(_)) {
            // A divisor that may be zero somewhere between the corners.
            continue;
        }
        let (index, wanted) = match (all, none) {
            (true, _) => (0, Verdict::Holds(None)),
            (_, true) => (1, Verdict::Breaks),
            _ => (2, Verdict::AtRisk(false)),
        };
        counts[index] += 1;
        assert_eq!(found, wanted, "case {seed}\n{standard}{plan}");
    }
    eprintln!(
        "decided exactly: holds {}, breaks {}, at risk {}",
        counts[0], counts[1], counts[2]
    );
    assert!(counts.iter().all(|count| *count > 20));
}

/// Whether both sides of a plain comparison are known exactly, so that corners and zeros tell all.
fn decidable(case: &Case) -> bool {
    let Condition::Compare(_, left, right) = &case.shall else {
        return false;
    };
    let not_plain = |one: &Formula| {
        matches!(
            one,
            Formula::Root(_)
                | Formula::RoundUp(_)
                | Formula::Power(..)
                | Formula::Least(_)
                | Formula::Most(_)
                | Formula::Over(..)
                | Formula::WorkedOut(_)
        )
    };
    let plain = |one: &Formula| !one.any(&case.world, &not_plain, false);
    let mut used = Vec::new();
    uses(left, &mut used);
    uses(right, &mut used);
    used.sort_unstable();
    let once = used.windows(2).all(|pair| pair[0] != pair[1]);
    plain(left) && plain(right) && once
}

fn uses(formula: &Formula, found: &mut Vec<usize>) {
    match formula {
        Formula::Stated(index) => found.push(*index),
        Formula::Negative(one) => uses(one, found),
        Formula::Sum(_, one, other) => {
            uses(one, found);
            uses(other, found);
        }
        _ => {}
    }
}

#[test]
fn a_tighter_tolerance_breaks_nothing_that_holds() {
    let (mut tightened, mut lost) = (0_u64, 0_u64);
    for seed in 0..cases(150) {
        let random = Random::new(2_000_000 + seed);
        let mut case = Case::random(&random);
        let standard = case.standard();
        let (prepared, run) = ready(&standard, &case.world.plan());
        let before = verdict(&prepared, &run);
        if !matches!(before, Verdict::Holds(_) | Verdict::Breaks) {
            continue;
        }
        let wide = case.world.plan();
        let index = random.below(case.world.bed.len());
        let value = &mut case.world.bed[index];
        // A span a quarter in from both ends, written out in full.
        let (low, high) = (value.at(16), value.at(48));
        let text = |one: &Fraction| {
            // Ends have one place, percentages two more, quarters two more.
            let scaled = one.mul(&Fraction::whole(1_000_000));
            assert_eq!(scaled.den, 1.into());
            decimal(i64::try_from(scaled.num).unwrap(), 6).0
        };
        value.text = format!("{} to {}", text(&low), text(&high));
        (value.low, value.high) = (low, high);
        let (prepared, run) = ready(&standard, &case.world.plan());
        let after = verdict(&prepared, &run);
        tightened += 1;
        let told = || {
            format!(
                "case {seed}: {before:?}, then {after:?}\n{standard}{wide}{}",
                case.world.plan()
            )
        };
        match (&before, &after) {
            (Verdict::Holds(_), Verdict::Holds(_) | Verdict::DoesNotApply(_))
            | (Verdict::Breaks, Verdict::Breaks) => {}
            // Shown before, not shown now: allowed only as an effect of the budget, and counted.
            (_, Verdict::AtRisk(_) | Verdict::CannotWorkOut(_)) => lost += 1,
            _ => panic!("{}", told()),
        }
    }
    eprintln!("{tightened} tightened, {lost} no longer shown");
    assert!(
        lost * 50 <= tightened,
        "{lost} of {tightened} are no longer shown"
    );
}
