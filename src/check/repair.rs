//! The smallest change of one setting that makes a requirement hold and breaks nothing else.

use crate::diagnostic::{Edit, Outcome, Repair};
use crate::eval::{
    Conditions, Counterexamples, Frame, Goal, Leaf, Memory, Scene, Stretch, Verdict, decide,
    is_costly,
};
use crate::types::{Field, Origin, Quantity, Reading, Type, reach};
use crate::units::{Exact, Unit};

use super::affected::Before;
use super::outcome::{RuleResult, again, frame as frame_of, goal as goal_of};
use super::place::adjustable;
use super::step_repair::step_repair;
use super::words;

/// How many settings are tried, and how many repairs are offered.
const MOST_TRIED: usize = 8;
const MOST_OFFERED: usize = 2;

/// How many dial steps are looked at in one direction.
const MOST_STEPS: i64 = 1 << 24;

/// How many places are looked at for a narrow window that doubling steps jumped over.
const SCAN: i64 = 64;

/// The same where a figure that takes milliseconds stands behind the requirement.
const SCAN_COSTLY: i64 = 8;

/// A value a setting could have.
struct Candidate {
    leaf: Leaf,
    /// How far it is from the present value, relative to it.
    change: f64,
    stretch: Stretch,
    words: String,
    edit: Edit,
}

/// Repairs for one result, best first. Each was applied, and every rule it can reach was run again.
pub(super) fn repairs(
    scene: &Scene<'_>,
    before: &Before<'_>,
    result: &RuleResult,
    rests_on: &[Leaf],
) -> Vec<Repair> {
    let rule = &scene.standard.rules[result.rule];
    let frame = frame_of(result.each);
    let goal = goal_of(rule, result.requirement);
    let mut leaves = adjustable(scene, frame, rule);
    leaves.truncate(MOST_TRIED);
    let named = leaves.len();
    for leaf in rests_on {
        if leaves.len() >= MOST_TRIED {
            break;
        }
        if !leaves.contains(leaf) {
            leaves.push(*leaf);
        }
    }
    // Those to adjust first come one by one, so that the others are tried only when these do not do.
    let (first, others) = leaves.split_at(named);
    let ranks = first.chunks(1).chain([others]);
    let against = Counterexamples::new(scene, frame, goal);
    let since = scene.memory.map_or(0, Memory::work);
    let tired = || scene.memory.is_some_and(|memory| !memory.may_help(since));
    let mut offered = Vec::new();
    'ranks: for rank in ranks {
        let mut candidates: Vec<Candidate> = rank
            .iter()
            .filter(|leaf| rests_on.contains(leaf))
            .take_while(|_| !tired())
            .flat_map(|leaf| nearest(scene, frame, goal, &against, *leaf))
            .collect();
        candidates.sort_by(|one, other| one.change.total_cmp(&other.change));
        for candidate in candidates {
            if offered.len() >= MOST_OFFERED || tired() {
                break 'ranks;
            }
            if mends(scene, before, result, &candidate) {
                offered.push(Repair {
                    words: candidate.words,
                    edits: vec![candidate.edit],
                });
            }
        }
    }
    if offered.is_empty() && !tired() {
        offered.extend(step_repair(scene, before.results, result));
    }
    if let Some(memory) = scene.memory {
        memory.count_help(since);
    }
    offered
}

/// Whether a change makes the result hold and makes no other result worse.
fn mends(
    scene: &Scene<'_>,
    before: &Before<'_>,
    result: &RuleResult,
    candidate: &Candidate,
) -> bool {
    let narrowed = [(candidate.leaf, candidate.stretch.clone())];
    let changed = Scene {
        narrowed: &narrowed,
        ..*scene
    };
    let conditions = Conditions::new(changed);
    let after = |result: &RuleResult| again(&conditions, &changed, result).outcome();
    after(result) == Outcome::Holds
        && before
            .affected(candidate.leaf)
            .filter(|other| *other != result)
            .all(|other| badness(after(other)) <= badness(other.outcome()))
}

pub(super) fn badness(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Holds | Outcome::DoesNotApply => 0,
        Outcome::AtRisk => 1,
        Outcome::NotStated => 2,
        Outcome::Breaks => 3,
    }
}

/// The nearest values above and below the present one at which the requirement holds.
fn nearest(
    scene: &Scene<'_>,
    frame: Frame,
    goal: Goal<'_>,
    against: &Counterexamples<'_>,
    leaf: Leaf,
) -> Vec<Candidate> {
    let Some(stated) = scene
        .stated(leaf.target, leaf.field)
        .filter(|stated| stated.origin == Origin::Plan)
    else {
        return Vec::new();
    };
    let Some(quantity) = scene.quantity(leaf.target, leaf.field) else {
        return Vec::new();
    };
    // A span without a nominal has no single value to move.
    if quantity.tolerance.is_none() && quantity.low != quantity.high {
        return Vec::new();
    }
    let kind = scene.run.target(scene.standard, leaf.target).kind;
    let field = scene.standard.field(kind, leaf.field);
    let (step, unit) = dial(field, quantity);
    let holds = |value: &Exact| -> Option<Stretch> {
        let (low, high) = reach(value, quantity.tolerance.as_ref());
        if !possible(field, quantity, &low, &high) {
            return None;
        }
        let narrowed = [(leaf, Stretch::new(low, high))];
        if against.refute(&narrowed) {
            return None;
        }
        let changed = Scene {
            narrowed: &narrowed,
            ..*scene
        };
        let verdict = Memory::proving(scene.memory, || {
            decide(&Conditions::new(changed), &changed, frame, goal)
        });
        let [(_, stretch)] = narrowed;
        matches!(verdict, Verdict::Holds(_)).then_some(stretch)
    };
    let inside = |value: &Exact| {
        let (low, high) = reach(value, quantity.tolerance.as_ref());
        possible(field, quantity, &low, &high)
    };
    let scan = if is_costly(scene, frame, goal) {
        SCAN_COSTLY
    } else {
        SCAN
    };
    let mut found = Vec::new();
    for up in [true, false] {
        let Some((value, stretch)) = towards(quantity, &step, &unit, up, scan, &inside, &holds)
        else {
            continue;
        };
        let number = crate::units::show_exact(&value, &unit);
        let text = match &quantity.tolerance {
            Some(tolerance) => format!("{number} {}", words::tolerance(tolerance)),
            None => number,
        };
        let change = value.sub(&quantity.nominal).abs().nearest()
            / quantity.nominal.abs().nearest().max(f64::MIN_POSITIVE);
        found.push(Candidate {
            leaf,
            change,
            stretch,
            words: format!("bring `{}` to {text}", words::setting(scene, leaf)),
            edit: Edit {
                span: stated.span,
                text,
            },
        });
    }
    found
}

/// The step of a dial and the unit it is dialled in, in SI base units.
fn dial(field: &Field, quantity: &Quantity) -> (Exact, Unit) {
    let same = field.steps.iter().find(|(_, unit)| {
        unit.spelling() == quantity.unit.spelling()
            || unit.spelling() == quantity.unit.as_difference().spelling()
    });
    if let Some((step, _)) = same {
        return (step.clone(), quantity.unit.clone());
    }
    if let Some((step, unit)) = field.steps.first() {
        // The dial has another unit than the plan: the repair is written in the dial's.
        let own =
            Unit::parse(unit.spelling().trim_start_matches('Δ')).unwrap_or_else(|_| unit.clone());
        return (step.clone(), own);
    }
    if let Type::Quantity(measure) = &field.ty
        && matches!(measure.reading, Reading::Count(_))
    {
        return (Exact::ONE, quantity.unit.clone());
    }
    // Without a dial: three significant digits of the present value.
    let own = quantity.unit.from_base(&quantity.nominal).abs().nearest();
    let digits = if own > 0.0 { own.log10().floor() } else { 0.0 };
    #[allow(clippy::cast_possible_truncation)]
    let power = (digits as i32 - 2).clamp(-30, 30);
    let size = Exact::from_int(10).powi(power).unwrap_or(Exact::ONE);
    (
        quantity.unit.as_difference().to_base(&size),
        quantity.unit.clone(),
    )
}

/// Whether a value with its tolerance is physically possible and keeps its sign.
fn possible(field: &Field, quantity: &Quantity, low: &Exact, high: &Exact) -> bool {
    match &field.possible {
        Some(limits) => {
            limits.low.as_ref().is_none_or(|least| low >= least)
                && limits.high.as_ref().is_none_or(|most| high <= most)
        }
        None => {
            let ten = Exact::from_int(10);
            low.signum() >= 0 && high <= &quantity.nominal.abs().mul(&ten)
        }
    }
}

/// The nearest dial value in one direction at which the requirement holds.
///
/// Doubling steps find one that holds, halving finds the nearest; the step before it does not hold.
fn towards(
    quantity: &Quantity,
    step: &Exact,
    unit: &Unit,
    up: bool,
    scan: i64,
    inside: &dyn Fn(&Exact) -> bool,
    holds: &dyn Fn(&Exact) -> Option<Stretch>,
) -> Option<(Exact, Stretch)> {
    // Dial values are whole multiples of the step on the unit's own scale.
    let zero = unit.to_base(&Exact::ZERO);
    let place = quantity.nominal.sub(&zero).div(step)?;
    let start = if up { place.floor() } else { place.ceil() };
    let at = |steps: i64| {
        let signed = Exact::from_int(if up { steps } else { -steps });
        zero.add(&start.add(&signed).mul(step))
    };
    let (mut last, mut steps) = (0_i64, 1_i64);
    let mut good = loop {
        if steps > MOST_STEPS || !inside(&at(steps)) {
            break None;
        }
        if holds(&at(steps)).is_some() {
            break Some(steps);
        }
        last = steps;
        steps *= 2;
    };
    if good.is_none() {
        // The doubling may have jumped over the end of what is possible, or over a narrow window.
        let mut edge = steps;
        let mut under = last;
        while edge - under > 1 {
            let middle = under + (edge - under) / 2;
            if inside(&at(middle)) {
                under = middle;
            } else {
                edge = middle;
            }
        }
        let spread = (under / scan).max(1);
        let mut tried = 1;
        last = 0;
        while tried <= under && good.is_none() {
            if holds(&at(tried)).is_some() {
                good = Some(tried);
            } else {
                last = tried;
                tried += spread;
            }
        }
    }
    let mut good = good?;
    while good - last > 1 {
        let middle = last + (good - last) / 2;
        if holds(&at(middle)).is_some() {
            good = middle;
        } else {
            last = middle;
        }
    }
    let value = at(good);
    holds(&value).map(|stretch| (value, stretch))
}
